"""Plain text labels in the program's type, following zoom and palette."""

from __future__ import annotations

import math
from functools import lru_cache

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QPainter, QPaintEvent, QPalette, QResizeEvent, QTextLayout, QTextOption
from PySide6.QtWidgets import QLabel, QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint

_MUTED = QPalette.ColorRole.PlaceholderText
_ACROSS = Qt.AlignmentFlag.AlignHorizontal_Mask
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

    def setText(self, text: str) -> None:
        """Show new words; the same words again cost no layout and no paint."""
        if text != self.text():
            super().setText(text)

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
        line = paint.one_line(text)
        if line != self.text():
            super().setText(line)
            self._set_tip()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Offer the full words where they are cut."""
        super().resizeEvent(event)
        self._set_tip()

    def is_cut(self) -> bool:
        """Whether the words do not fit."""
        return paint.text_width(self.text(), self.font()) > self.width() + 0.5

    def _set_tip(self) -> None:
        paint.set_tip(self, self.text() if self.is_cut() else "")

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


@lru_cache(maxsize=512)
def _wrapped(text: str, font: QFont, width_px: float, align: Qt.AlignmentFlag) -> tuple[QTextLayout, float]:
    """The text laid out in lines once, for its height as for its paint."""
    laid = QTextLayout(text, font)
    laid.setTextOption(QTextOption(align & _ACROSS))
    laid.setCacheEnabled(True)
    laid.beginLayout()
    leading = QFontMetricsF(font).leading()
    height_px = -leading
    while (line := laid.createLine()).isValid():
        line.setLineWidth(max(1, width_px))
        top_px = math.ceil(height_px + leading)  # lines begin on whole pixels, as in QPainter.drawText
        line.setPosition(QPointF(0, top_px))
        height_px = top_px + line.ascent() + line.descent()  # its height() is rounded up
    laid.endLayout()
    return laid, height_px


class TwoLineText(ElidedText):
    """A sentence that wraps into a second line, whose room it always keeps, so that nothing moves."""

    def sizeHint(self) -> QSize:
        """Two lines, whatever they say."""
        return QSize(super().sizeHint().width(), round(2 * paint.line_height(self.font())) + 1)

    def is_cut(self) -> bool:
        """Whether two lines are not enough."""
        return self._laid_out(self.width())[1] > self.height() + 1

    def _laid_out(self, width_px: float) -> tuple[QTextLayout, float]:
        return _wrapped(self.text(), self.font(), width_px, self.alignment())

    def draw(self, painter: QPainter, where: QRectF, code: str) -> None:
        """Draw up to two lines; where even these are too few, one that is cut plainly."""
        if self.is_cut():
            super().draw(painter, where, code)
            return
        laid, height_px = self._laid_out(where.width())
        spare = 0.0 if self.alignment() & Qt.AlignmentFlag.AlignTop else (where.height() - height_px) / 2
        painter.setPen(theme.colour(code))
        laid.draw(painter, QPointF(where.left(), where.top() + spare))
