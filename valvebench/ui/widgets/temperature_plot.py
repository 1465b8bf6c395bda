"""Resistance against coil temperature: the band that moves, and the readings with their doubt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec
from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.model.format import value_text
from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import draw_mark
from valvebench.ui.widgets.ticks import nice_ticks, tick_texts

EMPTY_TEXT: Final = "Readings appear here as they are kept, each at its coil temperature"
AXIS_TEXT: Final = "coil temperature, \N{DEGREE SIGN}C"

BandPoint = tuple[float, float | None, float | None]
"""Coil temperature [degC], lower limit and upper limit there [ohm], None where there is none."""
PlotMark = tuple[float, float, float | None, Verdict]
"""Coil temperature [degC], resistance [ohm], expanded uncertainty [ohm] or None, verdict."""

_LEFT_PX: Final = 52
_RIGHT_PX: Final = 20
_TOP_PX: Final = 28
_BOTTOM_PX: Final = 48
_MARK_PX: Final = 6.5
_CAP_PX: Final = 4
_PAST_MARK_PX: Final = 4
_DEFAULT_CELSIUS: Final = (0.0, 120.0)
_DEFAULT_OHM: Final = (0.0, 10.0)


class Window(msgspec.Struct, frozen=True, kw_only=True):
    """The numbers at the edges of the plot: temperature in degC, resistance in ohm."""

    left: float
    right: float
    bottom: float
    top: float


def window_for(band: Sequence[BandPoint], marks: Sequence[PlotMark]) -> Window:
    """The stretch that shows band and readings, with a little air."""
    celsius = [point[0] for point in band] + [mark[0] for mark in marks]
    ohm = [limit for point in band for limit in point[1:] if limit is not None]
    for _, value, expanded, _ in marks:
        ohm += [value - (expanded or 0.0), value + (expanded or 0.0)]
    # The band alone sets the width where there is one, so that readings do not move it.
    left, right = _airy(celsius, _DEFAULT_CELSIUS, air=0.0 if band else 0.2)
    bottom, top = _airy(ohm, _DEFAULT_OHM, air=0.12)
    return Window(left=left, right=right, bottom=max(0.0, bottom) if min(ohm, default=0) >= 0 else bottom, top=top)


def _airy(numbers: list[float], default: tuple[float, float], *, air: float) -> tuple[float, float]:
    if not numbers:
        return default
    low, high = min(numbers), max(numbers)
    spread = (high - low) or max(abs(high), 1.0)
    room = spread * air if high > low else spread * 0.5
    return low - room, high + room


def _value_words(ohm: float, expanded: float | None) -> str:
    return f"{ohm:.4g}" if expanded is None else value_text(ohm, expanded, unit=False)


class TemperaturePlot(paint.Painted):
    """A quiet plot without tools: it answers one look."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._band: tuple[BandPoint, ...] = ()
        self._marks: tuple[PlotMark, ...] = ()
        self._here_celsius: float | None = None
        self._empty, self._unit = EMPTY_TEXT, "\N{OHM SIGN}"
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self._read_out()

    def set_unit(self, unit: str) -> None:
        """Name the unit of the upright axis."""
        if unit != self._unit:
            self._unit = unit
            self._read_out()

    def set_band(self, points: Sequence[BandPoint]) -> None:
        """Draw the limits as they move with the coil; from left to right, empty for none."""
        if tuple(points) != self._band:
            self._band = tuple(points)
            self._read_out()

    def set_marks(self, marks: Sequence[PlotMark]) -> None:
        """Draw the readings."""
        if tuple(marks) != self._marks:
            self._marks = tuple(marks)
            self._read_out()

    def set_here(self, celsius: float | None) -> None:
        """Draw a line at the coil's temperature now, or none."""
        if celsius != self._here_celsius:
            self._here_celsius = celsius
            self.update()

    def set_empty(self, words: str) -> None:
        """What is said while there is nothing to draw."""
        if words != self._empty:
            self._empty = words
            self._read_out()

    def _read_out(self) -> None:
        readings = "; ".join(
            f"{_value_words(ohm, expanded)} {self._unit} at {celsius:.4g} \N{DEGREE SIGN}C, {VERDICT_TEXT[verdict]}"
            for celsius, ohm, expanded, verdict in self._marks
        )
        band = "with limits" if self._band else "without limits"
        self.say(f"Resistance against coil temperature, {band}: {readings or self._empty}")

    def sizeHint(self) -> QSize:
        """As drawn."""
        return QSize(fonts.whole_px(560), fonts.whole_px(320))

    def minimumSizeHint(self) -> QSize:
        """Three ticks each way."""
        return QSize(fonts.whole_px(240), fonts.whole_px(180))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one drawing
        """Draw band, axes and readings, in this order."""
        with paint.start(self) as painter:
            PlotDrawing(painter, QRectF(self.rect()), self._band, self._marks, theme.current()).run(
                here=self._here_celsius, empty=self._empty, unit=self._unit
            )


class PlotDrawing:
    """One painting of the plot, on a widget or on a picture."""

    def __init__(
        self,
        painter: QPainter,
        whole: QRectF,
        band: tuple[BandPoint, ...],
        marks: tuple[PlotMark, ...],
        palette: Palette,
    ) -> None:
        self._painter, self._whole, self._band, self._marks, self._palette = painter, whole, band, marks, palette
        self._window = window_for(band, marks)
        px = fonts.px
        self._room = whole.adjusted(px(_LEFT_PX), px(_TOP_PX), -px(_RIGHT_PX), -px(_BOTTOM_PX))

    def run(self, *, here: float | None, empty: str, unit: str) -> None:
        """Band, axes and readings, in this order."""
        is_empty = not self._band and not self._marks
        if not is_empty:
            self._paint_band()
        self._axes()
        self._axis_words(unit)
        if is_empty:
            self._empty_words(empty)
            return
        self._tick_row()
        self._tick_column()
        if here is not None and self._window.left <= here <= self._window.right:
            self._here_line(here)
        for celsius, ohm, expanded, verdict in self._marks:
            self._mark(self._at(celsius, ohm), self._height_px(expanded), verdict)

    def _at(self, celsius: float, ohm: float) -> QPointF:
        window, room = self._window, self._room
        x = room.left() + (celsius - window.left) / (window.right - window.left) * room.width()
        y = room.bottom() - (ohm - window.bottom) / (window.top - window.bottom) * room.height()
        return QPointF(x, y)

    def _height_px(self, ohm: float | None) -> float | None:
        return None if ohm is None else ohm / (self._window.top - self._window.bottom) * self._room.height()

    def _paint_band(self) -> None:
        low = [self._at(celsius, self._window.bottom if limit is None else limit) for celsius, limit, _ in self._band]
        high = [self._at(celsius, self._window.top if limit is None else limit) for celsius, _, limit in self._band]
        self._painter.setPen(paint.NO_PEN)
        self._painter.setBrush(theme.band_brush(self._palette))
        self._painter.drawPolygon(QPolygonF([*high, *reversed(low)]))
        self._painter.setBrush(paint.NO_BRUSH)
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(1.25) * self._palette.line_px**0.5))
        for line, column in ((low, 1), (high, 2)):
            if all(point[column] is not None for point in self._band):
                self._painter.drawPolyline(QPolygonF(line))

    def _axes(self) -> None:
        room = self._room
        self._painter.setPen(paint.pen(self._palette.ink, max(1.0, fonts.px(1)) * self._palette.line_px))
        self._painter.drawLine(QLineF(room.left(), room.top(), room.left(), room.bottom()))
        self._painter.drawLine(QLineF(room.left(), room.bottom(), room.right(), room.bottom()))

    def _axis_words(self, unit: str) -> None:
        room, px = self._room, fonts.px
        over = QRectF(room.left() - px(40), room.top() - px(26), px(80), px(20))
        under = QRectF(room.left(), room.bottom() + px(26), room.width(), px(20))
        self._words(over, unit, paint.CENTRE)
        self._words(under, AXIS_TEXT, paint.RIGHT)

    def _tick_row(self) -> None:
        ticks = nice_ticks(self._window.left, self._window.right, max(2, int(self._room.width() / fonts.px(56))))
        for tick, words in zip(ticks, tick_texts(ticks), strict=True):
            foot = self._at(tick, self._window.bottom)
            self._tick(QLineF(foot, foot + QPointF(0, fonts.px(4))))
            box = QRectF(foot.x() - fonts.px(40), foot.y() + fonts.px(6), fonts.px(80), fonts.px(18))
            self._words(box, words, paint.CENTRE)

    def _tick_column(self) -> None:
        ticks = nice_ticks(self._window.bottom, self._window.top, max(2, int(self._room.height() / fonts.px(40))))
        for tick, words in zip(ticks, tick_texts(ticks), strict=True):
            foot = self._at(self._window.left, tick)
            self._tick(QLineF(foot, foot - QPointF(fonts.px(4), 0)))
            left = self._whole.left()
            box = QRectF(left, foot.y() - fonts.px(10), foot.x() - fonts.px(8) - left, fonts.px(20))
            self._words(box, words, paint.RIGHT)

    def _tick(self, line: QLineF) -> None:
        self._painter.setPen(paint.pen(self._palette.ink, max(1.0, fonts.px(1))))
        self._painter.drawLine(line)

    def _here_line(self, celsius: float) -> None:
        pen = QPen(paint.pen(self._palette.muted, fonts.px(1.5)))
        pen.setStyle(Qt.PenStyle.DashLine)
        self._painter.setPen(pen)
        self._painter.drawLine(QLineF(self._at(celsius, self._window.bottom), self._at(celsius, self._window.top)))

    def _mark(self, centre: QPointF, reach_px: float | None, verdict: Verdict) -> None:
        centre = paint.snapped(centre)
        if reach_px is not None:
            self._whisker(centre, reach_px)
        draw_mark(self._painter, verdict, centre, fonts.px(_MARK_PX), self._palette)

    def _whisker(self, centre: QPointF, reach_px: float) -> None:
        # A short whisker hides behind its mark: its ends then reach past the mark on both sides.
        is_short = reach_px <= fonts.px(_MARK_PX + _PAST_MARK_PX / 2)
        cap = QPointF(fonts.px(_MARK_PX + _PAST_MARK_PX if is_short else _CAP_PX), 0)
        up = QPointF(0, reach_px)
        lines = [QLineF(centre - up, centre + up)]
        lines += [QLineF(centre + end - cap, centre + end + cap) for end in (up, -up)]
        if self._palette.is_hatched:
            self._painter.setPen(paint.pen(self._palette.card, fonts.px(6), paint.ROUND))
            self._painter.drawLines(lines)
        self._painter.setPen(paint.pen(self._palette.ink, fonts.px(1.75)))
        self._painter.drawLines(lines)

    def _words(self, box: QRectF, words: str, align: paint.Align) -> None:
        paint.draw_text(self._painter, box, words, font=fonts.font(12), code=self._palette.muted, align=align)

    def _empty_words(self, words: str) -> None:
        inset = fonts.px(24)
        box = self._room.adjusted(inset, inset, -inset, -inset)
        paint.draw_text(self._painter, box, words, font=fonts.font(14), code=self._palette.muted, align=paint.WRAPPED)
