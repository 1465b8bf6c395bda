"""The card of the meter check: three numbers, and what they would change."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.check import CheckTyped
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

_OHM: Final = "\u03a9"


class CheckCard(Card):
    """A known resistor read with the same leads."""

    typed = Signal(object)
    asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Meter check", parent=parent)
        self.fields = {
            "check_ohm": LineField(f"Check resistor, {_OHM}", hint="5.00"),
            "read_ohm": LineField(f"The meter shows, {_OHM}", hint="5.2"),
            "zero_read_ohm": LineField(f"Tips alone, {_OHM}", hint="0.2"),
            "check_pct": LineField("Its tolerance, %", hint="0.1"),
        }
        self.keep = Button("Keep the check")
        self._effect = Text(size_px=14, wraps=True)
        self._said = MessageLine()
        self._grid, self._row = QGridLayout(), QHBoxLayout()
        self._build()
        for field in self.fields.values():
            field.entry.textEdited.connect(self._tell)
            field.confirmed.connect(self._ask)
        self.keep.clicked.connect(self._ask)

    def _build(self) -> None:
        for place, field in enumerate(self.fields.values()):
            self._grid.addWidget(field, place // 2, place % 2, Qt.AlignmentFlag.AlignTop)
        self._row.addWidget(self._said, 1)
        self._row.addWidget(self.keep, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(self._grid)
        self.body.addWidget(self._effect)
        self.body.addLayout(self._row)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(12))

    def form(self) -> CheckTyped:
        """The form as it stands."""
        return CheckTyped(**{name: field.text() for name, field in self.fields.items()})

    def _tell(self) -> None:
        self.typed.emit(self.form())

    def _ask(self) -> None:
        self.asked.emit(self.form())

    def set_open(self, *, is_open: bool) -> None:
        """A closed session takes no check."""
        for part in (*self.fields.values(), self.keep):
            part.setEnabled(is_open)
        self.setVisible(is_open)

    # -- what the presenter asks -----------------------------------------------------------

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong, beside each field."""
        for name, field in self.fields.items():
            field.set_problem(problems.get(name, ""))

    def show_effect(self, words: str) -> None:
        """What keeping it would change."""
        self._effect.setText(words)

    def show_resistor(self, ohm: str, pct: str) -> None:
        """What is known of the resistor before anybody types."""
        self.fields["check_ohm"].set_text(ohm)
        self.fields["check_pct"].set_text(pct)

    def clear(self) -> None:
        """It is kept: make room for the next."""
        for field in self.fields.values():
            field.set_text("")

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """What became of it."""
        self._said.show_message(words, icon="problem" if is_problem else "kept")
