"""The card beside the verdict: what would decide, each way with its key and what it would do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.card import OUTDENT_PX, Card
from valvebench.ui.widgets.text import Text

if TYPE_CHECKING:
    from valvebench.ui.pins.cheap_ways import WayShown, WaysShown

_LINE_PX: Final = 28
_TWO_LINES_PX: Final = 44
_CAP_PX: Final = (32, 20)
_NARROW_PX: Final = 480
"""Below this room a way takes two lines."""


class WayRow(paint.PaintedButton):
    """One way: its key, what is done, and what it would do; the chosen one stands on soft ground."""

    walked = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.way: WayShown | None = None
        self.is_chosen = self.is_narrow = False
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_way(self, way: WayShown) -> None:
        """Another way."""
        self.way = way
        self.setAccessibleName(f"{way.words}, {way.effect}, key {way.key}")
        self._set_tip()
        self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Offer the full words where they are cut."""
        super().resizeEvent(event)
        self._set_tip()

    def _set_tip(self) -> None:
        way = self.way
        is_cut = way is not None and paint.text_width(way.words, self._words_font()) > self._words_room_px(way) + 0.5
        self.setToolTip(paint.tip(way.words) if way is not None and is_cut else "")
        self.setAccessibleDescription(" ")  # the name says it all; Qt would read out the tooltip with its markup

    def _words_room_px(self, way: WayShown) -> float:
        room = self.width() - fonts.px(2 * OUTDENT_PX + _CAP_PX[0] + 8)
        beside = 0.0 if self.is_narrow else paint.text_width(way.effect, _effect_font(way)) + 2 + fonts.px(8)
        return room - beside

    def _words_font(self) -> QFont:
        return fonts.font(14, fonts.MEDIUM if self.is_chosen else fonts.REGULAR)

    def set_chosen(self, *, is_chosen: bool) -> None:
        """The chosen one is the stop of Tab, and its whisker is on the ruler."""
        self.is_chosen = is_chosen
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus if is_chosen else Qt.FocusPolicy.ClickFocus)
        self.update()

    def set_narrow(self, *, is_narrow: bool) -> None:
        """Two lines, or one."""
        if is_narrow != self.is_narrow:
            self.is_narrow = is_narrow
            self.rescale()

    def sizeHint(self) -> QSize:
        """A line, or two."""
        return QSize(fonts.whole_px(200), fonts.whole_px(_TWO_LINES_PX if self.is_narrow else _LINE_PX))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down walk, Enter does it."""
        by = {Qt.Key.Key_Up: -1, Qt.Key.Key_Down: 1}.get(Qt.Key(event.key()))
        if by is not None:
            self.walked.emit(by)
        elif event.key() in ENTER_KEYS:
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one row
        """Draw ground, key and words."""
        if self.way is None:
            return
        palette = theme.current()
        with paint.start(self) as painter:
            box = QRectF(self.rect())
            if self.is_chosen or self.underMouse():
                edge = palette.ink if self.is_chosen and palette.is_hatched else None
                paint.draw_box(painter, box, radius_px=fonts.px(8), fill=palette.soft, edge=edge)
            if self.hasFocus():
                paint.draw_focus(painter, box, radius_px=fonts.px(8), code=palette.ink)
            self._paint_key(painter, self.way.key, palette)
            self._paint_words(painter, self.way, palette)

    def _paint_key(self, painter: QPainter, key: str, palette: Palette) -> None:
        wide, high = (fonts.px(size) for size in _CAP_PX)
        top = fonts.px((_LINE_PX - _CAP_PX[1]) / 2)
        cap = QRectF(fonts.px(OUTDENT_PX), top, wide, high)
        fill = palette.card if self.is_chosen else palette.soft
        paint.draw_box(
            painter, cap, radius_px=fonts.px(6), fill=fill, edge=palette.line, edge_px=paint.edge_of(palette)
        )
        paint.draw_text(painter, cap, key, font=fonts.font(12, fonts.SEMIBOLD), code=palette.ink, align=paint.CENTRE)

    def _paint_words(self, painter: QPainter, way: WayShown, palette: Palette) -> None:
        left = fonts.px(OUTDENT_PX + _CAP_PX[0] + 8)
        room, line = self.width() - left - fonts.px(OUTDENT_PX), fonts.px(_LINE_PX)
        effect_font = _effect_font(way)
        effect_code = palette.ink if way.would_decide else palette.muted
        where = QRectF(left, 0, self._words_room_px(way), line)
        if self.is_narrow:
            beside = QRectF(left, line - fonts.px(6), room, fonts.px(18))
        else:
            beside = QRectF(where.right(), 0, left + room - where.right(), line)
        paint.draw_elided(painter, where, way.words, font=self._words_font(), code=palette.ink)
        align = paint.LEFT if self.is_narrow else paint.RIGHT
        paint.draw_elided(painter, beside, way.effect, font=effect_font, code=effect_code, align=align)


def _effect_font(way: WayShown) -> QFont:
    return fonts.font(13, fonts.SEMIBOLD if way.would_decide else fonts.REGULAR)


class WaysCard(Card):
    """The cheap ways in their order; a second press on the chosen one does it."""

    chosen = Signal(int)
    acted = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("To decide it", is_outdented=True, parent=parent)
        self._shown: WaysShown | None = None
        self.rows: list[WayRow] = []
        self.place = 0
        self._list, self._foot = QVBoxLayout(), QVBoxLayout()
        self.pointer = Text(size_px=13, muted=True, wraps=True)
        self.pointer.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self._foot.addWidget(self.pointer)
        self.body.addLayout(self._list)
        self.body.addLayout(self._foot)
        self.body.addStretch(1)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_list"):
            self._list.setSpacing(0)
            self._foot.setContentsMargins(fonts.whole_px(OUTDENT_PX), 0, fonts.whole_px(OUTDENT_PX), 0)
            self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """One line a way where there is room."""
        super().resizeEvent(event)
        self._fit()

    def _fit(self) -> None:
        is_narrow = self.width() < fonts.px(_NARROW_PX)
        for row in self.rows:
            row.set_narrow(is_narrow=is_narrow)
        self.pointer.setMinimumHeight(round((3 if is_narrow else 2) * paint.line_height(self.pointer.font())) + 1)

    def show_ways(self, ways: WaysShown) -> None:
        """Other ways."""
        if ways == self._shown:
            return
        self._shown = ways
        self.set_title(ways.title)
        self.set_aside(ways.now)
        self.pointer.setText(ways.pointer)
        while len(self.rows) < len(ways.rows):
            self._add_row()
        for place, row in enumerate(self.rows):
            row.setVisible(place < len(ways.rows))
            if place < len(ways.rows):
                row.show_way(ways.rows[place])
        self._fit()
        self._mark(ways.first)

    def _add_row(self) -> None:
        row, place = WayRow(), len(self.rows)
        row.clicked.connect(lambda: self._pressed(place))
        row.walked.connect(lambda by: self._walk(place + by))
        self.rows.append(row)
        self._list.addWidget(row)

    def _pressed(self, place: int) -> None:
        if place == self.place and self._shown is not None:
            self.acted.emit(self._shown.rows[place].key)
        else:
            self._choose(place)

    def _walk(self, place: int) -> None:
        if self._shown is not None and 0 <= place < len(self._shown.rows):
            self._choose(place)
            self.rows[place].setFocus(Qt.FocusReason.OtherFocusReason)

    def _choose(self, place: int) -> None:
        self._mark(place)
        self.chosen.emit(place)

    def _mark(self, place: int) -> None:
        self.place = place
        for number, row in enumerate(self.rows):
            row.set_chosen(is_chosen=number == place)
