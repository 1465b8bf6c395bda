"""What both drawings of a run share: axes, moving, enlarging, looks.  Only for those who may know pyqtgraph.

Data curves are one pixel wide without smoothing: wide or smoothed ones cost a hundred times as much.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import pyqtgraph as pg
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QPainter, QPen, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QGraphicsSimpleTextItem, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.ticks import nice_ticks, tick_texts

AXIS_PX: Final = 52
FOOT_PX: Final = 44
TOP_PX: Final = 24
RIGHT_PX: Final = 20
_FEWEST_TICKS: Final = 4
_TICK_EVERY_PX: Final = 64
_TICK_UP_EVERY_PX: Final = 32
ZOOM_STEP: Final = 1.4


class _Axis(pg.AxisItem):  # type: ignore[misc]  # pyqtgraph has no types
    """Round numbers in the program's type; none at the very ends, where they would be cut."""

    def tickValues(self, minVal: float, maxVal: float, size: float) -> list[tuple[float, list[float]]]:  # noqa: N803
        """Round numbers with room between them."""
        ticks = nice_ticks(minVal, maxVal, max(_FEWEST_TICKS, int(size / fonts.px(self._every_px()))))
        edge = (maxVal - minVal) * 0.02
        kept = [tick for tick in ticks if minVal + edge <= tick <= maxVal - edge]
        return [((ticks[1] - ticks[0]) if len(ticks) > 1 else 1.0, kept)]

    def _every_px(self) -> float:
        return _TICK_UP_EVERY_PX if self.orientation == "left" else _TICK_EVERY_PX

    def tickStrings(self, values: list[float], scale: float, spacing: float) -> list[str]:  # noqa: ARG002
        """Their words, alike in their decimals."""
        return list(tick_texts(tuple(values)))


class Pixels(pg.GraphicsObject):  # type: ignore[misc]  # pyqtgraph has no types
    """Draws itself in pixels: what has a size of its own does not stretch with the view."""

    def __init__(self, view: pg.ViewBox) -> None:
        super().__init__()
        self._view = view
        view.sigRangeChanged.connect(self._moved)
        view.sigResized.connect(self._moved)

    def _moved(self, *_: object) -> None:
        self.prepareGeometryChange()
        self.update()

    def boundingRect(self) -> QRectF:
        """All that is in sight."""
        return QRectF(self._view.viewRect())

    def paint(self, painter: QPainter, *_: object) -> None:
        """In pixels."""
        to_pixels = painter.transform()
        painter.save()
        painter.resetTransform()
        painter.setRenderHint(paint.SMOOTH)
        self.draw(painter, lambda x, y: to_pixels.map(QPointF(x, y)))
        painter.restore()

    def draw(self, painter: QPainter, at: Callable[[float, float], QPointF]) -> None:
        """Draw; `at` turns numbers into a place on the screen."""


class Drawing(pg.GraphicsLayoutWidget):  # type: ignore[misc]  # pyqtgraph has no types
    """A drawing that can be moved and enlarged; it never takes the keyboard itself."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAntialiasing(False)
        self.plots: Any = None
        self._words: list[pg.TextItem] = []
        self._items: list[pg.PlotItem] = []
        self._units: list[QGraphicsSimpleTextItem] = []
        self.ci.layout.setContentsMargins(0, 0, 0, 0)
        self.ci.layout.setVerticalSpacing(0)
        self._home: tuple[float, float] = (0.0, 1.0)
        self._build()
        for plot in self._items:
            plot.vb.sigRangeChanged.connect(self._range_changed)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.retheme()

    def _build(self) -> None:
        """Make plots and what stands in them."""

    def _refill(self) -> None:
        """Other columns for another view."""

    def _plot(self, row: int, unit: str, bottom: str, *, along: pg.AxisItem | None = None) -> pg.PlotItem:
        axes = {"left": _Axis("left"), "bottom": along or _Axis("bottom")}
        plot = self.addPlot(row=row, col=0, axisItems=axes)
        self._units.append(QGraphicsSimpleTextItem(unit, axes["left"]))
        plot.setMenuEnabled(False)
        plot.ctrlMenu.setParent(self, plot.ctrlMenu.windowFlags())  # it belongs to nobody and would stay for ever
        plot.hideButtons()
        plot.setLabel("bottom", bottom)
        plot.vb.disableAutoRange()
        self._items.append(plot)
        return plot

    # -- moving ----------------------------------------------------------------------------

    def pan(self, right: float, up: float) -> None:
        """Move the view by parts of its width and height."""
        view = self._items[0].vb
        (left, end), (low, high) = view.viewRange()
        view.setXRange(left + right * (end - left), end + right * (end - left), padding=0)
        if up:
            view.setYRange(low + up * (high - low), high + up * (high - low), padding=0)

    def enlarge(self, factor: float) -> None:
        """Show less or more around the middle."""
        view = self._items[0].vb
        left, end = view.viewRange()[0]
        middle, half = (left + end) / 2, (end - left) / 2 / factor
        view.setXRange(middle - half, middle + half, padding=0)

    def reset(self) -> None:
        """The whole run again."""

    def wheelEvent(self, event: QWheelEvent) -> None:
        """With Ctrl the wheel enlarges; without it the page scrolls."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.enlarge(ZOOM_STEP if event.angleDelta().y() > 0 else 1 / ZOOM_STEP)
            event.accept()
        else:
            event.ignore()

    def _range_changed(self, *_: object) -> None:
        if self.plots is not None:
            self._refill()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """As many columns as there are pixels now."""
        super().resizeEvent(event)
        if hasattr(self, "_home") and self.plots is not None:
            self._refill()

    def _columns(self) -> int:
        return max(50, int(self._items[0].vb.width()))

    # -- looks -----------------------------------------------------------------------------

    def rescale(self) -> None:
        """Take up the zoom in force."""
        for plot in self._items:
            plot.layout.setContentsMargins(0, fonts.whole_px(TOP_PX), fonts.whole_px(RIGHT_PX), 0)
            plot.getAxis("left").setWidth(fonts.whole_px(AXIS_PX))
            plot.getAxis("bottom").setHeight(fonts.whole_px(FOOT_PX))
            for name in ("left", "bottom"):
                axis = plot.getAxis(name)
                axis.setTickFont(fonts.font(12))
                axis.label.setFont(fonts.font(12))
        for unit in self._units:
            unit.setFont(fonts.font(12))
            unit.setPos(fonts.px(AXIS_PX - 6) - unit.boundingRect().width(), fonts.px(-TOP_PX + 2))
        for words in self._words:
            words.setFont(fonts.font(12, fonts.SEMIBOLD))

    def retheme(self) -> None:
        """Take up the palette in force; pyqtgraph does not follow it by itself."""
        palette = theme.current()
        self.setBackground(theme.colour(palette.card))
        for plot in self._items:
            for name in ("left", "bottom"):
                axis = plot.getAxis(name)
                axis.setPen(pen(palette.ink, palette.line_px))
                axis.setTextPen(theme.colour(palette.muted))
        for unit in self._units:
            unit.setBrush(theme.colour(palette.muted))
        for words in self._words:
            words.setColor(theme.colour(palette.ink))
            words.fill = QBrush(theme.colour(palette.card)) if palette.is_hatched else QBrush(paint.NO_BRUSH)

    def _say(self, plot: pg.PlotItem, text: str, x: float, y: float, anchor: tuple[float, float]) -> None:
        words = pg.TextItem(text, anchor=anchor)
        words.setFont(fonts.font(12, fonts.SEMIBOLD))
        words.setColor(theme.colour(theme.current().ink))
        words.setPos(x, y)
        plot.addItem(words, ignoreBounds=True)
        self._words.append(words)

    def _unsay(self) -> None:
        for words in self._words:
            words.scene().removeItem(words)
        self._words = []


def pen(code: str, width_px: float, *, dash: list[float] | None = None) -> QPen:
    """A pen as wide as said, however far the view is enlarged."""
    pen: QPen = pg.mkPen(theme.colour(code), width=width_px, dash=dash)
    return pen
