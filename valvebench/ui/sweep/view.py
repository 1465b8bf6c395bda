"""The page of sweeps: where one comes from, its drawing, what it says, and those that are kept."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeyEvent, QKeySequence, QShowEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QVBoxLayout,
    QWidget,
)

from valvebench.ui import fonts
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.sweep.shown import OIL_OR_AIR_SAFETY, CurveShown, FoundShown, LineShown
from valvebench.ui.sweep.table_model import COLUMNS, SweepModel
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.entry_table import EntryTable
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.plot_room import PlotRoom
from valvebench.ui.widgets.said_card import SaidCard
from valvebench.ui.widgets.text import Text

FILTER: Final = "Sweeps (*.csv *.txt *.tsv *.xlsx);;All files (*)"
FILE_KEY: Final = "F6"
_NARROW_PX: Final = 960
_PLOT_PX: Final = 220
_TABLE_PX: Final = 92
_BOX: Final = QBoxLayout.Direction
_OTHER: Final = Qt.FocusReason.OtherFocusReason
_TOP: Final = Qt.AlignmentFlag.AlignTop
_LEGEND: Final = (
    "Full triangles: current going up; empty ones: coming down. Thick line: the joint curve; thin and dashed: its "
    "loop, up and down. Dotted: end of the dead band."
)


def ask_for_sweep(parent: QWidget) -> str:
    """The file a person chooses; empty for none."""
    return QFileDialog.getOpenFileName(parent, "Open a sweep of current", "", FILTER)[0]


class SweepPage(AsidePage):
    """Shows what the presenter says; tells it in plain words what the person did."""

    solenoid_named = Signal(str)
    fields_typed = Signal(str, str)
    file_named = Signal(str)
    pasted = Signal(str)
    keep_asked = Signal()
    line_chosen = Signal(int)
    withdrawn = Signal(int)
    undo_asked = Signal()
    redo_asked = Signal()
    came_to_front = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.ask_for_sweep = ask_for_sweep
        self.device = PickField("Solenoid", ())
        self.rated = LineField("Rated current, A", hint="else the largest set")
        self.gauge_id = LineField("Which gauge", hint="its name, if there are several")
        self.keep_button = Button("Keep this sweep", key="Enter", is_primary=True)
        self.open_cap, self.paste_cap = KeyCap(FILE_KEY, "open a file"), KeyCap("Ctrl+V", "paste a table")
        self.out, self.take_back = KeyCap("Esc", "leave"), KeyCap("Del", "take back")
        self.plot, self.model = PlotRoom(CurveShown(), _PLOT_PX), SweepModel(self)
        self.table = EntryTable(COLUMNS, name="Kept sweeps", opens=True)
        self._said = MessageLine()
        self._supply = MessageLine(icon="electricity")
        self.said_card = SaidCard("What it says")
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self._row, self._left, self._right = QHBoxLayout(self), QVBoxLayout(), QVBoxLayout()
        self._left.addWidget(self._source_card())
        self._left.addWidget(self.said_card, 1)
        self._right.addWidget(self._plot_card(), 1)
        self._right.addWidget(self._kept_card())
        self._row.addLayout(self._left, 46)
        self._row.addLayout(self._right, 54)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.set_ready(is_ready=False)

    def _source_card(self) -> Card:
        card = Card("Sweep of current")
        self._fields, self._keys = QHBoxLayout(), QGridLayout()
        for field in (self.rated, self.gauge_id):
            self._fields.addWidget(field, 1, _TOP)
        for place, cap in enumerate((self.open_cap, self.paste_cap, self.out)):
            self._keys.addWidget(cap, 0, place, Qt.AlignmentFlag.AlignLeft)
        self._keys.setColumnStretch(3, 1)
        card.body.addWidget(self.device)
        card.body.addLayout(self._fields)
        card.body.addLayout(self._keys)
        card.body.addWidget(self.keep_button, 0, Qt.AlignmentFlag.AlignLeft)
        card.body.addWidget(self._said)
        card.body.addWidget(self._supply)
        card.body.addWidget(MessageLine(OIL_OR_AIR_SAFETY, icon="air"))
        return card

    def _plot_card(self) -> Card:
        card = Card("Pressure against current")
        card.body.addWidget(self.plot, 1)
        card.body.addWidget(Text(_LEGEND, size_px=13, muted=True, wraps=True))
        return card

    def _kept_card(self) -> Card:
        card = Card("Kept sweeps", is_outdented=True)
        self.table.setModel(self.model)
        card.head.addWidget(self.take_back)
        card.body.addWidget(self.table, 1)
        return card

    def _connect(self) -> None:
        self.device.changed.connect(self._device_changed)
        self.device.confirmed.connect(self.begin)
        for field in (self.rated, self.gauge_id):
            field.entry.editingFinished.connect(self._fields_edited)
            field.confirmed.connect(self.begin)
        self.keep_button.clicked.connect(self.keep_asked)
        self.open_cap.clicked.connect(self._choose)
        self.paste_cap.clicked.connect(self._paste)
        self.out.clicked.connect(self.left)
        self.take_back.clicked.connect(self.table.withdraw_current)
        self.table.opened.connect(self.line_chosen)
        self.table.withdrawn.connect(self.withdrawn)
        self.table.installEventFilter(self)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            (FILE_KEY, self._choose, "Open a file of a sweep"),
        )

    # -- what the person does --------------------------------------------------------------

    def _device_changed(self) -> None:
        self.solenoid_named.emit(self.device.text())

    def _fields_edited(self) -> None:
        self.fields_typed.emit(self.rated.text(), self.gauge_id.text())

    def _choose(self) -> None:
        if self.open_cap.isEnabled() and (path := self.ask_for_sweep(self)):
            self.file_named.emit(path)

    def _paste(self) -> None:
        self.pasted.emit(QGuiApplication.clipboard().text())

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Pasting anywhere but into a line of text takes in a table."""
        if event.matches(QKeySequence.StandardKey.Paste) and not isinstance(self.focusWidget(), QLineEdit):
            self._paste()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """In the table pasting takes one in too."""
        is_key = watched is self.table and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress
        if is_key and isinstance(event, QKeyEvent) and event.matches(QKeySequence.StandardKey.Paste):
            self._paste()
            return True
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """The page comes to the front."""
        super().showEvent(event)
        self.came_to_front.emit()

    # -- layout ----------------------------------------------------------------------------

    def fit_width(self, room_px: float) -> None:
        """The cards beside each other, or one below the other where the room is narrow."""
        self._row.setDirection(_BOX.TopToBottom if room_px < _NARROW_PX else _BOX.LeftToRight)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._row.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for layout in (self._row, self._left, self._right, self._fields):
            layout.setSpacing(gap)
        self._keys.setHorizontalSpacing(fonts.whole_px(20))
        self._keys.setVerticalSpacing(fonts.whole_px(8))
        self.table.setMinimumHeight(fonts.whole_px(_TABLE_PX))

    # -- what the presenter asks -----------------------------------------------------------

    def show_devices(self, names: Sequence[str], current: str) -> None:
        """What can be picked, and what is; tells nobody."""
        self.device.set_words(names, current)

    def show_supply(self, words: str) -> None:
        """What may feed this solenoid."""
        self._supply.show_message(words, icon="electricity")

    def show_curve(self, curve: CurveShown) -> None:
        """The drawing."""
        self.plot.show_data(curve, f"Sweep drawn: {curve.spoken}")

    def show_found(self, found: FoundShown) -> None:
        """What the sweep says."""
        self.said_card.show_said(found.verdict, found.headline, found.lines)
        self.said_card.set_aside(found.aside)

    def show_lines(self, lines: Sequence[LineShown]) -> None:
        """The sweeps that are kept."""
        self.model.set_rows(lines)

    def set_rated(self, text: str) -> None:
        """What stands in the rated current."""
        self.rated.set_text(text)

    def set_ready(self, *, is_ready: bool) -> None:
        """Whether there is a sweep to be kept."""
        self.keep_button.setEnabled(is_ready)
        if is_ready:
            self.keep_button.setFocus(_OTHER)

    def set_enabled(self, *, is_enabled: bool) -> None:
        """Whether sweeps are taken in."""
        for part in (self.rated, self.gauge_id, self.open_cap, self.paste_cap, self.take_back):
            part.setEnabled(is_enabled)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the keys."""
        self._said.show_message(words, icon="problem" if is_problem else "note")
        if words:
            announce(self, words)

    def let_draw(self) -> None:
        """What draws is there now."""
        from valvebench.ui.sweep.plot import SweepDrawing

        self.plot.let_draw(SweepDrawing)

    def begin(self) -> None:
        """What is to be done next has the keyboard: keeping, or the table."""
        (self.keep_button if self.keep_button.isEnabled() else self.table).setFocus(_OTHER)
