"""Parts of the Archive page with who decides for them, made at their first visit and connected."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import Any, Final

from valvebench.ui.archive.again import AgainPresenter
from valvebench.ui.archive.again_part import AgainPart
from valvebench.ui.archive.fails import FailsPresenter
from valvebench.ui.archive.fails_part import FailsPart
from valvebench.ui.archive.long_work import LongWork
from valvebench.ui.archive.part import BusyPart, Part
from valvebench.ui.archive.reach import Reach, Runs
from valvebench.ui.archive.safe import SafePresenter
from valvebench.ui.archive.safe_part import SafePart
from valvebench.ui.archive.trend import TrendPresenter
from valvebench.ui.archive.trend_part import TrendPart
from valvebench.ui.archive.view import AGAIN, FAILS, SAFE, TREND
from valvebench.ui.errors import raised

DRAWING: Final = "valvebench.ui.archive.trend_drawing"


def make(word: str, reach: Reach, *, runner: Runs, worker: Runs) -> tuple[Part, Any]:
    """A part and its presenter, by the word of its tab."""
    makers = {
        TREND: lambda: _trend(reach, runner),
        FAILS: lambda: _fails(reach, runner),
        AGAIN: lambda: _again(reach, runner, worker),
        SAFE: lambda: _safe(reach, runner, worker),
    }
    return makers[word]()


def _safe(reach: Reach, runner: Runs, worker: Runs) -> tuple[Part, Any]:
    part = SafePart()
    presenter = SafePresenter(part, reach, runner=runner, worker=worker)
    part.backup_asked.connect(presenter.backup)
    part.restore_asked.connect(presenter.restore)
    part.tables_asked.connect(presenter.tables)
    part.whole_check_asked.connect(presenter.check)
    _connect_work(part, presenter.work)
    return part, presenter


def _fails(reach: Reach, runner: Runs) -> tuple[Part, Any]:
    part = FailsPart()
    presenter = FailsPresenter(part, reach, runner)
    part.changed.connect(presenter.changed)
    return part, presenter


def _again(reach: Reach, runner: Runs, worker: Runs) -> tuple[Part, Any]:
    part = AgainPart()
    presenter = AgainPresenter(part, reach, runner=runner, worker=worker)
    part.again_asked.connect(presenter.asked)
    _connect_work(part, presenter.work)
    return part, presenter


def _trend(reach: Reach, runner: Runs) -> tuple[Part, Any]:
    part = TrendPart()
    presenter = TrendPresenter(part, reach, runner)
    # one worker, one after the other: what draws is there before the first values are, and nobody waits for it
    runner.run(partial(import_module, DRAWING), done=_came, failed=raised)
    part.device_named.connect(presenter.device_chosen)
    part.job_chosen.connect(presenter.job_chosen)
    part.devices_asked.connect(presenter.devices_asked)
    part.meters_asked.connect(presenter.meters_chosen)
    part.meter_chosen.connect(presenter.meter_chosen)
    return part, presenter


def _came(_: object) -> None:
    """Nothing to do: the first chart finds it."""


def _connect_work(part: BusyPart, work: LongWork) -> None:
    """What every part with long work has."""
    part.stopped.connect(work.break_off)
    part.ticked.connect(work.tick)
