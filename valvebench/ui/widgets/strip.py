"""The strip on top: job, variant, verdict, meter and coil, each in two lines."""

from __future__ import annotations

import math
import re
from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from valvebench.model.words import Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.text import ElidedText

CELLS: Final = ("job", "variant", "verdict", "meter", "coil")

_RIGHT_CELLS: Final = frozenset({"meter", "coil"})
_HEAVY_CELLS: Final = frozenset({"job", "coil"})
_SHARES: Final = {"job": 242, "variant": 174, "verdict": 312, "meter": 184, "coil": 244}
"""What the usual words of each cell need at the drawn size, in px."""
_HEIGHT_PX: Final = 60
_DIGIT: Final = re.compile(r"\d")


class StripCell(QWidget):
    """Two lines that elide, and a mark where a verdict is told."""

    def __init__(self, *, is_right: bool, is_heavy: bool, has_mark: bool, parent: QWidget) -> None:
        super().__init__(parent)
        self.head = ElidedText(size_px=17 if is_heavy else 15, weight=fonts.BOLD if is_heavy else fonts.SEMIBOLD)
        self.sub = ElidedText(size_px=13, muted=True)
        self.mark = MarkLabel(size_px=28) if has_mark else None
        self._row, self._lines = QHBoxLayout(self), QVBoxLayout()
        self._row.setContentsMargins(0, 0, 0, 0)
        if self.mark is not None:
            self._row.addWidget(self.mark)
        self._row.addLayout(self._lines, 1)
        self._add_lines(is_right=is_right)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _add_lines(self, *, is_right: bool) -> None:
        self._lines.addStretch(1)
        for line in (self.head, self.sub):
            if is_right:
                line.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
            self._lines.addWidget(line)
        self._lines.addStretch(1)

    def wanted_px(self) -> int:
        """What the head needs, all digits taken as wide ones: another second moves nothing."""
        mark = self.mark.sizeHint().width() + self._row.spacing() if self.mark is not None else 0
        return math.ceil(paint.text_width(_DIGIT.sub("0", self.head.text()), self.head.font())) + 1 + mark

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._row.setSpacing(fonts.whole_px(12))
        self._lines.setSpacing(0)
        self.head.setFixedHeight(fonts.whole_px(22))
        self.sub.setFixedHeight(fonts.whole_px(20))


class Strip(QWidget):
    """Always in sight, never moving."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._cells = {name: self._cell(name) for name in CELLS}
        self._row = QHBoxLayout(self)
        for name, cell in self._cells.items():
            self._row.addWidget(cell, _SHARES[name])
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _cell(self, name: str) -> StripCell:
        return StripCell(
            is_right=name in _RIGHT_CELLS, is_heavy=name in _HEAVY_CELLS, has_mark=name == "verdict", parent=self
        )

    def cell(self, name: str) -> StripCell:
        """One of `CELLS`."""
        return self._cells[name]

    def set_cell(self, name: str, head: str, sub: str = "") -> None:
        """Write the two lines of one of `CELLS`."""
        cell = self._cells[name]
        is_same_head = head == cell.head.text()
        cell.head.setText(head)
        cell.sub.setText(sub)
        if not is_same_head:
            self._share_out()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Share out the new room."""
        super().resizeEvent(event)
        self._share_out()

    def _share_out(self) -> None:
        """Usual shares; where a head would be cut, it gets of what the others do not need for theirs."""
        margins = self._row.contentsMargins()
        room = self.width() - margins.left() - margins.right() - (len(CELLS) - 1) * self._row.spacing()
        usual = {name: room * share / sum(_SHARES.values()) for name, share in _SHARES.items()}
        over = {name: usual[name] - cell.wanted_px() for name, cell in self._cells.items()}
        spare = sum(px for px in over.values() if px > 0)
        lack = -sum(px for px in over.values() if px < 0)
        moved = min(spare, lack)
        for place, name in enumerate(CELLS):
            of_all = spare if over[name] > 0 else lack
            change = moved * over[name] / of_all if moved > 0 and of_all > 0 else 0.0
            stretch = max(1, round(usual[name] - change))
            if stretch != self._row.stretch(place):  # the same again would lay everything out anew
                self._row.setStretch(place, stretch)

    def set_verdict(self, verdict: Verdict, head: str, sub: str = "") -> None:
        """Write the verdict cell with its mark."""
        self.set_cell("verdict", head, sub)
        mark = self._cells["verdict"].mark
        if mark is not None:
            mark.set_verdict(verdict)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(20)
        self._row.setContentsMargins(side, 0, side, 0)
        self._row.setSpacing(side)
        self.setFixedHeight(fonts.whole_px(_HEIGHT_PX))
        self._share_out()

    def minimumSizeHint(self) -> QSize:
        """Narrow: every line elides."""
        return QSize(fonts.whole_px(560), fonts.whole_px(_HEIGHT_PX))

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one ground
        """Draw the ground and the line below it."""
        palette = theme.current()
        edge = paint.edge_of(palette)
        with paint.start(self) as painter:
            painter.fillRect(self.rect(), theme.colour(palette.card))
            painter.fillRect(QRectF(0, self.height() - edge, self.width(), edge), theme.colour(palette.line))
