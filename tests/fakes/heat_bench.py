"""A small invented body with two solenoids on a desk in memory, and files of a logger."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from unittest.mock import create_autospec

from tests.fakes.clock import Clock
from tests.fakes.heat_logs import copper, grows, log_of
from tests.fakes.runners import HeldRunner
from tests.fakes.session_store import SessionStore
from valvebench.bench.desk import Desk, first_line
from valvebench.capture.heat_files import LogFiles
from valvebench.model.entry import OpenJob, Reading, sha256_of
from valvebench.model.errors import WorldFailed
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.ui.heat.loading import Loader
from valvebench.ui.heat.presenter import HeatPresenter, HeatView
from valvebench.ui.heat.taking import TakePresenter, TakeView
from valvebench.ui.keeper import Keeper

VARIANT: dict[str, Any] = {
    "format": 1,
    "key": "tern-heat",
    "title": "Quillon Tern, warmed (invented)",
    "pins": [{"name": name} for name in "1234"],
    "devices": [
        {"name": "Gull", "kind": "solenoid", "between": ["1", "3"], "low_ohm": 4.9, "high_ohm": 5.6},
        {"name": "Heron", "kind": "solenoid", "between": ["2", "4"], "low_ohm": 4.9, "high_ohm": 5.6, "k": 225},
        {"name": "Knot", "kind": "solenoid", "between": ["2", "3"]},
    ],
}
LOG = "run.csv"
FILES = {LOG: log_of({"Gull": grows, "Heron": copper}), "one.csv": log_of({"": copper})}


class HeatBench:
    """Desk, presenters and views of one session."""

    def __init__(self, *, variant: bytes | None = b"", files: dict[str, bytes] | None = None) -> None:
        raw = json.dumps(VARIANT).encode() if variant == b"" else variant
        job = OpenJob(session="s", job="T-1", variant=sha256_of(raw) if raw else None)
        first = first_line(job, at="2031-05-06T09:00:00.000Z", by="Ann")
        self.store = SessionStore(first, blobs=(raw,) if raw else ())
        self.desk = Desk(self.store, clock=Clock())
        self.files = dict(FILES) if files is None else files
        self.open()

    def open(self, *, is_judged: bool = True) -> HeatBench:
        """Sit down at the desk, as after closing and opening the window."""
        self.runner, self.reader = HeldRunner(), HeldRunner()
        self.keeper = Keeper(self.desk, self.runner)
        self.runner.is_held = not is_judged
        self.keeper.judge(done=lambda: None, failed=_raise)
        self.view = create_autospec(HeatView, instance=True)
        self.card = create_autospec(TakeView, instance=True)
        files = LogFiles(self._bytes)
        loader = self.loader = Loader(files, self.store.blob, self.desk.variant)
        self.heat = HeatPresenter(self.view, self.desk, self.keeper, runner=self.reader, loader=loader)
        self.taking = TakePresenter(
            self.card,
            self.desk,
            self.keeper,
            files=files,
            reader=self.reader,
            taken=self.heat.taken,
            remember=self.loader.remember,
        )
        self.heat.start()
        return self

    def _bytes(self, path: Path) -> bytes:
        if path.name not in self.files:
            raise WorldFailed(f"{path.name}: cannot be read (it is not there). Check the name of the file.")
        return self.files[path.name]

    def take(self, name: str = LOG) -> HeatBench:
        """Take a file in and keep it as it is proposed."""
        self.taking.begin()
        self.taking.named(name)
        self.taking.accept()
        return self

    def rounds(self, celsius: tuple[float, ...] = (20, 45, 70, 95, 70, 45, 20), *, excess: float = 0.0) -> HeatBench:
        """Type rounds of Gull: copper, and too much of it above 60 degrees Celsius."""
        for number, at in enumerate(celsius, 1):
            ohm = round(5.2 * (234.5 + at) / 254.5 + excess * max(at - 60, 0), 2)
            body = Reading(
                from_node="1",
                to_node="3",
                ohm=ohm,
                celsius=at,
                round=number,
                meter="0.5%+2x0.01",
                leads=LeadState.NULLED,
                temperature=TemperatureSource.TAPED,
            )
            self.keeper.keep(body, kept=lambda *_: None, failed=_raise)
        return self

    @property
    def tests(self) -> list[Any]:
        return [item.body for item in self.desk.session.items_of("heat-run")]

    @property
    def rows(self) -> tuple[Any, ...]:
        return tuple(self.view.show_runs.call_args.args[0])

    @property
    def shown(self):
        return self.view.show_card.call_args.args[0]

    @property
    def plots(self):
        return self.view.show_plots.call_args.args[0]

    @property
    def columns(self) -> dict[str, Any]:
        return {one.column: one for one in self.card.show_columns.call_args.args[0]}

    @property
    def said(self) -> str:
        return str(self.view.say.call_args.args[0])

    @property
    def told(self) -> str:
        """What the card of a file says."""
        return str(self.card.say.call_args.args[0])


def _raise(error: Exception) -> None:
    raise error
