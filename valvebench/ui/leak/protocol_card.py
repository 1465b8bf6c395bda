"""The card of the steps before a pressure is let fall, and the clock."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtWidgets import QWidget

from valvebench.ui import fonts
from valvebench.ui.leak.protocol import StepShown
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text


class ProtocolCard(Card):
    """Steps that are ticked by a key; each says in words whether it is done or next."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Step by step", parent=parent)
        self.count = Text(size_px=24, weight=fonts.BOLD)
        self.steps: list[MessageLine] = []
        self.body.addWidget(self.count)

    def show_steps(self, steps: Sequence[StepShown], count: str) -> None:
        """The steps with their marks, and what the clock says."""
        self.setVisible(bool(steps))
        while len(self.steps) < len(steps):
            line = MessageLine()
            self.body.insertWidget(len(self.steps), line)
            self.steps.append(line)
        for line, step in zip(self.steps, steps, strict=False):
            word, icon = ("Done: ", "kept") if step.is_done else ("Next: ", "clock") if step.is_next else ("", "note")
            line.show_message(f"{word}{step.words}", icon=icon)
        self.count.setText(count)
        self.count.setVisible(bool(count))
