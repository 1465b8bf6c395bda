"""Connects the Pins page of one open session with its presenters."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from valvebench.model.meter import Check
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.pins.presenter import PinsPresenter
from valvebench.ui.pins.proof import ProofPresenter
from valvebench.ui.pins.rounds_cards import RoundsBoard
from valvebench.ui.pins.rounds_presenter import RoundsPresenter
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.set_up import SetUp


class Beside(NamedTuple):
    """What stands between the page and the pairs."""

    proof: ProofPresenter
    rounds: RoundsPresenter
    board: RoundsBoard


def connect_pins(
    page: PinsPage,
    pins: PinsPresenter,
    keeper: Keeper,
    *,
    runner: Runs,
    set_up_asked: Callable[[], None],
    set_up_changed: Callable[[SetUp], None],
    changed: Callable[[], None],
    remembered: Callable[[], Check | None],
) -> Beside:
    """What is typed goes to the temperature that is asked for, else to the question that stands, else to the pair."""
    proof = ProofPresenter(page, keeper, pins, changed=changed, remembered=remembered)
    board = RoundsBoard(page)
    rounds = RoundsPresenter(board, keeper, pins, proof, runner=runner, set_up_changed=set_up_changed)
    page.typed.connect(rounds.typed)
    page.kept.connect(rounds.keep)
    page.opened.connect(rounds.keep_open)
    page.previous_asked.connect(rounds.previous)
    page.skip_asked.connect(rounds.skip)
    page.turn_asked.connect(rounds.turn)
    page.pin_chosen.connect(pins.pin_chosen)
    page.undo_asked.connect(pins.undo)
    page.redo_asked.connect(pins.redo)
    page.withdrawn.connect(pins.withdraw)
    page.set_up_asked.connect(set_up_asked)
    page.check_asked.connect(proof.ask_check)
    page.volts_asked.connect(proof.ask_volts)
    page.way_chosen.connect(proof.choose)
    page.left.connect(rounds.leave)
    page.pair_shown.connect(proof.forget)
    page.pair_shown.connect(rounds.pair_shown)
    page.settled.connect(rounds.settle)
    board.rounds_asked.connect(rounds.start)
    board.rounds_left.connect(rounds.leave)
    return Beside(proof, rounds, board)
