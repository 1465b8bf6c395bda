"""The card of the way in without a variant file: a body in the hand, its pins counted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.shortcuts import HAND_KEYS
from valvebench.ui.start.presenter import HandTyped
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import TickBox
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.text import Text

_TOP: Final = Qt.AlignmentFlag.AlignTop
_WORDS: Final = (
    "No variant file: readings alone tell what is wired to what. Names are asked last. "
    "Electronics on board are not for an ohmmeter, unless the maker says so."
)


class HandCard(Card):
    """What is typed of a body nobody has a file of."""

    asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Start from the part in hand", aside=HAND_KEYS, parent=parent)
        self.fields = {
            "job": LineField("Job number", hint="2217"),
            "pins": LineField("Number of pins", hint="12"),
            "rows": LineField("Rows they stand in", hint="2"),
        }
        self.casting = TickBox("The casting is probed too")
        self.casting.setChecked(True)
        self.go = Button("Begin with pin 1")
        self._row, self._foot = QHBoxLayout(), QHBoxLayout()
        self._build()
        self.go.clicked.connect(self._ask)
        for field in self.fields.values():
            field.confirmed.connect(self._ask)

    def _build(self) -> None:
        self.body.addWidget(Text(_WORDS, size_px=13, muted=True, wraps=True))
        for field in self.fields.values():
            self._row.addWidget(field, 1, _TOP)
        self._foot.addWidget(self.casting)
        self._foot.addStretch(1)
        self._foot.addWidget(self.go)
        self.body.addLayout(self._row)
        self.body.addLayout(self._foot)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_row"):
            self._row.setSpacing(fonts.whole_px(16))
            self._foot.setSpacing(fonts.whole_px(8))

    def _ask(self) -> None:
        texts = {name: field.text() for name, field in self.fields.items()}
        self.asked.emit(HandTyped(**texts, has_case=self.casting.isChecked()))

    def forget(self) -> None:
        """Empty what was typed for one body."""
        for field in self.fields.values():
            field.set_text("")

    def begin(self) -> None:
        """The first field has the keyboard."""
        self.fields["job"].setFocus(Qt.FocusReason.OtherFocusReason)

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong, beside each field; the first wrong one has the keyboard."""
        for name, field in self.fields.items():
            field.set_problem(problems.get(name, ""))
        if problems:
            self.fields[next(iter(problems))].setFocus(Qt.FocusReason.OtherFocusReason)
