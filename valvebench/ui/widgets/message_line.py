"""A message that appears where the thing is: an icon and words, wrapped, never a pop-up."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import icons, paint

_ICON_PX: Final = 16
_GAP_PX: Final = 8
_FLAGS: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextWordWrap


class MessageLine(paint.Painted):
    """One message; empty, it keeps the room of one line so that nothing moves.

    With `grows=False` its height is set from outside: a page of such lines can be as low as it must.
    """

    def __init__(
        self, text: str = "", *, icon: str = "note", grows: bool = True, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._words, self._icon, self._grows = text, icon, grows
        policy = QSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(grows)
        self.setSizePolicy(policy)
        self.say(text)

    def show_message(self, text: str, *, icon: str = "note") -> None:
        """Show words with one of `icons.ICONS`: note, problem, ask, clock, kept or a hazard."""
        if (text, icon) != (self._words, self._icon):
            self._words, self._icon = text, icon
            if self._grows:
                self.updateGeometry()
            self.say(text)

    def clear(self) -> None:
        """Say nothing."""
        self.show_message("")

    def words(self) -> str:
        """The words shown."""
        return self._words

    def hasHeightForWidth(self) -> bool:
        """Long words wrap and push what is below, unless the room is fixed."""
        return self._grows

    def heightForWidth(self, width: int) -> int:
        """The height of the wrapped words, in whole pixels."""
        wrapped_px = _wrapped_px(self._words or "X", max(1.0, width - fonts.px(_ICON_PX + _GAP_PX)), _font())
        return max(fonts.whole_px(20), int(wrapped_px) + fonts.whole_px(4))

    def sizeHint(self) -> QSize:
        """One line, at most 480 px as drawn; where the room is fixed it is so for all words."""
        if not self._grows:
            return QSize(fonts.whole_px(480), fonts.whole_px(20))
        wanted = paint.text_width(self._words, _font()) + fonts.px(_ICON_PX + _GAP_PX) + 2
        width = int(min(wanted, fonts.px(480)))
        return QSize(width, self.heightForWidth(width))

    def minimumSizeHint(self) -> QSize:
        """A few words wide."""
        return QSize(fonts.whole_px(120), fonts.whole_px(20))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one short text
        """Draw icon and words."""
        if not self._words:
            return
        code = theme.current().ink
        side, left = fonts.px(_ICON_PX), fonts.px(_ICON_PX + _GAP_PX)
        with paint.start(self) as painter:
            icons.paint_icon(painter, self._icon, QRectF(0, fonts.px(2), side, side), code)
            words = QRectF(left, fonts.px(1), self.width() - left, self.height())
            paint.draw_text(painter, words, self._words, font=_font(), code=code, align=_FLAGS)


# Layouts ask for the same height dozens of times before a page stands.
@lru_cache(maxsize=1024)
def _wrapped_px(words: str, width_px: float, font: QFont) -> float:
    return QFontMetricsF(font).boundingRect(QRectF(0, 0, width_px, 10_000), int(_FLAGS), words).height()


def _font() -> QFont:
    return fonts.font(13, fonts.MEDIUM)
