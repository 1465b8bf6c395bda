"""Room on a page for a drawing.  What draws is heavy: it comes in a moment after the page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from PySide6.QtCore import QEvent, QSize
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from valvebench.ui import fonts


class PlotRoom(QWidget):
    """Holds what is to be drawn until the drawing is there; what it shows is said to a reader."""

    def __init__(self, shown: object, height_px: float, parent: QWidget | None = None) -> None:
        """`shown` is what stands there at first."""
        super().__init__(parent)
        self.drawing: Any = None
        self.shown = shown
        self._height_px = height_px
        self._room = QVBoxLayout(self)
        self._room.setContentsMargins(0, 0, 0, 0)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def let_draw(self, make: Callable[[QWidget], Any]) -> None:
        """What draws is there now: `make` gives a drawing that has `show_data` and `retheme`."""
        if self.drawing is None:
            self.drawing = make(self)
            self._room.addWidget(self.drawing)
            self.drawing.show_data(self.shown)

    def show_data(self, shown: object, words: str) -> None:
        """Something else is drawn; `words` say it."""
        self.shown = shown
        self.setAccessibleName(words)
        if self.drawing is not None:
            self.drawing.show_data(shown)

    def changeEvent(self, event: QEvent) -> None:
        """Another palette reaches the drawing, which does not follow it by itself."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and self.drawing is not None:
            self.drawing.retheme()

    def sizeHint(self) -> QSize:
        """A few ticks high."""
        return QSize(fonts.whole_px(420), fonts.whole_px(self._height_px))

    def minimumSizeHint(self) -> QSize:
        """A few ticks wide."""
        return QSize(fonts.whole_px(260), fonts.whole_px(self._height_px))
