"""Frozen rows as a table model; a page gives headings and the words of the cells."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final, Generic, Protocol, TypeVar

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QObject, QPersistentModelIndex, Qt

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui.widgets.paint import tip

_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_TOOL_TIP: Final = Qt.ItemDataRole.ToolTipRole
NOT_KEPT: Final = "not kept yet"
"""What a row without a verdict waits for, unless its page says otherwise."""
_HORIZONTAL: Final = Qt.Orientation.Horizontal

Index = QModelIndex | QPersistentModelIndex
_NOWHERE: Final = QModelIndex()


class JudgedRow(Protocol):
    """What a row of judged lines is known by."""

    @property
    def number(self) -> int:
        """Known by this, also when its words change."""
        ...

    @property
    def verdict(self) -> Verdict | None:
        """None while it is not on disk, or not judged yet."""
        ...

    @property
    def tip(self) -> str:
        """More about it, empty for no more."""
        ...


RowT = TypeVar("RowT")
JudgedT = TypeVar("JudgedT", bound=JudgedRow)


class RowsModel(QAbstractTableModel, Generic[RowT]):
    """Rows in the order given; nothing in it can be edited."""

    def __init__(
        self,
        headers: Sequence[str],
        cells: Callable[[RowT], tuple[str, ...]],
        more: Callable[[RowT], str],
        parent: QObject | None = None,
    ) -> None:
        super().__init__(parent)
        self._headers, self._cells, self._more = headers, cells, more
        self._rows: list[RowT] = []

    def rowCount(self, parent: Index = _NOWHERE) -> int:
        """Rows, none below a row."""
        return 0 if parent.isValid() else len(self._rows)

    def columnCount(self, parent: Index = _NOWHERE) -> int:
        """Columns."""
        return 0 if parent.isValid() else len(self._headers)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """Words of a cell, and the tooltip of its row."""
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == _DISPLAY:
            return self._cells(row)[index.column()]
        more = self._more(row) if role == _TOOL_TIP else ""
        return tip(more) if more else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = _DISPLAY) -> Any:
        """Headings."""
        return self._headers[section] if orientation == _HORIZONTAL and role == _DISPLAY else None

    def row(self, place: int) -> RowT:
        """The row at a place."""
        return self._rows[place]

    def set_rows(self, rows: Sequence[RowT]) -> None:
        """Show other rows."""
        self.beginResetModel()
        self._rows = list(rows)
        self.endResetModel()


class JudgedRowsModel(RowsModel[JudgedT]):
    """Rows known by their number, the mark of their verdict in the last column.

    `waits` says in words what a row without a verdict waits for.
    """

    def __init__(
        self,
        headers: Sequence[str],
        cells: Callable[[JudgedT], tuple[str, ...]],
        parent: QObject | None = None,
        *,
        waits: Callable[[JudgedT], str] = lambda _: NOT_KEPT,
    ) -> None:
        super().__init__(headers, cells, lambda row: row.tip, parent)
        self._waits = waits
        self._place: dict[int, int] = {}

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """Words of a cell; the mark is told by its accessible text."""
        if index.isValid() and role == _ACCESSIBLE and index.column() == len(self._headers) - 1:
            row = self._rows[index.row()]
            return VERDICT_TEXT[row.verdict] if row.verdict is not None else self._waits(row)
        return super().data(index, role)

    def set_rows(self, rows: Sequence[JudgedT]) -> None:
        """Show other rows."""
        self._place = {row.number: place for place, row in enumerate(rows)}
        super().set_rows(rows)

    def put(self, row: JudgedT) -> int:
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
        self.dataChanged.emit(self.index(place, 0), self.index(place, len(self._headers) - 1))
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
