"""A part of the Archive page: what stands below the row of parts."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QHBoxLayout, QWidget

from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.message_line import MessageLine

_TICK_MS: Final = 300


class Part(QWidget):
    """One of them in front."""

    def fit(self, room_px: float) -> None:
        """Lay out for this width in drawn px."""

    def begin(self) -> None:
        """The first field has the keyboard."""


class BusyPart(Part):
    """A part with long work: its buttons wait, one stops it, a line says how far it is."""

    stopped = Signal()
    ticked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.stop_button, self.said = Button("Stop", key="Esc"), MessageLine()
        self.foot = QHBoxLayout()
        self.foot.addWidget(self.said, 1)
        self.foot.addWidget(self.stop_button, 0, Qt.AlignmentFlag.AlignTop)
        self.stop_button.hide()
        self._starters: tuple[Button, ...] = ()
        self._asked_by: QWidget | None = None
        self._clock = QTimer(self)
        self._clock.setInterval(_TICK_MS)
        self._clock.timeout.connect(self.ticked)
        self.stop_button.clicked.connect(self.stopped)

    def set_starters(self, *buttons: Button) -> None:
        """These begin long work; while some is under way none of them can be pressed."""
        self._starters = buttons

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape stops what is under way; else it leaves the page."""
        if event.key() == Qt.Key.Key_Escape and not self.stop_button.isHidden():
            self.stopped.emit()
        else:
            super().keyPressEvent(event)

    def show_busy(self, *, is_busy: bool) -> None:
        """While work is under way there is a way out; the keyboard goes there and comes back."""
        focus = QApplication.focusWidget()
        if is_busy and focus is not None and self.isAncestorOf(focus):
            self._asked_by = focus
        had_keyboard = self._asked_by is not None and (is_busy or self.stop_button.hasFocus())
        for button in self._starters:
            button.setEnabled(not is_busy)
        self.stop_button.setVisible(is_busy)
        after = self.stop_button if is_busy else self._asked_by
        if had_keyboard and after is not None:
            after.setFocus(Qt.FocusReason.OtherFocusReason)
        if is_busy:
            self._clock.start()
        else:
            self._clock.stop()
            self._asked_by = None

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """How far it is, or what came of it."""
        self.said.show_message(words, icon="problem" if is_problem else "clock" if self._is_busy() else "note")
        if words and not self._is_busy():
            announce(self, words)

    def _is_busy(self) -> bool:
        return not self.stop_button.isHidden()
