"""Makes and connects the page of pressures at taps."""

from __future__ import annotations

from typing import NamedTuple

from valvebench.bench.desk import Desk
from valvebench.ui.keeper import Keeper
from valvebench.ui.taps.presenter import TapsPresenter
from valvebench.ui.taps.view import TapsPage


class Taps(NamedTuple):
    """The page with who decides for it."""

    page: TapsPage
    presenter: TapsPresenter


def make(desk: Desk, keeper: Keeper) -> Taps:
    """The page, connected."""
    page = TapsPage()
    presenter = TapsPresenter(page, desk, keeper)
    page.form_typed.connect(presenter.typed)
    page.kpa_typed.connect(presenter.kpa_kept)
    page.form_kept.connect(presenter.keep)
    page.previous_asked.connect(presenter.previous)
    page.skip_asked.connect(presenter.skip)
    page.line_chosen.connect(presenter.line_chosen)
    page.withdrawn.connect(presenter.withdraw)
    page.undo_asked.connect(presenter.taking_back.undo)
    page.redo_asked.connect(presenter.taking_back.redo)
    page.came_to_front.connect(presenter.refresh)
    presenter.start()
    return Taps(page, presenter)
