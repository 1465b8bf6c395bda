"""Makes and connects the Heat page."""

from __future__ import annotations

from functools import partial
from importlib import import_module
from typing import NamedTuple

from valvebench.bench.desk import Desk
from valvebench.bench.heat_log import HeatFiles
from valvebench.ui.heat.loading import Loader
from valvebench.ui.heat.presenter import HeatPresenter
from valvebench.ui.heat.taking import TakePresenter
from valvebench.ui.heat.view import HeatPage
from valvebench.ui.keeper import Keeper, Runs


class Heat(NamedTuple):
    """The page with those who decide for it."""

    page: HeatPage
    presenter: HeatPresenter
    taking: TakePresenter

    def leave(self) -> None:
        """The session is left: nobody waits for what is being read."""
        self.taking.left()
        self.presenter.left()


def make(desk: Desk, keeper: Keeper, *, reader: Runs, files: HeatFiles) -> Heat:
    """The page, connected and started; `reader` works beside the one that keeps entries."""
    page = HeatPage()
    # what draws is heavy: the worker brings it in, so that no key waits for it
    prepare = partial(import_module, "valvebench.ui.heat.plots")
    loader = Loader(files, desk.photo, desk.variant, prepare)
    presenter = HeatPresenter(page, desk, keeper, runner=reader, loader=loader)
    taking = TakePresenter(
        page.take_card,
        desk,
        keeper,
        files=files,
        reader=reader,
        taken=presenter.taken,
        remember=loader.remember,
    )
    _connect(page, presenter, taking)
    presenter.start()
    return Heat(page, presenter, taking)


def _connect(page: HeatPage, presenter: HeatPresenter, taking: TakePresenter) -> None:
    """Every signal to what it asks for; `go_to` is left to the window."""
    page.run_chosen.connect(presenter.chosen)
    page.take_asked.connect(taking.begin)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.withdrawn.connect(presenter.withdraw)
    page.came_to_front.connect(presenter.came_to_front)
    page.left.connect(presenter.left)
    page.ticked.connect(presenter.tick)
    card = page.take_card
    card.named.connect(taking.named)
    card.options_changed.connect(taking.options_changed)
    card.device_chosen.connect(taking.device_chosen)
    card.accepted.connect(taking.accept)
    card.cancelled.connect(taking.cancel)
    card.ticked.connect(taking.tick)
