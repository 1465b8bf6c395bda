"""The list of what is missing: every sentence whole, over as many lines as it takes."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QAbstractItemModel, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QResizeEvent
from PySide6.QtWidgets import QStyleOptionViewItem, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.editor.table_model import LACK_COLUMNS, Index
from valvebench.ui.theme import Palette
from valvebench.ui.widgets.table import ROW_PX, CellDelegate, Table

_PAD_PX: Final = 6
_WORDS_COLUMN: Final = len(LACK_COLUMNS) - 1
_FLAGS: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap


class LacksDelegate(CellDelegate):
    """Wraps the sentence in the last column; a row that is not whole in sight is left out: half of one misleads."""

    def __init__(self, table: Table) -> None:
        super().__init__(LACK_COLUMNS, table)
        self._table = table

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell, unless its row is cut by the edge of the list."""
        if is_whole(option.rect, self._table.viewport().height()):
            super().paint(painter, option, index)

    def _words(self, painter: QPainter, rect: QRect, palette: Palette, index: Index) -> None:
        if index.column() != _WORDS_COLUMN:
            super()._words(painter, rect, palette, index)
            return
        pad = fonts.px(_PAD_PX)
        painter.setFont(fonts.font(14))
        painter.setPen(theme.colour(palette.ink))
        painter.drawText(QRectF(rect).adjusted(pad, 0, -pad, 0), int(_FLAGS), str(index.data()))


def is_whole(row: QRect, room_px: int) -> bool:
    """Whether a row is whole in sight; one that is higher than the list is drawn as far as it goes."""
    return row.height() > room_px or (row.top() >= 0 and row.bottom() < room_px)


class LacksTable(Table):
    """Rows as high as their sentences."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(LACK_COLUMNS, name="What is missing", parent=parent)
        self.setItemDelegate(LacksDelegate(self))

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
        metrics = QFontMetricsF(fonts.font(14))
        width = self.columnWidth(_WORDS_COLUMN) - 2 * fonts.px(_PAD_PX)
        room = QRectF(0, 0, max(1.0, width), 10_000)
        for row in range(self.model().rowCount()):
            text = str(self.model().index(row, _WORDS_COLUMN).data())
            wrapped = metrics.boundingRect(room, int(_FLAGS), text).height()
            self.setRowHeight(row, max(fonts.whole_px(ROW_PX), fonts.whole_px(8) + int(wrapped)))
