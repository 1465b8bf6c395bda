"""The card with the question in huge letters; while it has the keyboard, one key answers."""

from __future__ import annotations

from itertools import zip_longest
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.ports.questions import CLICKS_ASKED, Answer
from valvebench.ui.ports.set_up import COVER_TEXT
from valvebench.ui.ports.shown import QuestionShown
from valvebench.ui.widgets.key_card import KeyCard
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import ElidedText, Text

MINUS_SIGN: Final = "\u2212"
# The number block of some keyboards sends a comma for its decimal key.
ANSWER_KEYS: Final = {
    "+": Answer.PLUS,
    "-": Answer.MINUS,
    MINUS_SIGN: Answer.MINUS,
    ",": Answer.BLEEDS,
    ".": Answer.BLEEDS,
    "*": Answer.NOT_POSSIBLE,
}
PORT_WORDS: Final = ("pass", "fail", "bleeds", "not possible")
YES_NO_WORDS: Final = ("yes", "no", "bleeds", "not possible")
COVER_WORD: Final = "cover plate"
MOVES_KEY: Final = "4"
LEAK_KEY: Final = "F6"
TURN_WORDS: Final = ("turn over", "turn back")
_OF_PORT, _OF_CLICKS, _OF_SWITCH, _OF_NONE = range(4)
_LONGEST_COVER: Final = max(COVER_TEXT.values(), key=len)

_KEYS_PX: Final = 424
"""As wide as the longest row of keys of any kind of question: none of them moves what stands beside it."""


class QuestionCard(KeyCard):
    """Lead, huge name, place, what to expect and to set, the hazard, and the keys."""

    answered = Signal(object)
    previous_asked = Signal()
    skip_asked = Signal()
    note_asked = Signal()
    gauge_asked = Signal()
    cover_turned = Signal()
    turn_asked = Signal()
    out_at_asked = Signal()
    moves_asked = Signal()
    clicks_heard = Signal(int)
    group_stepped = Signal(int)
    leak_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lead = Text(size_px=15, muted=True)
        self.name = ElidedText(size_px=40, weight=fonts.BOLD)
        self.mark = MarkLabel(size_px=32)
        self._place = ElidedText(size_px=15, weight=fonts.SEMIBOLD)
        self._states = ElidedText(size_px=15, weight=fonts.SEMIBOLD)
        self._expect = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self._pressure = Text(size_px=14, muted=True, wraps=True)
        self.warning = MessageLine(icon="problem")
        self.hazards = (MessageLine(icon="air"), MessageLine(icon="air"))
        self.said = MessageLine()
        self.caps = {
            Answer.PLUS: KeyCap("+", "pass"),
            Answer.MINUS: KeyCap(MINUS_SIGN, "fail"),
            Answer.BLEEDS: KeyCap(",", "bleeds"),
            Answer.NOT_POSSIBLE: KeyCap("*", "not possible"),
        }
        self.walk_caps = {
            "previous": KeyCap("Up", "previous"),
            "skip": KeyCap("Down", "skip"),
            "note": KeyCap("Enter", "note"),
            "gauge": KeyCap("/", "pressure"),
        }
        self.tab_cap = KeyCap("Right", "next tab")
        self.leak_cap = KeyCap(LEAK_KEY, "measure the leak")
        self.port_caps = {
            "cover": KeyCap("0", COVER_WORD, also=(f"{COVER_WORD}: {_LONGEST_COVER}",)),
            "turn": KeyCap("5", TURN_WORDS[0], also=TURN_WORDS),
            "out": KeyCap("8", "comes out at"),
        }
        self.clicks_cap = KeyCap(f"0 to {CLICKS_ASKED}", "clicks heard")
        self.clicks_cap.setEnabled(False)  # a word beside the keys: how many, only the person knows
        self.moves_cap = KeyCap(MOVES_KEY, "pressures, ohm")
        self._own_caps = QStackedWidget()
        self._own_rows: list[QHBoxLayout] = []
        self._is_open, self._is_of_body, self._is_of_port, self._clicks = True, False, False, 0
        self._has_leak = False
        self._is_switch = False
        self._fill()
        self._connect()
        self.rescale()

    def _fill(self) -> None:
        self._heads, self._facts, self._keys = QHBoxLayout(), QVBoxLayout(), QVBoxLayout()
        self._key_rows = (QHBoxLayout(), QHBoxLayout())
        self._heads.addWidget(self.name, 1)
        self._heads.addWidget(self.mark)
        for part in (self._place, self._states, self._expect, self._pressure, self.warning):
            self._facts.addWidget(part)
        for row, caps in zip(self._key_rows, (list(self.caps.values()), list(self.walk_caps.values())), strict=True):
            for cap in caps:
                row.addWidget(cap)
            row.addStretch(1)
            self._keys.addLayout(row)
        self._last_row = (
            QHBoxLayout()
        )  # beside the others of its tab it would make the card too wide for a small window
        self._last_row.addWidget(self.tab_cap)
        self._last_row.addWidget(self.leak_cap)
        self._last_row.addStretch(1)
        for own in (list(self.port_caps.values()), [self.clicks_cap], [self.moves_cap], []):
            self._add_own_caps(own)
        self._keys.addWidget(self._own_caps)
        self._keys.addLayout(self._last_row)
        self.body.addWidget(self._lead)
        self.body.addLayout(self._heads)
        self.body.addLayout(self._facts)
        self.body.addLayout(self._keys)
        self.body.addWidget(self.said)
        self.body.addStretch(1)
        for line in self.hazards:
            self.body.addWidget(line)

    def _add_own_caps(self, caps: list[KeyCap]) -> None:
        """The keys of one kind of question; those of the others lie behind, so that nothing moves."""
        part, row = QWidget(), QHBoxLayout()
        part.setLayout(row)
        row.setContentsMargins(0, 0, 0, 0)
        for cap in caps:
            row.addWidget(cap)
        row.addStretch(1)
        self._own_rows.append(row)
        self._own_caps.addWidget(part)

    def _connect(self) -> None:
        self.caps[Answer.PLUS].clicked.connect(self._plus)
        self.caps[Answer.MINUS].clicked.connect(self._minus)
        self.caps[Answer.BLEEDS].clicked.connect(self._bleeds)
        self.caps[Answer.NOT_POSSIBLE].clicked.connect(self._not_possible)
        self.walk_caps["previous"].clicked.connect(self.previous_asked)
        self.walk_caps["skip"].clicked.connect(self.skip_asked)
        self.walk_caps["note"].clicked.connect(self.note_asked)
        self.walk_caps["gauge"].clicked.connect(self.gauge_asked)
        self.moves_cap.clicked.connect(self.moves_asked)
        self.tab_cap.clicked.connect(self._next_group)
        self.leak_cap.clicked.connect(self.leak_asked)
        self.port_caps["cover"].clicked.connect(self.cover_turned)
        self.port_caps["turn"].clicked.connect(self.turn_asked)
        self.port_caps["out"].clicked.connect(self.out_at_asked)

    def _next_group(self) -> None:
        self.group_stepped.emit(1)

    def _plus(self) -> None:
        self.answered.emit(Answer.PLUS)

    def _minus(self) -> None:
        self.answered.emit(Answer.MINUS)

    def _bleeds(self) -> None:
        self.answered.emit(Answer.BLEEDS)

    def _not_possible(self) -> None:
        self.answered.emit(Answer.NOT_POSSIBLE)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if not hasattr(self, "_keys"):
            return
        self._facts.setSpacing(fonts.whole_px(4))
        self._heads.setSpacing(fonts.whole_px(12))
        self._keys.setContentsMargins(0, fonts.whole_px(8), 0, 0)
        self._keys.setSpacing(fonts.whole_px(8))
        self._own_caps.setMinimumWidth(fonts.whole_px(_KEYS_PX))
        for row in (*self._key_rows, self._last_row, *self._own_rows):
            row.setSpacing(fonts.whole_px(12))

    def show_question(self, shown: QuestionShown) -> None:
        """Another question."""
        self._lead.setText(shown.lead)
        self.name.setText(shown.name)
        for label, words in (
            (self._place, shown.place),
            (self._states, shown.states),
            (self._expect, f"Expect: {shown.expect[:1].lower()}{shown.expect[1:]}" if shown.expect else ""),
            (self._pressure, shown.pressure),
        ):
            label.setText(words)
            label.setVisible(bool(words))
        self.warning.show_message(shown.warning, icon="problem")
        self.warning.setVisible(bool(shown.warning))
        self._show_hazards(shown)
        self._show_words(shown)
        self.mark.set_verdict(shown.verdict or Verdict.NOT_TAKEN)
        self.set_sentence(shown.sentence)

    def _show_hazards(self, shown: QuestionShown) -> None:
        for line, (icon, words) in zip_longest(self.hazards, shown.hazards, fillvalue=("", "")):
            if isinstance(line, MessageLine):
                line.show_message(words, icon=icon or "air")
                line.setVisible(bool(words))

    def _show_words(self, shown: QuestionShown) -> None:
        words = YES_NO_WORDS if shown.is_yes_no else PORT_WORDS
        for (answer, cap), word in zip(self.caps.items(), words, strict=True):
            cap.set_word(word)
            cap.setEnabled(self._is_open and (not shown.is_yes_no or answer in (Answer.PLUS, Answer.MINUS)))
        self._is_yes_no, self._is_of_body, self._has_leak = shown.is_yes_no, bool(shown.cover), shown.has_leak
        self._is_of_port, self._clicks, self._is_switch = not shown.is_yes_no, shown.clicks, shown.is_switch
        self.port_caps["cover"].set_word(f"{COVER_WORD}: {shown.cover}" if shown.cover else COVER_WORD)
        self._enable_port_caps()

    def _enable_port_caps(self) -> None:
        self._own_caps.setCurrentIndex(self._kind())
        self.moves_cap.setEnabled(self._is_open)
        self.port_caps["cover"].setEnabled(self._is_open and self._is_of_body)
        self.port_caps["out"].setEnabled(self._is_open and self._is_of_port)
        self.leak_cap.setEnabled(self._has_leak)

    def _kind(self) -> int:
        """Whose keys are in front."""
        if self._is_of_port:
            return _OF_PORT
        return _OF_CLICKS if self._clicks else _OF_SWITCH if self._is_switch else _OF_NONE

    def set_turned(self, is_turned: bool) -> None:  # noqa: FBT001  a plain setter
        """What the key that turns the board does next."""
        self.port_caps["turn"].set_word(TURN_WORDS[is_turned])

    def set_open(self, is_open: bool) -> None:  # noqa: FBT001  a plain setter
        """Whether answers are taken."""
        self._is_open = is_open
        for answer, cap in self.caps.items():
            is_asked = not getattr(self, "_is_yes_no", False) or answer in (Answer.PLUS, Answer.MINUS)
            cap.setEnabled(is_open and is_asked)
        self.walk_caps["note"].setEnabled(is_open)
        self.walk_caps["gauge"].setEnabled(is_open)
        self._enable_port_caps()

    def take_key(self, event: QKeyEvent) -> bool:
        """Act on a key, also one that reached another part of the page; whether it was one of ours."""
        answer = ANSWER_KEYS.get(event.text())
        if answer is not None:
            # A key held down answers once, not every port there is.
            if not event.isAutoRepeat():
                self.answered.emit(answer)
            return True
        if event.text().isdecimal() and (self._clicks or not self._is_of_port):
            self._take_digit(event)
            return True
        step = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()))
        if step is not None:
            self.group_stepped.emit(step)
            return True
        acts = {
            Qt.Key.Key_Up: self.previous_asked,
            Qt.Key.Key_Down: self.skip_asked,
            Qt.Key.Key_Return: self.note_asked,
            Qt.Key.Key_Enter: self.note_asked,
            Qt.Key.Key_Slash: self.gauge_asked,
            Qt.Key.Key_0: self.cover_turned,
            Qt.Key.Key_5: self.turn_asked,
            Qt.Key.Key_8: self.out_at_asked,
        }
        signal = acts.get(Qt.Key(event.key()))
        if signal is not None:
            signal.emit()
        return signal is not None

    def _take_digit(self, event: QKeyEvent) -> None:
        if self._clicks and not event.isAutoRepeat():
            self.clicks_heard.emit(int(event.text()))
        elif self._is_switch and self._is_open and event.text() == MOVES_KEY:
            self.moves_asked.emit()
