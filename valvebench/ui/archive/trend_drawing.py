"""The drawing of values over time: the ruler turned upright.  Only here is pyqtgraph known to this page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

import numpy as np
import pyqtgraph as pg
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QPainter

from valvebench.ui import fonts, theme
from valvebench.ui.heat.drawing import Drawing, Pixels, pen
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import draw_mark

if TYPE_CHECKING:
    from valvebench.bench.trending import Charted

MOST_MARKS: Final = 150
"""In sight; of more, each is a plain dot, and only odd and failing ones are marked."""
_MOST_DOTS: Final = 3000
_MARK_PX: Final = 6.5
_CAP_PX: Final = 4
_RING_PX: Final = 11
_AIR: Final = 0.08
_EVERY_PX: Final = 96
_EPOCH: Final = date(1970, 1, 1)
_STEPS_DAYS: Final = (1, 2, 7, 14)
_STEPS_MONTHS: Final = (1, 2, 3, 6, 12, 24, 60, 120)
_MONTH_DAYS: Final = 30.44
_FEWEST_DAYS: Final = 2.0


class _Dates(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph has no types
    """Days, or beginnings of months, with room between them."""

    def __init__(self) -> None:
        super().__init__("bottom")
        self._is_months = True

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:  # noqa: N803
        """As many as there is room for."""
        least = max(1e-6, (maxVal - minVal) * fonts.px(_EVERY_PX) / max(size, 1.0))
        step = next((one for one in _STEPS_DAYS if one >= least), None)
        self._is_months = step is None
        if step is not None:
            first = np.ceil(minVal / step) * step
            return [(float(step), [float(one) for one in np.arange(first, maxVal, step)])]
        months = next((one for one in _STEPS_MONTHS if one * _MONTH_DAYS >= least), _STEPS_MONTHS[-1])
        return [(months * _MONTH_DAYS, _beginnings(minVal, maxVal, months))]

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:  # noqa: ARG002
        """As 2031-05, or with the day where days are told apart."""
        days = [_EPOCH + timedelta(days=float(value)) for value in values]
        return [f"{day:%Y-%m}" if self._is_months else day.isoformat() for day in days]


def _beginnings(low: float, high: float, months: int) -> list[float]:
    first = _EPOCH + timedelta(days=low)
    month = (first.year * 12 + first.month - 1) // months * months
    found = []
    while (day := float((date(month // 12, month % 12 + 1, 1) - _EPOCH).days)) < high:
        if day >= low:
            found.append(day)
        month += months
    return found


class _Ground(Pixels):
    """The limits as a band with its posts, and the levels of other bands as dashed lines."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view)
        self.charted: Charted | None = None

    def draw(self, painter: QPainter, at: Callable[[float, float], QPointF]) -> None:
        """Band first, then its limits, then the dashed lines."""
        charted = self.charted
        if charted is None:
            return
        palette, sight = theme.current(), self._view.viewRect()
        left, right = sight.left(), sight.right()
        low = sight.top() if charted.low is None else charted.low
        high = sight.bottom() if charted.high is None else charted.high
        if charted.low is not None or charted.high is not None:
            painter.fillRect(QRectF(at(left, high), at(right, low)), theme.band_brush(palette))
            painter.setPen(paint.pen(palette.ink, fonts.px(1.25) * palette.line_px**0.5))
            for limit in (charted.low, charted.high):
                if limit is not None:
                    painter.drawLine(at(left, limit), at(right, limit))
        painter.setPen(pen(palette.muted, 1, dash=[6, 4]))
        for line in charted.lines:
            painter.drawLine(at(left, line.value), at(right, line.value))


class _Marks(Pixels):
    """Each value as its mark with the whisker of its expanded uncertainty; odd ones have a ring around them."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view)
        self.charted: Charted | None = None
        self.marked: list[int] = []
        self.has_whiskers = True

    def draw(self, painter: QPainter, at: Callable[[float, float], QPointF]) -> None:
        """Whiskers, then rings, then marks."""
        charted = self.charted
        if charted is None:
            return
        palette, cap = theme.current(), QPointF(fonts.px(_CAP_PX), 0)
        painter.setPen(paint.pen(palette.ink, fonts.px(1)))
        for place in self.marked if self.has_whiskers else ():
            reach = charted.reach[place]
            if reach is not None:
                ends = [at(charted.days[place], charted.ohm[place] + sign * reach) for sign in (-1.0, 1.0)]
                painter.drawLines([QLineF(*ends), *(QLineF(end - cap, end + cap) for end in ends)])
        for place in self.marked:
            self._mark(painter, paint.snapped(at(charted.days[place], charted.ohm[place])), place, charted)

    def _mark(self, painter: QPainter, centre: QPointF, place: int, charted: Charted) -> None:
        palette, verdict = theme.current(), charted.verdicts[place]
        painter.setPen(paint.pen(palette.ink, fonts.px(1.5)))
        painter.setBrush(paint.NO_BRUSH)
        if place in charted.odd:
            painter.drawEllipse(centre, fonts.px(_RING_PX), fonts.px(_RING_PX))
        if place == charted.moved_at:
            painter.drawRect(
                QRectF(0, 0, 2 * fonts.px(_RING_PX), 2 * fonts.px(_RING_PX)).translated(
                    centre - QPointF(fonts.px(_RING_PX), fonts.px(_RING_PX))
                )
            )
        if verdict is not None:
            draw_mark(painter, verdict, centre, fonts.px(_MARK_PX), palette)
        else:
            painter.setBrush(theme.colour(palette.ink))
            painter.drawEllipse(centre, fonts.px(_MARK_PX / 2), fonts.px(_MARK_PX / 2))


class TrendDrawing(Drawing):
    """Values against the day; arrows move it, plus and minus enlarge, 0 shows all."""

    def _build(self) -> None:
        self._only = self._plot(0, "\u03a9", "closed on", along=_Dates())
        view = self._only.vb
        self._ground, self._marks = _Ground(view), _Marks(view)
        self._dots = pg.ScatterPlotItem(pxMode=True)
        for item in (self._ground, self._dots, self._marks):
            self._only.addItem(item, ignoreBounds=True)
        self._days = self._ohm = np.empty(0)
        self._told: np.ndarray[tuple[int], np.dtype[np.bool_]] = np.empty(0, bool)

    def show_chart(self, charted: Charted) -> None:
        """Other values."""
        from valvebench.model.words import Verdict

        self.plots = charted
        self._ground.charted = self._marks.charted = charted
        self._days, self._ohm = np.asarray(charted.days), np.asarray(charted.ohm)
        self._told = np.array(
            [
                place in charted.odd or place == charted.moved_at or verdict is Verdict.FAIL
                for place, verdict in enumerate(charted.verdicts)
            ],
            bool,
        )
        self._unsay()
        for line in charted.lines:
            if line.words:
                self._say(self._only, line.words, float(self._days[0]), line.value, (0, 0 if line.is_low else 1))
        self.reset()
        self.retheme()

    def reset(self) -> None:
        """All of them again."""
        charted = self.plots
        if charted is None:
            return
        left, right = float(self._days[0]), float(self._days[-1])
        width = max(right - left, _FEWEST_DAYS)
        limits = [
            end for end in (charted.low, charted.high, *(line.value for line in charted.lines)) if end is not None
        ]
        seen = [float(self._ohm.min()), float(self._ohm.max()), *limits]
        if len(charted.ohm) <= MOST_MARKS:
            ends = [(ohm - reach, ohm + reach) for ohm, reach in zip(charted.ohm, charted.reach, strict=True) if reach]
            seen += [end for pair in ends for end in pair]
        height = max(max(seen) - min(seen), 1e-9)
        view = self._only.vb
        view.setLimits(xMin=left - width, xMax=right + width, minXRange=1.0)
        view.setXRange(left - _AIR * width, right + _AIR * width, padding=0)
        view.setYRange(min(seen) - _AIR * height, max(seen) + _AIR * height, padding=0)
        self._refill()

    def _refill(self) -> None:
        """What is in sight: marks where they are few, else dots, with the odd and the failing ones marked."""
        left, right = self._only.vb.viewRange()[0]
        first, last = np.searchsorted(self._days, [left, right])
        is_few = last - first <= MOST_MARKS
        told = np.flatnonzero(self._told[first:last]) + first
        self._marks.marked = list(range(first, last)) if is_few else [int(one) for one in told[-MOST_MARKS:]]
        self._marks.has_whiskers = is_few
        step = max(1, (last - first) // _MOST_DOTS)
        if is_few:
            self._dots.setData([], [])
        else:
            self._dots.setData(self._days[first:last:step], self._ohm[first:last:step])
        self._marks.update()

    def retheme(self) -> None:
        """Take up the palette in force."""
        super().retheme()
        palette = theme.current()
        self._dots.setSize(fonts.px(3))
        self._dots.setPen(pen(palette.muted, 1))
        self._dots.setBrush(theme.colour(palette.muted))
        for item in (self._ground, self._marks):
            item.update()
