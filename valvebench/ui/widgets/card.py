"""The rounded card that holds one thing, with its title."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.text import ElidedText, Text

PADDING_PX: Final = 20
RADIUS_PX: Final = 10
OUTDENT_PX: Final = 10


class Card(QFrame):
    """A card with a title line and a `body` layout; without a title the body has the whole card.

    `is_outdented` lets tinted rows reach past the title, so that their words stand under it.
    """

    def __init__(
        self, title: str = "", *, aside: str = "", is_outdented: bool = False, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._outdent_px = OUTDENT_PX if is_outdented else 0
        self.title = ElidedText(title, size_px=15, weight=fonts.SEMIBOLD)
        self.aside = Text(aside, size_px=13, muted=True)
        self.head = QHBoxLayout()
        self.head.addWidget(self.title, 1)
        self.head.addWidget(self.aside)
        self.body = QVBoxLayout()
        self._outer = QVBoxLayout(self)
        self._outer.addLayout(self.head)
        self._outer.addLayout(self.body, 1)
        self.set_title(title)
        self.set_aside(aside)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def set_title(self, title: str) -> None:
        """Name the card."""
        self.title.setText(title)
        self.title.setVisible(bool(title))
        if title != self.accessibleName():
            self.setAccessibleName(title)

    def set_aside(self, text: str) -> None:
        """Show muted words at the right of the title, such as progress."""
        if text != self.aside.text():
            self.aside.setText(text)
        self.aside.setVisible(bool(text))

    def rescale(self) -> None:
        """Take up the zoom in force."""
        out = fonts.whole_px(self._outdent_px)
        side = fonts.whole_px(PADDING_PX) - out
        self._outer.setContentsMargins(side, fonts.whole_px(16), side, fonts.whole_px(PADDING_PX))
        self.head.setContentsMargins(out, 0, out, 0)
        self._outer.setSpacing(fonts.whole_px(8))
        self.body.setSpacing(fonts.whole_px(8))
        self.head.setSpacing(fonts.whole_px(12))

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the rounded ground; behind a single changed child only its plain middle."""
        palette = theme.current()
        inset = fonts.whole_px(RADIUS_PX)
        with paint.start(self) as painter:
            if self.rect().adjusted(inset, inset, -inset, -inset).contains(event.rect()):
                painter.fillRect(event.rect(), theme.colour(palette.card))
                return
            paint.draw_box(
                painter,
                QRectF(self.rect()),
                radius_px=fonts.px(RADIUS_PX),
                fill=palette.card,
                edge=palette.line,
                edge_px=paint.edge_of(palette),
            )
