"""The card of the walk: where the leads go, in the largest letters, the field, and what the last reading settled."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.hand.shown import QuestionShown
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import ElidedText, TwoLineText

OPEN_KEY: Final = "*"
TURN_KEY: Final = "/"
_BOX: Final = QBoxLayout.Direction


class QuestionCard(Card):
    """One pair to probe; commands of the field go on as signals."""

    typed = Signal(str)
    kept = Signal(str)
    opened = Signal()
    previous_asked = Signal()
    skip_asked = Signal()
    turn_asked = Signal()
    repeat_asked = Signal()
    names_asked = Signal()
    set_up_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.field = BigField("Reading", unit="\u03a9")
        self.clip = ElidedText(size_px=24, weight=fonts.SEMIBOLD)
        self.probe = ElidedText(size_px=40, weight=fonts.BOLD)
        self._why = TwoLineText(size_px=13, muted=True)
        self._echo = ElidedText(size_px=14, muted=True)
        self._said = TwoLineText(size_px=15)
        self._problem = MessageLine(grows=False)
        self._count = ElidedText(size_px=13, muted=True)
        self._warm = ElidedText(size_px=13, muted=True)
        self.keys = {
            "keep": KeyCap("Enter", "keep"),
            "open": KeyCap(OPEN_KEY, "open (OL)"),
            "previous": KeyCap("Up", "previous"),
            "skip": KeyCap("Down", "skip"),
            "turn": KeyCap(TURN_KEY, "turn over"),
            "set_up": KeyCap("F2", "bench set-up"),
            "repeat": KeyCap("F3", "read again"),
            "names": KeyCap("F4", "give names"),
        }
        self._entry_row, self._key_grid, self._heads = QHBoxLayout(), QGridLayout(), QVBoxLayout()
        self._build()
        self._connect()
        fonts.zoom.changed.connect(self._space)
        self._space()

    def _build(self) -> None:
        self.field.set_commands([OPEN_KEY, TURN_KEY, UP, DOWN])
        for words in (self.clip, self.probe, self._why):
            self._heads.addWidget(words)
        self._entry_row.addWidget(self.field, 5)
        self._entry_row.addLayout(self._key_grid, 4)
        self._place_keys()
        self.body.addLayout(self._heads)
        self.body.addLayout(self._entry_row)
        lines: list[QWidget] = [self._echo, self._said, self._problem, self._warm, self._count]
        for line in lines:
            self.body.addWidget(line)
        self.body.addStretch(1)
        self.keys["repeat"].hide()

    def _place_keys(self) -> None:
        for place, cap in enumerate(self.keys.values()):
            self._key_grid.addWidget(cap, place // 2, place % 2, Qt.AlignmentFlag.AlignLeft)

    def fit(self, *, is_narrow: bool) -> None:
        """Keys beside the field, or below it."""
        self._entry_row.setDirection(_BOX.TopToBottom if is_narrow else _BOX.LeftToRight)

    def _space(self) -> None:
        self._heads.setSpacing(0)
        self._entry_row.setSpacing(fonts.whole_px(20))
        self._key_grid.setHorizontalSpacing(fonts.whole_px(12))
        self._key_grid.setVerticalSpacing(fonts.whole_px(4))
        self._problem.setFixedHeight(fonts.whole_px(20))

    def _connect(self) -> None:
        self.field.text_edited.connect(self.typed)
        self.field.kept.connect(self.kept)
        self.field.command.connect(self._command)
        self.keys["keep"].clicked.connect(self._keep_clicked)
        for name, signal in (
            ("open", self.opened),
            ("previous", self.previous_asked),
            ("skip", self.skip_asked),
            ("turn", self.turn_asked),
            ("set_up", self.set_up_asked),
            ("repeat", self.repeat_asked),
            ("names", self.names_asked),
        ):
            self.keys[name].clicked.connect(signal)

    def _command(self, key: str) -> None:
        commands = {OPEN_KEY: self.opened, TURN_KEY: self.turn_asked, UP: self.previous_asked, DOWN: self.skip_asked}
        commands[key].emit()

    def _keep_clicked(self) -> None:
        self.kept.emit(self.field.text())

    def show_question(self, question: QuestionShown) -> None:
        """Where the leads go, and why."""
        self.clip.setText(question.clip)
        self.probe.setText(question.probe)
        self._why.setText(question.why)
        self.field.set_name(question.name)
        self.field.set_unit(question.unit)

    def show_echo(self, words: str) -> None:
        """How the typed text is understood."""
        self._echo.setText(words)

    def show_count(self, words: str) -> None:
        """How far the walk is."""
        self._count.setText(words)

    def show_repeat(self, words: str) -> None:
        """The key that asks the reading in doubt again, while there is one."""
        self.keys["repeat"].setVisible(bool(words))
        self.keys["repeat"].setToolTip(words)
        self.keys["repeat"].setAccessibleName(f"{words}, key F3" if words else "read again, key F3")

    def show_temperature(self, words: str) -> None:
        """What is assumed of the coils."""
        self._warm.setText(words)

    def say(self, words: str, *, is_problem: bool) -> None:
        """What the last reading settled, or what went wrong."""
        self._said.setText("" if is_problem else words)
        self._problem.show_message(words if is_problem else "", icon="problem")

    def set_enabled(self, *, is_enabled: bool) -> None:
        """Whether readings can be taken."""
        self.field.setEnabled(is_enabled)
        for cap in self.keys.values():
            cap.setEnabled(is_enabled)
        self.keys["set_up"].setEnabled(True)
