"""A share with its interval on a ruler from 0 to 100 %, and a post: a line of a table.  Ink only: it is no verdict."""

from __future__ import annotations

from typing import Final, NamedTuple

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.ruler_scale import Scale

SCALE: Final = Scale(low=0.0, high=100.0)
_TICKS: Final = (0.0, 50.0, 100.0)
_DOT_PX: Final = 4.5
_CAP_PX: Final = 5
_TICK_PX: Final = 4
_END_PX: Final = 18


class ShareMark(NamedTuple):
    """What is drawn, in percent: the share with the ends of its interval, the post, whether the dot is full."""

    share_pct: float
    low_pct: float
    high_pct: float
    post_pct: float
    stands_out: bool


def draw_share(painter: QPainter, box: QRectF, mark: ShareMark, palette: Palette) -> None:
    """One line: the post from edge to edge, so that it runs through all lines, then whisker and dot."""
    y = round(box.center().y()) + 0.5
    post = round(_x(box, mark.post_pct))
    painter.setPen(paint.pen(palette.muted, fonts.px(2)))
    painter.drawLine(QLineF(post, box.top(), post, box.bottom()))
    left, right, cap = _x(box, mark.low_pct), _x(box, mark.high_pct), fonts.px(_CAP_PX)
    painter.setPen(paint.pen(palette.ink, fonts.px(2 if mark.stands_out else 1.5)))
    painter.drawLines([QLineF(left, y, right, y), *(QLineF(x, y - cap, x, y + cap) for x in (left, right))])
    painter.setPen(paint.pen(palette.ink, fonts.px(1.5)))
    painter.setBrush(theme.colour(palette.ink if mark.stands_out else palette.card))
    painter.drawEllipse(QPointF(_x(box, mark.share_pct), y), fonts.px(_DOT_PX), fonts.px(_DOT_PX))


def draw_axis(painter: QPainter, box: QRectF, palette: Palette) -> None:
    """Nought, half and all, above the lines."""
    font, foot = fonts.font(12), round(box.bottom()) - 0.5
    painter.setPen(paint.pen(palette.ink, fonts.px(1.5)))
    painter.drawLine(QLineF(_x(box, 0.0), foot, _x(box, 100.0), foot))
    for tick in _TICKS:
        x, words = round(_x(box, tick)) + 0.5, f"{tick:.0f} %"
        wide = paint.text_width(words, font) + 2
        where = QRectF(x - wide / 2, box.top(), wide, box.height() - fonts.px(_TICK_PX))
        paint.draw_text(painter, where, words, font=font, code=palette.muted, align=paint.CENTRE)
        painter.setPen(paint.pen(palette.muted, palette.line_px * max(1, fonts.px(1))))
        painter.drawLine(QLineF(x, foot - fonts.px(_TICK_PX), x, foot))


def _x(box: QRectF, pct: float) -> float:
    end = fonts.px(_END_PX)
    return box.left() + end + SCALE.share(pct) * (box.width() - 2 * end)
