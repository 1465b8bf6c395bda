"""The outline of a drawn connector as one path, its keying tab included."""

from __future__ import annotations

import math
from typing import Final

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPainterPath

TAB_WIDTH_SHARE: Final = 4.2
"""Width of the tab in units of its height."""
_QUARTER: Final = 90.0


def outline(box: QRectF, *, corner: float, tab: float) -> QPainterPath:
    """A box with round corners, or a circle when `corner` is half its side; `tab` is the tab's height, 0 for none."""
    half = min(tab * TAB_WIDTH_SHARE / 2, box.width() * 0.15)
    if corner * 2 >= box.width() - 1e-6:
        return _circle(box, half=half, tab=tab)
    path = QPainterPath()
    path.moveTo(box.center().x() - half, box.top())
    _add_tab(path, box.center().x(), half=half, foot=box.top(), tab=tab)
    _add_corners(path, box, 2 * corner)
    path.closeSubpath()
    return path


def _circle(box: QRectF, *, half: float, tab: float) -> QPainterPath:
    path = QPainterPath()
    if tab <= 0:
        path.addEllipse(box)
        return path
    radius = box.width() / 2
    angle = math.degrees(math.asin(half / radius))
    foot = box.center().y() - math.sqrt(radius * radius - half * half)
    path.moveTo(box.center().x() - half, foot)
    _add_tab(path, box.center().x(), half=half, foot=foot, tab=tab + foot - box.top())
    path.arcTo(box, _QUARTER - angle, -(360.0 - 2 * angle))
    path.closeSubpath()
    return path


def _add_tab(path: QPainterPath, middle: float, *, half: float, foot: float, tab: float) -> None:
    """Up, across with two rounded corners, and down again."""
    if tab <= 0:
        return
    bend = min(tab, half) * 0.55
    top = foot - tab
    path.lineTo(middle - half, top + bend)
    path.quadTo(middle - half, top, middle - half + bend, top)
    path.lineTo(middle + half - bend, top)
    path.quadTo(middle + half, top, middle + half, top + bend)
    path.lineTo(middle + half, foot)


def _add_corners(path: QPainterPath, box: QRectF, size: float) -> None:
    """Clockwise round the box from its upper edge."""
    for x, y, start in (
        (box.right() - size, box.top(), 90.0),
        (box.right() - size, box.bottom() - size, 0.0),
        (box.left(), box.bottom() - size, -90.0),
        (box.left(), box.top(), -180.0),
    ):
        path.arcTo(QRectF(x, y, size, size), start, -_QUARTER)
