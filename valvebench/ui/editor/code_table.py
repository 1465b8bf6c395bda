"""The one table of both code tables: a column for each switch, one key a cell."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt
from PySide6.QtGui import QGuiApplication, QKeyEvent

from valvebench.model.draft_codes import CYCLE, SWITCH_KEY, codes_in, next_state, with_code, word_of
from valvebench.model.draft_field import Cell, Field, Part
from valvebench.model.draft_fields import FIELDS
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Row, Spot
from valvebench.ui.editor.edit_table import EditDelegate, EditTable, FlatHeader
from valvebench.ui.editor.table_model import Index, PartModel, columns_for

SWITCHES: Final = "switches"
_WIDTH_PX: Final = 92.0
_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_EDIT: Final = Qt.ItemDataRole.EditRole
_CHOICES: Final = tuple((word, word) for word in CYCLE if word)
_LETTERS: Final = frozenset("coe")


def fields_for(part: Part, switches: Sequence[str]) -> tuple[Field, ...]:
    """The columns of a code table: those of its rows, the switches in the place of their text."""
    own = tuple(
        Field(
            key=f"{SWITCH_KEY}{name}",
            title=name,
            path=(SWITCHES, name),
            cell=Cell.CHOICE,
            choices=_CHOICES,
            width_px=_WIDTH_PX,
        )
        for name in switches
    )
    found = [(own or (field,)) if field.key == SWITCHES else (field,) for field in FIELDS[part]]
    return tuple(field for group in found for field in group)


def switch_of(field: Field) -> str:
    """The switch a column is about; empty for every other column."""
    return field.key.removeprefix(SWITCH_KEY) if field.key.startswith(SWITCH_KEY) else ""


class CodeModel(PartModel):
    """Positions by switches; a cell of a switch is a part of its row's text."""

    def __init__(self, part: Part, parent: QObject | None = None) -> None:
        super().__init__(part, parent)
        self.fields = fields_for(part, ())

    def set_switches(self, switches: Sequence[str]) -> bool:
        """Other columns; whether they changed."""
        fields = fields_for(self.part, switches)
        if fields == self.fields:
            return False
        self.beginResetModel()
        self.fields = fields
        self.endResetModel()
        return True

    def text_in(self, row: int) -> str:
        """The codes of a row as the draft keeps them."""
        return self._cell(row, SWITCHES)

    def _cell(self, row: int, key: str) -> str:
        found: Row | None = self._rows[row]
        place = next(i for i, field in enumerate(FIELDS[self.part]) if field.key == key)
        return found.cells[place] if found is not None else ""

    def _text(self, index: Index) -> str:
        field = self.fields[index.column()]
        switch = switch_of(field)
        if not switch:
            return self._cell(index.row(), field.key)
        codes = codes_in(self.text_in(index.row()))
        if codes is None:  # what cannot be read stands in the first column of the switches
            return self.text_in(index.row()) if self._is_first(index) else ""
        return codes.get(switch, "")

    def _is_first(self, index: Index) -> bool:
        return index.column() == next(i for i, field in enumerate(self.fields) if switch_of(field))

    def spot(self, index: Index) -> Spot:
        """The cell an index stands for: the text of the row for every switch."""
        field = self.fields[index.column()]
        return Spot(self.part, index.row(), SWITCHES if switch_of(field) else field.key)

    def place(self, key: str) -> int:
        """The column of a key; the first switch for the text of the row."""
        found = (i for i, field in enumerate(self.fields) if field.key == key or (key == SWITCHES and switch_of(field)))
        return next(found, 0)

    def problem(self, index: Index) -> str:
        """What is wrong with a cell: of a row's switches in the column it names, else in the first."""
        field = self.fields[index.column()]
        if not switch_of(field):
            return super().problem(index)
        words = self._problems.get((index.row(), SWITCHES), "")
        others = [switch_of(each) for each in self.fields if switch_of(each)]
        codes = codes_in(self.text_in(index.row())) or {}
        named = [name for name in others if repr(name) in words or codes.get(name, "") not in CYCLE]
        is_meant = switch_of(field) in named if named else self._is_first(index)
        return words if is_meant else ""

    def setData(self, index: Index, value: Any, role: int = _EDIT) -> bool:
        """Tell what was typed: for a switch the text of its row with that switch otherwise."""
        switch = switch_of(self.fields[index.column()]) if index.isValid() else ""
        if role != _EDIT or not switch:
            return super().setData(index, value, role)
        text = self.text_in(index.row())
        after = with_code(text, switch, word_of(str(value)))
        if after != text:
            self.typed.emit(self.spot(index), after)
        return True


class CodeTable(EditTable):
    """Space goes round closed, open, either; c, o and e say it at once."""

    def _model_of(self, part: Part) -> PartModel:
        return CodeModel(part, self)

    @property
    def codes(self) -> CodeModel:
        """The model with its switches."""
        model = self.part_model
        if not isinstance(model, CodeModel):
            raise TypeError("a code table has a code model")
        return model

    def show_rows(self, rows: Sequence[Row], lacks: Sequence[Lack], switches: Sequence[str] = ()) -> None:
        """Other rows, and a column for each switch."""
        row, column = self.currentIndex().row(), self.currentIndex().column()
        if self.codes.set_switches(switches):
            self._columns = columns_for(self.codes.fields)
            self.setItemDelegate(EditDelegate(self._columns, self.codes.fields, self))
            self.setHorizontalHeader(FlatHeader(self._columns, self))
            self.rescale()
            if row >= 0:
                self.setCurrentIndex(self.codes.index(row, min(column, len(self.codes.fields) - 1)))
        super().show_rows(rows, lacks)

    def event(self, event: QEvent) -> bool:
        """Space and the letters mean the cell, also where a page has keys of its own."""
        is_asked = event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent)
        if is_asked and isinstance(event, QKeyEvent) and self._state_for(event) is not None:
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """One key a cell of a switch; the others as in every table."""
        state = self._state_for(event)
        if state is not None:
            self._put([self.currentIndex()], state)
        elif (
            event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and not event.modifiers() and self._only_switches()
        ):
            self._put(self.chosen_cells(), "")
        else:
            super().keyPressEvent(event)

    def _only_switches(self) -> bool:
        cells = self.chosen_cells()
        return bool(cells) and all(switch_of(self.codes.fields[index.column()]) for index in cells)

    def _state_for(self, event: QKeyEvent) -> str | None:
        index = self.currentIndex()
        plain = not event.modifiers() & ~Qt.KeyboardModifier.KeypadModifier
        if not index.isValid() or not plain or not switch_of(self.codes.fields[index.column()]):
            return None
        if self.state() == self.State.EditingState:
            return None
        if event.key() == Qt.Key.Key_Space:
            return next_state(str(index.data(_DISPLAY)))
        return word_of(event.text()) if event.text() in _LETTERS and event.text() else None

    def _put(self, cells: Sequence[QModelIndex], state: str) -> None:
        """One state into some cells; each row changes in one go."""
        for row in sorted({index.row() for index in cells}):
            text = before = self.codes.text_in(row)
            for index in cells:
                if index.row() == row:
                    text = with_code(text, switch_of(self.codes.fields[index.column()]), state)
            if text != before:
                self.typed.emit(Spot(self.part, row, SWITCHES), text)

    def paste(self) -> None:
        """What the clipboard holds, at the cell with the keyboard: of a switch its own column is told."""
        index = self.currentIndex()
        field = self.codes.fields[index.column()] if index.isValid() else None
        if field is None or not switch_of(field):
            super().paste()
        else:
            self.pasted.emit(Spot(self.part, index.row(), field.key), QGuiApplication.clipboard().text())
