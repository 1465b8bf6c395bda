"""Two-line text stands where Qt's own word wrap puts it."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter

from valvebench.ui import fonts
from valvebench.ui.widgets.text import TwoLineText

INK = "#202020"
ONE, TWO = "Inside the limits.", "The reading and its doubt lie inside the limits of the part."


def drawn(width_px, height_px, draw):
    image = QImage(width_px, height_px, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.white)
    with QPainter(image) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        draw(painter)
    return image


# Expected picture: QPainter.drawText of Qt itself; at 1.25 and 1.5 the ascent of a line is no whole number.
@pytest.mark.parametrize("size", [1.0, 1.25, 1.5, 2.0])
@pytest.mark.parametrize("words", [ONE, TWO])
@pytest.mark.parametrize("edge", [Qt.AlignmentFlag.AlignTop, Qt.AlignmentFlag.AlignVCenter])
def test_two_lines_stand_where_qt_puts_wrapped_text(size, words, edge):
    fonts.set_zoom(size)
    label = TwoLineText(words, size_px=14)
    label.setAlignment(Qt.AlignmentFlag.AlignLeft | edge)
    wide, high = fonts.whole_px(260), label.sizeHint().height() + 1
    label.resize(wide, high)
    room = QRectF(0, 0, wide, high)

    def plain(painter):
        painter.setFont(label.font())
        painter.setPen(QColor(INK))
        painter.drawText(room, int(label.alignment() | Qt.TextFlag.TextWordWrap), words)

    assert not label.is_cut()
    assert drawn(wide, high, lambda painter: label.draw(painter, room, INK)) == drawn(wide, high, plain)
