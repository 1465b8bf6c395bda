"""Our own line drawings, always shown with a word beside them."""

from __future__ import annotations

from typing import Final

import msgspec
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QPainter

from valvebench.ui import theme
from valvebench.ui.widgets import paint

Points = tuple[tuple[float, float], ...]


class Drawing(msgspec.Struct, frozen=True, kw_only=True):
    """Strokes, rings (x, y, radius) and dots (x, y, radius) on a square of 16 by 16."""

    strokes: tuple[Points, ...] = ()
    rings: tuple[tuple[float, float, float], ...] = ()
    dots: tuple[tuple[float, float, float], ...] = ()


_RING: Final = ((8.0, 8.0, 6.25),)
ICONS: Final = {
    "note": Drawing(rings=_RING, strokes=(((8, 7.25), (8, 11.25)),), dots=((8, 4.9, 0.95),)),
    "problem": Drawing(
        strokes=(
            (
                (5.4, 1.75),
                (10.6, 1.75),
                (14.25, 5.4),
                (14.25, 10.6),
                (10.6, 14.25),
                (5.4, 14.25),
                (1.75, 10.6),
                (1.75, 5.4),
                (5.4, 1.75),
            ),
            ((8, 4.75), (8, 8.75)),
        ),
        dots=((8, 11.2, 0.95),),
    ),
    "ask": Drawing(
        rings=_RING,
        strokes=(
            ((5.9, 6.4), (6.2, 5.2), (7.2, 4.5), (8.6, 4.5), (9.8, 5.2), (10.1, 6.4), (9.6, 7.4), (8, 8.4), (8, 9.3)),
        ),
        dots=((8, 11.4, 0.95),),
    ),
    "clock": Drawing(rings=_RING, strokes=(((8, 4.25), (8, 8), (10.75, 9.75)),)),
    "kept": Drawing(
        strokes=(((1.75, 9), (1.75, 14.25), (14.25, 14.25), (14.25, 9)), ((4.75, 7), (8, 10.25), (13.5, 2.25)))
    ),
    "turn_over": Drawing(
        strokes=(
            ((2, 6.5), (4.25, 3.75), (11.5, 3.75), (14, 6.5)),
            ((11.25, 6.5), (14, 6.5), (14, 3.6)),
            ((14, 9.5), (11.75, 12.25), (4.5, 12.25), (2, 9.5)),
            ((4.75, 9.5), (2, 9.5), (2, 12.4)),
        ),
    ),
    "air": Drawing(
        strokes=(
            ((1.5, 5.5), (9, 5.5), (10.6, 4.8), (10.8, 3.2), (9.6, 2.2), (8, 2.6)),
            ((1.5, 8.5), (13, 8.5), (14.4, 7.6), (14.2, 6), (12.8, 5.4)),
            ((1.5, 11.5), (8.6, 11.5), (10, 12.4), (9.6, 13.8), (8.2, 14)),
        ),
    ),
    "heat": Drawing(
        rings=((8, 12, 2.4),),
        strokes=(
            ((6.6, 9.9), (6.6, 3), (8, 1.75), (9.4, 3), (9.4, 9.9)),
            ((8, 6), (8, 11)),
            ((11.75, 3.5), (13.75, 3.5)),
            ((11.75, 6.5), (13.75, 6.5)),
        ),
    ),
    "electricity": Drawing(
        strokes=(((9.25, 1.75), (3.75, 9), (7.5, 9), (6.75, 14.25), (12.25, 7), (8.5, 7), (9.25, 1.75)),)
    ),
    "hands": Drawing(
        strokes=(
            ((2.5, 8), (2.5, 3.5)),
            ((5.5, 7.5), (5.5, 1.75)),
            ((8.5, 7.5), (8.5, 1.75)),
            ((11.5, 8), (11.5, 3.25)),
            ((2.5, 8), (2.5, 11), (5, 14.25), (9.5, 14.25), (14.25, 8.5)),
        )
    ),
}


def paint_icon(painter: QPainter, name: str, box: QRectF, code: str) -> None:
    """Draw an icon into a square box in one colour, its lines 1.5 px at 16 px."""
    drawing = ICONS[name]
    painter.save()
    painter.translate(box.topLeft())
    painter.scale(box.width() / 16, box.height() / 16)
    painter.setPen(paint.pen(code, 1.5, paint.ROUND))
    painter.setBrush(paint.NO_BRUSH)
    for stroke in drawing.strokes:
        painter.drawPolyline([QPointF(x, y) for x, y in stroke])
    for x, y, radius in drawing.rings:
        painter.drawEllipse(QPointF(x, y), radius, radius)
    painter.setPen(paint.NO_PEN)
    painter.setBrush(theme.colour(code))
    for x, y, radius in drawing.dots:
        painter.drawEllipse(QPointF(x, y), radius, radius)
    painter.restore()
