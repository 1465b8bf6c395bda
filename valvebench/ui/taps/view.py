"""The page of pressures at taps: the one asked for, its field and ruler, and the table of all of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.taps.shown import KPA, OIL_SAFETY, VEHICLE_SAFETY, LineShown, PressureShown, QuestionShown, Typed
from valvebench.ui.taps.table_model import COLUMNS, TapsModel
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.entry_table import EntryTable
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.ruler import Ruler, RulerState
from valvebench.ui.widgets.text import ElidedText, Text

_NARROW_PX: Final = 960
_BOX: Final = QBoxLayout.Direction
_OTHER: Final = Qt.FocusReason.OtherFocusReason
_TOP: Final = Qt.AlignmentFlag.AlignTop
_TABLE_PX: Final = 200
_KEYS: Final = (
    ("keep", "Enter", "keep"),
    ("back", "Up", "previous"),
    ("skip", "Down", "skip"),
    ("out", "Esc", "leave"),
)


class TapsPage(AsidePage):
    """Shows what the presenter says; tells it in plain words what the person did."""

    form_typed = Signal(object)
    kpa_typed = Signal(object)
    form_kept = Signal(object)
    previous_asked = Signal()
    skip_asked = Signal()
    line_chosen = Signal(int)
    withdrawn = Signal(int)
    undo_asked = Signal()
    redo_asked = Signal()
    came_to_front = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lead, self._big = Text(size_px=15, muted=True), ElidedText(size_px=36, weight=fonts.BOLD)
        self._what, self._expect = ElidedText(size_px=17, weight=fonts.SEMIBOLD), ElidedText(size_px=15, muted=True)
        self.tap, self.state = PickField("Tap", ()), PickField("State", (), hint="idle, load or a gear")
        self.field, self.fluid = BigField("Pressure", unit=KPA), LineField("Fluid, \u00b0C", hint="such as 80")
        self.gauge = LineField("Gauge accuracy", hint="1%+1x5")
        self.gauge_id = LineField("Which gauge", hint="its name, if there are several")
        self._ruler, self._said = Ruler(), MessageLine()
        self._sentence = Text(size_px=14, wraps=True)
        self._caps = {name: KeyCap(key, word) for name, key, word in _KEYS}
        self.take_back = KeyCap("Del", "take back")
        self.model = TapsModel(self)
        self.table = EntryTable(COLUMNS, name="Pressures at taps", opens=True)
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self.field.set_commands([UP, DOWN])
        self._ruler.set_unit(KPA)
        card = Card()
        self._names, self._numbers, self._gauges, self._keys = (
            QHBoxLayout(),
            QHBoxLayout(),
            QHBoxLayout(),
            QGridLayout(),
        )
        for row, parts in (
            (self._names, ((self.tap, 1), (self.state, 1))),
            (self._numbers, ((self.field, 3), (self.fluid, 1))),
            (self._gauges, ((self.gauge, 1), (self.gauge_id, 1))),
        ):
            for part, share in parts:
                row.addWidget(part, share, _TOP)
        for place, cap in enumerate(self._caps.values()):
            self._keys.addWidget(cap, place // 2, place % 2, Qt.AlignmentFlag.AlignLeft)
        self._keys.setColumnStretch(2, 1)
        for words in (self._lead, self._big, self._what, self._expect):
            card.body.addWidget(words)
        card.body.addLayout(self._numbers)
        card.body.addWidget(self._ruler)
        card.body.addWidget(self._sentence)
        for layout in (self._names, self._gauges, self._keys):
            card.body.addLayout(layout)
        card.body.addWidget(self._said)
        card.body.addStretch(1)
        self._row, self._right = QHBoxLayout(self), QVBoxLayout()
        self._row.addWidget(card, 46)
        self._row.addLayout(self._right, 54)
        self._right.addWidget(_safety_card())
        self._right.addWidget(self._table_card(), 1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _table_card(self) -> Card:
        self.table.setModel(self.model)
        self.table_card = Card("Pressures at taps", is_outdented=True)
        self.table_card.head.addWidget(self.take_back)
        self.table_card.body.addWidget(self.table, 1)
        return self.table_card

    def _connect(self) -> None:
        self.field.text_edited.connect(self._edited)
        for field in (self.fluid, self.gauge, self.gauge_id):
            field.entry.textEdited.connect(self._edited)
        for pick in (self.tap, self.state):
            pick.changed.connect(self._edited)
            pick.confirmed.connect(self.to_kpa)
        self.field.kept.connect(self._kpa_kept)
        self.field.command.connect(self._command)
        self.fluid.confirmed.connect(self._keep)
        for field in (self.gauge, self.gauge_id):
            field.confirmed.connect(self.to_kpa)
        caps = self._caps
        caps["keep"].clicked.connect(self._keep)
        caps["back"].clicked.connect(self.previous_asked)
        caps["skip"].clicked.connect(self.skip_asked)
        caps["out"].clicked.connect(self.left)
        self.take_back.clicked.connect(self.table.withdraw_current)
        self.table.opened.connect(self.line_chosen)
        self.table.withdrawn.connect(self.withdrawn)
        add_page_keys(self, *taking_back(self.undo_asked, self.redo_asked))

    # -- what the person does --------------------------------------------------------------

    def form(self) -> Typed:
        """Everything as it stands."""
        return Typed(
            tap=self.tap.text(),
            state=self.state.text(),
            kpa=self.field.text(),
            fluid=self.fluid.text(),
            gauge=self.gauge.text(),
            gauge_id=self.gauge_id.text(),
        )

    def _edited(self) -> None:
        self.form_typed.emit(self.form())

    def _kpa_kept(self) -> None:
        self.kpa_typed.emit(self.form())

    def _keep(self) -> None:
        self.form_kept.emit(self.form())

    def _command(self, key: str) -> None:
        (self.previous_asked if key == UP else self.skip_asked).emit()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Up and Down in the temperature walk too."""
        if event.key() in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self.fluid.entry.hasFocus():
            self._command(UP if event.key() == Qt.Key.Key_Up else DOWN)
        else:
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """The page comes to the front: another page may have changed the session."""
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
        for layout in (self._row, self._right, self._names, self._numbers, self._gauges):
            layout.setSpacing(gap)
        self._keys.setHorizontalSpacing(fonts.whole_px(20))
        self._keys.setVerticalSpacing(fonts.whole_px(8))
        self.table.setMinimumHeight(fonts.whole_px(_TABLE_PX))
        self._sentence.setMinimumHeight(fonts.whole_px(40))

    # -- what the presenter asks -----------------------------------------------------------

    def show_names(self, taps: Sequence[str], states: Sequence[str]) -> None:
        """What can be picked; free words are taken too."""
        self.tap.set_words(taps, "")
        self.state.set_words(states, "")

    def show_question(self, question: QuestionShown) -> None:
        """What is to be read."""
        self._lead.setText(question.lead)
        self._big.setText(question.big)
        self._what.setText(question.what)
        self._expect.setText(question.expect)
        self.field.set_name(f"Pressure at {question.big}, {question.what}, {question.expect}")

    def fill(self, typed: Typed) -> None:
        """Put words into every field; tells nobody."""
        for field, text in ((self.tap, typed.tap), (self.state, typed.state)):
            field.blockSignals(True)
            field.set_text(text)
            field.blockSignals(False)
        self.field.set_text(typed.kpa)
        self.fluid.set_text(typed.fluid)
        self.gauge.set_text(typed.gauge)
        self.gauge_id.set_text(typed.gauge_id)

    def show_pressure(self, pressure: PressureShown) -> None:
        """The window, and the pressure on it."""
        is_read = pressure.kpa is not None
        self._ruler.show_state(
            RulerState(
                unit=KPA,
                low=pressure.low,
                high=pressure.high,
                guard=pressure.guard,
                value=pressure.kpa,
                expanded=pressure.expanded if is_read else None,
                verdict=pressure.verdict or Verdict.NOT_TAKEN,
            )
        )
        self._sentence.setText(pressure.sentence)

    def show_lines(self, lines: Sequence[LineShown], aside: str) -> None:
        """The table; the line with the keyboard keeps it."""
        at = self.table.currentIndex()
        number = self.model.row(at.row()).number if at.isValid() else None
        self.model.set_rows(lines)
        self.table_card.set_aside(aside)
        place = next((i for i, line in enumerate(lines) if line.number == number), None)
        if place is not None:
            self.table.setCurrentIndex(self.model.index(place, 0))

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """Say what is wrong, or ask, under the pressure."""
        self.field.set_error(words, icon="ask" if is_question else "problem")

    def show_fluid_problem(self, words: str) -> None:
        """Say what is wrong under the temperature."""
        self.fluid.set_problem(words)

    def set_kpa(self, text: str) -> None:
        """What stands in the pressure."""
        self.field.set_text(text)

    def to_kpa(self) -> None:
        """The pressure has the keyboard."""
        self.field.setFocus(_OTHER)

    def to_fluid(self) -> None:
        """The temperature has the keyboard; the one that stands there can be kept or typed over."""
        self.fluid.entry.setFocus(_OTHER)
        self.fluid.entry.selectAll()

    def set_enabled(self, *, is_enabled: bool) -> None:
        """Whether pressures are taken."""
        for part in (self.tap, self.state, self.field, self.fluid, self.gauge, self.gauge_id, self.take_back):
            part.setEnabled(is_enabled)
        for name, cap in self._caps.items():
            cap.setEnabled(is_enabled or name == "out")

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the keys."""
        self._said.show_message(words, icon="problem" if is_problem else "note")
        if words:
            announce(self, words)

    def begin(self) -> None:
        """The pressure has the keyboard; in a closed session the table."""
        (self.field if self.field.isEnabled() else self.table).setFocus(_OTHER)


def _safety_card() -> Card:
    card = Card()
    card.setAccessibleName("Safety")
    card.body.addWidget(MessageLine(OIL_SAFETY, icon="heat"))
    card.body.addWidget(MessageLine(VEHICLE_SAFETY, icon="hands"))
    return card
