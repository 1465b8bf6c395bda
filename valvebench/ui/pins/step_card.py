"""The card beside a question: what was answered, what the entry would do, and the keys."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.text import Text

if TYPE_CHECKING:
    from valvebench.ui.pins.steps import StepShown

_PLACES: Final = ((0, 0, 1), (0, 1, 1), (1, 0, 3))
"""Row, column and columns taken of each key: two lines fit a narrow card."""


class StepCard(Card):
    """What belongs to a question and is no answer."""

    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Check resistor", parent=parent)
        self.known, self.effect = Text(size_px=14, muted=True, wraps=True), Text(size_px=14, wraps=True)
        self.caps = (KeyCap("Enter", "go on"), KeyCap("Esc", "leave"), KeyCap("Up", "one question back"))
        self._keys = QGridLayout()
        for part in (self.known, self.effect):
            self.body.addWidget(part)
        self.body.addStretch(1)
        for cap, (row, column, across) in zip(self.caps, _PLACES, strict=True):
            self._keys.addWidget(cap, row, column, 1, across, Qt.AlignmentFlag.AlignLeft)
        self._keys.setColumnStretch(2, 1)
        self.body.addLayout(self._keys)
        self.caps[1].clicked.connect(self.left)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_keys"):
            self._keys.setHorizontalSpacing(fonts.whole_px(12))
            self._keys.setVerticalSpacing(fonts.whole_px(8))

    def show_step(self, step: StepShown) -> None:
        """Another question."""
        self.set_title(step.title)
        self.known.setText(" \u00b7 ".join(f"{name} {answer}" for name, answer in step.known))
        self.effect.setText("")

    def show_effect(self, words: str) -> None:
        """What the entry would do."""
        self.effect.setText(words)
