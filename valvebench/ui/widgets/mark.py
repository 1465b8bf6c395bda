"""The verdict mark: colour, shape, glyph and outline, drawn as paths."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPaintEvent, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Glyph, Palette, Shape
from valvebench.ui.widgets import paint

OUTLINE: Final = 0.16
"""Width of the outline as a share of the radius."""
STROKE: Final = 0.24
"""Width of the glyph as a share of the radius."""

Strokes = tuple[tuple[tuple[float, float], ...], ...]

_GLYPH_STROKES: Final[dict[Glyph, Strokes]] = {
    Glyph.TICK: (((-0.42, 0.04), (-0.12, 0.36), (0.44, -0.32)),),
    Glyph.CROSS: (((-0.36, -0.36), (0.36, 0.36)), ((-0.36, 0.36), (0.36, -0.36))),
    Glyph.BAR_AND_DOT: (((0.0, -0.34), (0.0, 0.2)),),
    Glyph.DASH: (((-0.4, 0.0), (0.4, 0.0)),),
    Glyph.NONE: (),
}


def paint_mark(
    painter: QPainter, verdict: Verdict, centre: QPointF, radius: float, palette: Palette | None = None
) -> None:
    """Draw the mark of a verdict; `radius` in logical pixels, 7.5 or more stays crisp."""
    palette = palette or theme.current()
    look = theme.VERDICT_LOOK[verdict]
    painter.save()
    painter.translate(centre)
    painter.scale(radius, radius)
    _paint_body(painter, look, palette)
    _paint_glyph(painter, look)
    painter.restore()


def _paint_body(painter: QPainter, look: theme.Look, palette: Palette) -> None:
    is_hollow = look.shape in {Shape.RING, Shape.HALF_RING}
    fill = look.fill or (palette.card if is_hollow else palette.ink)
    painter.setPen(paint.pen(palette.ink, OUTLINE * (1.4 if is_hollow else 1.0)))
    painter.setBrush(theme.colour(fill))
    painter.drawPath(_outline(look.shape))
    if look.shape is Shape.HALF_RING:
        painter.setBrush(theme.colour(palette.ink))
        painter.drawPath(_half())


def _paint_glyph(painter: QPainter, look: theme.Look) -> None:
    painter.setPen(paint.pen(look.glyph_colour, STROKE, paint.ROUND))
    painter.setBrush(paint.NO_BRUSH)
    for stroke in _GLYPH_STROKES[look.glyph]:
        painter.drawPolyline([QPointF(x, y) for x, y in stroke])
    if look.glyph is Glyph.BAR_AND_DOT:
        painter.setPen(paint.NO_PEN)
        painter.setBrush(theme.colour(look.glyph_colour))
        painter.drawEllipse(QPointF(0.0, 0.53), 0.15, 0.15)


@lru_cache(maxsize=16)
def _outline(shape: Shape) -> QPainterPath:
    path = QPainterPath()
    if shape is Shape.SQUARE:
        path.addRoundedRect(QRectF(-0.84, -0.84, 1.68, 1.68), 0.12, 0.12)
    elif shape is Shape.TRIANGLE:
        path.addPolygon([QPointF(0, -0.98), QPointF(1.02, 0.84), QPointF(-1.02, 0.84)])
        path.closeSubpath()
    elif shape is Shape.DIAMOND:
        path.addPolygon([QPointF(0, -1.08), QPointF(1.08, 0), QPointF(0, 1.08), QPointF(-1.08, 0)])
        path.closeSubpath()
    else:
        reach = {Shape.RING: 0.78, Shape.HALF_RING: 0.78, Shape.DOT: 0.42}.get(shape, 0.92)
        path.addEllipse(QPointF(0, 0), reach, reach)
    return path


@lru_cache(maxsize=1)
def _half() -> QPainterPath:
    path = QPainterPath(QPointF(0, 0.78))
    path.arcTo(QRectF(-0.78, -0.78, 1.56, 1.56), -90, -180)
    path.closeSubpath()
    return path


@lru_cache(maxsize=512)
def mark_pixmap(verdict: Verdict, size_px: int, ratio: float, palette: Palette) -> QPixmap:
    """The mark as a picture of `size_px` logical pixels, kept for tables that draw it often."""
    pixmap = QPixmap(math.ceil(size_px * ratio), math.ceil(size_px * ratio))
    pixmap.setDevicePixelRatio(ratio)
    pixmap.fill(Qt.GlobalColor.transparent)
    painter = QPainter(pixmap)
    painter.setRenderHint(paint.SMOOTH)
    paint_mark(painter, verdict, QPointF(size_px / 2, size_px / 2), radius_in(size_px), palette)
    painter.end()
    return pixmap


def draw_mark(painter: QPainter, verdict: Verdict, centre: QPointF, radius: float, palette: Palette) -> None:
    """Draw a kept picture of the mark, which costs a fiftieth of painting it anew; for a file it is painted."""
    if paint.is_for_a_file(painter):
        paint_mark(painter, verdict, centre, radius, palette)
        return
    side = math.ceil(2 * radius * (1.08 + OUTLINE)) | 1
    pixmap = mark_pixmap(verdict, side, painter.device().devicePixelRatioF(), palette)
    painter.drawPixmap(QPointF(int(centre.x()) - side // 2, int(centre.y()) - side // 2), pixmap)


def radius_in(size_px: float) -> float:
    """The largest radius whose mark, outline included, fits a square of `size_px`."""
    return size_px / 2 / (1.08 + OUTLINE)


class MarkLabel(paint.Painted):
    """One verdict mark, read out by its word."""

    def __init__(
        self, verdict: Verdict = Verdict.NOT_TAKEN, *, size_px: float = 24, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._verdict, self._size_px = verdict, size_px
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.say(VERDICT_TEXT[verdict])

    @property
    def verdict(self) -> Verdict:
        """The verdict shown."""
        return self._verdict

    def set_verdict(self, verdict: Verdict) -> None:
        """Show another verdict."""
        if verdict is not self._verdict:
            self._verdict = verdict
            self.say(VERDICT_TEXT[verdict])

    def sizeHint(self) -> QSize:
        """A square of the drawn size at the zoom in force."""
        side = fonts.whole_px(self._size_px)
        return QSize(side, side)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one small mark
        """Draw the mark in the middle."""
        side = min(self.width(), self.height())
        with paint.start(self) as painter:
            paint_mark(painter, self._verdict, QRectF(self.rect()).center(), radius_in(side))
