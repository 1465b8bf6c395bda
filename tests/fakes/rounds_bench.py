"""Pins in rounds on a desk in memory: the pages only remember what they were told."""

from __future__ import annotations

from unittest.mock import create_autospec

from tests.fakes.pins_bench import AT_20, VARIANT, Bench, last
from valvebench.ui.pins.proof import ProofPresenter, ProofView
from valvebench.ui.pins.rounds_ports import RoundsView
from valvebench.ui.pins.rounds_presenter import RoundsPresenter
from valvebench.ui.set_up import SetUp


class RoundsBench(Bench):
    """The pairs, and what stands before them; showing a pair is heard, as on the page."""

    def __init__(self, *, variant: bytes | None = VARIANT, set_up: SetUp = AT_20, store=None) -> None:
        super().__init__(variant=variant, set_up=set_up, store=store)
        self.board = create_autospec(RoundsView, instance=True)
        self.proof = ProofPresenter(
            create_autospec(ProofView, instance=True), self.keeper, self.pins, changed=self._count
        )
        self.rounds = RoundsPresenter(
            self.board,
            self.keeper,
            self.pins,
            self.proof,
            runner=self.runner,
            set_up_changed=self.set_ups.append,
        )
        self.view.show_pair.side_effect = self._pair_shown

    def _pair_shown(self, *_: object) -> None:
        self.proof.forget()
        self.rounds.pair_shown()

    def answer(self, *texts: str) -> None:
        """Temperatures or readings, each as at the keyboard: sign by sign, then Enter."""
        for text in texts:
            for end in range(1, len(text) + 1):
                self.rounds.typed(text[:end])
            self.rounds.keep(text)

    @property
    def question(self):
        """The temperature that is asked for; None while a pair stands there."""
        return last(self.board.show_question)[0] if self.rounds.is_asking else None

    @property
    def shown(self):
        """The table."""
        return last(self.board.show_board)[0]

    @property
    def finds(self):
        """What the rounds say so far."""
        return last(self.board.show_finds)[0]

    @property
    def in_rounds(self):
        """The readings that count, as round, degrees Celsius, red, ohm."""
        bodies = [item.body for item in self.desk.session.items_of("reading")]
        return [(body.round, body.celsius, body.from_node, body.ohm) for body in bodies]
