"""A body without a variant on a desk in memory, and pages that only remember what they were told."""

from __future__ import annotations

from pathlib import Path
from unittest.mock import create_autospec

from tests.fakes.clock import Clock
from tests.fakes.hand_bodies import Body
from tests.fakes.pins_bench import last, told
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.bench.variants import VariantFiles
from valvebench.model.entry import Connector, OpenJob, Reading
from valvebench.model.words import JobKind, LeadState, TemperatureSource
from valvebench.ui.hand.naming import NamingPresenter, NamingView
from valvebench.ui.hand.presenter import HandPresenter, HandView
from valvebench.ui.keeper import Keeper
from valvebench.ui.set_up import SetUp

AT_20 = SetUp(
    celsius=20.0, temperature=TemperatureSource.TAPED, meter="1%+3x0.1", leads=LeadState.NULLED, range_ohm=6e7
)


class HandBench:
    """Desk, page and presenter of one session without a variant."""

    def __init__(self, *, pins: int | None = 4, set_up: SetUp = AT_20) -> None:
        job = OpenJob(session="s", job="T-7", kind=JobKind.BENCH_CHECK)
        self.store = SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"))
        self.desk = Desk(self.store, clock=Clock())
        if pins is not None:
            self.desk.record(Connector(pins=pins))
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.set_ups: list[SetUp] = []
        self.named: list = []
        self.failed: list[Exception] = []
        self.view = create_autospec(HandView, instance=True)
        self.walk = HandPresenter(
            self.view,
            self.keeper,
            self.runner,
            set_up=set_up,
            set_up_changed=self.set_ups.append,
            name_them=self.named.append,
        )
        self.keeper.judge(done=self.walk.start, failed=self.failed.append)

    def key_in(self, text: str) -> None:
        """Type as at the keyboard, sign by sign, then Enter."""
        for end in range(1, len(text) + 1):
            self.walk.typed(text[:end])
        self.walk.keep(text)

    def read(self, body: Body, *, most: int = 500, step_ohm: float = 0.1) -> None:
        """Answer as the body would, until nothing is asked any more."""
        for _ in range(most):
            if (pair := self.walk.pair) is None:
                return
            shown = body.shown(pair.red, pair.black, step_ohm=step_ohm)
            if shown == "*":
                self.walk.keep_open()
            else:
                self.key_in(shown)

    @property
    def asked(self) -> str:
        question = last(self.view.show_question)[0]
        return f"{question.clip} {question.probe}"

    @property
    def pair(self) -> frozenset[str]:
        return frozenset(self.walk.pair or ())

    @property
    def said(self) -> str:
        return last(self.view.say)[0]

    @property
    def problem(self) -> str:
        return last(self.view.show_problem)[0]

    @property
    def face(self):
        return last(self.view.show_face)[0]

    @property
    def notes(self) -> str:
        return "\n".join(last(self.view.show_notes)[0])

    @property
    def taken(self) -> list[Reading]:
        return [item.body for item in self.desk.session.items if isinstance(item.body, Reading)]

    def between(self, a: str, b: str) -> None:
        """Go to a pair as by the drawing."""
        self.walk.pin_chosen(a)
        self.walk.pin_chosen(b)


class NamingBench:
    """The names at the end of a walk; files are kept in a folder."""

    def __init__(self, bench: HandBench, folder: Path) -> None:
        self.bench, self.folder = bench, folder
        self.disk_is_full = False
        self.saved: list[Path] = []
        self.view = create_autospec(NamingView, instance=True)
        files = VariantFiles(read=Path.read_bytes, save=self._save)
        self.names = NamingPresenter(
            self.view, bench.keeper, bench.runner, files, folder=lambda: folder, saved=self.saved.append
        )
        self.names.begin(bench.walk.found)

    def _save(self, path: Path, raw: bytes) -> None:
        if self.disk_is_full:
            from valvebench.model.errors import WorldFailed

            raise WorldFailed("no space left")
        path.write_bytes(raw)

    @property
    def part(self):
        return last(self.view.show_part)[0]

    @property
    def body(self):
        return last(self.view.show_body)[0]

    @property
    def problem(self) -> tuple[str, str]:
        return last(self.view.show_problem_at)


__all__ = ["HandBench", "NamingBench", "last", "told"]
