"""One answer, large: its key as a cap, then its words."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint

HEIGHT_PX: Final = 44
LEAST_PX: Final = 190
"""So wide at most beside another one; longer answers stand below each other."""
_WIDEST_PX: Final = 320
_CAP_PX: Final = 30
_PAD_PX: Final = 8
_WRAPPED: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter | Qt.TextFlag.TextWordWrap
_GAP_PX: Final = 12


class AnswerButton(paint.PaintedButton):
    """The digit stands in a cap of its own: an answer may be a number too."""

    def __init__(self, key: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._key, self._word = key, ""
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.set_word("")

    def set_word(self, word: str) -> None:
        """Another answer under the same key."""
        self._word = word
        self.setAccessibleName(f"{word}, key {self._key}")
        self.updateGeometry()
        self.update()

    def word(self) -> str:
        """The answer."""
        return self._word

    def sizeHint(self) -> QSize:
        """Cap, words and padding."""
        return QSize(min(self._one_line_px(), fonts.whole_px(_WIDEST_PX)), fonts.whole_px(HEIGHT_PX))

    def _one_line_px(self) -> int:
        width = fonts.px(_CAP_PX + 2 * _PAD_PX + _GAP_PX) + paint.text_width(self._word, _word_font())
        return round(width) + 2

    def minimumSizeHint(self) -> QSize:
        """Long words wrap: nobody answers by half of one."""
        return QSize(min(self.sizeHint().width(), fonts.whole_px(LEAST_PX)), fonts.whole_px(HEIGHT_PX))

    def hasHeightForWidth(self) -> bool:
        """The narrower it is, the more lines its words take."""
        return True

    def heightForWidth(self, width: int) -> int:
        """As high as the wrapped words."""
        room = width - fonts.px(_CAP_PX + 2 * _PAD_PX + _GAP_PX)
        wrapped = QFontMetricsF(_word_font()).boundingRect(QRectF(0, 0, max(1.0, room), 1e4), int(_WRAPPED), self._word)
        return max(fonts.whole_px(HEIGHT_PX), round(wrapped.height() + fonts.px(2 * _PAD_PX)))

    def is_long(self) -> bool:
        """Whether it needs a row of its own."""
        return self._one_line_px() > fonts.px(LEAST_PX)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one box, a cap and words
        """Draw box, cap and words."""
        palette = theme.current()
        box = QRectF(self.rect())
        is_solid = self.isDown() and self.isEnabled()
        ink = palette.ink if self.isEnabled() else palette.muted
        is_edged = self.isEnabled() and (palette.is_hatched or self.underMouse())
        cap = QRectF(fonts.px(_PAD_PX), (self.height() - fonts.px(_CAP_PX)) / 2, fonts.px(_CAP_PX), fonts.px(_CAP_PX))
        words = box.adjusted(cap.right() + fonts.px(_GAP_PX), 0, -fonts.px(_PAD_PX), 0)
        edge_px = paint.edge_of(palette)
        with paint.start(self) as painter:
            paint.draw_box(
                painter,
                box,
                radius_px=fonts.px(8),
                fill=palette.ink if is_solid else palette.soft,
                edge=palette.muted if is_edged else None,
                edge_px=edge_px,
            )
            paint.draw_box(painter, cap, radius_px=fonts.px(6), fill=palette.card, edge=palette.muted, edge_px=edge_px)
            paint.draw_text(painter, cap, self._key, font=_key_font(), code=ink, align=paint.CENTRE)
            word_ink = palette.card if is_solid else ink
            paint.draw_text(painter, words, self._word, font=_word_font(), code=word_ink, align=_WRAPPED)


def _key_font() -> QFont:
    return fonts.font(14, fonts.SEMIBOLD)


def _word_font() -> QFont:
    return fonts.font(17, fonts.SEMIBOLD)
