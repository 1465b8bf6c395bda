"""Looks at every page of the window: pictures, and what a machine can tell is wrong on them.

`python -m tests.page_looks --out build/pages --scale 2 --size 960x540` takes pictures in all palettes at one scale
of the screen and says what is cut, overlapping, outside, coloured without a verdict or judged without limits.
Names, numbers and verdicts in the pictures are invented.
"""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from collections.abc import Iterator, Sequence
from itertools import combinations
from pathlib import Path
from typing import Final

import numpy as np
from PySide6.QtCore import QPoint, QRect, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QImage
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QApplication,
    QComboBox,
    QHeaderView,
    QLabel,
    QLineEdit,
    QScrollBar,
    QTextBrowser,
    QWidget,
)

from tests.every_page import StoppedProgram, job_names, open_on, pages_of_job, pages_without_job, settle
from valvebench.model.words import Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.heat.plot_card import PlotPane
from valvebench.ui.main_window import MainWindow
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.controls import Choice
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pin_button import PinButton
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.shot import Shot
from valvebench.ui.widgets.table import Kind, Table, _cell_font, _head_font, _inner, verdict_in
from valvebench.ui.widgets.temperature_plot import TemperaturePlot
from valvebench.ui.widgets.text import ElidedText, Text

SIZE: Final = (1280, 800)
SMALLEST: Final = (960, 540)
HUE: Final = 60
"""Largest less smallest channel, of 255: the tint of a band has up to 42, a verdict's colour over 90."""
_JUDGED: Final = frozenset({Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL})
_WORD_KINDS: Final = frozenset({Kind.TEXT, Kind.MUTED, Kind.KEY})
_EXPECTED: Final = "Expected"


def visible(window: MainWindow) -> list[QWidget]:
    """Everything a person can see some of."""
    found = (widget for widget in window.findChildren(QWidget) if widget.isVisible() and not widget.isWindow())
    return [widget for widget in found if not on_window(window, widget).isEmpty()]


def problems_of(window: MainWindow) -> Iterator[str]:
    """Everything that is wrong with the page in front."""
    widgets = visible(window)
    for widget in widgets:
        yield from (f"{about(widget)}: {words}" for words in _cut(widget))
        yield from (f"{about(widget)}: {words}" for words in _without_limits(widget))
        if _sticks_out(widget):
            yield f"{about(widget)} stands outside {about(widget.parentWidget())}: {widget.geometry()}"
    yield from _overlaps(window, [widget for widget in widgets if is_text(widget)])
    yield from _hues(window, widgets)


def about(widget: QWidget) -> str:
    """Its kind and words."""
    words = widget.text() if isinstance(widget, QLabel) and widget.text() else widget.accessibleName()
    return f"{type(widget).__name__} {words[:60]!r}"


# -- cut words ---------------------------------------------------------------------------------


def _cut(widget: QWidget) -> Iterator[str]:
    for kind, words_of in _CUTS:
        if isinstance(widget, kind):
            yield from words_of(widget)
            return


def _cut_elided(label: ElidedText) -> Iterator[str]:
    if label.is_cut() and not label.toolTip():
        yield "is cut, and its full words stand nowhere"


def _cut_choice(choice: Choice) -> Iterator[str]:
    is_cut = paint.text_width(choice.currentText(), choice.font()) > choice.room_px() + 0.5
    if is_cut and not choice.toolTip():
        yield "is cut, and its full words stand nowhere"


def _cut_message(line: MessageLine) -> Iterator[str]:
    if line.words() and line.heightForWidth(line.width()) > line.height() + 4 and not line.toolTip():
        yield "has more lines than room"


def _cut_hint(entry: QLineEdit) -> Iterator[str]:
    room = entry.width() - entry.textMargins().left() - entry.textMargins().right()
    if not entry.text() and paint.text_width(entry.placeholderText(), entry.font()) > room:
        yield f"the hint {entry.placeholderText()!r} is cut"


def _cut_button(button: QAbstractButton) -> Iterator[str]:
    wanted = button.sizeHint()
    if not isinstance(button, PinButton) and (
        wanted.width() > button.width() + 1 or wanted.height() > button.height() + 1
    ):
        yield "is smaller than its words"


def _cut_cells(table: Table) -> Iterator[str]:
    """Headings and numbers are never cut; words only where a tooltip tells them."""
    model = table.model()
    if model is None:
        return
    for place, column in enumerate(table._columns):
        room = _inner(QRect(0, 0, table.columnWidth(place), 28), place).width() + 0.5
        head = str(model.headerData(place, Qt.Orientation.Horizontal) or "")
        if column.kind is not Kind.MARK and paint.text_width(head, _head_font()) > room:
            yield f"the heading {head!r} is cut"
        for row in range(model.rowCount()):
            index = model.index(row, place)
            words = str(index.data() or "")
            is_told = column.kind in _WORD_KINDS and index.data(Qt.ItemDataRole.ToolTipRole)
            if isinstance(table, WrapTable) and place in table._wrapped:
                wrapped = QFontMetricsF(_cell_font(column.kind)).boundingRect(
                    QRectF(0, 0, room, 10_000), int(Qt.TextFlag.TextWordWrap), words
                )
                if wrapped.height() > table.rowHeight(row) or wrapped.width() > room + 1:
                    yield f"{words!r} in row {row} is cut"
            elif paint.text_width(words, _cell_font(column.kind)) > room and not is_told:
                yield f"{words!r} in row {row} is cut"


def _cut_text(label: Text) -> Iterator[str]:
    if label.wordWrap():
        if label.heightForWidth(label.width()) > label.height() + 1:
            yield "has more lines than room"
    elif label.text() and (
        label.sizeHint().width() > label.width() + 1 or label.sizeHint().height() > label.height() + 1
    ):
        yield "is cut"


_CUTS: Final = (
    (Table, _cut_cells),
    (ElidedText, _cut_elided),
    (Choice, _cut_choice),
    (MessageLine, _cut_message),
    (Text, _cut_text),
    (QLineEdit, _cut_hint),
    (QAbstractButton, _cut_button),
)


# -- places ------------------------------------------------------------------------------------


def is_text(widget: QWidget) -> bool:
    """Whether a person reads or types here."""
    if isinstance(widget, MessageLine):
        return bool(widget.words())
    if isinstance(widget, Text):
        return bool(widget.text())
    is_button = isinstance(widget, QAbstractButton) and not isinstance(widget, PinButton)
    return is_button or isinstance(widget, QComboBox | QLineEdit | Ruler)


def on_window(window: MainWindow, widget: QWidget) -> QRect:
    """Where it stands in the window, as far as it is in sight."""
    seen, above = widget.rect(), widget
    while above is not window:
        seen = seen.translated(above.pos())
        above = above.parentWidget()
        seen = seen.intersected(above.rect())
    return seen


def _sticks_out(widget: QWidget) -> bool:
    parent = widget.parentWidget()
    is_scrolled = isinstance(parent.parentWidget(), QAbstractScrollArea) and not isinstance(parent, QAbstractScrollArea)
    if is_scrolled or isinstance(parent, QComboBox | QHeaderView) or isinstance(widget, QScrollBar):
        return False
    return not parent.rect().adjusted(-1, -1, 1, 1).contains(widget.geometry())


def _overlaps(window: MainWindow, widgets: list[QWidget]) -> Iterator[str]:
    places = [(widget, on_window(window, widget)) for widget in widgets]
    for (one, first), (other, second) in combinations(places, 2):
        both = first.intersected(second)
        if both.width() > 1 and both.height() > 1 and not one.isAncestorOf(other) and not other.isAncestorOf(one):
            yield f"{about(one)} and {about(other)} overlap by {both.width()} x {both.height()}"


# -- verdicts ----------------------------------------------------------------------------------


def _without_limits(widget: QWidget) -> Iterator[str]:
    if isinstance(widget, Ruler):
        state = widget._state
        has_reading = state.value is not None or state.open_above is not None
        if has_reading and state.verdict in _JUDGED and state.low is None and state.high is None:
            yield "a verdict without its limits"
    if isinstance(widget, Table) and widget.model() is not None:
        yield from _rows_without_limits(widget)


def _rows_without_limits(table: Table) -> Iterator[str]:
    model, kinds = table.model(), [column.kind for column in table._columns]
    if Kind.MARK not in kinds or getattr(table, "limits_in_cells", False):
        return
    heads = [str(model.headerData(place, Qt.Orientation.Horizontal) or "") for place in range(len(kinds))]
    beside = [place for place, kind in enumerate(kinds) if kind is Kind.LIMITS or heads[place] == _EXPECTED]
    for row in range(model.rowCount()):
        verdict = verdict_in(model.index(row, kinds.index(Kind.MARK)).data(Qt.ItemDataRole.AccessibleTextRole))
        if verdict in _JUDGED and not any(model.index(row, place).data() for place in beside):
            yield f"row {row} has a verdict without its limits"


def _hues(window: MainWindow, widgets: list[QWidget]) -> Iterator[str]:
    """Colour where no verdict is drawn."""
    picture = window.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    ratio = picture.devicePixelRatio()
    allowed = [on_window(window, widget) for widget in widgets if may_have_hue(widget)]
    allowed += [QRect(t.viewport().mapTo(window, p.topLeft()), p.size()) for t in widgets for p in mark_cells(t)]
    seen = hued_pixels(picture)
    for x, y in seen:
        point = QPoint(int(x / ratio), int(y / ratio))
        if not any(place.adjusted(-1, -1, 1, 1).contains(point) for place in allowed):
            yield f"colour without a verdict at {point.x()}, {point.y()}"
            return


def may_have_hue(widget: QWidget) -> bool:
    """Whether a mark is drawn here, or a picture shown."""
    if isinstance(widget, MarkLabel | QTextBrowser | TemperaturePlot | Ruler | PlotPane | Shot):
        return True
    return isinstance(widget, PinButton) and widget.verdict is not None


def mark_cells(widget: QWidget) -> Iterator[QRect]:
    """The cells of a table that hold marks, in its viewport."""
    if not isinstance(widget, Table) or widget.model() is None:
        return
    for place, column in enumerate(widget._columns):
        if column.kind is Kind.MARK:
            left, width = widget.columnViewportPosition(place), widget.columnWidth(place)
            yield QRect(left, 0, width, widget.viewport().height())


def hued_pixels(picture: QImage) -> list[tuple[int, int]]:
    """Where a picture is coloured."""
    raw = np.frombuffer(picture.constBits(), np.uint8).reshape(picture.height(), picture.bytesPerLine() // 4, 4)
    channels = raw[:, : picture.width(), :3].astype(np.int16)
    rows, columns = np.nonzero(channels.max(axis=2) - channels.min(axis=2) > HUE)
    return list(zip(columns.tolist(), rows.tolist(), strict=True))


# -- taking ------------------------------------------------------------------------------------


def every_look(
    folder: Path, palettes: list[str], size: tuple[int, int] = SIZE, *, jobs: Sequence[str] | None = None
) -> Iterator[tuple[str, MainWindow]]:
    """Each page in front of a window, by name and palette; of all jobs where none are named."""
    app = QApplication.instance()
    program = StoppedProgram(folder)
    for palette in palettes:
        theme.apply(app, palette)
        for job in [None, *(job_names() if jobs is None else jobs)]:
            with open_on(program, job, width=size[0], height=size[1]) as window:
                for shown in pages_without_job(window) if job is None else pages_of_job(window):
                    yield f"{shown.name if job is None else f'{job}-{shown.name}'}-{palette}", window


def look(folder: Path, palettes: list[str], size: tuple[int, int], out: Path | None) -> list[str]:
    """All problems; pictures into `out` if it is named."""
    found = []
    for palette in palettes:
        place = folder / palette  # each keeps its own archive
        place.mkdir()
        for name, window in every_look(place, [palette], size):
            settle(window)
            found += [f"{name}: {problem}" for problem in problems_of(window)]
            if out is not None:
                window.grab().save(str(out / f"{name}.png"))
    return found


def main(arguments: list[str] | None = None) -> int:
    """Take the pictures of one scale and say what is wrong."""
    parser = argparse.ArgumentParser(description="Pictures of every page, and what is wrong on them")
    parser.add_argument("--out", type=Path, default=Path("build/pages"))
    parser.add_argument("--scale", default="1")
    parser.add_argument("--size", default="1280x800")
    parser.add_argument("--palettes", default=",".join(theme.THEMES))
    chosen = parser.parse_args(arguments)
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    os.environ["QT_SCALE_FACTOR"] = chosen.scale
    from valvebench.ui.app import application

    application()
    fonts.set_zoom(1.0)
    chosen.out.mkdir(parents=True, exist_ok=True)
    width, _, height = chosen.size.partition("x")
    with tempfile.TemporaryDirectory() as folder:
        found = look(Path(folder), chosen.palettes.split(","), (int(width), int(height)), chosen.out)
    print("\n".join(found))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
