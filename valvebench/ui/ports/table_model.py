"""What was heard, as a table model over plain frozen rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from valvebench.model.words import VERDICT_TEXT
from valvebench.ui.ports.shown import HeardShown
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=78),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.NUMBER, width_px=44),
    Column(kind=Kind.MUTED, width_px=88),
    Column(kind=Kind.TEXT, width_px=94),
    Column(kind=Kind.MARK, width_px=36),
)
HEADERS: Final = ("What", "Set to", "kPa", "Expected", "Heard", "")
_MARK_COLUMN: Final = 5
_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_TOOL_TIP: Final = Qt.ItemDataRole.ToolTipRole
_HORIZONTAL: Final = Qt.Orientation.Horizontal

Index = QModelIndex | QPersistentModelIndex
_NOWHERE: Final = QModelIndex()


class HeardModel(QAbstractTableModel):
    """Lines in the order they came; a line is known by its entry."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: list[HeardShown] = []

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Lines, none below a line."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """Words of a cell; the mark is told by its accessible text."""
        if not index.isValid():
            return None
        row, column = self._rows[index.row()], index.column()
        if role == _DISPLAY:
            return (row.what, row.states, row.kpa, row.expected, row.heard, "")[column]
        if role == _ACCESSIBLE and column == _MARK_COLUMN:
            return VERDICT_TEXT[row.verdict] if row.verdict is not None else "not kept yet"
        return tip(row.tip) if role == _TOOL_TIP and row.tip else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> Any:
        """Headings."""
        return HEADERS[section] if orientation == _HORIZONTAL and role == _DISPLAY else None

    def row(self, place: int) -> HeardShown:
        """The line at a place."""
        return self._rows[place]

    def set_rows(self, rows: Sequence[HeardShown]) -> None:
        """Show other lines."""
        self.beginResetModel()
        self._rows = list(rows)
        self.endResetModel()

    def put(self, row: HeardShown) -> int:
        """Add a line at the end, or write the one of the same number anew; its place."""
        place = self._place(row.number)
        if place is None:
            place = len(self._rows)
            self.beginInsertRows(_NOWHERE, place, place)
            self._rows.append(row)
            self.endInsertRows()
            return place
        self._rows[place] = row
        self.dataChanged.emit(self.index(place, 0), self.index(place, len(COLUMNS) - 1))
        return place

    def drop(self, number: int) -> None:
        """Take a line away, if it is there."""
        place = self._place(number)
        if place is None:
            return
        self.beginRemoveRows(_NOWHERE, place, place)
        del self._rows[place]
        self.endRemoveRows()

    def _place(self, number: int) -> int | None:
        """From the end, where new lines are."""
        return next((n for n in range(len(self._rows) - 1, -1, -1) if self._rows[n].number == number), None)
