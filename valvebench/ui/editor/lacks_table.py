"""Tables whose sentences stand whole, over as many lines as they take: what is missing, and what differs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from functools import lru_cache
from typing import Final

from PySide6.QtCore import QAbstractItemModel, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QResizeEvent
from PySide6.QtWidgets import QStyleOptionViewItem, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.editor.table_model import LACK_COLUMNS, Index
from valvebench.ui.theme import Palette
from valvebench.ui.widgets.table import ROW_PX, CellDelegate, Column, Kind, Table

_PAD_PX: Final = 6
_EDGE_PAD_PX: Final = 10
_WORDS_COLUMN: Final = len(LACK_COLUMNS) - 1
_FLAGS: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap


class WrapDelegate(CellDelegate):
    """Wraps the sentences of some columns; a row that is not whole in sight is left out: half of one misleads."""

    def __init__(self, columns: Sequence[Column], wrapped: Collection[int], table: Table) -> None:
        super().__init__(columns, table)
        self._wrapped, self._table = frozenset(wrapped), table

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell, unless its row is cut by the edge of the list."""
        if is_whole(option.rect, self._table.viewport().height()):
            super().paint(painter, option, index)

    def _words(self, painter: QPainter, rect: QRect, palette: Palette, index: Index) -> None:
        if index.column() not in self._wrapped:
            super()._words(painter, rect, palette, index)
            return
        painter.setFont(_font(self._columns[index.column()]))
        painter.setPen(theme.colour(palette.ink))
        box = QRectF(rect).adjusted(fonts.px(_left_px(index.column())), 0, -fonts.px(_PAD_PX), 0)
        painter.drawText(box, int(_FLAGS), str(index.data()))


def _left_px(place: int) -> int:
    """The first column keeps a wider edge, as its heading does."""
    return _EDGE_PAD_PX if place == 0 else _PAD_PX


def _font(column: Column) -> QFont:
    return fonts.font(14, fonts.SEMIBOLD if column.kind is Kind.KEY else fonts.REGULAR)


def is_whole(row: QRect, room_px: int) -> bool:
    """Whether a row is whole in sight; one that is higher than the list is drawn as far as it goes."""
    return row.height() > room_px or (row.top() >= 0 and row.bottom() < room_px)


class WrapTable(Table):
    """Rows as high as their sentences."""

    def __init__(
        self, columns: Sequence[Column], wrapped: Collection[int], *, name: str, parent: QWidget | None = None
    ) -> None:
        self._wrapped = tuple(wrapped)
        super().__init__(columns, name=name, parent=parent)
        self.setItemDelegate(WrapDelegate(columns, wrapped, self))
        # A scroll bar that comes takes its width from the columns after the rows were measured.
        self.horizontalHeader().sectionResized.connect(self._section_resized)

    def _section_resized(self, place: int) -> None:
        if place in self._wrapped and self.model() is not None:
            self._fit_rows()

    def setModel(self, model: QAbstractItemModel | None) -> None:
        """Show a model; its rows are measured whenever they change."""
        super().setModel(model)
        if model is not None:
            model.modelReset.connect(self._fit_rows)

    def minimumSizeHint(self) -> QSize:
        """A few rows."""
        return QSize(super().minimumSizeHint().width(), fonts.whole_px(4 * ROW_PX))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The sentences wrap anew."""
        super().resizeEvent(event)
        self._fit_rows()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if self.model() is not None:
            self._fit_rows()

    def _fit_rows(self) -> None:
        model, least = self.model(), fonts.whole_px(ROW_PX)
        rooms = [(place, self._room_px(place), self._columns[place].kind is Kind.KEY) for place in self._wrapped]
        for row in range(model.rowCount()):
            texts = [(str(model.index(row, place).data()), room_px, is_bold) for place, room_px, is_bold in rooms]
            high = max(_wrapped_px(*text, fonts.zoom.factor) for text in texts)
            whole = max(least, fonts.whole_px(8) + high)
            if self.rowHeight(row) != whole:
                self.setRowHeight(row, whole)

    def _room_px(self, place: int) -> float:
        return max(1.0, self.columnWidth(place) - fonts.px(_left_px(place) + _PAD_PX))


@lru_cache(maxsize=8192)
def _wrapped_px(
    text: str,
    room_px: float,
    is_bold: bool,  # noqa: FBT001  part of the key
    zoom: float,  # noqa: ARG001  part of the key: the font follows it
) -> int:
    """How high a text stands in a column: measured once, a search shows the same rows again and again."""
    metrics = QFontMetricsF(fonts.font(14, fonts.SEMIBOLD if is_bold else fonts.REGULAR))
    return int(metrics.boundingRect(QRectF(0, 0, room_px, 10_000), int(_FLAGS), text).height())


class LacksTable(WrapTable):
    """What is missing from a draft."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(LACK_COLUMNS, (_WORDS_COLUMN,), name="What is missing", parent=parent)
