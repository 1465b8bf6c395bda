"""What is wired to what, drawn on a connector: solid where it is known, dotted where it is not; ink only."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen

from valvebench.model.words import CASE
from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint

_LINE_PX: Final = 2.25
_JOINT_PX: Final = 4.0
_ROW_SHARE: Final = 0.4
"""Pins whose heights differ by less of the pin distance stand in one row."""
_LEAST_BOW, _MORE_BOW, _MOST_BOW = 0.95, 0.05, 1.25
_LANE: Final = 0.5
"""The lane between two columns, in units of the pin distance."""


class Link(NamedTuple):
    """A wire or part between two nodes; one that is not sure is dotted. A name that is no node is an inner joint."""

    a: str
    b: str
    is_sure: bool = True


class Ground(NamedTuple):
    """What the links are drawn on: centres of the nodes, the pin distance, the middle height, the casting's edge."""

    centres: Mapping[str, QPointF]
    pitch_px: float
    middle_y: float
    case_y: float


def link_paths(links: Sequence[Link], ground: Ground) -> list[tuple[QPainterPath, bool]]:
    """The line of every link, and whether it is sure."""
    centres = dict(ground.centres) | _joints(links, ground.centres)
    there = [link for link in links if link.a in centres and link.b in centres]
    return [(_path(link, ground._replace(centres=centres)), link.is_sure) for link in there]


def _joints(links: Sequence[Link], centres: Mapping[str, QPointF]) -> dict[str, QPointF]:
    """An inner joint stands in the middle of what hangs on it."""
    around: dict[str, list[QPointF]] = {}
    for link in links:
        for joint, other in ((link.a, link.b), (link.b, link.a)):
            if joint not in centres and other in centres:
                around.setdefault(joint, []).append(centres[other])
    return {name: sum(places, QPointF()) / len(places) for name, places in around.items()}


def joint_places(links: Sequence[Link], centres: Mapping[str, QPointF]) -> list[QPointF]:
    """Where dots for inner joints go."""
    return list(_joints(links, centres).values())


def _path(link: Link, ground: Ground) -> QPainterPath:
    if CASE in (link.a, link.b):
        return _to_case(ground.centres[link.b if link.a == CASE else link.a], ground)
    start, end = ground.centres[link.a], ground.centres[link.b]
    path = QPainterPath(start)
    if abs(start.y() - end.y()) < _ROW_SHARE * ground.pitch_px:
        path.quadTo(_bow(start, end, ground), end)
    else:
        path.lineTo(end)
    return path


def _bow(start: QPointF, end: QPointF, ground: Ground) -> QPointF:
    """Within a row the line swings to the middle of the connector, clear of the pins it passes."""
    apart = abs(start.x() - end.x()) / ground.pitch_px
    bow = min(_LEAST_BOW + _MORE_BOW * apart, _MOST_BOW) * ground.pitch_px
    middle = (start + end) / 2
    is_below = middle.y() > ground.middle_y
    return middle + QPointF(0, -bow if is_below else bow)


def _to_case(pin: QPointF, ground: Ground) -> QPainterPath:
    """Down the lane beside the pin's column, so that it touches no other pin."""
    path = QPainterPath(pin)
    lane = QPointF(pin.x() + _LANE * ground.pitch_px, pin.y() + _LANE * ground.pitch_px)
    if pin.y() >= ground.middle_y:
        path.lineTo(pin.x(), ground.case_y)
    else:
        path.quadTo(QPointF(lane.x(), pin.y()), lane)
        path.lineTo(lane.x(), ground.case_y)
    return path


def paint_links(painter: QPainter, links: Sequence[Link], ground: Ground, palette: Palette) -> None:
    """Draw all links and the dots of their joints."""
    painter.setBrush(paint.NO_BRUSH)
    for path, is_sure in link_paths(links, ground):
        pen = QPen(paint.pen(palette.ink, fonts.px(_LINE_PX)))  # a copy: pens are shared
        if not is_sure:
            pen.setStyle(Qt.PenStyle.DotLine)
        painter.setPen(pen)
        painter.drawPath(path)
    painter.setPen(paint.NO_PEN)
    painter.setBrush(theme.colour(palette.ink))
    for place in joint_places(links, ground.centres):
        painter.drawEllipse(place, fonts.px(_JOINT_PX), fonts.px(_JOINT_PX))
