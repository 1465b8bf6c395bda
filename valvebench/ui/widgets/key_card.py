"""A card that asks something: while it has the keyboard, one key answers."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPaintEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from valvebench.ui import fonts, theme
from valvebench.ui.widgets import paint
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.card import RADIUS_PX, Card

_WALKS = (Qt.Key.Key_Up, Qt.Key.Key_Down)


class KeyCard(Card):
    """It says in `take_key` which keys are its own; a ring shows that they act here."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def take_key(self, event: QKeyEvent) -> bool:  # noqa: ARG002  a card says for itself which keys it has
        """Act on a key, also one that reached another part of the page; whether it was one of ours."""
        return False

    def take_from_page(self, page: QWidget, event: QKeyEvent) -> bool:
        """Act on a key that nothing else on the page wanted; those of a text field never answer."""
        # TRAP: a line hands Enter on after it has acted on it, when the question has the keyboard again.
        is_of_field = isinstance(page.focusWidget(), QLineEdit) or event.key() in ENTER_KEYS
        return not is_of_field and self.take_key(event)

    def take_from_table(self, event: QKeyEvent) -> bool:
        """Act on a key typed in a table of the page: the arrows walk there, signs answer all the same."""
        return event.key() not in _WALKS and bool(event.text()) and self.take_key(event)

    def set_sentence(self, sentence: str) -> None:
        """What is asked, read out where it is another question."""
        if sentence != self.accessibleName():
            self.setAccessibleName(sentence)
            announce(self, sentence)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """One key answers."""
        if not self.take_key(event):
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show that keys act here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show that keys act elsewhere."""
        super().focusOutEvent(event)
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The card, with the ring when it has the keyboard."""
        super().paintEvent(event)
        if self.hasFocus():
            with paint.start(self) as painter:
                paint.draw_focus(painter, QRectF(self.rect()), radius_px=fonts.px(RADIUS_PX), code=theme.current().ink)
