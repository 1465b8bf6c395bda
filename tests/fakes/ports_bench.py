"""A small invented body with ports, a switch and solenoids, on a desk in memory."""

from __future__ import annotations

import json
from typing import Any
from unittest.mock import create_autospec

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.model.entry import OpenJob, sha256_of
from valvebench.ui.keeper import Keeper
from valvebench.ui.ports.presenter import PortsPresenter, PortsView
from valvebench.ui.ports.questions import Answer
from valvebench.ui.ports.set_up import NOTHING_TYPED

PORTS = [
    {"name": "P1", "place": "case", "feeds": "Auk", "kpa_gauge": 250, "expect": [{"reaction": "thud"}]},
    {
        "name": "P2",
        "place": "body",
        "x": 0.2,
        "y": 0.2,
        "feeds": "Brant",
        "expect": [
            {"selector": "D", "solenoids": {"Gull": "off"}, "reaction": "holds"},
            {"selector": "D", "solenoids": {"Gull": "on"}, "reaction": "bleeds"},
        ],
    },
    {"name": "P3", "place": "body", "x": 0.8, "y": 0.2, "expect": []},
]
SWITCH = {"name": "Reel", "kind": "switch", "between": ["4", "case"], "at_rest": "open", "closes_with": "P2"}
SOLENOIDS = [
    {"name": "Gull", "kind": "solenoid", "duty": "linear", "between": ["1", "3"], "normally": "closed"},
    {"name": "Knot", "kind": "solenoid", "duty": "on_off", "between": ["2", "3"]},
]
QUESTIONS = [
    "port P1 0",
    "port P2 0",
    "port P2 1",
    "port P3 0",
    "switch Reel rest",
    "switch Reel",
    "solenoid Gull click",
    "solenoid Gull air_off",
    "solenoid Gull air_on",
    "solenoid Knot click",
    "solenoid Knot air_off",
    "solenoid Knot air_on",
]


def variant_with(**more: Any) -> bytes:
    facts: dict[str, Any] = {
        "format": 1,
        "key": "tern-ports",
        "title": "Quillon Tern, by ear (invented)",
        "pins": [{"name": name} for name in "1234"],
        "devices": [*SOLENOIDS, SWITCH],
        "clutches": ["Auk", "Brant"],
        "ports": PORTS,
    }
    return json.dumps(facts | more).encode()


def devices_with(changed: dict[str, Any]) -> list[dict[str, Any]]:
    """The devices, one of them changed."""
    return [changed if device["name"] == changed["name"] else device for device in (*SOLENOIDS, SWITCH)]


class PortsBench:
    """Desk, page and presenter of one session."""

    def __init__(self, *, variant: bytes | None = b"") -> None:
        raw = variant_with() if variant == b"" else variant
        job = OpenJob(session="s", job="T-1", variant=sha256_of(raw) if raw else None)
        first = first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann")
        self.store = SessionStore(first, blobs=(raw,) if raw else ())
        self.desk = Desk(self.store, clock=Clock())
        self.open()

    def open(self) -> PortsBench:
        """Sit down at the desk, as after closing and opening the window."""
        self.runner = HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.view = create_autospec(PortsView, instance=True)
        self.view.take_note.return_value = ""
        self.view.take_moves.return_value = NOTHING_TYPED
        self.ports = PortsPresenter(self.view, self.desk, self.keeper)
        self.ports.start()
        return self

    def press(self, keys: str) -> None:
        """Keys of the number block, one after the other."""
        acts = {
            "+": Answer.PLUS,
            "-": Answer.MINUS,
            ",": Answer.BLEEDS,
            "*": Answer.NOT_POSSIBLE,
            "u": self.ports.previous,
            "d": self.ports.skip,
            "0": self.ports.cover_turned,
            "8": self.ports.out_at_asked,
        }
        for key in keys:
            if key in "123":
                self.ports.clicks_heard(int(key))
                continue
            act = acts[key]
            if isinstance(act, Answer):
                self.ports.answer(act)
            else:
                act()

    @property
    def asked(self):
        return self.view.show_question.call_args.args[0]

    @property
    def said(self) -> str:
        return self.view.say.call_args.args[0]

    @property
    def bodies(self) -> list[Any]:
        return [item.body for item in self.desk.session.items]

    def table(self) -> dict[int, Any]:
        """The lines of the table as the calls of the page leave them, by number."""
        rows: dict[int, Any] = {}
        for name, args, _ in self.view.mock_calls:
            if name == "show_rows":
                rows = {row.number: row for row in args[0]}
            elif name == "put_row":
                rows[args[0].number] = args[0]
            elif name == "drop_row":
                rows.pop(args[0], None)
        return rows
