"""The card with the feature in huge letters; while it has the keyboard, one digit answers."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent, QPixmap
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.identify.answer_button import HEIGHT_PX, AnswerButton
from valvebench.ui.identify.examples_strip import ExamplesStrip
from valvebench.ui.identify.shown import CANNOT_KEY, ELSE_KEY, MORE_KEY, AnswerShown, QuestionShown
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.key_card import KeyCard
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

HOW_KEY, PART_KEY, PHOTO_KEY = "*", "/", "F7"
_PICTURE_PX: Final = 140
_COLUMNS: Final = 2
_KEPT_ROWS: Final = 2
"""So many rows of answers keep their room, so that the keys below do not move from feature to feature."""
_ALWAYS_AT: Final = 8
_KEYS: Final = ("1", "2", "3", "4", "5", "6", "7", "8", CANNOT_KEY, ELSE_KEY)


class QuestionCard(KeyCard):
    """Why, the feature, how to look, the answers, and the keys."""

    answered = Signal(str)
    more_asked = Signal()
    seen_turned = Signal()
    part_turned = Signal()
    previous_asked = Signal()
    skip_asked = Signal()
    photo_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lead, self._place = Text(size_px=15, muted=True, wraps=True), Text(size_px=13, muted=True)
        self.feature = Text(size_px=36, weight=fonts.BOLD, wraps=True)
        self._ask = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self._ask.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.how = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self._before = Text(size_px=14, muted=True, wraps=True)
        self.picture, self.examples = QLabel(), ExamplesStrip()
        self.said = MessageLine()
        self.answers = {key: AnswerButton(key, self) for key in _KEYS}
        self.caps = {
            "how": KeyCap(HOW_KEY, "how it is seen"),
            "part": KeyCap(PART_KEY, "old or new part"),
            "previous": KeyCap("Up", "previous"),
            "skip": KeyCap("Down", "later"),
            "photo": KeyCap(PHOTO_KEY, "photo of it"),
            "more": KeyCap(MORE_KEY, "more answers"),
        }
        self._is_open, self._is_busy = True, False
        self._fill()
        self._connect()
        self.rescale()

    def _fill(self) -> None:
        head, self._grid, self._keys = QHBoxLayout(), QGridLayout(), QVBoxLayout()
        self._key_rows = (QHBoxLayout(), QHBoxLayout())
        head.addWidget(self._lead, 1)
        head.addWidget(self._place, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(head)
        for part in (self.feature, self._ask):
            self.body.addWidget(part)
        for button in self.answers.values():
            button.hide()
        for column in range(_COLUMNS):
            self._grid.setColumnStretch(column, 1)
        self.body.addLayout(self._grid)
        self.body.addWidget(self.how)
        self.body.addWidget(self._before)
        self.picture.setAccessibleName("Photo of this feature")
        self.picture.hide()
        self.body.addWidget(self.picture, 0, Qt.AlignmentFlag.AlignLeft)
        self.body.addWidget(self.examples)
        for row, names in zip(self._key_rows, (("how", "part", "more"), ("previous", "skip", "photo")), strict=True):
            for name in names:
                row.addWidget(self.caps[name])
            row.addStretch(1)
            self._keys.addLayout(row)
        self.body.addLayout(self._keys)
        self.body.addWidget(self.said)
        self.body.addStretch(1)

    def _connect(self) -> None:
        for button in self.answers.values():
            button.clicked.connect(self._pressed)
        for name, signal in (
            ("how", self.seen_turned),
            ("part", self.part_turned),
            ("previous", self.previous_asked),
            ("skip", self.skip_asked),
            ("photo", self.photo_asked),
            ("more", self.more_asked),
        ):
            self.caps[name].clicked.connect(signal)

    def _pressed(self) -> None:
        key = next(key for key, button in self.answers.items() if button is self.sender())
        self.answered.emit(key)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if not hasattr(self, "_keys"):
            return
        self._grid.setHorizontalSpacing(fonts.whole_px(12))
        self._grid.setVerticalSpacing(fonts.whole_px(8))
        self._keys.setContentsMargins(0, fonts.whole_px(8), 0, 0)
        self._keys.setSpacing(fonts.whole_px(8))
        for row in self._key_rows:
            row.setSpacing(fonts.whole_px(12))
        self._ask.setMinimumHeight(fonts.whole_px(66))
        self._before.setMinimumHeight(fonts.whole_px(20))
        for row_of_answers in range(_KEPT_ROWS):
            self._grid.setRowMinimumHeight(row_of_answers, fonts.whole_px(HEIGHT_PX))

    # -- what is asked of it ---------------------------------------------------------------

    def show_question(self, shown: QuestionShown) -> None:
        """Another feature, or the same in other words."""
        self._lead.setText(shown.lead)
        self._place.setText(shown.place)
        self.feature.setText(shown.feature)
        self._ask.setText(shown.ask)
        self._before.setText(shown.before)
        self._show_answers(shown.answers)
        self.caps["more"].setVisible(shown.has_more)
        self.set_sentence(shown.sentence)

    def show_nothing(self, words: str) -> None:
        """Nothing is asked, and why."""
        for text in (self._place, self.feature, self._ask, self._before):
            text.setText("")
        self._lead.setText(words)
        self._show_answers(())
        self.setAccessibleName(words)

    def _show_answers(self, answers: tuple[AnswerShown, ...]) -> None:
        shown = {one.key: one for one in answers}
        for button in self.answers.values():
            self._grid.removeWidget(button)
        for key, button in self.answers.items():
            button.setVisible(key in shown)
            button.set_word(shown[key].word if key in shown else "")
        across = (
            1 if any(self.answers[key].is_long() for key in shown if key not in (CANNOT_KEY, ELSE_KEY)) else _COLUMNS
        )
        place = 0
        for key in shown:
            if key == CANNOT_KEY:
                place = _ALWAYS_AT * _COLUMNS  # what can always be answered stands in a row of its own
                across = _COLUMNS
            self._grid.addWidget(self.answers[key], place // across, place % across, 1, _COLUMNS // across)
            place += 1
        self._enable()

    def show_how(self, seen: str, part: str) -> None:
        """How it is seen, and on which part, as it stands for every answer that follows."""
        self.how.setText(f"Answers count as {seen}, on {part}.")

    def show_picture(self, picture: QPixmap | None) -> None:
        """A photo of the feature, if there is one."""
        self.picture.setVisible(picture is not None)
        self.picture.setPixmap(picture if picture is not None else QPixmap())

    def picture_px(self) -> int:
        """How high a picture may be here."""
        return fonts.whole_px(_PICTURE_PX)

    def show_busy(self, *, is_busy: bool) -> None:
        """While it is worked out what comes next nothing can be answered."""
        self._is_busy = is_busy
        self._enable()

    def set_open(self, *, is_open: bool) -> None:
        """Whether answers are taken."""
        self._is_open = is_open
        self._enable()

    def _enable(self) -> None:
        can = self._is_open and not self._is_busy
        for button in self.answers.values():
            button.setEnabled(can)
        for name in ("how", "part", "photo"):
            self.caps[name].setEnabled(self._is_open)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line on what was done."""
        self.said.show_message(words, icon="problem" if is_problem else "kept")
        if words:
            announce(self, words)

    # -- keys ------------------------------------------------------------------------------

    def take_key(self, event: QKeyEvent) -> bool:
        """Whether a key was meant for the question."""
        acts = {
            HOW_KEY: self.seen_turned,
            PART_KEY: self.part_turned,
            MORE_KEY: self.more_asked,
        }
        walks = {Qt.Key.Key_Up: self.previous_asked, Qt.Key.Key_Down: self.skip_asked}
        plain = ~(Qt.KeyboardModifier.KeypadModifier | Qt.KeyboardModifier.ShiftModifier)
        if event.modifiers() & plain:
            return False
        text = event.text()
        if text in self.answers:
            self.answered.emit(text)
        elif text in acts:
            acts[text].emit()
        elif Qt.Key(event.key()) in walks:
            walks[Qt.Key(event.key())].emit()
        else:
            return False
        return True
