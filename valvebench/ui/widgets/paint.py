"""What the painted widgets share: text, boxes, the focus ring and a base with an accessible sentence."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetricsF, QImage, QPainter, QPen, QStaticText
from PySide6.QtWidgets import QAbstractButton, QLabel, QSizePolicy, QWidget

from valvebench.ui import fonts
from valvebench.ui.theme import Palette, colour, current

Align = Qt.AlignmentFlag | Qt.TextFlag

LEFT: Final = Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter
RIGHT: Final = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
CENTRE: Final = Qt.AlignmentFlag.AlignCenter
_SPARE: Final[dict[Align, float]] = {LEFT: 0.0, RIGHT: 1.0, CENTRE: 0.5}
"""The share of the room left over that goes before a single line."""
WRAPPED: Final = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
ELIDE: Final = Qt.TextElideMode.ElideRight
NO_PEN: Final = Qt.PenStyle.NoPen
NO_BRUSH: Final = Qt.BrushStyle.NoBrush
SMOOTH: Final = QPainter.RenderHint.Antialiasing
FLAT: Final = Qt.PenCapStyle.FlatCap
ROUND: Final = Qt.PenCapStyle.RoundCap
ROUND_JOIN: Final = Qt.PenJoinStyle.RoundJoin


class Painted(QLabel):
    """A widget that paints itself and is read out as one sentence (a label keeps the text role)."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        fonts.zoom.changed.connect(self.rescale)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.updateGeometry()
        self.update()

    def say(self, sentence: str) -> None:
        """Set what is read out, and repaint."""
        if sentence != self.accessibleName():
            self.setAccessibleName(sentence)
        self.update()

    def minimumSizeHint(self) -> QSize:
        """The smallest useful size."""
        return self.sizeHint()


class PaintedButton(QAbstractButton):
    """A button that paints itself; its words never pass through `setText`, which would eat an ampersand."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        fonts.zoom.changed.connect(self.rescale)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.updateGeometry()
        self.update()

    def minimumSizeHint(self) -> QSize:
        """The smallest useful size."""
        return self.sizeHint()

    def enterEvent(self, event: object) -> None:  # noqa: ARG002  the event says nothing more
        """Show that the pointer is here."""
        self.update()

    def leaveEvent(self, event: object) -> None:  # noqa: ARG002  the event says nothing more
        """Show that the pointer left."""
        self.update()


def one_line(text: str) -> str:
    """The text without line breaks, tabs or runs of spaces."""
    return " ".join(text.split())


def tip(text: str) -> str:
    """A tooltip that shows the text as it stands (Qt would take markup in it for rich text)."""
    if not text:
        return ""
    from html import escape  # its table of names is not wanted before the first tip

    return f"<p>{escape(text)}</p>"


def set_tip(widget: QWidget, text: str) -> None:
    """Offer a tooltip; the reader hears its words, never the markup Qt would hand on from it."""
    if text or widget.accessibleDescription() or widget.toolTip():
        widget.setToolTip(tip(text))
        widget.setAccessibleDescription(text)


def start(widget: QWidget) -> QPainter:
    """A smooth painter on a widget."""
    painter = QPainter(widget)
    painter.setRenderHint(SMOOTH)
    return painter


@lru_cache(maxsize=4096)
def text_width(text: str, font: QFont) -> float:
    """The advance of a text in logical pixels."""
    return QFontMetricsF(font).horizontalAdvance(text)


def line_height(font: QFont) -> float:
    """The height of one line in logical pixels."""
    return QFontMetricsF(font).height()


def is_for_a_file(painter: QPainter) -> bool:
    """Whether a file is drawn, perhaps by a worker: what is kept for the window is not for two threads."""
    return isinstance(painter.device(), QImage)


def draw_text(painter: QPainter, where: QRectF, text: str, *, font: QFont, code: str, align: Align = LEFT) -> None:
    """Draw plain text inside a rectangle."""
    painter.setFont(font)
    painter.setPen(colour(code))
    spare = _SPARE.get(align)
    if spare is None or is_for_a_file(painter):
        painter.drawText(where, int(align), text)
        return
    laid, width, height = laid_out(text, font)
    left = where.left() + spare * (where.width() - width)
    painter.drawStaticText(QPointF(left, where.top() + (where.height() - height) / 2), laid)


@lru_cache(maxsize=2048)
def laid_out(text: str, font: QFont) -> tuple[QStaticText, float, float]:
    """One line laid out, with its size: drawing it again costs a quarter of laying it out anew."""
    laid = QStaticText(text)
    laid.setTextFormat(Qt.TextFormat.PlainText)
    laid.prepare(font=font)
    return laid, laid.size().width(), laid.size().height()


@lru_cache(maxsize=2048)
def elided(text: str, font: QFont, room_px: float) -> str:
    """The text in one line, cut with an ellipsis where it does not fit."""
    return QFontMetricsF(font).elidedText(one_line(text), ELIDE, room_px + 0.5)


def draw_elided(painter: QPainter, where: QRectF, text: str, *, font: QFont, code: str, align: Align = LEFT) -> None:
    """Draw one line of plain text, cut with an ellipsis where it does not fit."""
    draw_text(painter, where, elided(text, font, where.width()), font=font, code=code, align=align)


@lru_cache(maxsize=256)
def pen(code: str, width_px: float, cap: Qt.PenCapStyle = FLAT) -> QPen:
    """A pen of a width in logical pixels, already zoomed; shared, so copy it before changing it."""
    made = QPen(colour(code), width_px)
    made.setCapStyle(cap)
    made.setJoinStyle(ROUND_JOIN)
    return made


def draw_box(
    painter: QPainter, box: QRectF, *, radius_px: float, fill: str | None, edge: str | None = None, edge_px: float = 1.0
) -> None:
    """A rounded box whose border lies wholly inside `box`."""
    half = edge_px / 2 if edge else 0.0
    painter.setPen(pen(edge, edge_px) if edge else NO_PEN)
    painter.setBrush(colour(fill) if fill else NO_BRUSH)
    painter.drawRoundedRect(box.adjusted(half, half, -half, -half), radius_px, radius_px)


def draw_focus(painter: QPainter, box: QRectF, *, radius_px: float, code: str) -> None:
    """The focus ring, just inside `box`; heavier than the borders where these are heavy, or it would not be seen."""
    draw_box(painter, box, radius_px=radius_px, fill=None, edge=code, edge_px=fonts.px(2 * current().line_px))


def edge_of(palette: Palette) -> float:
    """The width of thin borders, in logical pixels."""
    return palette.line_px * max(1.0, round(fonts.factor()))


def snapped(point: QPointF) -> QPointF:
    """The point moved to the middle of a pixel, where small marks stay crisp."""
    return QPointF(int(point.x()) + 0.5, int(point.y()) + 0.5)
