"""The table of readings: one delegate that paints whole cells, our own header, copying as text."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import msgspec
from PySide6.QtCore import (
    QAbstractItemModel,
    QEvent,
    QModelIndex,
    QPersistentModelIndex,
    QPointF,
    QRect,
    QRectF,
    QSize,
    QSizeF,
    Qt,
)
from PySide6.QtGui import (
    QFont,
    QFontMetricsF,
    QGuiApplication,
    QKeyEvent,
    QKeySequence,
    QPainter,
    QStaticText,
)
from PySide6.QtWidgets import (
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from valvebench.model.words import VERDICT_TEXT, Verdict, Word
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.focus_ring import FocusRing
from valvebench.ui.widgets.mark import mark_pixmap
from valvebench.ui.widgets.scroll import use_quiet_bars

ROW_PX: Final = 28
_HEAD_PX: Final = 28
_PAD_PX: Final = 6
_EDGE_PAD_PX: Final = 10
_MARK_PX: Final = 20
_STRETCHED_PX: Final = 61
_BAR_PX: Final = 12
MARK_HEAD: Final = "Verdict"
"""The heading of the marks where a table is copied as text; on the screen they need none."""

_DISPLAY: Final = Qt.ItemDataRole.DisplayRole
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_HORIZONTAL: Final = Qt.Orientation.Horizontal
# As plain numbers: the flags of Qt cost ten times as much to combine, in every cell.
_SELECTED: Final = QStyle.StateFlag.State_Selected.value
_FOCUSED: Final = QStyle.StateFlag.State_HasFocus.value
_VERDICT_OF: Final = {word: verdict for verdict, word in VERDICT_TEXT.items()}

Index = QModelIndex | QPersistentModelIndex


class Kind(Word):
    """How the cells of a column look; `DOUBT` is a value with its uncertainty."""

    KEY = "key"
    TEXT = "text"
    MUTED = "muted"
    NUMBER = "number"
    DOUBT = "doubt"
    LIMITS = "limits"
    MARK = "mark"


_RIGHT_KINDS: Final = frozenset({Kind.NUMBER, Kind.DOUBT, Kind.LIMITS})
_SMALL_KINDS: Final = frozenset({Kind.DOUBT, Kind.LIMITS})
_MUTED_KINDS: Final = frozenset({Kind.MUTED, Kind.LIMITS})


class Column(msgspec.Struct, frozen=True, kw_only=True):
    """One column: how it looks, and its drawn width in px (0 shares the room left over, of which it has the least)."""

    kind: Kind
    width_px: float = 0.0
    least_px: float = _STRETCHED_PX


class CellDelegate(QStyledItemDelegate):
    """Paints ground, words or mark of a cell in one go."""

    def __init__(self, columns: Sequence[Column], parent: QWidget) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:  # noqa: ARG002  all rows are alike
        """The fixed row height."""
        return QSize(fonts.whole_px(self._columns[index.column()].width_px), fonts.whole_px(ROW_PX))

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        rect, state = option.rect, option.state.value
        palette = theme.current()
        self._ground(painter, rect, palette, is_odd=bool(index.row() % 2), is_selected=bool(state & _SELECTED))
        shown = palette.inverted() if state & _SELECTED else palette
        if self._columns[index.column()].kind is Kind.MARK:
            self._mark(painter, rect, shown, index)
        else:
            self._words(painter, rect, shown, index)
        if state & _FOCUSED:
            self._focus(painter, rect, shown)

    @staticmethod
    def _ground(painter: QPainter, rect: QRect, palette: Palette, *, is_odd: bool, is_selected: bool) -> None:
        if is_selected:
            painter.fillRect(rect, theme.colour(palette.ink))
        elif not is_odd:
            painter.fillRect(rect, theme.colour(palette.ground))
        if palette.is_hatched:
            painter.fillRect(QRect(rect.left(), rect.bottom(), rect.width(), 1), theme.colour(palette.line))

    @staticmethod
    def _mark(painter: QPainter, rect: QRect, palette: Palette, index: Index) -> None:
        verdict = verdict_in(index.data(_ACCESSIBLE))
        if verdict is None:
            return
        side = fonts.whole_px(_MARK_PX)
        ratio = painter.device().devicePixelRatioF()
        corner = QPointF(int(rect.left() + (rect.width() - side) / 2), int(rect.top() + (rect.height() - side) / 2))
        painter.drawPixmap(corner, mark_pixmap(verdict, side, ratio, palette))

    def _words(self, painter: QPainter, rect: QRect, palette: Palette, index: Index) -> None:
        text = index.data(_DISPLAY)
        if not text:
            return
        kind = self._columns[index.column()].kind
        inner = _inner(rect, index.column())
        laid, size = _laid_out(str(text), kind, fonts.zoom.factor, inner.width())
        left = inner.right() - size.width() if kind in _RIGHT_KINDS else inner.left()
        painter.setFont(_cell_font(kind))
        painter.setPen(theme.colour(palette.muted if kind in _MUTED_KINDS else palette.ink))
        painter.drawStaticText(QPointF(left, inner.center().y() - size.height() / 2), laid)

    @staticmethod
    def _focus(painter: QPainter, rect: QRect, palette: Palette) -> None:
        painter.setPen(paint.pen(palette.ink, fonts.px(1.5)))
        painter.setBrush(paint.NO_BRUSH)
        painter.drawRect(QRectF(rect).adjusted(1, 1, -1, -1))


class Header(QHeaderView):
    """Muted words above the columns, aligned as the cells below them."""

    def __init__(self, columns: Sequence[Column], parent: QWidget) -> None:
        super().__init__(_HORIZONTAL, parent)
        self._columns = tuple(columns)
        self.setHighlightSections(False)
        self.setSectionsClickable(False)

    def sizeHint(self) -> QSize:
        """The fixed height."""
        return QSize(super().sizeHint().width(), fonts.whole_px(_HEAD_PX))

    def paintSection(self, painter: QPainter, rect: QRect, logicalIndex: int) -> None:  # noqa: N803  Qt's name
        """Draw one heading."""
        palette = theme.current()
        painter.fillRect(rect, theme.colour(palette.card))
        text = self.model().headerData(logicalIndex, _HORIZONTAL, _DISPLAY)
        kind = self._columns[logicalIndex].kind
        if kind is Kind.MARK or not text:
            return
        inner = _inner(rect, logicalIndex)
        align = paint.RIGHT if kind in _RIGHT_KINDS else paint.LEFT
        paint.draw_elided(painter, inner, str(text), font=_head_font(), code=palette.muted, align=align)


class Table(QTableView):
    """Rows one can walk, select and copy; the model stays plain."""

    def __init__(self, columns: Sequence[Column], *, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._columns = tuple(columns)
        self._row_px: float = ROW_PX
        self._is_placing = False
        FocusRing(self)
        self.setAccessibleName(name)
        self.setItemDelegate(CellDelegate(columns, self))
        self.setHorizontalHeader(Header(columns, self))
        self._set_manners()
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _set_manners(self) -> None:
        use_quiet_bars(self, is_on_card=True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)
        self.setCornerButtonEnabled(False)
        self.verticalHeader().hide()
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectRows)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)

    def minimumSizeHint(self) -> QSize:
        """Every column in sight and a few rows."""
        width = sum(column.width_px or column.least_px for column in self._columns)
        return QSize(fonts.whole_px(width + _BAR_PX), fonts.whole_px(_HEAD_PX + 4 * self._row_px))

    def setModel(self, model: QAbstractItemModel | None) -> None:
        """Show a model; columns take their widths."""
        super().setModel(model)
        self._set_widths()

    def set_row_px(self, row_px: float) -> None:
        """Make rows higher, as for gloved hands; drawn px."""
        self._row_px = row_px
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        rows = self.verticalHeader()
        rows.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        rows.setMinimumSectionSize(1)
        rows.setDefaultSectionSize(fonts.whole_px(self._row_px))
        self.horizontalHeader().setFixedHeight(fonts.whole_px(_HEAD_PX))
        self._set_widths()
        self.updateGeometry()

    def _set_widths(self) -> None:
        header = self.horizontalHeader()
        if header.count() != len(self._columns):
            return
        for place, column in enumerate(self._columns):
            is_fixed = column.width_px > 0
            header.setSectionResizeMode(
                place, QHeaderView.ResizeMode.Fixed if is_fixed else QHeaderView.ResizeMode.Stretch
            )
            if is_fixed:
                header.resizeSection(place, fonts.whole_px(column.width_px))

    def updateGeometries(self) -> None:
        """Show whole rows only, at the top as well as at the bottom: a row cut in half reads like another one."""
        if self._is_placing:
            return
        self._is_placing = True
        super().updateGeometries()
        head, row = self.horizontalHeader().height(), self.verticalHeader().defaultSectionSize()
        rest = self.viewport().height() % row if self.viewport().height() > row else 0
        self.setViewportMargins(0, head, 0, rest)
        self._is_placing = False
        self._end_with_the_last_row()

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Scroll; at the end the last row stands at the foot."""
        super().scrollContentsBy(dx, dy)
        self._end_with_the_last_row()

    def _end_with_the_last_row(self) -> None:
        # TRAP: Qt takes the height for this from the header of the rows, which is hidden and keeps an old one.
        bar, rows = self.verticalScrollBar(), self.verticalHeader()
        at_end = rows.length() - self.viewport().height()
        if 0 < bar.maximum() == bar.value() and rows.offset() != at_end > 0:
            rows.setOffset(at_end)
            self.viewport().update()

    def event(self, event: QEvent) -> bool:
        """With rows selected, copying means these, not what the page would copy."""
        is_asked = event.type() == QEvent.Type.ShortcutOverride
        is_copy = isinstance(event, QKeyEvent) and event.matches(QKeySequence.StandardKey.Copy)
        if is_asked and is_copy and self.selectedIndexes():
            event.accept()
            return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy the selected rows, besides walking."""
        if event.matches(QKeySequence.StandardKey.Copy):
            if text := self.selected_text():
                QGuiApplication.clipboard().setText(text)
        else:
            super().keyPressEvent(event)

    def selected_text(self) -> str:
        """The selected rows under their headings, cells parted by tabs; a mark is copied as its word."""
        rows = sorted(index.row() for index in self.selectionModel().selectedRows())
        if not rows:
            return ""
        places = range(len(self._columns))
        lines = [[self._head_text(place) for place in places]]
        lines += [[self._cell_text(row, place) for place in places] for row in rows]
        return "\n".join("\t".join(line) for line in lines)

    def _head_text(self, place: int) -> str:
        words = paint.one_line(str(self.model().headerData(place, _HORIZONTAL, _DISPLAY) or ""))
        return words or (MARK_HEAD if self._columns[place].kind is Kind.MARK else "")

    def _cell_text(self, row: int, place: int) -> str:
        index = self.model().index(row, place)
        role = _ACCESSIBLE if self._columns[place].kind is Kind.MARK else _DISPLAY
        return paint.one_line(str(index.data(role) or ""))


def verdict_in(words: object) -> Verdict | None:
    """The verdict a mark cell's accessible text begins with: its word, then perhaps a colon and more."""
    return _VERDICT_OF.get(str(words).partition(":")[0].strip()) if words else None


def _inner(rect: QRect, place: int) -> QRectF:
    """Where the words of a cell stand; the first column keeps a wider edge."""
    left = fonts.px(_EDGE_PAD_PX if place == 0 else _PAD_PX)
    return QRectF(rect).adjusted(left, 0, -fonts.px(_PAD_PX), 0)


@lru_cache(maxsize=4096)
def _laid_out(
    text: str,
    kind: Kind,
    zoom: float,  # noqa: ARG001  part of the key: the font follows it
    room_px: float,
) -> tuple[QStaticText, QSizeF]:
    """The words of a cell, cut and laid out once: drawing them again costs an eighth."""
    font = _cell_font(kind)
    laid = QStaticText(paint.elided(text, font, room_px))
    laid.setTextFormat(Qt.TextFormat.PlainText)
    laid.prepare(font=font)
    return laid, laid.size()


def _cell_font(kind: Kind) -> QFont:
    weight = fonts.SEMIBOLD if kind is Kind.KEY else fonts.REGULAR
    return fonts.font(13 if kind in _SMALL_KINDS else 14, weight, tabular=kind in _RIGHT_KINDS)


def _head_font() -> QFont:
    return fonts.font(12, fonts.SEMIBOLD)


def widest_px(texts: Sequence[str], kind: Kind) -> float:
    """The drawn width a column needs for these texts, padding included."""
    metrics = QFontMetricsF(_cell_font(kind))
    widest = max((metrics.horizontalAdvance(text) for text in texts), default=0.0)
    return widest / fonts.zoom.factor + _EDGE_PAD_PX + _PAD_PX
