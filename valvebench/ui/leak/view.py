"""The page that measures the leak of one port: what is asked, what it says, what it was taken with, the lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QFileDialog, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.leak.protocol import StepShown
from valvebench.ui.leak.protocol_card import ProtocolCard
from valvebench.ui.leak.question_card import (
    BLANK_KEY,
    FILE_KEY,
    METHOD_KEYS,
    NEXT,
    REMOVE_KEY,
    SET_UP_KEY,
    STEP,
    YES,
    QuestionCard,
)
from valvebench.ui.leak.readings import Asked
from valvebench.ui.leak.result_card import ResultCard
from valvebench.ui.leak.set_up_card import SetUpCard
from valvebench.ui.leak.shown import METHOD_TEXT, METHODS, PortShown, ResultShown
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.big_field import DOWN, UP
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind, Table
from valvebench.ui.widgets.text import Text

FILTER: Final = "Logs (*.csv *.txt *.tsv *.xlsx);;All files (*)"
_NARROW_PX: Final = 740
_WIDE_PX: Final = 1050
_HALF_PX: Final = 560
"""In one column: from here there is room for three keys, or three fields, beside each other."""
_BOX: Final = QBoxLayout.Direction
_OTHER: Final = Qt.FocusReason.OtherFocusReason
_TICK_MS: Final = 250
_COLUMNS: Final = (
    Column(kind=Kind.KEY),
    Column(kind=Kind.NUMBER, width_px=120),
    Column(kind=Kind.NUMBER, width_px=120),
)
_LEAST_LINES: Final = 1


def ask_for_log(parent: QWidget) -> str:
    """The file a person chooses; empty for none."""
    return QFileDialog.getOpenFileName(parent, "Open a file of the leak test", "", FILTER)[0]


class LeakPage(AsidePage):
    """Shows what the presenter says; tells it in plain words what the person did."""

    typed = Signal(str)
    kept = Signal(str)
    previous_asked = Signal()
    following_asked = Signal()
    line_chosen = Signal(int)
    remove_asked = Signal()
    port_asked = Signal()
    supply_limited = Signal()
    step_done = Signal()
    blank_taken = Signal()
    method_chosen = Signal(int)
    set_up_typed = Signal(object)
    file_named = Signal(str)
    undo_asked = Signal()
    redo_asked = Signal()
    ticked = Signal()
    gone = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.question, self.protocol = QuestionCard(), ProtocolCard()
        self.result, self.set_up = ResultCard(), SetUpCard()
        self.table = Table(_COLUMNS, name="Readings so far")
        self.lines_card = Card("Readings", is_outdented=True)
        self.ask_for_log = ask_for_log
        self.set_up.follows = self.table
        self._models: dict[tuple[str, ...], RowsModel[tuple[str, ...]]] = {}
        self._needed = ""
        self._ticker = QTimer(self)
        self._ticker.setInterval(_TICK_MS)
        self._build()
        self._connect()

    def _build(self) -> None:
        self.lines_card.body.addWidget(self.table, 1)
        self._kept = Text(size_px=13, muted=True, wraps=True)
        self.lines_card.body.addWidget(self._kept)
        self._row, self._left, self._right = QHBoxLayout(self), QVBoxLayout(), QVBoxLayout()
        self._row.addLayout(self._left, 46)
        self._row.addLayout(self._right, 54)
        self._left.addWidget(self.question)
        self._left.addWidget(self.lines_card, 1)
        self._right.addWidget(self.result)
        self._right.addWidget(self.protocol)
        self._right.addWidget(self.set_up, 1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _connect(self) -> None:
        card = self.question
        card.field.text_edited.connect(self.typed)
        card.field.kept.connect(self.kept)
        card.field.command.connect(self._command)
        card.tabs.chosen.connect(self._tab_chosen)
        self.set_up.typed.connect(self.set_up_typed)
        self.set_up.left.connect(self.begin)
        self.table.activated.connect(self._line_activated)
        self.table.installEventFilter(self)
        self._ticker.timeout.connect(self.ticked)
        caps = card.caps
        caps["yes"].clicked.connect(self.supply_limited)
        caps["keep"].clicked.connect(self._keep_clicked)
        caps["correct"].clicked.connect(self.previous_asked)
        caps["remove"].clicked.connect(self.remove_asked)
        caps["port"].clicked.connect(self.port_asked)
        caps["step"].clicked.connect(self.step_done)
        caps["file"].clicked.connect(self._choose)
        caps["set_up"].clicked.connect(self.to_set_up)
        caps["blank"].clicked.connect(self._blank)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            *(
                (key, partial(self._tab_chosen, place), f"Way of testing: {METHOD_TEXT[METHODS[place]].lower()}")
                for place, key in enumerate(METHOD_KEYS)
            ),
            (SET_UP_KEY, self.to_set_up, "What it is taken with"),
            (FILE_KEY, self._choose, "Open a file of the leak test"),
            (REMOVE_KEY, self.remove_asked, "Remove the line at hand, or put the file away"),
            (BLANK_KEY, self._blank, "The run that stands there was the blank test"),
        )

    def _command(self, key: str) -> None:
        asked = {
            STEP: self.step_done,
            NEXT: self.port_asked,
            UP: self.previous_asked,
            DOWN: self.following_asked,
            YES: self.supply_limited,
        }
        asked[key].emit()

    def _keep_clicked(self) -> None:
        self.kept.emit(self.question.field.text())

    def _take_up(self) -> None:
        """A key that acts while a field beside the readings is typed takes along what stands in it."""
        if self.set_up.isAncestorOf(self.focusWidget()):
            self.set_up_typed.emit(self.set_up.texts())

    def _blank(self) -> None:
        self._take_up()
        self.blank_taken.emit()

    def _tab_chosen(self, place: int) -> None:
        self._take_up()
        self.method_chosen.emit(place)
        self.begin()

    def _line_activated(self, index: QModelIndex) -> None:
        self.line_chosen.emit(index.row())
        self._to(self.question.field)

    def _choose(self) -> None:
        self._take_up()
        if self.question.field.isEnabled() and (path := self.ask_for_log(self)):
            self.file_named.emit(path)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """In the table Delete takes the line away on which it stands; the key of the next port holds there too."""
        is_key = watched is self.table and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress
        if is_key and isinstance(event, QKeyEvent) and event.key() == Qt.Key.Key_Delete:
            index = self.table.currentIndex()
            if index.isValid():
                self.line_chosen.emit(index.row())
                self.remove_asked.emit()
            return True
        if is_key and isinstance(event, QKeyEvent) and event.text() == NEXT:
            self.port_asked.emit()
            return True
        return super().eventFilter(watched, event)

    def typed_set_up(self) -> dict[str, str]:
        """What stands in the fields beside the readings."""
        return self.set_up.texts()

    def fit_width(self, room_px: float) -> None:
        """The cards beside each other, or one below the other where the room is narrow."""
        is_one, is_wide = room_px < _NARROW_PX, room_px >= _WIDE_PX
        self._row.setDirection(_BOX.TopToBottom if is_one else _BOX.LeftToRight)
        self.question.set_columns(3 if is_wide or (is_one and room_px >= _HALF_PX) else 2)
        self.set_up.set_columns(3 if is_wide or (is_one and room_px >= _HALF_PX) else 2)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._row.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for layout in (self._row, self._left, self._right):
            layout.setSpacing(gap)
        self.table.setMinimumHeight(fonts.whole_px(28 * (_LEAST_LINES + 1)))

    # -- what the presenter asks -----------------------------------------------------------

    def show_port(self, port: PortShown) -> None:
        """The port that is tested."""
        self.question.show_port(port)
        self._kept.setText(port.kept)
        self._kept.setVisible(bool(port.kept))

    def show_method(self, place: int, how: str) -> None:
        """The way of testing in front."""
        self.question.show_method(place, how)

    def show_question(self, asked: Asked) -> None:
        """The number that is asked for."""
        self.question.show_question(asked)

    def show_lines(self, headers: Sequence[str], lines: Sequence[Sequence[str]], at: int) -> None:
        """The readings so far, the one at hand marked."""
        model = self._models.get(tuple(headers))
        if model is None:
            model = self._models[tuple(headers)] = RowsModel(tuple(headers), tuple, lambda _: "", self)
        if self.table.model() is not model:
            self.table.setModel(model)
        model.set_rows([tuple(line) for line in lines])
        if at < len(lines):
            self.table.selectRow(at)
        else:
            self.table.clearSelection()
            self.table.scrollToBottom()
        self.lines_card.set_aside("1 line" if len(lines) == 1 else f"{len(lines)} lines" if lines else "")

    def show_set_up(self, texts: Mapping[str, str], names: Sequence[str], *, limit: str) -> None:
        """Which fields are asked for, and what stands in them."""
        self.set_up.show_set_up(texts, names, limit=limit)

    def show_field_problems(self, problems: Mapping[str, str], needed: str) -> None:
        """What is wrong with which field; the one without which there is no number has the keyboard next."""
        self._needed = needed
        self.set_up.show_problems(problems)

    def show_computed(self, words: str) -> None:
        """What follows from the fields."""
        self.set_up.show_computed(words)

    def show_protocol(self, steps: Sequence[StepShown], count: str, *, is_counting: bool) -> None:
        """The steps before a pressure is let fall, and the clock."""
        self.question.show_keys(is_decay=bool(steps))
        self.protocol.show_steps(steps, count)
        if is_counting != self._ticker.isActive():
            (self._ticker.start if is_counting else self._ticker.stop)()

    def show_result(self, result: ResultShown) -> None:
        """What the readings say so far."""
        self.result.show_result(result)

    def show_busy(self, *, is_busy: bool) -> None:
        """While it is worked out anew."""
        self.result.show_busy(is_busy=is_busy)

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """Say what is wrong, or ask, under the field."""
        self.question.field.set_error(words, icon="ask" if is_question else "problem")

    def set_field(self, text: str) -> None:
        """What stands in the field."""
        self.question.field.set_text(text)

    def set_enabled(self, *, is_enabled: bool) -> None:
        """Whether readings can be taken."""
        self.question.set_open(is_open=is_enabled)
        self.set_up.set_open(is_open=is_enabled)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One quiet line below the keys."""
        self.question.said.show_message(words, icon="problem" if is_problem else "note")
        if words:
            announce(self, words)
        if is_problem and words and self.isVisible():
            self._bring(self.question.said)

    def leave(self, item: str, words: str) -> None:
        """Back to Ports, at the port, with what is to be said there."""
        self._ticker.stop()
        self.gone.emit(item, words)

    def to_set_up(self) -> None:
        """The keyboard to the first field beside the readings."""
        shown = self.set_up.shown()
        if shown:
            self._to(shown[0])

    def begin(self) -> None:
        """What has to be said first has the keyboard, else the reading."""
        needed = self.set_up.fields.get(self._needed)
        is_open = self.question.field.isEnabled()
        if not is_open:
            self._to(self.table)  # what cannot be typed in has no keys of its own
            return
        self._to(needed if needed is not None else self.question.field)

    def _to(self, target: QWidget) -> None:
        target.setFocus(_OTHER)
        self._bring(target)

    def _bring(self, target: QWidget) -> None:
        """Into sight, from the top of the page."""
        parent = self.parentWidget()
        area = parent.parentWidget() if parent is not None else None
        if isinstance(area, QScrollArea):
            area.verticalScrollBar().setValue(0)
            area.ensureWidgetVisible(target, 0, fonts.whole_px(80))
