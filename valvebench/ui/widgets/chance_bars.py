"""Chances as bars, one below the other: solid for something that is known, hatched for none of it.

Ink only, since a chance is no verdict; the words beside each bar say as much as its length.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QFont, QPainter, QPainterPath, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import paint

_ROW_PX: Final = 44
_WORD_PX: Final = 22
_BAR_PX: Final = 10
_GAP_PX: Final = 12


class ChanceRow(NamedTuple):
    """One bar: its words on either side, how long it is (0 to 1), and whether it stands for none of the others."""

    title: str
    p: float
    words: str
    is_none: bool = False


class ChanceBars(paint.Painted):
    """A row for each chance, in the order given."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[ChanceRow, ...] = ()
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def show_rows(self, rows: Sequence[ChanceRow]) -> None:
        """Show other chances."""
        if tuple(rows) == self._rows:
            return
        is_as_high = len(rows) == len(self._rows)
        self._rows = tuple(rows)
        self.say(". ".join(f"{row.title}: {row.words}" for row in self._rows))
        if not is_as_high:
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        """Wide; as high as its rows."""
        return QSize(fonts.whole_px(360), fonts.whole_px(_ROW_PX * len(self._rows)))

    def minimumSizeHint(self) -> QSize:
        """Room for the words of a chance and some of a title."""
        return QSize(fonts.whole_px(220), self.sizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one drawing
        """Draw every row."""
        palette = theme.current()
        with paint.start(self) as painter:
            for place, row in enumerate(self._rows):
                box = QRectF(0, fonts.px(_ROW_PX * place), self.width(), fonts.px(_ROW_PX))
                _draw_words(painter, box, row, palette)
                _draw_bar(painter, box, row, palette)


def _draw_words(painter: QPainter, box: QRectF, row: ChanceRow, palette: Palette) -> None:
    words_px = paint.text_width(row.words, _words_font())
    line = QRectF(box.left(), box.top(), box.width(), fonts.px(_WORD_PX))
    paint.draw_text(painter, line, row.words, font=_words_font(), code=palette.muted, align=paint.RIGHT)
    title = line.adjusted(0, 0, -words_px - fonts.px(_GAP_PX), 0)
    paint.draw_elided(painter, title, row.title, font=_title_font(), code=palette.ink)


def _draw_bar(painter: QPainter, box: QRectF, row: ChanceRow, palette: Palette) -> None:
    track = QRectF(box.left(), box.top() + fonts.px(_WORD_PX + 2), box.width(), fonts.px(_BAR_PX))
    radius = fonts.px(_BAR_PX) / 2
    edge_px = paint.edge_of(palette)
    paint.draw_box(painter, track, radius_px=radius, fill=palette.soft, edge=palette.muted, edge_px=edge_px)
    share = min(1.0, max(0.0, row.p))
    if share <= 0:
        return
    whole = QPainterPath()
    whole.addRoundedRect(track, radius, radius)
    part = QPainterPath()
    part.addRect(QRectF(track.left(), track.top(), share * track.width(), track.height()))
    filled = whole.intersected(part)
    ink = theme.colour(palette.ink)
    if row.is_none:
        painter.fillPath(filled, QBrush(ink, Qt.BrushStyle.BDiagPattern))
        painter.setPen(paint.pen(palette.ink, edge_px))
        painter.setBrush(paint.NO_BRUSH)
        painter.drawPath(filled)
    else:
        painter.fillPath(filled, ink)


def _title_font() -> QFont:
    return fonts.font(14, fonts.SEMIBOLD)


def _words_font() -> QFont:
    return fonts.font(13)
