"""Connects the table of selector positions with its presenter, where the variant has one."""

from __future__ import annotations

from typing import NamedTuple

from valvebench.ui.codes.presenter import CodesPresenter, LeverPresenter
from valvebench.ui.codes.view import CodesBoard, LeverKey
from valvebench.ui.keeper import Keeper
from valvebench.ui.pins.presenter import PinsPresenter
from valvebench.ui.pins.view import PinsPage


class Codes(NamedTuple):
    """Who decides, and who shows."""

    presenter: CodesPresenter
    board: CodesBoard
    lever: LeverPresenter
    lever_key: LeverKey


def connect_codes(page: PinsPage, keeper: Keeper, pins: PinsPresenter) -> Codes | None:
    """The way in stands only where there is a table to read."""
    variant = keeper.desk.variant
    if variant is None or not variant.selector_codes or variant.electronics_on_board:
        return None
    key = LeverKey(page)
    lever = LeverPresenter(key, pins, variant)
    key.offer(lever.words())
    key.turned.connect(lever.turn)
    board = CodesBoard(page)
    presenter = CodesPresenter(board, keeper)
    board.asked.connect(presenter.open_next)
    board.left.connect(presenter.leave)
    board.answered.connect(presenter.answer)
    board.taken_back.connect(presenter.take_back)
    board.undo_asked.connect(presenter.undo)
    board.moved.connect(presenter.moved)
    return Codes(presenter, board, lever, key)
