"""A ring over something that takes the keyboard as a whole and cannot draw it itself."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, QRectF, Qt
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QAbstractScrollArea, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint


class FocusRing(QWidget):
    """Lies over the inside of a scrolling widget while that has the keyboard."""

    def __init__(self, area: QAbstractScrollArea) -> None:
        super().__init__(area)
        self._area = area
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.hide()
        area.installEventFilter(self)
        area.viewport().installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Come and go with the keyboard, and keep the size of the inside."""
        kind = event.type()
        if kind == QEvent.Type.FocusIn and watched is self._area:
            self.raise_()
            self.show()
        elif kind == QEvent.Type.FocusOut and watched is self._area:
            self.hide()
        elif kind in (QEvent.Type.Resize, QEvent.Type.Move) and watched is not self._area:
            self.setGeometry(self._area.viewport().geometry())
        return super().eventFilter(watched, event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one ring
        """Draw the ring."""
        with paint.start(self) as painter:
            paint.draw_focus(painter, QRectF(self.rect()), radius_px=fonts.px(4), code=theme.current().ink)
