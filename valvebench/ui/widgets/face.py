"""A connector face with its heading: which side it shows, and the button that turns it over."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.face_drawing import FaceDrawing
from valvebench.ui.widgets.text import ElidedText

MATING_TEXT: Final = "seen from the mating side"
WIRE_TEXT: Final = "seen from the wire side, turned over"


class Face(QWidget):
    """Heading and drawing; fill it through `drawing`."""

    pin_chosen = Signal(str)
    turned_over = Signal(bool)

    def __init__(self, title: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.drawing = FaceDrawing(self)
        self._title = ElidedText(title, size_px=17, weight=fonts.SEMIBOLD)
        self._side = ElidedText(MATING_TEXT, size_px=13, muted=True)
        self._turn = Button("Turn over", key="/")
        self._words, self._head, self._all = QVBoxLayout(), QHBoxLayout(), QVBoxLayout(self)
        self._is_side_below = False
        self._build()
        self._turn.clicked.connect(self.turn_over)
        self.drawing.pin_chosen.connect(self.pin_chosen)
        fonts.zoom.changed.connect(self.rescale)
        self.set_title(title)
        self.rescale()

    def _build(self) -> None:
        self._words.addWidget(self._title)
        self._words.addWidget(self._side)
        self._head.addLayout(self._words, 1)
        self._head.addWidget(self._turn)
        self._all.setContentsMargins(0, 0, 0, 0)
        self._all.addLayout(self._head)
        self._all.addWidget(self.drawing, 1)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Which side is shown is never cut: where there is no room beside the button it stands below."""
        super().resizeEvent(event)
        room_px = self.width() - self._turn.sizeHint().width() - self._head.spacing()
        widest_px = paint.text_width(WIRE_TEXT, self._side.font())
        if (widest_px > room_px) != self._is_side_below:
            self._is_side_below = not self._is_side_below
            if self._is_side_below:
                self._all.insertWidget(1, self._side)
            else:
                self._words.addWidget(self._side)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._words.setSpacing(fonts.whole_px(4))
        self._head.setSpacing(fonts.whole_px(12))
        self._all.setSpacing(fonts.whole_px(12))

    def set_title(self, title: str) -> None:
        """Name the connector."""
        self._title.setText(title)
        self._name()

    def side_text(self) -> str:
        """Which side is shown."""
        return WIRE_TEXT if self.drawing.is_turned else MATING_TEXT

    def turn_over(self) -> None:
        """Show the other side."""
        self.set_turned(not self.drawing.is_turned)

    def set_turned(self, turned: bool) -> None:  # noqa: FBT001  a plain setter
        """Show the wire side or the mating side."""
        if turned != self.drawing.is_turned:
            self.drawing.set_turned(turned)
            self._side.setText(self.side_text())
            self._name()
            self.turned_over.emit(turned)

    def _name(self) -> None:
        title = self._title.text()
        self.drawing.setAccessibleName(f"{title}, {self.side_text()}" if title else self.side_text())
