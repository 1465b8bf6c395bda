"""Several values with their doubt on one ruler, around a post: ink only, since none of it is a verdict."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize
from PySide6.QtGui import QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.ticks import nice_ticks, tick_texts
from valvebench.ui.widgets.whisker_rows import Whisker, WhiskersState

ROW_PX: Final = 28
_TOP_PX: Final = 4
_TICK_PX: Final = 4
_FOOT_PX: Final = 24
_GAP_PX: Final = 12
_END_PX: Final = 16
_DOT_PX: Final = 5
_CAP_PX: Final = 5
_WIDEST_NAME_SHARE: Final = 0.28


class WhiskerChart(paint.Painted):
    """The sibling of the ruler for many lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = WhiskersState()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_rows(
        self, rows: Sequence[Whisker], *, unit: str = "", middle: float = 0.0, widest: float | None = None
    ) -> None:
        """Show other lines."""
        self._state = WhiskersState(unit=unit, middle=middle, rows=tuple(rows), widest=widest)
        self.say(self._state.sentence())
        self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Wide; as high as its lines and the axis need."""
        lines = _TOP_PX + ROW_PX * len(self._state.rows)
        return QSize(fonts.whole_px(480), fonts.whole_px(lines + _TICK_PX + _FOOT_PX))

    def minimumSizeHint(self) -> QSize:
        """As narrow as names and four ticks allow."""
        return QSize(fonts.whole_px(280), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one drawing
        """Draw post, axis and lines."""
        with paint.start(self) as painter:
            _Drawing(painter, self._state, self.width()).run()


class _Drawing:
    """One painting of a chart."""

    def __init__(self, painter: QPainter, state: WhiskersState, width_px: float) -> None:
        self._painter, self._state = painter, state
        self._palette: Palette = theme.current()
        self._scale = state.scale()
        names = _widest([row.name for row in state.rows], _name_font())
        unit = paint.text_width(state.unit, fonts.font(12)) + 2
        self._name_px = min(max(names, unit), _WIDEST_NAME_SHARE * width_px)
        words = _widest([row.words for row in state.rows], _words_font())
        self._words_left = width_px - words
        self._left = self._name_px + fonts.px(_GAP_PX + _END_PX)
        self._right = self._words_left - fonts.px(_END_PX + (_GAP_PX if words else 0))
        self._axis_y = round(fonts.px(_TOP_PX + ROW_PX * len(state.rows))) + 0.5

    def run(self) -> None:
        self._post()
        self._axis()
        for place, row in enumerate(self._state.rows):
            top = fonts.px(_TOP_PX + ROW_PX * place)
            self._names(row, top)
            self._line(row, int(top + fonts.px(ROW_PX) / 2) + 0.5)

    def _x(self, value: float) -> float:
        return self._left + self._scale.share(value) * (self._right - self._left)

    def _post(self) -> None:
        x = round(self._x(self._state.middle))
        self._painter.setPen(paint.pen(self._palette.muted, fonts.px(2)))
        self._painter.drawLine(QLineF(x, fonts.px(_TOP_PX), x, self._axis_y))

    def _axis(self) -> None:
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(1.5)))
        self._painter.drawLine(QLineF(self._left, self._axis_y, self._right, self._axis_y))
        most = max(2, int((self._right - self._left) / fonts.px(64)))
        ticks = nice_ticks(self._scale.low, self._scale.high, most)
        for tick, words in zip(ticks, tick_texts(ticks), strict=True):
            x = round(self._x(tick)) + 0.5
            self._painter.setPen(paint.pen(self._palette.muted, self._palette.line_px * max(1, fonts.px(1))))
            self._painter.drawLine(QLineF(x, self._axis_y, x, self._axis_y + fonts.px(_TICK_PX)))
            self._tick_words(x, words)
        unit = QRectF(0, self._axis_y + fonts.px(_TICK_PX), self._name_px, fonts.px(_FOOT_PX))
        paint.draw_elided(self._painter, unit, self._state.unit, font=fonts.font(12), code=self._palette.muted)

    def _tick_words(self, x: float, words: str) -> None:
        wide = paint.text_width(words, fonts.font(12)) + 2
        box = QRectF(x - wide / 2, self._axis_y + fonts.px(_TICK_PX), wide, fonts.px(_FOOT_PX))
        paint.draw_text(self._painter, box, words, font=fonts.font(12), code=self._palette.muted, align=paint.CENTRE)

    def _names(self, row: Whisker, top: float) -> None:
        code, high = self._palette.ink, fonts.px(ROW_PX)
        name, font = QRectF(0, top, self._name_px, high), _name_font(is_bold=row.stands_out)
        paint.draw_elided(self._painter, name, row.name, font=font, code=code)
        words = QRectF(self._words_left, top, self._painter.device().width() - self._words_left, high)
        paint.draw_text(self._painter, words, row.words, font=_words_font(), code=code, align=paint.RIGHT)

    def _line(self, row: Whisker, y: float) -> None:
        self._whisker(row, y)
        if self._scale.holds(row.value):
            self._dot(QPointF(self._x(row.value), y), is_full=row.stands_out)
        else:
            self._arrow(y, is_right=row.value > self._scale.high)

    def _whisker(self, row: Whisker, y: float) -> None:
        ends = (row.value - row.reach, row.value + row.reach)
        if not self._scale.low <= ends[1] or not ends[0] <= self._scale.high:
            return
        cap = fonts.px(_CAP_PX)
        lines = [QLineF(self._x(ends[0]), y, self._x(ends[1]), y)]
        lines += [QLineF(self._x(end), y - cap, self._x(end), y + cap) for end in ends if self._scale.holds(end)]
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(2 if row.stands_out else 1.5)))
        self._painter.drawLines(lines)

    def _dot(self, centre: QPointF, *, is_full: bool) -> None:
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(1.5)))
        self._painter.setBrush(theme.colour(self._palette.ink if is_full else self._palette.card))
        self._painter.drawEllipse(centre, fonts.px(_DOT_PX), fonts.px(_DOT_PX))

    def _arrow(self, y: float, *, is_right: bool) -> None:
        """Farther than the ruler reaches."""
        tip = self._right + fonts.px(_END_PX - 4) if is_right else self._left - fonts.px(_END_PX - 4)
        back = fonts.px(-7 if is_right else 7)
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(2)))
        self._painter.drawLines(
            [
                QLineF(tip + 2 * back, y, tip, y),
                QLineF(tip, y, tip + back, y - fonts.px(5)),
                QLineF(tip, y, tip + back, y + fonts.px(5)),
            ]
        )


def _widest(texts: Sequence[str], font: QFont) -> float:
    return max((paint.text_width(text, font) for text in texts), default=0.0) + 2


def _name_font(*, is_bold: bool = True) -> QFont:
    return fonts.font(14, fonts.SEMIBOLD if is_bold else fonts.REGULAR)


def _words_font() -> QFont:
    return fonts.font(13, tabular=True)
