"""One quiet line at the foot of the window for faults of ours, with details that can be copied."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Slot
from PySide6.QtGui import QGuiApplication, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QVBoxLayout, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.controls import TextArea
from valvebench.ui.widgets.message_line import MessageLine

SAFE: Final = "The session is safe on disk."


class TroubleLine(QWidget):
    """Hidden until something goes wrong; never a pop-up, never takes the keyboard."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.details = TextArea("Details of what went wrong", lines=8)
        self.details.setReadOnly(True)
        self.details_button, self.copy_button, self.close_button = Button("Details"), Button("Copy"), Button("Dismiss")
        self._said = MessageLine()
        self._rows, self._row = QVBoxLayout(self), QHBoxLayout()
        self._row.addWidget(self._said, 1)
        for button in (self.details_button, self.copy_button, self.close_button):
            self._row.addWidget(button)
        self._rows.addLayout(self._row)
        self._rows.addWidget(self.details)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.details_button.clicked.connect(self._turn_details)
        self.copy_button.clicked.connect(self._copy)
        self.close_button.clicked.connect(self.hide)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.details.hide()
        self.hide()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(20)
        self._rows.setContentsMargins(side, fonts.whole_px(8), side, fonts.whole_px(8))
        self._row.setSpacing(fonts.whole_px(8))

    @Slot(str, str)
    def show_trouble(self, sentence: str, details: str) -> None:
        """Say what went wrong and that nothing is lost."""
        self._show(f"Something went wrong: {sentence.rstrip('.')}. {SAFE}", details)

    def show_words(self, words: str, *, is_problem: bool = True) -> None:
        """A message of the program as a whole, without details."""
        self._show(words, "", is_problem=is_problem)

    def _show(self, words: str, details: str, *, is_problem: bool = True) -> None:
        self._said.show_message(words, icon="problem" if is_problem else "note")
        self.details.setPlainText(details)
        self.details_button.setVisible(bool(details))
        self.copy_button.setVisible(bool(details))
        self.details.setVisible(self.details.isVisible() and bool(details))
        self.show()
        announce(self, words)

    def words(self) -> str:
        """What is said now."""
        return self._said.words()

    def _turn_details(self) -> None:
        self.details.setVisible(not self.details.isVisible())

    def _copy(self) -> None:
        QGuiApplication.clipboard().setText(f"{self._said.words()}\n\n{self.details.toPlainText()}")

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: ARG002  one ground
        """Draw the ground and the line above it."""
        palette = theme.current()
        with paint.start(self) as painter:
            painter.fillRect(self.rect(), theme.colour(palette.card))
            painter.fillRect(0, 0, self.width(), round(paint.edge_of(palette)), theme.colour(palette.line))
