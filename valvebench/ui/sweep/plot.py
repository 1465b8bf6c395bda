"""Both branches of a sweep with their joint curve.  Only here does the page know pyqtgraph, brought in late."""

from __future__ import annotations

from typing import Final

import pyqtgraph as pg

from valvebench.ui import fonts, theme
from valvebench.ui.heat.drawing import Drawing, pen
from valvebench.ui.sweep.shown import CurveShown

_DOT_PX: Final = 9
_AIR: Final = 0.06
_LEAST: Final = 1e-6


class SweepDrawing(Drawing):
    """Triangles up and down are the readings; the thick line is the joint curve, the thin ones its loop."""

    def _build(self) -> None:
        self._only = self._plot(0, "kPa", "A")
        self._up, self._down = pg.ScatterPlotItem(symbol="t1"), pg.ScatterPlotItem(symbol="t")
        self._middle, self._rising, self._falling = (pg.PlotCurveItem() for _ in range(3))
        self._dead = pg.InfiniteLine(0.0, angle=90)
        self._curve = CurveShown()
        for item in (self._rising, self._falling, self._middle, self._up, self._down, self._dead):
            self._only.addItem(item, ignoreBounds=True)
        self._dead.hide()

    def show_data(self, curve: CurveShown) -> None:
        """Another sweep."""
        self._curve = curve
        for item, points in ((self._up, curve.up), (self._down, curve.down)):
            item.setData([ampere for ampere, _ in points], [kpa for _, kpa in points])
        drawn = ((self._middle, curve.kpa), (self._rising, curve.rising_kpa), (self._falling, curve.falling_kpa))
        for item, kpa in drawn:
            item.setData(list(curve.ampere), list(kpa))
        self._dead.setVisible(curve.dead_ampere is not None)
        if curve.dead_ampere is not None:
            self._dead.setValue(curve.dead_ampere)
        self.reset()
        self.retheme()

    def reset(self) -> None:
        """The whole sweep again."""
        both = self._curve.up + self._curve.down
        for place, to in ((0, self._only.vb.setXRange), (1, self._only.vb.setYRange)):
            values = [point[place] for point in both] or [0.0, 1.0]
            air = max(_AIR * (max(values) - min(values)), _LEAST)
            to(min(values) - air, max(values) + air, padding=0)

    def retheme(self) -> None:
        """Take up the palette in force."""
        super().retheme()
        palette = theme.current()
        self._middle.setPen(pen(palette.ink, 2))
        for line, dash in ((self._rising, None), (self._falling, [6.0, 4.0])):
            line.setPen(pen(palette.muted, 1, dash=dash))
        self._dead.setPen(pen(palette.ink, 1, dash=[2, 4]))
        for dots, fill in ((self._up, palette.ink), (self._down, palette.card)):
            dots.setPen(pen(palette.ink, 1))
            dots.setBrush(theme.colour(fill))
            dots.setSize(fonts.px(_DOT_PX))
