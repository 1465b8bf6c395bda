"""What is missing, as a table model over plain frozen rows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from valvebench.ui.findings.shown import MissingShown
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY),
    Column(kind=Kind.TEXT, width_px=88),
    Column(kind=Kind.MUTED, width_px=84),
)
HEADERS: Final = ("What", "Where", "Now")
_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_TOOL_TIP: Final = Qt.ItemDataRole.ToolTipRole
_HORIZONTAL: Final = Qt.Orientation.Horizontal

Index = QModelIndex | QPersistentModelIndex
_NOWHERE: Final = QModelIndex()


class MissingModel(QAbstractTableModel):
    """Missing items in the order the variant asks for them."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[MissingShown, ...] = ()

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Lines, none below a line."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(COLUMNS)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """Words of a cell."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == _DISPLAY:
            return (row.what, row.where, row.why)[index.column()]
        return tip(f"{row.what}, {row.where}, {row.why}. Enter goes there.") if role == _TOOL_TIP else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> Any:
        """Headings."""
        return HEADERS[section] if orientation == _HORIZONTAL and role == _DISPLAY else None

    def row(self, place: int) -> MissingShown:
        """The line at a place."""
        return self._rows[place]

    def set_rows(self, rows: Sequence[MissingShown]) -> None:
        """Show other lines."""
        self.beginResetModel()
        self._rows = tuple(rows)
        self.endResetModel()
