"""Connects the Pins page of one open session with its presenters."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

from valvebench.diagnose.explained import Ask
from valvebench.judge.codes import CODE_KEY
from valvebench.model.meter import Check
from valvebench.ui.codes.wiring import Codes, connect_codes
from valvebench.ui.keeper import Keeper, Runs
from valvebench.ui.pins.asked import AskedPresenter
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
    asked: AskedPresenter
    codes: Codes | None = None

    def begin_asked(self, ask: Ask, warm_celsius: float) -> None:
        """Take what Findings asks for; a table that stands in the way goes."""
        if self.codes is not None and self.codes.presenter.is_on:
            self.codes.presenter.leave()
        self.asked.start(ask, warm_celsius)

    def opens(self, key: str) -> bool:
        """Whether an item is taken in a table of its own; then it stands there."""
        if self.codes is None or not key.startswith(CODE_KEY):
            return False
        self.codes.presenter.open(key)
        return True


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
    to_findings: Callable[[], None],
) -> Beside:
    """What is typed goes to what Findings asks, else to the temperature or question that stands, else to the pair."""
    proof = ProofPresenter(page, keeper, pins, changed=changed, remembered=remembered)
    board = RoundsBoard(page)
    rounds = RoundsPresenter(board, keeper, pins, proof, runner=runner, set_up_changed=set_up_changed)
    asked = AskedPresenter(page, keeper, pins, proof, rounds, set_up_changed=set_up_changed, back=to_findings)
    page.typed.connect(asked.typed)
    page.kept.connect(asked.keep)
    page.opened.connect(asked.keep_open)
    page.previous_asked.connect(asked.previous)
    page.skip_asked.connect(asked.skip)
    page.turn_asked.connect(asked.turn)
    page.pin_chosen.connect(asked.pin_chosen)
    page.findings_asked.connect(asked.back)
    page.undo_asked.connect(pins.undo)
    page.redo_asked.connect(pins.redo)
    page.withdrawn.connect(pins.withdraw)
    page.set_up_asked.connect(set_up_asked)
    page.check_asked.connect(proof.ask_check)
    page.volts_asked.connect(proof.ask_volts)
    page.way_chosen.connect(proof.choose)
    page.left.connect(asked.leave)
    page.pair_shown.connect(proof.forget)
    page.pair_shown.connect(rounds.pair_shown)
    page.pair_shown.connect(asked.pair_shown)
    page.settled.connect(rounds.settle)
    board.rounds_asked.connect(rounds.start)
    board.rounds_left.connect(rounds.leave)
    return Beside(proof, rounds, board, asked, connect_codes(page, keeper, pins))
