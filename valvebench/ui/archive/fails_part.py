"""The part that counts what fails most."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from valvebench.bench.archived import Names
from valvebench.ui import fonts
from valvebench.ui.archive.fails import BY_WORDS, FailRow
from valvebench.ui.archive.fails_table import FailsModel, FailsTable
from valvebench.ui.archive.part import Part
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

ABOUT: Final = (
    "What surely fails most stands first: by the low end of its 95 % interval, which is the whisker and stands in "
    "brackets, so that one of one does not lead."
)


class FailsPart(Part):
    """Shows what its presenter says; tells it in plain words what the person did."""

    changed = Signal(str, str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.by = ChoiceField("Counted by", [(by.value, words) for by, words in BY_WORDS.items()])
        self.variant = ChoiceField("Only sessions of variant", [("", "Any")])
        self.since = LineField("Only closed since", hint="2031-05")
        self.said = MessageLine()
        self.model, self.table = FailsModel(self), FailsTable()
        self.words: list[Text] = []
        self.card = Card("What fails most")
        self._rows, self._choice, self._word_rows = QVBoxLayout(self), QHBoxLayout(), QVBoxLayout()
        self._build()
        for field in (self.by, self.variant):
            field.chosen.connect(self._tell)
        self.since.entry.textChanged.connect(self._tell)

    def _build(self) -> None:
        self._rows.setContentsMargins(0, 0, 0, 0)
        self.table.setModel(self.model)
        for field in (self.by, self.variant, self.since):
            self._choice.addWidget(field, 1, Qt.AlignmentFlag.AlignTop)
        self._rows.addLayout(self._choice)
        self._rows.addWidget(self.said)
        self._rows.addWidget(self.card, 1)
        self.card.body.addWidget(Text(ABOUT, size_px=14, muted=True, wraps=True))
        self.card.body.addWidget(self.table, 1)
        self.card.body.addLayout(self._word_rows)
        self.card.hide()
        self._rows.addStretch(0)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(8))
        self._choice.setSpacing(fonts.whole_px(16))
        self._word_rows.setSpacing(fonts.whole_px(4))

    def _tell(self) -> None:
        self.changed.emit(self.by.word(), self.variant.word(), self.since.text())

    def begin(self) -> None:
        """What is counted by has the keyboard."""
        self.by.setFocus(Qt.FocusReason.OtherFocusReason)

    # -- what the presenter asks -----------------------------------------------------------

    def show_names(self, names: Names) -> None:
        """Variants to choose from; what was chosen stays."""
        word = self.variant.word()
        self.variant.box.clear()
        for key, text in [("", "Any"), *((key, key) for key in names.variants)]:
            self.variant.add(key, text)
        self.variant.set_word(word)

    def show_counts(self, rows: Sequence[FailRow], words: Sequence[str]) -> None:
        """The lines, and what has to be known about them."""
        self.model.set_rows(rows)
        self.card.setVisible(bool(rows))
        for text in self.words:
            self._word_rows.removeWidget(text)
            text.hide()
            text.deleteLater()
        self.words = [Text(one, size_px=14, wraps=True) for one in words]
        for text in self.words:
            self._word_rows.addWidget(text)

    def show_since_problem(self, words: str) -> None:
        """What is wrong with the day."""
        self.since.set_problem(words)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line."""
        self.said.show_message(words, icon="problem" if is_problem else "note")
