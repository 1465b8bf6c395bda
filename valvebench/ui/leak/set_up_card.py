"""The card of what is said beside the readings: only the fields that the method asks for."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.leak.set_up import CHOICES, FIELDS
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine

LIMIT: Final = "max_ml_min"


class SetUpCard(Card):
    """Fields in columns, each made when it is first asked for; Enter leads back to the reading."""

    typed = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Taken with", parent=parent)
        self.fields: dict[str, LineField | ChoiceField] = {}
        self._texts: dict[str, str] = {}
        self._names: tuple[str, ...] = ()
        self._stated, self._is_open = "", True
        self._columns = 0
        self.follows: QWidget | None = None  # after it the keyboard comes here
        self._grid = QGridLayout()
        self._computed = MessageLine()
        self._computed.hide()
        self.body.addLayout(self._grid)
        self.body.addWidget(self._computed)
        self.body.addStretch(1)
        self.rescale()

    def _field(self, name: str) -> LineField | ChoiceField:
        if name not in self.fields:
            self.fields[name] = self._choice(name) if name in CHOICES else self._line(name)
        return self.fields[name]

    def _choice(self, name: str) -> ChoiceField:
        label, words = CHOICES[name]
        choice = ChoiceField(label, words, parent=self)
        choice.chosen.connect(self._tell)
        return choice

    def _line(self, name: str) -> LineField:
        made = FIELDS[name]
        line = LineField(made.label, hint=made.hint, parent=self)
        line.confirmed.connect(self._confirmed)
        line.entry.editingFinished.connect(self._tell)
        return line

    def shown(self) -> tuple[LineField | ChoiceField, ...]:
        """The fields that are asked for, in their order."""
        return tuple(self.fields[name] for name in self._names)

    def texts(self) -> dict[str, str]:
        """Everything that was said, also in fields that this method does not ask for."""
        typed = {
            name: field.word() if isinstance(field, ChoiceField) else field.text()
            for name, field in self.fields.items()
            if name in self._names and not (name == LIMIT and self._stated)
        }
        return {name: text for name, text in {**self._texts, **typed}.items() if text}

    def _tell(self) -> None:
        self.typed.emit(self.texts())

    def _confirmed(self) -> None:
        self._tell()
        self.left.emit()

    def show_set_up(self, texts: Mapping[str, str], names: Sequence[str], *, limit: str) -> None:
        """Which fields are asked for, and what stands in them; a limit that the variant states is not typed."""
        self._texts, self._stated = dict(texts), limit
        for name in names:
            field, text = self._field(name), limit if name == LIMIT and limit else texts.get(name, "")
            if isinstance(field, ChoiceField):
                field.set_word(text)
            elif field.text() != text:
                field.set_text(text)
        if tuple(names) != self._names:
            self._names = tuple(names)
            self._lay_out(self._columns or 2)
        self.set_open(is_open=self._is_open)

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong with which field."""
        for name, field in self.fields.items():
            if isinstance(field, LineField):
                field.set_problem(problems.get(name, ""))

    def show_computed(self, words: str) -> None:
        """What follows from the fields."""
        self._computed.show_message(words)
        self._computed.setVisible(bool(words))

    def set_open(self, *, is_open: bool) -> None:
        """Whether anything is taken."""
        self._is_open = is_open
        for name, field in self.fields.items():
            field.setEnabled(is_open and not (name == LIMIT and self._stated))

    def set_columns(self, columns: int) -> None:
        """As many fields beside each other."""
        if columns != self._columns:
            self._lay_out(columns)

    def _lay_out(self, columns: int) -> None:
        for column in range(max(columns, self._columns)):
            self._grid.setColumnStretch(column, int(column < columns))
        self._columns = columns
        for name, field in self.fields.items():
            self._grid.removeWidget(field)
            if name not in self._names:  # one that stays may have the keyboard: hiding it would take that away
                field.hide()
        before = self.follows
        for place, name in enumerate(self._names):
            field = self.fields[name]
            self._grid.addWidget(field, place // columns, place % columns, Qt.AlignmentFlag.AlignTop)
            field.show()
            if before is not None:
                self.setTabOrder(before, field)
            before = field

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(10))
