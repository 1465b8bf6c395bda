"""The Pins page: face, the pair at hand with its field and ruler, readings, plot."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QShortcut
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.variant import Variant
from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.pins.reading_ruler import lay_on
from valvebench.ui.pins.shown import PairShown, PlotShown, ReadingShown, RowShown
from valvebench.ui.pins.table_model import COLUMNS, ReadingsModel
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.temperature_plot import TemperaturePlot
from valvebench.ui.widgets.text import ElidedText, Text, TwoLineText

OPEN_KEY: Final = "*"
TURN_KEY: Final = "/"
_NARROW_PX: Final = 800
"""Below this room the four cards stand under each other, the pair first."""
_SIDE_BY_SIDE: Final = QBoxLayout.Direction.LeftToRight
_DOWN: Final = QBoxLayout.Direction.TopToBottom
_UPWARD: Final = QBoxLayout.Direction.BottomToTop
_ACROSS: Final = 8
"""Pins in a row where the variant names no places."""
WONDERING_MS: Final = 100
"""From here on a person begins to wonder whether anything happens."""


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

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.face = Face()
        self.field = BigField("Reading", unit="\u03a9")
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
        self._keys = {
            "keep": KeyCap("Enter", "keep"),
            "open": KeyCap(OPEN_KEY, "open (OL)"),
            "previous": KeyCap("Up", "previous"),
            "skip": KeyCap("Down", "skip"),
            "turn": KeyCap(TURN_KEY, "turn over"),
            "set_up": KeyCap("F2", "bench set-up"),
        }
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
        face_card = Card()
        face_card.body.addWidget(self.face, 1)
        self._rows, self._upper, self._lower = QVBoxLayout(self), QHBoxLayout(), QHBoxLayout()
        self._rows.addLayout(self._upper, 46)
        self._rows.addLayout(self._lower, 54)
        for row, left, right in (
            (self._upper, face_card, self._pair_card()),
            (self._lower, self.readings_card, self.plot_card),
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
        card.body.addWidget(self.ruler)
        card.body.addLayout(self._answer)
        card.body.addWidget(self._said)
        card.body.addStretch(1)
        return card

    def _place_keys(self, across: int) -> None:
        for place, cap in enumerate(self._keys.values()):
            self._key_grid.addWidget(cap, place // across, place % across, Qt.AlignmentFlag.AlignLeft)

    def fit_width(self, room_px: float) -> None:
        """Two cards beside each other, or one below the other where the room is narrow."""
        is_narrow = room_px < _NARROW_PX
        if is_narrow == (self._lower.direction() == _DOWN):
            return
        self._upper.setDirection(_UPWARD if is_narrow else _SIDE_BY_SIDE)
        for row in (self._lower, self._entry_row, self._answer):
            row.setDirection(_DOWN if is_narrow else _SIDE_BY_SIDE)
        self._place_keys(3 if is_narrow else 2)

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
        self._keys["turn"].clicked.connect(self.turn_over)
        self._keys["set_up"].clicked.connect(self.set_up_asked)
        self.table.installEventFilter(self)
        for keys, act, words in (
            (QKeySequence(QKeySequence.StandardKey.Undo), self.undo_asked, "Take back the newest entry"),
            (QKeySequence("Ctrl+Y"), self.redo_asked, "Restore what was taken back"),
            (QKeySequence("F2"), self.set_up_asked, "Bench set-up"),
        ):
            shortcut = QShortcut(keys, self)
            shortcut.setWhatsThis(words)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)

    def _command(self, key: str) -> None:
        if key == TURN_KEY:
            self.face.turn_over()
        else:
            {OPEN_KEY: self.opened, UP: self.previous_asked, DOWN: self.skip_asked}[key].emit()

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
        if variant is None or not variant.pins:
            self.face.set_title("No connector")
            self.face.drawing.set_pins([])
            return
        face = variant.faces[0] if variant.faces else None
        self.face.set_title(f"Connector {face.name}" if face is not None else "Connector")
        pins = [pin for pin in variant.pins if face is None or pin.face in (None, face.name)]
        spots = [
            PinSpot(
                name=pin.name,
                x=float(i % _ACROSS) if pin.x is None else pin.x,
                y=float(i // _ACROSS) if pin.y is None else pin.y,
            )
            for i, pin in enumerate(pins)
        ]
        self.face.drawing.set_pins(spots, is_round=face is not None and face.layout == "ring")
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

    def show_reading(self, reading: ReadingShown) -> None:
        """Ruler, value and sentence."""
        lay_on(self.ruler, reading)
        self._value.setText(reading.value_text)
        self._sentence.setText(reading.sentence)

    def paint_now(self) -> None:
        """The verdict first; the rest of the page follows one event later."""
        self.field.repaint()  # paints all that waits for paint in one pass, a changed ruler too

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
