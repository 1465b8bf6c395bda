"""Labelled fields of a form: one line of text, or one of a few words."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets.controls import Choice, LineEntry
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text


class LineField(QWidget):
    """A label, one line of text and, when needed, what is wrong with it."""

    confirmed = Signal()

    def __init__(self, label: str, *, hint: str = "", parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._label = Text(label, size_px=13, muted=True)
        self.entry = LineEntry(label, hint=hint)
        self.entry.setMaxLength(1000)
        self._problem = MessageLine()
        self._problem.hide()
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        for part in (self._label, self.entry, self._problem):
            self._rows.addWidget(part)
        self.setFocusProxy(self.entry)
        self._label.setBuddy(self.entry)
        self.entry.returnPressed.connect(self.confirmed)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(4))

    def text(self) -> str:
        """What stands in the field, without blanks around it."""
        return self.entry.text().strip()

    def set_text(self, text: str) -> None:
        """Put text in, its beginning in sight."""
        self.entry.setText(text)
        self.entry.setCursorPosition(0)

    def set_problem(self, words: str) -> None:
        """Say what is wrong; the text stays."""
        self._problem.show_message(words, icon="problem")
        self._problem.setVisible(bool(words))
        self.entry.set_problem(words)


class ChoiceField(QWidget):
    """A label and one of a few words."""

    chosen = Signal()

    def __init__(self, label: str, choices: Sequence[tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._label = Text(label, size_px=13, muted=True)
        self.box = Choice(label, ())
        self.box.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.box.setMinimumContentsLength(8)
        for word, text in choices:
            self.add(word, text)
        self._rows = QVBoxLayout(self)
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.addWidget(self._label)
        self._rows.addWidget(self.box)
        self.setFocusProxy(self.box)
        self._label.setBuddy(self.box)
        self.box.activated.connect(self._activated)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _activated(self, _: int) -> None:
        self.chosen.emit()

    def add(self, word: str, text: str) -> None:
        """One more choice: the word that stands for it, and what is shown."""
        self.box.addItem(text, word)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(4))

    def word(self) -> str:
        """The word that stands for the choice; empty for none."""
        return str(self.box.currentData() or "")

    def set_word(self, word: str) -> None:
        """Choose by word."""
        self.box.setCurrentIndex(max(0, self.box.findData(word)))
