"""Contrast as it is really drawn: what stands against what is behind it, on rendered pixels.

A widget's picture is parted into words by the gaps between them.  In each, the ground is the commonest colour and
the ink the one that stands out most: smoothed edges lie between the two, so they never look better than the ink.
The ratio is that of WCAG 2.2, worked out by `theme.contrast`, which its own test holds against published values.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Final, NamedTuple

import numpy as np
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtGui import QImage, QRegion
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QLineEdit,
    QPlainTextEdit,
    QScrollArea,
    QTextBrowser,
    QWidget,
)

from tests.page_looks import about, is_text, on_window, visible
from valvebench.ui import theme
from valvebench.ui.heat.plot_card import PlotPane
from valvebench.ui.main_window import MainWindow
from valvebench.ui.widgets.big_field import BigField
from valvebench.ui.widgets.face_drawing import FaceDrawing
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.pin_button import PinButton
from valvebench.ui.widgets.port_board import PortBoard
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.temperature_plot import TemperaturePlot

SCALE: Final = 2
TEXT_LEAST: Final = 4.5
"""WCAG 2.2, 1.4.3, for text below 18 pt; taken for all text."""
DRAWN_LEAST: Final = 3.0
"""WCAG 2.2, 1.4.11 and 2.4.13: graphics, borders of fields, the change that shows the keyboard."""
GAP_PX: Final = 10
"""Blank columns between two words of one line at this scale; letters stand closer."""
SMALLEST_PX: Final = 8
"""A dot between two words has no stroke to measure."""
BOX_SHARE: Final = 0.6
LOWEST_BOX_PX: Final = 14
FEWEST_PX: Final = 6
"""A colour of fewer pixels is the smoothing of an edge."""
_FIELDS: Final = (QLineEdit, QComboBox, QPlainTextEdit)
_DRAWN: Final = (MarkLabel, Ruler, TemperaturePlot, FaceDrawing, PortBoard, PlotPane)

Pixels = np.ndarray


class Weak(NamedTuple):
    """Something that does not stand out enough."""

    what: str
    ratio: float
    least: float
    ink: str
    ground: str

    def __str__(self) -> str:
        return f"{self.what}: {self.ratio:.2f} to 1, at least {self.least:g} ({self.ink} on {self.ground})"


def picture_of(window: MainWindow, place: QRect | None = None) -> Pixels:
    """The window, or a place in it, at twice its size, row by row: each pixel as 0xRRGGBB."""
    place = (place or window.rect()).intersected(window.rect())
    image = QImage(place.size() * SCALE, QImage.Format.Format_RGB32)
    image.setDevicePixelRatio(SCALE)
    window.render(image, QPoint(), QRegion(place))
    raw = np.frombuffer(image.constBits(), np.uint32).reshape(image.height(), image.bytesPerLine() // 4)
    return raw[:, : image.width()] & 0xFFFFFF


def pixels(picture: Pixels, place: QRect) -> Pixels:
    """The colours of a place in the window, row by row."""
    top, left = max(0, place.top()) * SCALE, max(0, place.left()) * SCALE
    return picture[top : (place.bottom() + 1) * SCALE, left : (place.right() + 1) * SCALE]


def code(pixel: int) -> str:
    """As #RRGGBB."""
    return f"#{int(pixel):06X}"


@cache
def ratio_of(one: int, other: int) -> float:
    """The contrast of two pixels."""
    return theme.contrast(code(one), code(other))


def ground_of(rows: Pixels) -> int:
    """The commonest colour."""
    colours, counts = np.unique(rows, return_counts=True)
    return int(colours[counts.argmax()])


def ink_of(rows: Pixels, ground: int) -> tuple[int, float]:
    """The colour that stands out most, and how much."""
    colours, counts = np.unique(rows, return_counts=True)
    often = [int(colour) for colour in colours[counts >= FEWEST_PX]] or [ground]
    ink = max(often, key=lambda colour: ratio_of(colour, ground))
    return ink, ratio_of(ink, ground)


def words_in(rows: Pixels) -> Iterator[Pixels]:
    """The words of a picture: parted where rows, then columns, hold nothing but the ground."""
    filled = rows != ground_of(rows)
    for line in _runs(filled.any(axis=1), 1):
        for run in _runs(filled[line].any(axis=0), GAP_PX):
            yield rows[line, run]


def _runs(filled: Sequence[bool], gap: int) -> Iterator[slice]:
    """Where something stands, parted by at least so many blanks."""
    places = np.flatnonzero(filled)
    if places.size:
        for part in np.split(places, np.flatnonzero(np.diff(places) > gap) + 1):
            yield slice(int(part[0]), int(part[-1]) + 1)


def weak_words(what: str, rows: Pixels) -> Iterator[Weak]:
    """Every word that stands out too little; a word in a box of its own is held against that box."""
    for word in words_in(rows):
        if min(word.shape) < SMALLEST_PX:
            continue
        behind = ground_of(word) if _is_boxed(word) else ground_of(rows)
        ink, ratio = ink_of(word, behind)
        if ratio < TEXT_LEAST:
            yield Weak(what, ratio, TEXT_LEAST, code(ink), code(behind))


def _is_boxed(word: Pixels) -> bool:
    """Whether its commonest colour fills more than letters do; a dash fills its place too, but is lower than a box."""
    return word.shape[0] >= LOWEST_BOX_PX and bool((word == ground_of(word)).mean() > BOX_SHARE)


def weak_things(window: MainWindow) -> Iterator[Weak]:
    """Text, drawings and borders of the page in front that stand out too little; what is off is left out."""
    picture = picture_of(window)
    for widget in visible(window):
        place = on_window(window, widget)
        if not widget.isEnabled() or place.width() < 8 or place.height() < 8:
            continue
        what = about(widget)
        if isinstance(widget, Table):
            yield from _weak_cells(window, picture, widget)
        elif isinstance(widget, _DRAWN):
            yield from _weak_drawing(what, pixels(picture, place))
        elif isinstance(widget, PinButton):
            yield from _weak_name(what, picture, window, widget)
        elif isinstance(widget, _FIELDS) and not isinstance(widget.parentWidget(), QComboBox):
            yield from _weak_border(what, picture, on_window(window, _bordered(widget)))
            yield from weak_words(what, pixels(picture, place.adjusted(6, 4, -6, -4)))
        elif is_text(widget) or isinstance(widget, QTextBrowser):
            yield from weak_words(what, pixels(picture, place.adjusted(2, 2, -2, -2)))


def off_things(window: MainWindow) -> list[str]:
    """What is off, and so need not stand out: named, so that a person can judge whether it may be off."""
    found = (w for w in visible(window) if not w.isEnabled() and isinstance(w, QAbstractButton | QLineEdit | QComboBox))
    return [f"{type(widget).__name__} {widget.accessibleName()!r}" for widget in found]


def _weak_drawing(what: str, rows: Pixels) -> Iterator[Weak]:
    ground = ground_of(rows)
    ink, ratio = ink_of(rows, ground)
    if ratio < DRAWN_LEAST and len(np.unique(rows)) > 1:
        yield Weak(what, ratio, DRAWN_LEAST, code(ink), code(ground))


def _weak_name(what: str, picture: Pixels, window: MainWindow, disc: PinButton) -> Iterator[Weak]:
    """The name in the middle of a disc, and its rim against what is around it."""
    middle = QRect(0, 0, round(disc.radius_px), round(disc.radius_px * 0.7))
    middle.moveCenter(disc.mapTo(window, disc.rect().center()))
    rows = pixels(picture, middle)
    ink, ratio = ink_of(rows, ground_of(rows))
    if ratio < TEXT_LEAST:
        yield Weak(what, ratio, TEXT_LEAST, code(ink), code(ground_of(rows)))


def _bordered(field: QWidget) -> QWidget:
    """What draws the border of a field: a big one stands in a frame."""
    frame = field.parentWidget()
    return frame if isinstance(frame.parentWidget(), BigField) else field


def _weak_border(what: str, picture: Pixels, place: QRect) -> Iterator[Weak]:
    """The left border of a field, half way down, against the card outside and the field inside."""
    left, middle = place.left(), place.center().y()
    if left < 4:
        return
    row = pixels(picture, QRect(QPoint(left - 3, middle), QPoint(left + 4, middle)))[0]
    outside, inside = int(row[0]), int(row[-1])
    ratio, ink = max((min(ratio_of(int(c), outside), ratio_of(int(c), inside)), int(c)) for c in row)
    if ratio < DRAWN_LEAST:
        yield Weak(f"border of {what}", ratio, DRAWN_LEAST, code(ink), f"{code(outside)} and {code(inside)}")


def _weak_cells(window: MainWindow, picture: Pixels, table: Table) -> Iterator[Weak]:
    model = table.model()
    for row in range(model.rowCount() if model is not None else 0):
        for column in range(model.columnCount()):
            index = model.index(row, column)
            cell = table.visualRect(index).intersected(table.viewport().rect())
            seen = QRect(table.viewport().mapTo(window, cell.topLeft()), cell.size())
            if index.data() and cell.height() > 20 and window.rect().contains(seen) and _is_seen(table, cell):
                what = f"{table.accessibleName()}, row {row}, {index.data()!r}"
                yield from weak_words(what, pixels(picture, seen.adjusted(3, 3, -3, -3)))


def _is_seen(table: Table, cell: QRect) -> bool:
    return table.viewport().visibleRegion().contains(cell)


# -- where the keyboard is ---------------------------------------------------------------------


def weak_focus(window: MainWindow, controls: list[QWidget]) -> Iterator[Weak]:
    """Each control that changes too little when the keyboard comes to it."""
    for control in controls:
        _put_down(window, control)
        place = on_window(window, control).adjusted(-4, -4, 4, 4)
        before = picture_of(window, place)
        control.setFocus(Qt.FocusReason.TabFocusReason)
        QApplication.processEvents()
        if _changes(before, picture_of(window, place)) < min(place.width(), place.height()):
            yield Weak(f"keyboard on {type(control).__name__} {control.accessibleName()!r}", 1.0, DRAWN_LEAST, "-", "-")


def _put_down(window: MainWindow, control: QWidget) -> None:
    """The keyboard away from every control, and this one in sight."""
    here = QApplication.focusWidget()
    if here is not None:
        here.clearFocus()
    area = window.pages.currentWidget()
    if isinstance(area, QScrollArea) and area.isAncestorOf(control):
        area.ensureWidgetVisible(control)
    QApplication.processEvents()


def _changes(before: Pixels, after: Pixels) -> int:
    """How many pixels change by 3 to 1 or more."""
    differ = before != after
    pairs, counts = np.unique(np.stack([before[differ], after[differ]]), axis=1, return_counts=True)
    ratios = [ratio_of(int(one), int(other)) for one, other in pairs.T]
    return sum(int(n) for n, ratio in zip(counts, ratios, strict=True) if ratio >= DRAWN_LEAST)
