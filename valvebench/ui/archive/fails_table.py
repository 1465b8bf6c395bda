"""The table of failures: the share of each line is drawn on one ruler, beside that of all together."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import QObject, QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QResizeEvent
from PySide6.QtWidgets import QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.archive.fails import FailRow
from valvebench.ui.editor.lacks_table import WrapDelegate, WrapTable
from valvebench.ui.theme import Palette
from valvebench.ui.widgets.rows_model import Index, RowsModel
from valvebench.ui.widgets.share_ruler import ShareMark, draw_axis, draw_share
from valvebench.ui.widgets.table import Column, Header, Kind

HEADERS: Final = ("What", "Of", "Sessions", "Failed", "Share")
_WORDS_PX: Final = 116
_LEAST_PX: Final = _WORDS_PX + 116
_SHARE_OF_WIDTH: Final = 0.45
_SHARE_COLUMN: Final = 4
COLUMNS: Final = (
    Column(kind=Kind.KEY, least_px=76),
    Column(kind=Kind.TEXT, least_px=70),
    Column(kind=Kind.NUMBER, width_px=72),
    Column(kind=Kind.NUMBER, width_px=58),
    Column(kind=Kind.NUMBER, width_px=_LEAST_PX),
)
_WRAPPED: Final = (0, 1)
_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_DRAWN: Final = Qt.ItemDataRole.UserRole


class FailsModel(RowsModel[FailRow]):
    """Lines of failures; the share is told to a reader as a sentence, and to the drawing as numbers."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, lambda row: row.cells, lambda row: f"{row.name}: {row.told}", parent)

    def data(self, index: Index, role: int = _DISPLAY) -> Any:
        """Words of a cell; of the share also its sentence and what is drawn."""
        if index.isValid() and index.column() == _SHARE_COLUMN and role in (_ACCESSIBLE, _DRAWN):
            row = self.row(index.row())
            return row.told if role == _ACCESSIBLE else _mark_of(row)
        return super().data(index, role)


def _mark_of(row: FailRow) -> ShareMark:
    return ShareMark(row.share_pct, row.low_pct, row.high_pct, row.all_pct, stands_out=row.stands_out)


class FailsTable(WrapTable):
    """Names over as many lines as they take; the share as a ruler with its words behind it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(COLUMNS, _WRAPPED, name="What fails most", parent=parent)
        self.setHorizontalHeader(_ShareHeader(COLUMNS, self))
        self.horizontalHeader().sectionResized.connect(self._section_resized)
        self.setItemDelegate(_ShareDelegate(COLUMNS, _WRAPPED, self))
        self.rescale()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """The ruler takes its part of the width."""
        self._set_widths()
        super().resizeEvent(event)

    def _set_widths(self) -> None:
        super()._set_widths()
        header, wide = self.horizontalHeader(), round(_SHARE_OF_WIDTH * self.viewport().width())
        if header.count() == len(COLUMNS):
            header.resizeSection(_SHARE_COLUMN, max(fonts.whole_px(_LEAST_PX), wide))


class _ShareDelegate(WrapDelegate):
    """Draws the share; everything else as in any table."""

    def _words(self, painter: QPainter, rect: QRect, palette: Palette, index: Index) -> None:
        super()._words(painter, rect, palette, index)
        mark = index.data(_DRAWN)
        if isinstance(mark, ShareMark):
            draw_share(painter, _drawing_box(rect), mark, palette)


class _ShareHeader(Header):
    """The ruler's numbers stand above its lines."""

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:  # noqa: N803  Qt's name
        """Draw one heading."""
        super().paintSection(painter, rect, logicalIndex)
        if logicalIndex == _SHARE_COLUMN:
            draw_axis(painter, _drawing_box(rect), theme.current())


def _drawing_box(rect: QRect) -> QRectF:
    return QRectF(rect).adjusted(0, 0, -fonts.px(_WORDS_PX), 0)
