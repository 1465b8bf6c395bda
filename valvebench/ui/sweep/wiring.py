"""Makes and connects the page of sweeps."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import NamedTuple

from valvebench.bench.air_log import AirFiles
from valvebench.bench.desk import Desk
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.sweep.presenter import SweepPresenter
from valvebench.ui.sweep.view import SweepPage


class Sweep(NamedTuple):
    """The page with who decides for it."""

    page: SweepPage
    presenter: SweepPresenter


def make(desk: Desk, keeper: Keeper, *, reader: Runs, files: AirFiles) -> Sweep:
    """The page, connected; `reader` works beside the one that keeps entries."""
    page = SweepPage()
    # what draws is heavy: the worker brings it in, so that no key waits for it
    prepare = partial(import_module, "valvebench.ui.sweep.plot")
    presenter = SweepPresenter(page, desk, keeper, reader=reader, files=files, prepare=prepare)
    page.solenoid_named.connect(presenter.device_chosen)
    page.fields_typed.connect(presenter.fields_typed)
    page.file_named.connect(presenter.file_named)
    page.pasted.connect(presenter.pasted)
    page.keep_asked.connect(presenter.keep)
    page.line_chosen.connect(presenter.line_chosen)
    page.withdrawn.connect(presenter.withdraw)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.came_to_front.connect(presenter.refresh)
    presenter.start()
    return Sweep(page, presenter)
