"""The tables of the editor as models: the draft's rows, what is missing, and the rows of a paste."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt, Signal

from valvebench.model.draft_field import Field, Part
from valvebench.model.draft_fields import FIELDS, field_of, place_of
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Row, Spot
from valvebench.ui.editor.paste import SKIP, Plan, is_number, problems_of
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.table import Column, Kind

PROBLEM_ROLE: Final = Qt.ItemDataRole.UserRole + 1
"""What is wrong with a cell, in words; empty where nothing is."""
HINT_ROLE: Final = Qt.ItemDataRole.UserRole + 2
"""Muted words in an empty cell."""

_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_EDIT: Final = Qt.ItemDataRole.EditRole
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_TOOL_TIP: Final = Qt.ItemDataRole.ToolTipRole
_HORIZONTAL: Final = Qt.Orientation.Horizontal
_EDITABLE: Final = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable | Qt.ItemFlag.ItemIsEditable

Index = QModelIndex | QPersistentModelIndex
_NOWHERE: Final = QModelIndex()


def columns_of(part: Part) -> tuple[Column, ...]:
    """How the columns of a table look."""
    return columns_for(FIELDS[part])


def columns_for(fields: Sequence[Field]) -> tuple[Column, ...]:
    """How columns of these fields look."""
    return tuple(Column(kind=_kind(field, i), width_px=field.width_px) for i, field in enumerate(fields))


def _kind(field: Field, place: int) -> Kind:
    if place == 0:
        return Kind.KEY
    return Kind.NUMBER if is_number(field) else Kind.TEXT


class PartModel(QAbstractTableModel):
    """The rows of one table, and below them an empty one to type into."""

    typed = Signal(object, str)

    def __init__(self, part: Part, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.part = part
        self.fields: tuple[Field, ...] = FIELDS[part]
        self._rows: list[Row | None] = [None]
        self._problems: dict[tuple[int, str], str] = {}

    def set_rows(self, rows: Sequence[Row], lacks: Sequence[Lack]) -> None:
        """Show other rows; the cell one is in stays the cell one is in."""
        self._problems = {
            (lack.spot.row, lack.spot.key): lack.words
            for lack in lacks
            if lack.is_wrong and lack.spot.part is self.part
        }
        shown: list[Row | None] = [*rows, None]
        both = min(len(shown), len(self._rows))
        # The empty row becomes the first new one, so that whoever types into it stays in the row.
        self._rows[:both] = shown[:both]
        self.dataChanged.emit(self.index(0, 0), self.index(both - 1, len(self.fields) - 1))
        if len(shown) > both:
            self.beginInsertRows(_NOWHERE, both, len(shown) - 1)
            self._rows += shown[both:]
            self.endInsertRows()
        elif len(self._rows) > both:
            self.beginRemoveRows(_NOWHERE, both, len(self._rows) - 1)
            del self._rows[both:]
            self.endRemoveRows()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Rows and the empty one, none below a row."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(self.fields)

    def flags(self, index: Index) -> Qt.ItemFlag:
        """Every cell can be typed into."""
        return _EDITABLE if index.isValid() else Qt.ItemFlag.NoItemFlags

    def spot(self, index: Index) -> Spot:
        """The cell an index stands for."""
        return Spot(self.part, index.row(), self.fields[index.column()].key)

    def place(self, key: str) -> int:
        """The number of a column."""
        return place_of(self.part, key)

    def _text(self, index: Index) -> str:
        row = self._rows[index.row()]
        return row.cells[index.column()] if row is not None else ""

    def problem(self, index: Index) -> str:
        """What is wrong with a cell, in words; empty where nothing is."""
        return self._problems.get((index.row(), self.fields[index.column()].key), "")

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """The text of a cell, and what is wrong with it."""
        if not index.isValid():
            return None
        row, field = self._rows[index.row()], self.fields[index.column()]
        text, problem = self._text(index), self.problem(index)
        if role in (_DISPLAY, _EDIT):
            return text
        if role == PROBLEM_ROLE:
            return problem
        if role == HINT_ROLE:
            return "New" if row is None and index.column() == 0 else ""
        return self._told(role, field, text, problem)

    @staticmethod
    def _told(role: int, field: Field, text: str, problem: str) -> str | None:
        if role == _ACCESSIBLE:
            return ", ".join(part for part in (field.title, text or "empty", problem) if part)
        return tip(problem or text) or None if role == _TOOL_TIP else None

    def setData(self, index: Index, value: Any, role: int = _EDIT) -> bool:
        """Tell what was typed; the draft then comes back with it."""
        if role != _EDIT or not index.isValid():
            return False
        if str(value) != self.data(index):
            self.typed.emit(self.spot(index), str(value))
        return True

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> str | None:
        """Headings."""
        is_heading = orientation == _HORIZONTAL and role == _DISPLAY and section < len(self.fields)
        return self.fields[section].title if is_heading else None


LACK_COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=84),
    Column(kind=Kind.TEXT, width_px=176),
    Column(kind=Kind.TEXT),
)
_LACK_HEADS: Final = ("", "Where", "What")
WRONG, MISSING = "wrong", "missing"


class LacksModel(QAbstractTableModel):
    """What is wrong and what is missing, one line each."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._lacks: tuple[Lack, ...] = ()

    def set_lacks(self, lacks: Sequence[Lack]) -> None:
        """Show other lines."""
        if tuple(lacks) != self._lacks:
            self.beginResetModel()
            self._lacks = tuple(lacks)
            self.endResetModel()

    def spot(self, row: int) -> Spot:
        """The cell a line is about."""
        return self._lacks[row].spot

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Lines, none below a line."""
        return 0 if parent.isValid() else len(self._lacks)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(LACK_COLUMNS)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """Words of a line."""
        if not index.isValid():
            return None
        lack = self._lacks[index.row()]
        if role == _DISPLAY:
            return (WRONG if lack.is_wrong else MISSING, lack.where, lack.words)[index.column()]
        return tip(f"{lack.where}: {lack.words}") if role == _TOOL_TIP else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> str | None:
        """Headings."""
        return _LACK_HEADS[section] if orientation == _HORIZONTAL and role == _DISPLAY else None


class PasteModel(QAbstractTableModel):
    """Pasted rows as they are understood; headings say which column each becomes."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._plan: Plan | None = None
        self._problems: Mapping[tuple[int, int], str] = {}

    def set_plan(self, plan: Plan) -> None:
        """Show another plan."""
        self.beginResetModel()
        self._plan = plan
        self._problems = {(problem.row, problem.column): problem.words for problem in problems_of(plan)}
        self.endResetModel()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Rows, none below a row."""
        return 0 if parent.isValid() or self._plan is None else len(self._plan.grid)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Columns."""
        return 0 if parent.isValid() or self._plan is None else len(self._plan.keys)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """The text of a cell, and what is wrong with it."""
        if not index.isValid() or self._plan is None:
            return None
        text = self._plan.grid[index.row()][index.column()]
        problem = self._problems.get((index.row(), index.column()), "")
        if role == _DISPLAY:
            return text
        if role == PROBLEM_ROLE:
            return problem
        if role == _ACCESSIBLE:
            return f"{text}, {problem}" if problem else text
        return tip(problem or text) or None if role == _TOOL_TIP else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> str | None:
        """The column each becomes."""
        if self._plan is None or orientation != _HORIZONTAL or role != _DISPLAY or section >= len(self._plan.keys):
            return None
        return meaning_of(self._plan, section)


def meaning_of(plan: Plan, column: int) -> str:
    """The column of the editor that a pasted one becomes."""
    key = plan.keys[column]
    return "left out" if key == SKIP else field_of(plan.part, key).title
