"""Ports that are measured, invented, on a desk in memory with the leak page in front."""

from __future__ import annotations

import json
from typing import Any
from unittest.mock import create_autospec

from tests.fakes.clock import Clock
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.capture.air_files import AirLogFiles
from valvebench.model.entry import OpenJob, sha256_of
from valvebench.ui.keeper import Keeper
from valvebench.ui.leak.page import LeakView
from valvebench.ui.leak.presenter import LeakPresenter

HOLDS = {"expect": [{"reaction": "holds"}], "place": "body"}
PORTS = [
    {"name": "P1", "kpa_gauge": 250, "max_ml_min": 400, "method": "steady", "feeds": "Auk", **HOLDS},
    {"name": "P2", **HOLDS},
    {"name": "P3", "kpa_gauge": 40, "max_ml_min": 300, "method": "vacuum", **HOLDS},
    {"name": "P4", "kpa_gauge": 250, "max_ml_min": 20, "method": "decay", **HOLDS},
]
SEAT = {"kind": "solenoid", "duty": "linear", "max_seat_ml_min": 30, "seat_kpa_gauge": 250}
DEVICES = [
    {"name": "Gull", "between": ["1", "2"], "normally": "closed", **SEAT},
    {"name": "Heron", "between": ["1", "case"], "normally": "open", "max_ampere": 1.1, **SEAT},
]
FACTS = {"format": 1, "key": "tern-leaks", "title": "Leaks (invented)", "pins": [{"name": "1"}, {"name": "2"}]}
VARIANT = json.dumps({**FACTS, "ports": PORTS, "devices": DEVICES}).encode()


class Watch:
    """A clock that goes when it is told to."""

    def __init__(self) -> None:
        self.s = 1000.0

    def __call__(self) -> float:
        return self.s


class LeakBench:
    """Desk, page and presenter of one session."""

    def __init__(self, **files: bytes) -> None:
        job = OpenJob(session="s", job="T-1", variant=sha256_of(VARIANT))
        self.store = SessionStore(first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann"), blobs=(VARIANT,))
        self.desk = Desk(self.store, clock=Clock())
        self.files = {name.replace("_csv", ".csv"): raw for name, raw in files.items()}
        self.open()

    def open(self, port: str = "P1") -> LeakBench:
        """Sit down at the desk, as after closing and opening the window."""
        self.runner, self.reader, self.watch = HeldRunner(), HeldRunner(), Watch()
        self.keeper = Keeper(self.desk, self.runner)
        self.keeper.judge(done=lambda: None, failed=lambda error: None)
        self.view = create_autospec(LeakView, instance=True)
        files = AirLogFiles(lambda path: self.files[path.name])
        self.leak = LeakPresenter(self.view, self.desk, self.keeper, reader=self.reader, files=files, now=self.watch)
        self.leak.begin(port)
        return self

    def set_up(self, **texts: str) -> None:
        """Fields beside the readings, added to what stands there."""
        self.leak.set_up_typed({**self.texts, **texts})

    def enter(self, *texts: str) -> None:
        """Each typed sign by sign, then Enter; an empty one is Enter alone."""
        for text in texts:
            for end in range(1, len(text) + 1):
                self.leak.typed(text[:end])
            self.leak.keep(text)

    def last(self, name: str) -> Any:
        """What the page was last asked to show."""
        return getattr(self.view, name).call_args

    @property
    def texts(self) -> dict[str, str]:
        return dict(self.last("show_set_up").args[0])

    @property
    def result(self) -> Any:
        return self.last("show_result").args[0]

    @property
    def asked(self) -> Any:
        return self.last("show_question").args[0]

    @property
    def lines(self) -> list[tuple[str, ...]]:
        return [tuple(line) for line in self.last("show_lines").args[1]]

    @property
    def said(self) -> str:
        return self.last("say").args[0]

    @property
    def problem(self) -> str:
        return self.last("show_problem").args[0]

    @property
    def port(self) -> Any:
        return self.last("show_port").args[0]

    @property
    def bodies(self) -> list[Any]:
        return [item.body for item in self.desk.session.items_of("leak")]
