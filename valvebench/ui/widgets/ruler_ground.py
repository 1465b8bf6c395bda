"""The ground under a reading on a ruler: band, ticks and the words of the limits, kept as a picture."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final, NamedTuple

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QFont, QPainter, QPixmap, QStaticText

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.ruler_scale import Scale
from valvebench.ui.widgets.ticks import nice_ticks, tick_texts

SIDE_PX: Final = 20
LABEL_PX: Final = 20
POST_PX: Final = 40
BAND_PX: Final = 36
TICK_PX: Final = 4
FOOT_PX: Final = 24


class Ground(NamedTuple):
    """All that this picture depends on; limits in the unit of the scale, sizes in logical pixels."""

    scale: Scale
    low: float | None
    high: float | None
    low_text: str
    high_text: str
    width_px: int
    zoom: float
    ratio: float
    palette: Palette
    post: float | None = None
    post_text: str = ""

    @property
    def left(self) -> float:
        """Where the axis begins."""
        return fonts.px(SIDE_PX)

    @property
    def right(self) -> float:
        """Where the axis ends."""
        return self.width_px - fonts.px(SIDE_PX)

    def x(self, value: float) -> float:
        """Where a value stands."""
        return self.left + self.scale.share(value) * (self.right - self.left)

    def posts(self) -> list[tuple[float, str]]:
        """Each limit, and what else a number is held against, with its place and its words."""
        named = ((self.low, self.low_text), (self.high, self.high_text), (self.post, self.post_text))
        return [(self.x(limit), words or plain(limit)) for limit, words in named if limit is not None]


def plain(value: float | None) -> str:
    """A number as short as its digits allow; nothing for none."""
    return "" if value is None else f"{value:.6g}"


def axis_y() -> float:
    """The height of the axis, in the middle of a pixel."""
    return round(fonts.px(LABEL_PX + POST_PX)) + 0.5


def fill(painter: QPainter, left: float, right: float, palette: Palette, *, is_guard: bool) -> None:
    """One stretch of the band, or of the guard zone inside it."""
    bottom = axis_y()
    brush = theme.guard_brush(palette) if is_guard else theme.band_brush(palette)
    box = QRectF(left, bottom - fonts.px(BAND_PX), right - left, fonts.px(BAND_PX))
    if palette.is_hatched:
        painter.fillRect(box, theme.colour(palette.card))
    painter.fillRect(box, brush)


@lru_cache(maxsize=8)
def picture(ground: Ground) -> QPixmap:
    """The ground as a picture: drawing it again costs a tenth of painting it anew."""
    height_px = fonts.whole_px(LABEL_PX + POST_PX + TICK_PX + FOOT_PX)
    made = QPixmap(math.ceil(ground.width_px * ground.ratio), math.ceil(height_px * ground.ratio))
    made.setDevicePixelRatio(ground.ratio)
    made.fill(Qt.GlobalColor.transparent)
    painter = QPainter(made)
    painter.setRenderHint(paint.SMOOTH)
    _band(painter, ground)
    _ticks(painter, ground)
    _words(painter, ground)
    painter.end()
    return made


def _band(painter: QPainter, ground: Ground) -> None:
    if ground.low is None and ground.high is None:
        return
    left = ground.left if ground.low is None else ground.x(ground.low)
    right = ground.right if ground.high is None else ground.x(ground.high)
    fill(painter, left, right, ground.palette, is_guard=False)


class _TickRow(NamedTuple):
    """Where ticks stand, and their words laid out, each with its left end and its height."""

    places: tuple[float, ...]
    words: tuple[tuple[float, QStaticText, float], ...]


@lru_cache(maxsize=64)
def _tick_row(scale: Scale, left_px: float, right_px: float, side_px: float, font: QFont) -> _TickRow:
    """The same for every pair of limits on one scale."""
    ticks = nice_ticks(scale.low, scale.high, max(2, int((right_px - left_px) / fonts.px(56))))
    places = tuple(round(left_px + scale.share(tick) * (right_px - left_px)) + 0.5 for tick in ticks)
    words = []
    for x, text in zip(places, tick_texts(ticks), strict=True):
        room = paint.text_width(text, font) + 2
        left = min(max(x - room / 2, 0.0), right_px + side_px - room)
        laid, width, height = paint.laid_out(text, font)
        words.append((left + (room - width) / 2, laid, height))
    return _TickRow(places, tuple(words))


def _ticks(painter: QPainter, ground: Ground) -> None:
    font, top, palette = fonts.font(12), axis_y(), ground.palette
    row = _tick_row(ground.scale, ground.left, ground.right, fonts.px(SIDE_PX), font)
    foot = top + fonts.px(TICK_PX)
    painter.setPen(paint.pen(palette.muted, palette.line_px * max(1, fonts.px(1))))
    painter.drawLines([QLineF(x, top, x, foot) for x in row.places])
    painter.setFont(font)
    painter.setPen(theme.colour(palette.muted))
    for left, laid, height in row.words:
        painter.drawStaticText(QPointF(left, foot + (fonts.px(FOOT_PX) - height) / 2), laid)


def _words(painter: QPainter, ground: Ground) -> None:
    posts, font = ground.posts(), fonts.font(13, fonts.SEMIBOLD)
    for (_, words), box in zip(posts, _label_boxes(ground, posts, font), strict=True):
        paint.draw_text(painter, box, words, font=font, code=ground.palette.ink, align=paint.CENTRE)


def _label_boxes(ground: Ground, posts: list[tuple[float, str]], font: QFont) -> list[QRectF]:
    """Label boxes centred on their posts, pushed apart when they would touch."""
    widths = [paint.text_width(words, font) + 2 for _, words in posts]
    lefts = [x - width / 2 for (x, _), width in zip(posts, widths, strict=True)]
    if len(lefts) == 2:
        overlap = lefts[0] + widths[0] + fonts.px(8) - lefts[1]
        if overlap > 0:
            lefts = [lefts[0] - overlap / 2, lefts[1] + overlap / 2]
    return [
        QRectF(min(max(left, 0.0), ground.width_px - width), 0, width, fonts.px(LABEL_PX - 2))
        for left, width in zip(lefts, widths, strict=True)
    ]
