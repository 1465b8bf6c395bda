"""The place that says what can be dropped; the whole window takes drops."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint

WORDS: Final = (
    "Or drop it: a session folder or a bundle to open it, a variant file for the new job. "
    "The whole window takes drops; a photo is dropped onto an open job."
)
_LOWEST_PX: Final = 76


class DropZone(paint.Painted):
    """A dashed box with words; it fills the room that is left."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.say(WORDS)

    def sizeHint(self) -> QSize:
        """Three lines of words."""
        return QSize(fonts.whole_px(280), fonts.whole_px(_LOWEST_PX))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, some words
        """Draw the box and the words in its middle."""
        palette = theme.current()
        half = paint.edge_of(palette) / 2
        box = QRectF(self.rect()).adjusted(half, half, -half, -half)
        edge = QPen(paint.pen(palette.muted, paint.edge_of(palette)))
        edge.setDashPattern([4.0, 4.0])
        edge.setCapStyle(Qt.PenCapStyle.FlatCap)
        with paint.start(self) as painter:
            painter.setPen(edge)
            painter.setBrush(paint.NO_BRUSH)
            painter.drawRoundedRect(box, fonts.px(8), fonts.px(8))
            inset = fonts.px(16)
            words = box.adjusted(inset, 0, -inset, 0)
            paint.draw_text(painter, words, WORDS, font=fonts.font(13), code=palette.muted, align=paint.WRAPPED)
