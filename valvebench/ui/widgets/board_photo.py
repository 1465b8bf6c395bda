"""One photo behind ports: where it lies on its board, how large the discs can be, and how it is painted."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import QPointF, QRectF, QSize, QSizeF, Qt
from PySide6.QtGui import QImage, QPainter, QPixmap

from valvebench.ui.widgets.board_layout import PortSpot

_KEEP: Final = Qt.AspectRatioMode.KeepAspectRatio
_SMOOTH: Final = Qt.TransformationMode.SmoothTransformation
_SPACING: Final = 2.5
"""Centre to centre of two discs beside each other, in radii."""


class BoardPhoto:
    """A photo fitted into a box; ports without a place stand in rows below it."""

    def __init__(self, image: QImage, spots: Sequence[PortSpot]) -> None:
        self._image, self._scaled = image, QPixmap()
        self.places = {spot.name: (spot.x, spot.y) for spot in spots if spot.x is not None and spot.y is not None}
        self.loose = tuple(spot.name for spot in spots if spot.name not in self.places)
        self.rect = QRectF()
        self._loose_box = QRectF()

    @property
    def shape(self) -> float:
        """Width by height."""
        return self._image.width() / max(1, self._image.height())

    def fit(self, box: QRectF, *, smallest_px: float) -> None:
        """Lie in the middle of a box, above the rows of ports that have no place."""
        strip = self._loose_rows(box, smallest_px) * smallest_px * 2 * _SPACING
        room = box.adjusted(0, 0, 0, -min(strip, box.height() / 2))
        size = QSizeF(self._image.size()).scaled(room.size(), _KEEP)
        corner = room.center() - QPointF(size.width() / 2, size.height() / 2)
        self.rect = QRectF(corner, size)
        self._loose_box = QRectF(box.left(), room.bottom(), box.width(), box.bottom() - room.bottom())

    def _loose_rows(self, box: QRectF, smallest_px: float) -> int:
        return math.ceil(len(self.loose) / self._across(box, smallest_px))

    @staticmethod
    def _across(box: QRectF, smallest_px: float) -> int:
        return max(1, int(box.width() / (smallest_px * 2 * _SPACING)))

    def centres(self, *, smallest_px: float) -> Mapping[str, QPointF]:
        """Where each port is drawn."""
        found = {
            name: self.rect.topLeft() + QPointF(x * self.rect.width(), y * self.rect.height())
            for name, (x, y) in self.places.items()
        }
        across, step = self._across(self._loose_box, smallest_px), smallest_px * 2 * _SPACING
        for turn, name in enumerate(self.loose):
            row, column = divmod(turn, across)
            found[name] = self._loose_box.topLeft() + QPointF((column + 0.5) * step, (row + 0.5) * step)
        return found

    def radius_px(self, *, largest_px: float, smallest_px: float) -> float:
        """The largest disc that leaves a gap to its nearest neighbour."""
        points = [centre.toTuple() for centre in self.centres(smallest_px=smallest_px).values()]
        nearest = min((math.dist(a, b) for a, b in itertools.combinations(points, 2)), default=math.inf)
        return max(smallest_px, min(largest_px, nearest / _SPACING))

    def paint(self, painter: QPainter) -> None:
        """Draw it; made smaller once for each size."""
        ratio = painter.device().devicePixelRatioF()
        wanted = QSize(round(self.rect.width() * ratio), round(self.rect.height() * ratio))
        if self._scaled.size() != wanted and not wanted.isEmpty():
            self._scaled = QPixmap.fromImage(self._image.scaled(wanted, Qt.AspectRatioMode.IgnoreAspectRatio, _SMOOTH))
        painter.drawPixmap(self.rect, self._scaled, QRectF(self._scaled.rect()))
