"""A small invented body on a desk in memory, and pages that only remember what they were told."""

from __future__ import annotations

import json
from unittest.mock import create_autospec

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import OpenJob, sha256_of
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.ui.keeper import Keeper
from valvebench.ui.pins.presenter import PinsPresenter, PinsView
from valvebench.ui.set_up import SetUp

VARIANT = json.dumps(
    {
        "format": 1,
        "key": "tern-bench",
        "title": "Quillon Tern, for the bench (invented)",
        "pins": [{"name": name} for name in "1234"],
        "devices": [
            {
                "name": name,
                "kind": "solenoid",
                "duty": "linear",
                "between": [pin, "3"],
                "low_ohm": 5.0,
                "high_ohm": 6.0,
                "ref_celsius": 20,
                "k": 234.5,
            }
            for name, pin in (("Gull", "1"), ("Heron", "2"))
        ],
        "isolation": {"min_ohm": 1e6},
    }
).encode()

AT_20 = SetUp(
    celsius=20.0,
    temperature=TemperatureSource.TAPED,
    meter="0.9%+2x0.01",
    leads=LeadState.NULLED,
)


class Bench:
    """Desk, pages and presenters of one session; `heard` keeps what the window was told."""

    def __init__(
        self, *, variant: bytes | None = VARIANT, set_up: SetUp = AT_20, store: SessionStore | None = None
    ) -> None:
        job = OpenJob(session="s", job="T-1", serial="0418", variant=sha256_of(variant) if variant else None)
        first = first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann")
        self.store = store or SessionStore(first, blobs=(variant,) if variant else ())
        self.desk = Desk(self.store, clock=Clock())
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.changes = 0
        self.set_ups: list[SetUp] = []
        self.view = create_autospec(PinsView, instance=True)
        self.view.later.side_effect = lambda act: act()
        self.view.if_it_takes_long.side_effect = lambda act: act()
        self.pins = PinsPresenter(
            self.view,
            self.desk,
            self.runner,
            set_up=set_up,
            set_up_changed=self.set_ups.append,
            changed=self._count,
            keeper=self.keeper,
        )

    def _count(self) -> None:
        self.changes += 1

    def start(self) -> Bench:
        self.pins.start()
        return self

    def key_in(self, text: str) -> None:
        """Type as at the keyboard, sign by sign, then Enter."""
        for end in range(1, len(text) + 1):
            self.pins.typed(text[:end])
        self.pins.keep(text)

    @property
    def pair(self):
        return last(self.view.show_pair)[0]

    @property
    def problem(self) -> str:
        return last(self.view.show_problem)[0]

    @property
    def reading(self):
        return last(self.view.show_reading)[0]

    @property
    def said(self) -> str:
        return last(self.view.say)[0]

    @property
    def kept(self):
        """The readings that count, as red, black, ohm."""
        return [(i.body.from_node, i.body.to_node, i.body.ohm) for i in self.desk.session.items]


def last(method):
    """What a page was told last by one of its methods."""
    return method.call_args.args


def told(method):
    """Everything a page was told by one of its methods, first argument each."""
    return [call.args[0] for call in method.call_args_list]
