"""The card with the port, the way of testing, the number that is asked for, and the keys."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.editor.tabs import TabRow
from valvebench.ui.leak.readings import Asked
from valvebench.ui.leak.shown import METHOD_TEXT, METHODS, PortShown
from valvebench.ui.ports.shown import AIR_SAFETY
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import ElidedText, Text

SET_UP_KEY: Final = "F5"
FILE_KEY: Final = "F6"
REMOVE_KEY: Final = "F7"
BLANK_KEY: Final = "F8"
METHOD_KEYS: Final = ("F2", "F3", "F4")
STEP, NEXT, YES = "*", "/", "+"
NEXT_WORDS: Final = ("next port", "next solenoid")
_KEYS: Final = (
    ("yes", YES, "yes, limited"),
    ("keep", "Enter", "next, or keep"),
    ("correct", "Up", "correct a line"),
    ("remove", REMOVE_KEY, "remove it"),
    ("port", NEXT, NEXT_WORDS[0]),
    ("file", FILE_KEY, "open a file"),
    ("set_up", SET_UP_KEY, "taken with"),
    ("ways", "F2 to F4", "way of testing"),
    ("step", STEP, "step done"),
    ("blank", BLANK_KEY, "was the blank"),
)
_OF_DECAY: Final = ("step", "blank")
_COLUMNS: Final = 3
_COMMANDS: Final = (STEP, NEXT, UP, DOWN)


class QuestionCard(Card):
    """One number at a time, huge; pressure, limit and hazard beside it."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.tabs = TabRow([METHOD_TEXT[one] for one in METHODS], name="Way of testing")
        self.field = BigField("Reading", unit="kPa")
        self.said = MessageLine()
        self.caps = {
            name: KeyCap(key, word, parent=self, also=NEXT_WORDS if name == "port" else ()) for name, key, word in _KEYS
        }
        self._now: Asked | None = None
        self._is_decay, self._is_asking, self._columns = False, False, _COLUMNS
        self._port = Text(size_px=40, weight=fonts.BOLD)
        self._about = ElidedText(size_px=15, muted=True)
        self._pressure = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self._how = Text(size_px=13, muted=True, wraps=True)
        self._lead, self._asked = Text(size_px=15, muted=True), Text(size_px=24, weight=fonts.SEMIBOLD)
        self._safety, self._supply = MessageLine(AIR_SAFETY, icon="air"), MessageLine(icon="electricity")
        self.caps["ways"].setEnabled(False)  # a word beside the keys: the tabs are pressed themselves
        self._fill()
        self.rescale()
        self.show_keys(is_decay=False)

    def _fill(self) -> None:
        self.field.set_commands(_COMMANDS)
        self._heads, self._facts, self._asks, self._keys = QHBoxLayout(), QVBoxLayout(), QHBoxLayout(), QGridLayout()
        self._heads.addWidget(self._port)
        self._heads.addWidget(self._about, 1, Qt.AlignmentFlag.AlignBottom)
        for part in (self._pressure, self._safety, self._supply):
            self._facts.addWidget(part)
        self._asks.addWidget(self._asked)
        self._asks.addWidget(self._lead, 1, Qt.AlignmentFlag.AlignBottom)
        self.body.addLayout(self._heads)
        self.body.addLayout(self._facts)
        self.body.addWidget(self.tabs)
        self.body.addLayout(self._asks)
        self.body.addWidget(self.field)
        self.body.addLayout(self._keys)
        self.body.addWidget(self._how)
        self.body.addWidget(self.said)
        self.body.addStretch(1)

    def set_columns(self, columns: int) -> None:
        """As many keys beside each other."""
        if columns != self._columns:
            self._columns = columns
            self._lay_keys()

    def _lay_keys(self) -> None:
        for cap in self.caps.values():
            self._keys.removeWidget(cap)
        left_out = (*(() if self._is_decay else _OF_DECAY), *(() if self._is_asking else ("yes",)))
        shown = [cap for name, cap in self.caps.items() if name not in left_out]
        for name, cap in self.caps.items():
            cap.setVisible(name not in left_out)
        for place, cap in enumerate(shown):
            self._keys.addWidget(cap, place // self._columns, place % self._columns, Qt.AlignmentFlag.AlignLeft)
        for column in range(_COLUMNS + 1):
            self._keys.setColumnStretch(column, int(column == self._columns))

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_keys"):
            self._facts.setSpacing(fonts.whole_px(4))
            for row in (self._heads, self._asks):
                row.setSpacing(fonts.whole_px(12))
            self._keys.setHorizontalSpacing(fonts.whole_px(12))
            self._keys.setVerticalSpacing(fonts.whole_px(8))

    def show_port(self, port: PortShown) -> None:
        """The port or seat, its pressure and its limit."""
        self._port.setText(port.name)
        self._about.setText(port.about)
        self._pressure.setText(f"{port.pressure} {port.limit}")
        self._supply.show_message(port.supply, icon="electricity")
        self._supply.setVisible(bool(port.supply))
        self.caps["port"].set_word(NEXT_WORDS[port.is_seat])

    def show_method(self, place: int, how: str) -> None:
        """The way of testing in front."""
        self.tabs.set_current(place)
        self._how.setText(how)
        self._how.setVisible(bool(how))

    def show_question(self, asked: Asked) -> None:
        """The number that is asked for; one that is corrected stands in the field."""
        self._asked.setText(asked.words)
        self._lead.setText(asked.lead)
        self.field.set_unit(asked.unit)
        self.field.set_commands((*_COMMANDS, YES) if asked.is_confirmation else _COMMANDS)
        if asked.is_confirmation != self._is_asking:
            self._is_asking = asked.is_confirmation
            self._lay_keys()
        self.field.set_name(", ".join(part for part in (asked.words, asked.lead) if part))
        if asked.text and asked != self._now:  # asked again, it may be half typed
            self.field.set_text(asked.text)
            self.field.entry.selectAll()
        self._now = asked

    def show_keys(self, *, is_decay: bool) -> None:
        """The keys of this way of testing."""
        if is_decay == self._is_decay and self._keys.count():
            return
        self._is_decay = is_decay
        self._lay_keys()

    def set_open(self, *, is_open: bool) -> None:
        """Whether readings are taken."""
        self.field.setEnabled(is_open)
        for name, cap in self.caps.items():
            cap.setEnabled((is_open or name == "port") and name != "ways")
