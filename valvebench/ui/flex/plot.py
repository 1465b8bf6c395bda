"""The readings of a flex test, one after the other.  Only here does the page know pyqtgraph, brought in late."""

from __future__ import annotations

from typing import Final

import pyqtgraph as pg

from valvebench.ui import fonts, theme
from valvebench.ui.flex.shown import SeriesShown
from valvebench.ui.heat.drawing import Drawing, pen

_DOT_PX: Final = 7
_OPEN_PX: Final = 13
_AIR: Final = 0.12
_FLATTEST: Final = 0.02
"""Part of a reading that is always in sight: a flicker of the last digit is not to look like a mountain."""
_FEWEST_ACROSS: Final = 30
_CLOSE: Final = 300
"""More readings than this are a line only: their dots would cover it."""


class FlexDrawing(Drawing):
    """Readings as dots on a line; a cross at the top is an opening, a dashed line the moment of an event."""

    def _build(self) -> None:
        self._only = self._plot(0, "\u03a9", "reading")
        self._line = pg.PlotCurveItem(connect="finite")
        self._dots, self._opened = pg.ScatterPlotItem(), pg.ScatterPlotItem()
        self._moments: list[pg.InfiniteLine] = []
        self._series = SeriesShown()
        for item in (self._line, self._dots, self._opened):
            self._only.addItem(item, ignoreBounds=True)

    def show_data(self, series: SeriesShown) -> None:
        """Other readings."""
        self._series = series
        self._refill()
        self.reset()
        self.retheme()

    def _refill(self) -> None:
        series = self._series
        pairs = list(zip(series.samples, series.ohm, strict=True))
        values = [(at, ohm) for at, ohm in pairs if ohm is not None]
        self._line.setData([float(at) for at, _ in pairs], [float("nan") if ohm is None else ohm for _, ohm in pairs])
        dots = values if len(values) <= _CLOSE else []
        self._dots.setData([at for at, _ in dots], [ohm for _, ohm in dots])
        for line in self._moments:
            self._only.removeItem(line)
        self._unsay()
        self._moments = []
        for event in series.events:
            if event.kind != "open":
                moment = pg.InfiniteLine(event.sample - (0.5 if event.kind == "step" else 0.0), angle=90)
                self._only.addItem(moment, ignoreBounds=True)
                self._moments.append(moment)

    def reset(self) -> None:
        """The whole series again."""
        series = self._series
        values = [ohm for ohm in series.ohm if ohm is not None]
        low, high = (min(values), max(values)) if values else (0.0, 1.0)
        middle, half = (low + high) / 2, max((high - low) / 2, _FLATTEST * abs(low + high) / 2, 1e-6)
        last = max(_FEWEST_ACROSS, series.samples[-1] if series.samples else 0)
        top = middle + half * (1 + _AIR)
        self._only.vb.setXRange(0.5 - 0.01 * last, last + 0.5, padding=0)
        self._only.vb.setYRange(middle - half * (1 + _AIR), top + half * 2 * _AIR, padding=0)
        opened = [at for at, ohm in zip(series.samples, series.ohm, strict=True) if ohm is None]
        self._opened.setData(opened, [top] * len(opened))

    def retheme(self) -> None:
        """Take up the palette in force."""
        super().retheme()
        palette = theme.current()
        self._line.setPen(pen(palette.muted, 1))
        self._dots.setPen(pen(palette.ink, 1))
        self._dots.setBrush(theme.colour(palette.card))
        self._dots.setSize(fonts.px(_DOT_PX))
        self._opened.setSymbol("x")
        self._opened.setPen(pen(palette.ink, 1))
        self._opened.setBrush(theme.colour(palette.ink))
        self._opened.setSize(fonts.px(_OPEN_PX))
        for line in self._moments:
            line.setPen(pen(palette.ink, 1, dash=[4, 4]))
