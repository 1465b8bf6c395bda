"""The card of a closed session: what became of the part, and to whom the head was given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.after import ANCHOR_WORDS, COMEBACK_WORDS, FITTED_WORDS, OUTCOME_PART, AfterLine, OutcomeTyped
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import bring_into_sight
from valvebench.ui.widgets.text import Text


class AfterCard(Card):
    """Only a closed session has it."""

    outcome_typed = Signal(object)
    anchor_typed = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("After closing", parent=parent)
        self.kind, self.to = ChoiceField("The head was given", list(ANCHOR_WORDS.items())), LineField("To whom")
        self.fitted = ChoiceField("The part was", list(FITTED_WORDS.items()))
        self.comeback = ChoiceField("Comeback", list(COMEBACK_WORDS.items()))
        self.numbers = {
            "months": LineField("Months since it was fitted"),
            "odometer_km": LineField("Odometer, km"),
        }
        self.keep_anchor, self.keep_outcome = Button("Keep whom it was given"), Button("Keep the outcome")
        self._anchored, self._said = Text(size_px=14, wraps=True), MessageLine()
        self._lines, self._grid, self._foot = QVBoxLayout(), QGridLayout(), QHBoxLayout()
        self._build()
        self.keep_anchor.clicked.connect(self._tell_anchor)
        self.to.confirmed.connect(self._tell_anchor)
        self.keep_outcome.clicked.connect(self._tell_outcome)
        for field in self.numbers.values():
            field.confirmed.connect(self._tell_outcome)

    def _build(self) -> None:
        right, top = Qt.AlignmentFlag.AlignRight, Qt.AlignmentFlag.AlignTop
        fields = (self.kind, self.to, None, self.keep_anchor, self.fitted, self.comeback, *self.numbers.values())
        for place, field in enumerate(fields):
            if field is not None:
                align = right if field is self.keep_anchor else top
                self._grid.addWidget(field, place // 2, place % 2, align)
        self._foot.addWidget(self._said, 1)
        self._foot.addWidget(self.keep_outcome, 0, top)
        for column in range(2):
            self._grid.setColumnStretch(column, 1)
        self.body.addWidget(self._anchored)
        self.body.addLayout(self._lines)
        self.body.addLayout(self._grid)
        self.body.addLayout(self._foot)
        self.hide()
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_foot"):
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(12))

    def _tell_anchor(self) -> None:
        self.anchor_typed.emit(self.kind.word(), self.to.text())

    def _tell_outcome(self) -> None:
        numbers = {name: field.text() for name, field in self.numbers.items()}
        self.outcome_typed.emit(OutcomeTyped(fitted=self.fitted.word(), comeback=self.comeback.word(), **numbers))

    # -- what the presenter asks -----------------------------------------------------------

    def show_open(self, *, is_open: bool) -> None:
        """Show the card, or keep it away before closing."""
        self.setVisible(is_open)

    def begin(self) -> None:
        """What became of the part is to be said: its first field has the keyboard."""
        bring_into_sight(self)
        self.fitted.setFocus(Qt.FocusReason.OtherFocusReason)

    def choose(self, kind: str) -> None:
        """How the head was given is plain; to whom is still to be typed."""
        self.kind.set_word(kind)

    def show_lines(self, lines: Sequence[AfterLine], anchored: str) -> None:
        """What was added, and how far outside the shop the head is known."""
        self._anchored.setText(anchored)
        while (item := self._lines.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        for line in lines:
            self._lines.addWidget(Text(f"{line.what}: {line.words}", wraps=True))

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong, beside each field."""
        for name, field in self.numbers.items():
            field.set_problem(problems.get(name, ""))

    def clear(self, part: str) -> None:
        """It is kept: make room for the next."""
        if part == OUTCOME_PART:
            for choice in (self.fitted, self.comeback):
                choice.set_word("")
            for field in self.numbers.values():
                field.set_text("")
        else:
            self.to.set_text("")

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """What became of it."""
        self._said.show_message(words, icon="problem" if is_problem else "kept")
