"""The drawings of a run.  Only here and in `drawing` is pyqtgraph known, brought in when the first run is drawn."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
import pyqtgraph as pg
from numpy.typing import NDArray
from PySide6.QtCore import QLineF, QPointF
from PySide6.QtGui import QPainter, QPolygonF

from valvebench.ui import fonts, theme
from valvebench.ui.heat.drawing import Drawing, Pixels, pen
from valvebench.ui.heat.loading import EventMark, Plots, Reference
from valvebench.ui.heat.pyramid import Cloud, Pyramid
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import draw_mark

Array = NDArray[np.float64]

_BARE_FOOT_PX: Final = 8
_SYMBOL_PX: Final = 9
_SYMBOL_EVERY_PX: Final = 18
_MARK_PX: Final = 7.5
_CAP_PX: Final = 5
_PAST_PX: Final = 2
_CASING_PX: Final = 6
_AIR: Final = 0.06
_APART: Final = 0.01
_CLOSEST: Final = 1e-5
"""The narrowest view as a share of the whole run."""


class _Band(Pixels):
    """The limits as they move with the coil, their guard zones darker."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view)
        self.plots: Plots | None = None

    def draw(self, painter: QPainter, at: Callable[[float, float], QPointF]) -> None:
        """Band, guard zones and both limits."""
        band = self.plots.band if self.plots is not None else None
        if band is None:
            return
        palette, sight = theme.current(), self._view.viewRect()
        low = [(one.celsius, sight.top() if one.low is None else one.low) for one in band]
        high = [(one.celsius, sight.bottom() if one.high is None else one.high) for one in band]
        painter.setPen(paint.NO_PEN)
        self._fill(painter, at, low, high, theme.band_brush(palette))
        for has_limit, line, sign in ((band[0].low is not None, low, 1.0), (band[0].high is not None, high, -1.0)):
            if has_limit:
                ends = zip(band, line, strict=True)
                inner = [(one.celsius, limit + sign * self._guard(band, one.guard)) for one, (_, limit) in ends]
                self._fill(painter, at, line, inner, theme.guard_brush(palette))
        painter.setPen(paint.pen(palette.ink, fonts.px(1.25) * palette.line_px**0.5))
        for has_limit, line in ((band[0].low is not None, low), (band[0].high is not None, high)):
            if has_limit:
                painter.drawPolyline(QPolygonF([at(*point) for point in line]))

    @staticmethod
    def _guard(band: Any, guard: float) -> float:
        """Both zones meet in the middle where the band is narrower than they are."""
        first = band[0]
        room = (first.high - first.low) / 2 if first.low is not None and first.high is not None else guard
        return float(min(guard, room * guard / max(first.guard, 1e-12)))

    @staticmethod
    def _fill(painter: QPainter, at: Any, one: Any, other: Any, brush: Any) -> None:
        painter.setBrush(brush)
        painter.drawPolygon(QPolygonF([at(*point) for point in (*one, *reversed(other))]))


class _Whiskers(Pixels):
    """How far the meter may be off in each of a few readings; a short one reaches past its mark by its ends."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view)
        self.reach: Array | None = None

    def draw(self, painter: QPainter, at: Callable[[float, float], QPointF]) -> None:
        """One for each reading."""
        if self.reach is None:
            return
        cap, lines = QPointF(fonts.px(_SYMBOL_PX / 2 + _PAST_PX), 0), []
        for celsius, ohm, expanded in self.reach.tolist():
            ends = [at(celsius, ohm + sign * expanded) for sign in (-1.0, 1.0)]
            lines += [QLineF(*ends), *(QLineF(end - cap, end + cap) for end in ends)]
        painter.setPen(paint.pen(theme.current().ink, fonts.px(1)))
        painter.drawLines(lines)


class _Verdict(Pixels):
    """The judged value where the limits hold, as its mark with the whisker of its expanded uncertainty."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__(view)
        self.reference: Reference | None = None

    def draw(self, painter: QPainter, at: Callable[[float, float], QPointF]) -> None:
        """Whisker, then mark."""
        reference = self.reference
        if reference is None:
            return
        palette, cap = theme.current(), QPointF(fonts.px(_CAP_PX), 0)
        ends = [at(reference.celsius, reference.ohm + sign * reference.expanded) for sign in (-1.0, 1.0)]
        painter.setPen(paint.pen(palette.ink, fonts.px(1.75)))
        painter.drawLine(ends[0], ends[1])
        for end in ends:
            painter.drawLine(end - cap, end + cap)
        centre = paint.snapped(at(reference.celsius, reference.ohm))
        draw_mark(painter, reference.verdict, centre, fonts.px(_MARK_PX), palette)


class TimeDrawing(Drawing):
    """Against time: probe and coil above, resistance below."""

    def _build(self) -> None:
        self._above = self._plot(0, "\u00b0C", "")
        self._below = self._plot(1, "\u03a9", "time")
        self._below.setXLink(self._above)
        self._above.getAxis("bottom").setStyle(showValues=False)
        self._above.showLabel("bottom", False)
        self._probe, self._coil, self._ohm = (pg.PlotCurveItem(connect="finite") for _ in range(3))
        self._above.addItem(self._probe)
        self._above.addItem(self._coil)
        self._below.addItem(self._ohm)
        self._lines: list[tuple[pg.PlotItem, pg.InfiniteLine]] = []

    def rescale(self) -> None:
        """Take up the zoom in force; the upper axis has no words."""
        super().rescale()
        self._above.getAxis("bottom").setHeight(fonts.whole_px(_BARE_FOOT_PX))

    def show_run(self, plots: Plots) -> None:
        """Another run."""
        self.plots = plots
        time = plots.probe.x
        self._home = (float(time[0]), float(max(time[-1], time[0] + 1e-9)))
        label = f"time, {plots.time_unit}" if plots.time_unit else "reading"
        self._below.setLabel("bottom", label)
        self._set_heights(plots)
        self._show_events(plots.events)
        self.reset()
        self.retheme()

    def _set_heights(self, plots: Plots) -> None:
        temperatures = [plots.probe.y] + ([plots.coil.y] if plots.coil is not None else [])
        low, high = (float(f([f(one) for one in temperatures])) for f in (np.min, np.max))
        for plot, (bottom, top) in ((self._above, (low, high)), (self._below, plots.span_ohm)):
            room = _AIR * max(top - bottom, 1e-9)
            above = 4 * room if plots.events and plot is self._above else room
            plot.vb.setYRange(bottom - room, top + above, padding=0)
        width = self._home[1] - self._home[0]
        self._above.vb.setLimits(
            xMin=self._home[0] - 0.5 * width, xMax=self._home[1] + 0.5 * width, minXRange=_CLOSEST * width
        )

    def _show_events(self, events: tuple[EventMark, ...]) -> None:
        self._unsay()
        for plot, line in self._lines:
            plot.removeItem(line)
        self._lines = []
        for event in events:
            if event.time is None:
                continue
            for plot in self._items:
                line = pg.InfiniteLine(event.time, angle=90)
                plot.addItem(line, ignoreBounds=True)
                self._lines.append((plot, line))
            top = self._above.vb.viewRange()[1][1]
            self._say(self._above, str(event.number), event.time, top, (0, 0))

    def reset(self) -> None:
        """The whole run again."""
        width = self._home[1] - self._home[0]
        self._above.vb.setXRange(self._home[0] - 0.01 * width, self._home[1] + 0.01 * width, padding=0)
        self._refill()

    def pan(self, right: float, up: float) -> None:
        """Along the time; up and down there is nothing more to see."""
        super().pan(right, 0.0 * up)

    def _refill(self) -> None:
        if self.plots is None:
            return
        left, right = self._above.vb.viewRange()[0]
        count = self._columns()
        _fill(self._probe, self.plots.probe, left, right, count)
        _fill(self._ohm, self.plots.ohm, left, right, count)
        if self.plots.coil is not None:
            _fill(self._coil, self.plots.coil, left, right, count)
        else:
            self._coil.setData([], [])

    def retheme(self) -> None:
        """Take up the palette in force."""
        super().retheme()
        palette = theme.current()
        thin, dashed = pen(palette.ink, 1), pen(palette.ink, 1, dash=[4, 4])
        for curve, line_pen in ((self._probe, thin), (self._coil, dashed), (self._ohm, thin)):
            curve.setPen(line_pen)
        dotted = pen(palette.muted, 1, dash=[1, 3])
        for _, line in self._lines:
            line.setPen(dotted)


class HeatDrawing(Drawing):
    """Resistance against the coil's temperature: warming and cooling by shape, the lines, and the moving band."""

    def _build(self) -> None:
        self._only = self._plot(0, "\u03a9", "coil temperature, \u00b0C")
        view = self._only.vb
        self._band, self._verdict = _Band(view), _Verdict(view)
        self._bars, self._whiskers = pg.PlotCurveItem(connect="pairs"), _Whiskers(view)
        self._warming, self._cooling, self._marked = (pg.ScatterPlotItem(pxMode=True) for _ in range(3))
        self._fitted, self._copper = pg.PlotCurveItem(), pg.PlotCurveItem()
        for item in (
            self._band,
            self._bars,
            self._whiskers,
            self._copper,
            self._fitted,
            self._warming,
            self._cooling,
            self._marked,
            self._verdict,
        ):
            self._only.addItem(item, ignoreBounds=True)

    def show_run(self, plots: Plots) -> None:
        """Another run."""
        self.plots = plots
        self._band.plots, self._verdict.reference = plots, plots.reference
        self._fitted.setData(plots.celsius[: plots.fitted.size], plots.fitted)
        self._copper.setData(plots.celsius[: plots.copper.size], plots.copper)
        self._whiskers.reach = plots.reach
        self._only.setLabel("bottom", f"{'coil' if plots.is_coil_known else 'probe'} temperature, \u00b0C")
        self._unsay()
        self._name_copper(plots)
        for event in plots.events:
            self._say(self._only, str(event.number), event.celsius, event.ohm, (0.5, 1.6))
        self.reset()
        self.retheme()

    def _name_copper(self, plots: Plots) -> None:
        """Beside the end of its line, where that parts from the other."""
        if not plots.copper.size:
            return
        end, fitted, copper = (float(line[-1]) for line in (plots.celsius, plots.fitted, plots.copper))
        if abs(fitted - copper) > _APART * abs(copper):
            self._say(self._only, "copper alone", end, copper, (1, -0.5 if fitted >= copper else 1.5))

    def reset(self) -> None:
        """The whole run again."""
        plots = self.plots
        if plots is None:
            return
        left, right = float(plots.celsius[0]), float(plots.celsius[-1])
        limits = [end for one in plots.band or () for end in (one.low, one.high) if end is not None]
        reference = (plots.reference.ohm - plots.reference.expanded, plots.reference.ohm + plots.reference.expanded)
        seen = [*plots.span_ohm, *limits, *reference, *plots.fitted.tolist(), *plots.copper.tolist()]
        width, height = right - left, max(max(seen) - min(seen), 1e-9)
        view = self._only.vb
        view.setLimits(minXRange=_CLOSEST * width, xMin=left - width, xMax=right + width)
        view.setXRange(left - 0.04 * width, right + 0.04 * width, padding=0)
        view.setYRange(min(seen) - _AIR * height, max(seen) + _AIR * height, padding=0)
        self._refill()

    def enlarge(self, factor: float) -> None:
        """Both ways: the readings lie along a slope."""
        super().enlarge(factor)
        low, high = self._only.vb.viewRange()[1]
        middle, half = (low + high) / 2, (high - low) / 2 / factor
        self._only.vb.setYRange(middle - half, middle + half, padding=0)

    def _refill(self) -> None:
        plots = self.plots
        if plots is None:
            return
        left, right = self._only.vb.viewRange()[0]
        x, y = self._bars_of(plots, left, right)
        self._bars.setData(x, y)
        for item, cloud in ((self._warming, plots.warming), (self._cooling, plots.cooling)):
            item.setData(*self._symbols_of(cloud, left, right))
        marks = [event for event in plots.events if event.is_open]
        self._marked.setData([one.celsius for one in marks], [one.ohm for one in marks])

    def _bars_of(self, plots: Plots, left: float, right: float) -> tuple[Array, Array]:
        """Least to greatest of each column, both ways."""
        heaps = [cloud.columns(left, right, self._columns()) for cloud in (plots.warming, plots.cooling)]
        x = np.concatenate([np.repeat(heap.celsius, 2) for heap in heaps])
        y = np.concatenate([np.column_stack([heap.low, heap.high]).ravel() for heap in heaps])
        return x, y

    def _symbols_of(self, cloud: Cloud, left: float, right: float) -> tuple[Array, Array]:
        """A shape for each reading where they are few, else one for every few pixels."""
        count = max(4, int(self._columns() / fonts.px(_SYMBOL_EVERY_PX)))
        heap = cloud.columns(left, right, count)
        return heap.celsius, heap.mean

    def retheme(self) -> None:
        """Take up the palette in force."""
        super().retheme()
        palette = theme.current()
        self._bars.setPen(pen(palette.muted, 1))
        casing = pen(palette.card, _CASING_PX) if palette.is_hatched else None
        for line in (self._fitted, self._copper):
            line.setShadowPen(casing)
        self._fitted.setPen(pen(palette.ink, 2))
        self._copper.setPen(pen(palette.ink, 1, dash=[6, 4]))
        edge, size = pen(palette.ink, 1), fonts.px(_SYMBOL_PX)
        self._warming.setSymbol("t1")
        self._cooling.setSymbol("t")
        self._marked.setSymbol("x")
        for item, fill in (
            (self._warming, palette.card),
            (self._cooling, palette.ink),
            (self._marked, palette.ink),
        ):
            item.setSize(size if item is not self._marked else size * 1.4)
            item.setPen(edge)
            item.setBrush(theme.colour(fill))
        for item in (self._band, self._whiskers, self._verdict):
            item.update()


def _fill(curve: pg.PlotCurveItem, pyramid: Pyramid, left: float, right: float, count: int) -> None:
    x, y = pyramid.columns(left, right, count)
    curve.setData(x, y)
