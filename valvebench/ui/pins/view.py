"""The Pins page: face, the pair at hand with its field and ruler, readings, plot."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QCoreApplication, QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QPalette, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QSizePolicy, QStackedWidget, QVBoxLayout, QWidget

from valvebench.model.format import OHM
from valvebench.model.variant import Variant
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.pins.faces import spots_of
from valvebench.ui.pins.keys import CHECK_KEY, NEXT_KEY, ROUND_WORDS, SET_UP_KEY, VOLTS_KEY
from valvebench.ui.pins.reading_ruler import lay_on
from valvebench.ui.pins.safety_lines import SafetyLines
from valvebench.ui.pins.shown import PairShown, PlotShown, ReadingShown, RowShown
from valvebench.ui.pins.step_card import StepCard
from valvebench.ui.pins.table_model import COLUMNS, ReadingsModel
from valvebench.ui.pins.ways_card import WaysCard
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.temperature_plot import TemperaturePlot
from valvebench.ui.widgets.text import ElidedText, Text, TwoLineText

if TYPE_CHECKING:
    from valvebench.ui.pins.cheap_ways import Ghost, WaysShown
    from valvebench.ui.pins.rounds_words import QuestionShown
    from valvebench.ui.pins.steps import StepShown

OPEN_KEY: Final = "*"
TURN_KEY: Final = "/"
PAIR_KEYS: Final = MappingProxyType(
    {
        "keep": ("Enter", "keep"),
        "open": (OPEN_KEY, "open (OL)"),
        "previous": ("Up", "previous"),
        "skip": ("Down", "skip"),
        "turn": (TURN_KEY, "turn over"),
    }
)
_NARROW_PX: Final = 800
"""Below this room the four cards stand under each other, the pair first."""
_SIDE_BY_SIDE: Final = QBoxLayout.Direction.LeftToRight
_DOWN: Final = QBoxLayout.Direction.TopToBottom
_UPWARD: Final = QBoxLayout.Direction.BottomToTop
WONDERING_MS: Final = 100
"""From here on a person begins to wonder whether anything happens."""
_UPDATE: Final = QEvent.Type.UpdateRequest
PAUSE_MS: Final = 250
"""A pause in typing; between the keys of one number the card beside it stays as it is."""


class PinsPage(Page):
    """Shows what the presenter says; tells it in plain words what the person did."""

    typed = Signal(str)
    kept = Signal(str)
    opened = Signal()
    previous_asked = Signal()
    skip_asked = Signal()
    pin_chosen = Signal(str)
    undo_asked = Signal()
    redo_asked = Signal()
    withdrawn = Signal(object)
    set_up_asked = Signal()
    check_asked = Signal(str)
    volts_asked = Signal(str)
    way_chosen = Signal(int)
    left = Signal()
    pair_shown = Signal()
    settled = Signal()
    turn_asked = Signal()
    drawings_asked = Signal()
    folder_asked = Signal()
    findings_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.face = Face()
        self.field = BigField("Reading", unit=OHM)
        self.ruler = Ruler()
        self.plot = TemperaturePlot()
        self.model = ReadingsModel(self)
        self.table = Table(COLUMNS, name="Readings")
        self._probe, self._pair = Text("Probe", size_px=15, muted=True), Text(size_px=40, weight=fonts.BOLD)
        self._what = ElidedText(size_px=17, weight=fonts.SEMIBOLD)
        self._expect = TwoLineText(size_px=15, muted=True)
        self._value = Text(size_px=17, weight=fonts.BOLD)
        self._sentence = TwoLineText(size_px=14, muted=True)
        self._said = MessageLine(grows=False)
        self._keys = {name: KeyCap(key, word, also=(ROUND_WORDS[name],)) for name, (key, word) in PAIR_KEYS.items()} | {
            "set_up": KeyCap(SET_UP_KEY, "bench set-up"),
        }
        self.ways_card, self.step_card, self.safety = WaysCard(), StepCard(), SafetyLines()
        self.middle = QStackedWidget()
        self._has_safety = self._ends_with_last = False
        self._variant: Variant | None = None
        self._room_px = self._lower_px = float(_NARROW_PX)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self.table.setModel(self.model)
        self.field.set_commands([OPEN_KEY, TURN_KEY, UP, DOWN])
        self._pair.hold_width("30 and 30")
        self._expect.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.readings_card = Card("Readings", is_outdented=True)
        self.readings_card.body.addWidget(self.table, 1)
        self.plot_card = Card("Against temperature")
        self.plot_card.body.addWidget(self.plot, 1)
        self.aside, self.left_cards = QStackedWidget(), QStackedWidget()
        for each in (self.plot_card, self.ways_card, self.step_card):
            self.aside.addWidget(each)
        self.left_cards.addWidget(self.readings_card)
        self.home: Card = self.plot_card
        face_card = Card()
        face_card.body.addWidget(self.face, 1)
        self._rows, self._upper, self._lower = QVBoxLayout(self), QHBoxLayout(), QHBoxLayout()
        self._rows.addLayout(self._upper, 46)
        self._rows.addLayout(self._lower, 54)
        for row, left, right in (
            (self._upper, face_card, self._pair_card()),
            (self._lower, self.left_cards, self.aside),
        ):
            row.addWidget(left, 46)
            row.addWidget(right, 54)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _pair_card(self) -> Card:
        card = Card()
        self._heads, self._words = QHBoxLayout(), QVBoxLayout()
        names = QVBoxLayout()
        names.setSpacing(0)
        names.addWidget(self._probe)
        names.addWidget(self._pair)
        self._words.addStretch(1)
        self._words.addWidget(self._what)
        self._words.addWidget(self._expect)
        self._heads.addLayout(names)
        self._heads.addLayout(self._words, 1)
        self._entry_row, self._key_grid = QHBoxLayout(), QGridLayout()
        self._entry_row.addWidget(self.field, 5)
        self._entry_row.addLayout(self._key_grid, 4)
        self._place_keys(2)
        self._answer = QHBoxLayout()
        self._answer.addWidget(self._value)
        self._answer.addWidget(self._sentence, 1)
        for part in (self._heads, self._entry_row):
            card.body.addLayout(part)
        for shown in (self.ruler, self._value, self._sentence):
            # with a ground of their own the card beneath them is not painted again for each reading
            shown.setBackgroundRole(QPalette.ColorRole.Base)
            shown.setAutoFillBackground(True)
        self.middle.addWidget(self.ruler)
        self.middle.addWidget(self.safety)
        self.middle.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        card.body.addWidget(self.middle)
        card.body.addLayout(self._answer)
        card.body.addWidget(self._said)
        card.body.addStretch(1)
        return card

    def _place_keys(self, across: int) -> None:
        for place, cap in enumerate(self._keys.values()):
            self._key_grid.addWidget(cap, place // across, place % across, Qt.AlignmentFlag.AlignLeft)

    def fit_width(self, room_px: float) -> None:
        """Two cards beside each other, or one below the other where the room is narrow."""
        self._room_px = room_px
        is_narrow = room_px < _NARROW_PX
        self._lower.setDirection(_DOWN if room_px < self._lower_px else _SIDE_BY_SIDE)
        if is_narrow == (self._entry_row.direction() == _DOWN):
            return
        self._upper.setDirection(_UPWARD if is_narrow else _SIDE_BY_SIDE)
        for row in (self._entry_row, self._answer):
            row.setDirection(_DOWN if is_narrow else _SIDE_BY_SIDE)
        self._place_keys(3 if is_narrow else 2)

    def set_lower_px(self, room_px: float = _NARROW_PX) -> None:
        """How much room the two lower cards need to stand beside each other."""
        self._lower_px = room_px
        self.fit_width(self._room_px)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._rows.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for row in (self._rows, self._upper, self._lower):
            row.setSpacing(gap)
        self._heads.setSpacing(fonts.whole_px(40))
        self._words.setSpacing(fonts.whole_px(4))
        self._entry_row.setSpacing(fonts.whole_px(20))
        self._key_grid.setHorizontalSpacing(fonts.whole_px(12))
        self._key_grid.setVerticalSpacing(fonts.whole_px(8))
        self._answer.setSpacing(fonts.whole_px(24))
        self._pair.hold_width("30 and 30")
        self._said.setFixedHeight(fonts.whole_px(20))

    def _connect(self) -> None:
        self.field.text_edited.connect(self.typed)
        self.field.kept.connect(self.kept)
        self.field.command.connect(self._command)
        self.face.pin_chosen.connect(self.pin_chosen)
        self._keys["keep"].clicked.connect(self._keep_clicked)
        self._keys["open"].clicked.connect(self.opened)
        self._keys["previous"].clicked.connect(self.previous_asked)
        self._keys["skip"].clicked.connect(self.skip_asked)
        self._keys["turn"].clicked.connect(self.turn_asked)
        self._keys["set_up"].clicked.connect(self.set_up_asked)
        self.table.installEventFilter(self)
        self.ways_card.chosen.connect(self.way_chosen)
        self.ways_card.acted.connect(self._act)
        self.step_card.left.connect(self.left)
        self._pause.timeout.connect(self.settled)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            (SET_UP_KEY, self.set_up_asked, "Bench set-up"),
            (CHECK_KEY, self._ask_check, "Check resistor"),
            (VOLTS_KEY, self._ask_volts, "Volts ratio"),
            ("Esc", self.left, "Leave a check resistor or a volts ratio without a trace"),
            (NEXT_KEY, self.findings_asked, "Findings, and what explains the readings"),
            ("Ctrl+Shift+E", self.drawings_asked, "Export pictures of connector and plots, or stop it"),
            ("Ctrl+Shift+F", self.folder_asked, "Show the folder of the pictures"),
        )

    def _command(self, key: str) -> None:
        asked = {OPEN_KEY: self.opened, TURN_KEY: self.turn_asked, UP: self.previous_asked, DOWN: self.skip_asked}
        asked[key].emit()

    def _ask_check(self) -> None:
        self.check_asked.emit(self.field.text())

    def _ask_volts(self) -> None:
        self.volts_asked.emit(self.field.text())

    def _act(self, key: str) -> None:
        {CHECK_KEY: self._ask_check, VOLTS_KEY: self._ask_volts, SET_UP_KEY: self.set_up_asked.emit}[key]()

    def _keep_clicked(self) -> None:
        self.kept.emit(self.field.text())

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Delete takes back the newest reading of the selected row."""
        if watched is self.table and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            index = self.table.currentIndex()
            if event.key() == Qt.Key.Key_Delete and index.isValid():
                row = self.model.row(index.row())
                if row.entries:
                    self.withdrawn.emit(row.entries)
                return True
        return super().eventFilter(watched, event)

    # -- what the presenter asks -----------------------------------------------------------

    def set_variant(self, variant: Variant | None) -> None:
        """Draw the connector of a variant; without one an empty face."""
        if variant is not None and variant == self._variant:
            return
        self._variant = variant
        if variant is None or not variant.pins:
            self.face.set_title("No connector")
            self.face.drawing.set_pins([])
            return
        face = variant.faces[0] if variant.faces else None
        self.face.set_title(f"Connector {face.name}" if face is not None else "Connector")
        self.face.drawing.set_pins(spots_of(variant, face), is_round=face is not None and face.layout == "ring")
        self.face.set_turned(face is not None and face.seen_from == "wire")

    def show_pair(self, pair: PairShown | None, words: str) -> None:
        """The two nodes in large type, and where the leads go."""
        self._probe.setText(pair.clip if pair is not None else "")
        self._pair.setText(pair.probe if pair is not None else "")
        self._what.setText(pair.what if pair is not None else "No pair")
        self._expect.setText(pair.expect if pair is not None else words)
        if pair is not None:
            self.field.set_name(f"Reading between {pair.probe}, {pair.what}, {pair.expect}")
            self.face.drawing.set_pair(pair.black, pair.red)
        self.field.set_unit(OHM)
        self._let_through(is_pair=True)
        self._set_safety(())
        self.aside.setCurrentWidget(self.home)
        self._pause.start(0)
        self.pair_shown.emit()

    def show_opening(self, words: str) -> None:
        """No pair yet: the session is still being read."""
        self._probe.setText("")
        self._what.setText("Opening \u2026")
        self._expect.setText(words)
        self.ruler.clear_reading("")

    def show_reading(self, reading: ReadingShown) -> None:
        """Ruler, value and sentence; what would decide comes when the typing pauses."""
        self.ruler.clear_ghost()
        if self._has_safety:
            self.middle.setCurrentWidget(self.safety if reading.value is None else self.ruler)
        if self.aside.currentWidget() is not self.step_card and self._pause.remainingTime() != 0:
            self._pause.start(PAUSE_MS)
        lay_on(self.ruler, reading)
        self._value.setText(reading.value_text)
        self._sentence.setText(reading.sentence)

    def show_ways(self, ways: WaysShown | None) -> None:
        """What would decide, in the place of the plot; without a question the plot."""
        if ways is not None:
            self.ways_card.show_ways(ways)
        self.aside.setCurrentWidget(self.home if ways is None else self.ways_card)

    def show_ghost(self, ghost: Ghost | None) -> None:
        """Where the whisker would end."""
        if ghost is None:
            self.ruler.clear_ghost()
        else:
            self.ruler.set_ghost(ghost.value, ghost.expanded, text=ghost.words)

    def show_step(self, step: StepShown) -> None:
        """A question in the place of the pair; its answer is typed where readings are."""
        self._pause.stop()
        self._ask(step)
        self._let_through(is_pair=False)
        self._set_safety(step.safety)
        self.step_card.show_step(step)
        self.aside.setCurrentWidget(self.step_card)
        self.begin()

    def show_question(self, question: QuestionShown) -> None:
        """A temperature is asked for; beside it stands what is known of the rounds."""
        self._pause.stop()
        self._ask(question)
        self._set_safety(question.safety, ("heat", "hands"))
        self.show_keys(ROUND_WORDS)
        self.face.drawing.set_pair(None, None)
        self.show_reading(ReadingShown())
        self.aside.setCurrentWidget(self.home)
        if self.isVisible():
            self.begin()

    def _ask(self, step: StepShown | QuestionShown) -> None:
        self.show_what(step.what)
        self.show_expect(step.expect)
        self._probe.setText(step.lead)
        self._pair.setText(step.big)
        self.field.set_name(f"{step.lead}, {step.big}, {step.expect}")
        self.field.set_unit(step.unit)
        self.field.set_text(step.text)
        self.field.entry.selectAll()

    def show_what(self, words: str) -> None:
        """The line beside the large words."""
        self._what.setText(words)

    def show_expect(self, words: str) -> None:
        """The line below it."""
        self._expect.setText(words)

    def show_pair_keys(self) -> None:
        """The keys mean what they mean beside a pair."""
        self.show_keys({name: word for name, (_, word) in PAIR_KEYS.items()})

    def show_care(self, words: tuple[str, ...]) -> None:
        """What is dangerous where this pair is read."""
        self._set_safety(words)

    def show_keys(self, words: Mapping[str, str]) -> None:
        """What the keys beside the field do now."""
        for name, word in words.items():
            self._keys[name].set_word(word)
        self._let_through(is_pair=True)

    def _set_safety(self, words: Sequence[str], icons: Sequence[str] = ("electricity", "hands")) -> None:
        """Before a part is fed or warmed its safety lines stand where the ruler will show the verdict."""
        self._has_safety = bool(words)
        if words:
            self.safety.show_words(words, icons)
        self.middle.setCurrentWidget(self.safety if words else self.ruler)

    def _let_through(self, *, is_pair: bool) -> None:
        """A question is neither open nor skipped."""
        for name in ("open", "skip"):
            self._keys[name].setEnabled(is_pair and self.field.isEnabled())

    def show_effect(self, words: str) -> None:
        """What the entry would do."""
        self.step_card.show_effect(words)

    def paint_now(self) -> None:
        """The verdict first; the rest of the page follows one event later."""
        # What a repaint sends once it has marked its widget: all that waits, in one pass, and nothing else.
        QCoreApplication.sendEvent(self.window(), QEvent(_UPDATE))

    def later(self, act: Callable[[], None]) -> None:
        """Run something once the verdict has been painted."""
        QTimer.singleShot(0, self, act)

    def if_it_takes_long(self, act: Callable[[], None]) -> None:
        """Run something once a person would begin to wonder."""
        QTimer.singleShot(WONDERING_MS, self, act)

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """Say what is wrong, or ask, under the field."""
        self.field.set_error(words, icon="ask" if is_question else "problem")

    def set_field(self, text: str) -> None:
        """What stands in the field."""
        self.field.set_text(text)

    def set_enabled(self, is_enabled: bool) -> None:  # noqa: FBT001  a plain setter
        """Whether readings can be taken."""
        self.field.setEnabled(is_enabled)
        for cap in self._keys.values():
            cap.setEnabled(is_enabled)
        self._keys["set_up"].setEnabled(True)
        if is_enabled and self.isVisible():
            self.field.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_rows(self, rows: Sequence[RowShown]) -> None:
        """Another set of rows."""
        self.model.set_rows(rows)
        self._ends_with_last = not self.isVisible()
        self.table.scrollToBottom()

    def showEvent(self, event: QShowEvent) -> None:
        """Rows that came before there was room for them end with the last one too."""
        super().showEvent(event)
        if self._ends_with_last:
            self._ends_with_last = False
            self.table.scrollToBottom()

    def put_row(self, row: RowShown) -> None:
        """One row new or changed."""
        place = self.model.put(row)
        self.table.scrollTo(self.model.index(place, 0))

    def drop_row(self, number: int) -> None:
        """One row gone."""
        self.model.drop(number)

    def show_marks(self, marks: dict[str, tuple[Verdict | None, str]]) -> None:
        """Marks on the face."""
        known = set(self.face.drawing.names())
        for name, (verdict, note) in marks.items():
            if name in known:
                self.face.drawing.set_state(name, verdict, note)

    def show_plot(self, plot: PlotShown) -> None:
        """Resistance against coil temperature."""
        self.plot_card.set_title(plot.title)
        self.plot.set_unit(plot.unit)
        self.plot.set_empty(plot.empty)
        self.plot.set_band(plot.band)
        self.plot.set_marks(plot.marks)
        self.plot.set_here(plot.here_celsius)

    def show_progress(self, done: int, of: int) -> None:
        """How far the page is."""
        self.readings_card.set_aside(f"{done} of {of}" if of else "")

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One quiet line below the ruler."""
        self._said.show_message(words, icon="problem" if is_problem else "note")

    def turn_over(self) -> None:
        """Show the other side of the connector."""
        self.face.turn_over()

    def begin(self) -> None:
        """The field has the keyboard."""
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)
