"""The readings as a table model over plain frozen rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from valvebench.model.words import VERDICT_TEXT
from valvebench.ui.pins.shown import RowShown
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=72),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.NUMBER, width_px=62),
    Column(kind=Kind.NUMBER, width_px=113),
    Column(kind=Kind.LIMITS, width_px=98),
    Column(kind=Kind.MARK, width_px=34),
)
HEADERS: Final = ("Between", "What", "\u03a9", "at 20 \u00b0C", "Limits", "")
_MARK_COLUMN: Final = 5
_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_TOOL_TIP: Final = Qt.ItemDataRole.ToolTipRole
_HORIZONTAL: Final = Qt.Orientation.Horizontal

Index = QModelIndex | QPersistentModelIndex
_NOWHERE: Final = QModelIndex()


class ReadingsModel(QAbstractTableModel):
    """Rows in the order they came; a row is known by its first entry."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: list[RowShown] = []
        self._place: dict[int, int] = {}

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Rows, none below a row."""
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
            return self._cells(row)[column]
        if role == _ACCESSIBLE and column == _MARK_COLUMN:
            return VERDICT_TEXT[row.verdict] if row.verdict is not None else "not kept yet"
        return tip(row.tip) if role == _TOOL_TIP and row.tip else None

    @staticmethod
    def _cells(row: RowShown) -> tuple[str, ...]:
        return (row.between, row.what, row.ohm, row.at_ref, row.limits, "")

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> Any:
        """Headings."""
        return HEADERS[section] if orientation == _HORIZONTAL and role == _DISPLAY else None

    def row(self, place: int) -> RowShown:
        """The row at a place."""
        return self._rows[place]

    def set_rows(self, rows: Sequence[RowShown]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self._rows = list(rows)
        self._place = {row.number: place for place, row in enumerate(self._rows)}
        self.endResetModel()

    def put(self, row: RowShown) -> int:
        """Add a row at the end, or write the one of the same number anew; its place."""
        place = self._place.get(row.number)
        if place is None:
            place = len(self._rows)
            self.beginInsertRows(_NOWHERE, place, place)
            self._rows.append(row)
            self._place[row.number] = place
            self.endInsertRows()
            return place
        self._rows[place] = row
        self.dataChanged.emit(self.index(place, 0), self.index(place, len(COLUMNS) - 1))
        return place

    def drop(self, number: int) -> None:
        """Take a row away, if it is there."""
        place = self._place.pop(number, None)
        if place is None:
            return
        self.beginRemoveRows(_NOWHERE, place, place)
        del self._rows[place]
        for row in self._rows[place:]:
            self._place[row.number] -= 1
        self.endRemoveRows()
