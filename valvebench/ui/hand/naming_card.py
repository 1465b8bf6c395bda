"""The cards at the end of the walk: one part's name, the variant as a whole, and what follows when it is saved."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.hand.naming import BodyAsked, BodyTyped, PartAsked, PartTyped
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import TickBox
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import ElidedText, Text

_TOP: Final = Qt.AlignmentFlag.AlignTop
_OTHER: Final = Qt.FocusReason.OtherFocusReason


class PartCard(Card):
    """What is between two nodes."""

    typed = Signal(object)
    back_asked = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._question = ElidedText(size_px=24, weight=fonts.BOLD)
        self._about = Text(size_px=15, muted=True, wraps=True)
        self._progress = Text(size_px=13, muted=True)
        self.name = LineField("Its name")
        self.kind = ChoiceField("What it is", [])
        self.same = TickBox("of one kind")
        self.go, self.back, self.leave = (
            Button("Next", key="Enter", is_primary=True),
            Button("Back"),
            Button("To the walk"),
        )
        self._fields, self._row = QHBoxLayout(), QHBoxLayout()
        self._build()
        self.go.clicked.connect(self._tell)
        self.name.confirmed.connect(self._tell)
        self.back.clicked.connect(self.back_asked)
        self.leave.clicked.connect(self.left)

    def _build(self) -> None:
        self._fields.addWidget(self.name, 3, _TOP)
        self._fields.addWidget(self.kind, 2, _TOP)
        for button in (self.leave, self.back):
            self._row.addWidget(button)
        self._row.addStretch(1)
        self._row.addWidget(self._progress)
        self._row.addWidget(self.go)
        self.body.addWidget(self._question)
        self.body.addWidget(self._about)
        self.body.addLayout(self._fields)
        self.body.addWidget(self.same)
        self.body.addStretch(1)
        self.body.addLayout(self._row)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_row"):
            self._fields.setSpacing(fonts.whole_px(16))
            self._row.setSpacing(fonts.whole_px(8))

    def _tell(self) -> None:
        self.typed.emit(
            PartTyped(
                name=self.name.text(), kind=self.kind.word(), is_in_set=self.same.isChecked() or self.same.isHidden()
            )
        )

    def show_part(self, part: PartAsked) -> None:
        """Ask for one part; its default name is chosen, so that typing replaces it and Enter takes it."""
        self._question.setText(part.title)
        self._about.setText(part.about)
        self._progress.setText(part.progress)
        self.name.set_problem("")
        self.name.set_text(part.name)
        self.kind.box.clear()
        for word, text in part.kinds:
            self.kind.add(word, text)
        self.kind.set_word(part.kind)
        self.same.set_words(part.set_words[:1].upper() + part.set_words[1:])
        self.same.setVisible(bool(part.set_words))
        self.same.setChecked(part.is_in_set)
        self.begin()

    def begin(self) -> None:
        """The name has the keyboard."""
        self.name.setFocus(_OTHER)
        self.name.entry.selectAll()


class BodyCard(Card):
    """The variant as a whole."""

    typed = Signal(object)
    back_asked = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.fields = {
            "title": LineField("Title of the variant"),
            "connector": LineField("Name of the connector"),
            "key": LineField("Key, for file names", hint="made from the title"),
        }
        self._about = Text(size_px=14, muted=True, wraps=True)
        self._said = MessageLine(grows=False)
        self.go, self.back, self.leave = (
            Button("Save the variant", is_primary=True),
            Button("Back"),
            Button("To the walk"),
        )
        self._grid, self._row = QGridLayout(), QHBoxLayout()
        self._build()
        self.go.clicked.connect(self._tell)
        for field in self.fields.values():
            field.confirmed.connect(self._tell)
        self.back.clicked.connect(self.back_asked)
        self.leave.clicked.connect(self.left)

    def _build(self) -> None:
        self._grid.addWidget(self.fields["title"], 0, 0, 1, 2, _TOP)
        self._grid.addWidget(self.fields["connector"], 1, 0, _TOP)
        self._grid.addWidget(self.fields["key"], 1, 1, _TOP)
        for button in (self.leave, self.back):
            self._row.addWidget(button)
        self._row.addStretch(1)
        self._row.addWidget(self.go)
        self.body.addWidget(ElidedText("What is it called?", size_px=24, weight=fonts.BOLD))
        self.body.addLayout(self._grid)
        self.body.addWidget(self._about)
        self.body.addStretch(1)
        self.body.addWidget(self._said)
        self.body.addLayout(self._row)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._said.setFixedHeight(fonts.whole_px(20))
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(12))
            self._row.setSpacing(fonts.whole_px(8))

    def _tell(self) -> None:
        self.typed.emit(BodyTyped(**{name: field.text() for name, field in self.fields.items()}))

    def show_body(self, body: BodyAsked) -> None:
        """Ask for title and names."""
        for name, text in (("title", body.title), ("connector", body.connector), ("key", body.key)):
            self.fields[name].set_text(text)
            self.fields[name].set_problem("")
        self._about.setText("\n".join(body.about))
        self.begin()

    def begin(self) -> None:
        """The title has the keyboard."""
        self.fields["title"].setFocus(_OTHER)
        self.fields["title"].entry.selectAll()

    def show_saving(self, words: str) -> None:
        """That it is on its way to the disk."""
        self._said.show_message(words, icon="note")


class SavedCard(Card):
    """It is saved: what can follow."""

    editor_asked = Signal()
    check_asked = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._head = ElidedText(size_px=24, weight=fonts.BOLD)
        self._words = Text(size_px=14, muted=True, wraps=True)
        self.check = Button("Start a bench check with it", is_primary=True)
        self.editor, self.leave = Button("Open in the variant editor"), Button("To the walk")
        self.body.addWidget(self._head)
        self.body.addWidget(self._words)
        for button in (self.check, self.editor, self.leave):
            self.body.addWidget(button, 0, Qt.AlignmentFlag.AlignLeft)
        self.body.addStretch(1)
        self.check.clicked.connect(self.check_asked)
        self.editor.clicked.connect(self.editor_asked)
        self.leave.clicked.connect(self.left)

    def show_saved(self, title: str, words: str) -> None:
        """Where it is, and what its limits are worth."""
        self._head.setText(title)
        self._words.setText(words)
        self.begin()

    def begin(self) -> None:
        """The first way on has the keyboard."""
        self.check.setFocus(_OTHER)
