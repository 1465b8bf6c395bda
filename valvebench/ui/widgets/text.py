"""Plain text labels in the program's type, following zoom and palette."""

from __future__ import annotations

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPalette, QResizeEvent
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint

_MUTED = QPalette.ColorRole.PlaceholderText
_WRAP = Qt.TextFlag.TextWordWrap
_INK = QPalette.ColorRole.WindowText


class Text(QLabel):
    """Words that are never read as markup."""

    def __init__(
        self,
        text: str = "",
        *,
        size_px: float = 14,
        weight: int = fonts.REGULAR,
        muted: bool = False,
        tabular: bool = False,
        wraps: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._size_px, self._weight, self._tabular = size_px, weight, tabular
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wraps)
        self.setForegroundRole(_MUTED if muted else _INK)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.setText(text)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setFont(fonts.font(self._size_px, self._weight, tabular=self._tabular))

    def hold_width(self, widest: str) -> None:
        """Keep room for the widest case, so that a change moves nothing beside it."""
        self.setMinimumWidth(round(paint.text_width(widest, self.font())) + 1)


class ElidedText(Text):
    """One line, cut with an ellipsis; the reader gets the full words, and so does a tooltip where they are cut."""

    def __init__(
        self,
        text: str = "",
        *,
        size_px: float = 14,
        weight: int = fonts.REGULAR,
        muted: bool = False,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(text, size_px=size_px, weight=weight, muted=muted, parent=parent)
        self._is_muted = muted
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.setText(text)

    def setText(self, text: str) -> None:
        """Show new words."""
        super().setText(paint.one_line(text))
        self._set_tip()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Offer the full words where they are cut."""
        super().resizeEvent(event)
        self._set_tip()

    def is_cut(self) -> bool:
        """Whether the words do not fit."""
        return paint.text_width(self.text(), self.font()) > self.width() + 0.5

    def _set_tip(self) -> None:
        self.setToolTip(paint.tip(self.text()) if self.is_cut() else "")

    def sizeHint(self) -> QSize:
        """The full words."""
        width_px = paint.text_width(self.text(), self.font())
        return QSize(round(width_px) + 1, round(paint.line_height(self.font())))

    def minimumSizeHint(self) -> QSize:
        """Three letters and the ellipsis."""
        return QSize(fonts.whole_px(40), self.sizeHint().height())

    def align(self) -> paint.Align:
        """Left or right, in the middle of the height."""
        return paint.RIGHT if self.alignment() & Qt.AlignmentFlag.AlignRight else paint.LEFT

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  the whole line is cheap
        """Draw what fits."""
        with paint.start(self) as painter:
            self.draw(painter, QRectF(self.rect()), theme.current().muted if self._is_muted else theme.current().ink)

    def draw(self, painter: QPainter, where: QRectF, code: str) -> None:
        """Draw one line, cut where it does not fit."""
        paint.draw_elided(painter, where, self.text(), font=self.font(), code=code, align=self.align())


class TwoLineText(ElidedText):
    """A sentence that wraps into a second line, whose room it always keeps, so that nothing moves."""

    def sizeHint(self) -> QSize:
        """Two lines, whatever they say."""
        return QSize(super().sizeHint().width(), round(2 * paint.line_height(self.font())) + 1)

    def is_cut(self) -> bool:
        """Whether two lines are not enough."""
        return self._wrapped_px() > self.height() + 1

    def _wrapped_px(self) -> float:
        room = QRectF(0, 0, max(1, self.width()), 10_000)
        return QFontMetricsF(self.font()).boundingRect(room, int(self.alignment() | _WRAP), self.text()).height()

    def draw(self, painter: QPainter, where: QRectF, code: str) -> None:
        """Draw up to two lines; where even these are too few, one that is cut plainly."""
        if self.is_cut():
            super().draw(painter, where, code)
        else:
            paint.draw_text(painter, where, self.text(), font=self.font(), code=code, align=self.alignment() | _WRAP)
