"""A key as drawn on the keyboard, with the word for what it does; it can be tapped as well."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QPainter, QPaintEvent
from PySide6.QtWidgets import QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint

_CAP_PX: Final = 28
_PAD_PX: Final = 10
_GAP_PX: Final = 8


class KeyCap(paint.PaintedButton):
    """Key and word; `clicked` does the same as the key, which is why it takes no focus itself."""

    def __init__(self, key: str, word: str, parent: QWidget | None = None, *, also: Sequence[str] = ()) -> None:
        super().__init__(parent)
        self._key, self._word = key, word
        self._widest = (word, *also)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setAccessibleName(f"{word}, key {key}")

    def set_word(self, word: str) -> None:
        """What the key does while something else is asked; `also` keeps room for it, so that nothing moves."""
        if word != self._word:
            self._word = word
            self.setAccessibleName(f"{word}, key {self._key}")
            self.update()

    def sizeHint(self) -> QSize:
        """The cap and its word."""
        word_px = max(paint.text_width(word, _word_font()) for word in self._widest)
        width = self._cap_width_px() + fonts.px(_GAP_PX) + word_px
        return QSize(round(width) + 2, fonts.whole_px(_CAP_PX))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, two words
        """Draw the cap, then the word."""
        palette = theme.current()
        cap = QRectF(0, (self.height() - fonts.px(_CAP_PX)) / 2, self._cap_width_px(), fonts.px(_CAP_PX))
        word = QRectF(self.rect()).adjusted(cap.width() + fonts.px(_GAP_PX), 0, 0, 0)
        with paint.start(self) as painter:
            self._paint_cap(painter, cap, palette)
            paint.draw_text(painter, word, self._word, font=_word_font(), code=palette.muted)

    def _paint_cap(self, painter: QPainter, cap: QRectF, palette: Palette) -> None:
        code = palette.ink if self.isEnabled() else palette.muted
        is_hot = self.underMouse() and self.isEnabled()
        if self.isDown():
            code = palette.card
        paint.draw_box(
            painter,
            cap,
            radius_px=fonts.px(6),
            fill=palette.ink if self.isDown() else palette.soft,
            edge=palette.muted if is_hot else palette.line,
            edge_px=paint.edge_of(palette),
        )
        paint.draw_text(painter, cap, self._key, font=_key_font(), code=code, align=paint.CENTRE)

    def _cap_width_px(self) -> float:
        return max(fonts.px(_CAP_PX), paint.text_width(self._key, _key_font()) + 2 * fonts.px(_PAD_PX))


def _key_font() -> QFont:
    return fonts.font(12, fonts.SEMIBOLD)


def _word_font() -> QFont:
    return fonts.font(13)
