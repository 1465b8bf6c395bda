"""The plain button, in soft ground or, for the primary action, in solid ink."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint

ENTER_KEYS: Final = frozenset({Qt.Key.Key_Return, Qt.Key.Key_Enter})

_HEIGHT_PX: Final = 36
_PAD_PX: Final = 16
_KEY_GAP_PX: Final = 8


class Button(paint.PaintedButton):
    """A word to press, with the key that does the same shown behind it."""

    def __init__(self, word: str, *, key: str = "", is_primary: bool = False, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._word, self._key, self._is_primary = word, key, is_primary
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self._name()

    def set_word(self, word: str) -> None:
        """Show another word."""
        self._word = word
        self._name()
        self.rescale()

    def sizeHint(self) -> QSize:
        """Word, key and padding."""
        key = fonts.px(_KEY_GAP_PX) + paint.text_width(self._key, _font()) if self._key else 0.0
        width = paint.text_width(self._word, _font()) + key + 2 * fonts.px(_PAD_PX)
        return QSize(round(width) + 1, fonts.whole_px(_HEIGHT_PX))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Press by Enter as well as by Space."""
        if event.key() in ENTER_KEYS:
            self.click()
        else:
            super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, two words
        """Draw box, words and focus ring."""
        palette = theme.current()
        is_solid = (self._is_primary or self.isDown()) and self.isEnabled()
        with paint.start(self) as painter:
            self._paint_box(painter, palette, is_solid=is_solid)
            self._paint_words(painter, palette, is_solid=is_solid)

    def _paint_box(self, painter: QPainter, palette: Palette, *, is_solid: bool) -> None:
        box = QRectF(self.rect())
        is_edged = self.isEnabled() and (palette.is_hatched or self.underMouse())
        paint.draw_box(
            painter,
            box,
            radius_px=fonts.px(8),
            fill=palette.ink if is_solid else palette.soft,
            edge=palette.muted if is_edged else None,
            edge_px=paint.edge_of(palette),
        )
        if self.hasFocus():
            inset = fonts.px(3) if is_solid else 0.0
            ring = box.adjusted(inset, inset, -inset, -inset)
            code = palette.card if is_solid else palette.ink
            paint.draw_focus(painter, ring, radius_px=fonts.px(8) - inset, code=code)

    def _paint_words(self, painter: QPainter, palette: Palette, *, is_solid: bool) -> None:
        code = palette.card if is_solid else palette.ink if self.isEnabled() else palette.muted
        inner = QRectF(self.rect()).adjusted(fonts.px(_PAD_PX), 0, -fonts.px(_PAD_PX), 0)
        if self._key:
            paint.draw_text(painter, inner, self._key, font=_font(), code=code, align=paint.RIGHT)
        align = paint.LEFT if self._key else paint.CENTRE
        paint.draw_text(painter, inner, self._word, font=_font(), code=code, align=align)

    def _name(self) -> None:
        self.setAccessibleName(f"{self._word}, key {self._key}" if self._key else self._word)


def _font() -> QFont:
    return fonts.font(13, fonts.MEDIUM)
