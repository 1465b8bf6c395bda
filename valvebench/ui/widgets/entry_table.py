"""A table of entries: its lines are opened and taken back by keys."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QKeyEvent

from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.table import Table


class EntryTable(Table):
    """Delete takes back the line with the keyboard; where `opens`, Enter or a double click opens it.

    The rows of its model have a `number`, that of an entry where it is above zero.
    """

    opened = Signal(int)
    withdrawn = Signal(int)

    def __init__(self, *args: Any, opens: bool = False, **more: Any) -> None:
        super().__init__(*args, **more)
        self._opens = opens
        if opens:
            self.activated.connect(self._open)

    def _number(self, index: QModelIndex) -> int:
        model: Any = self.model()
        number: int = model.row(index.row()).number
        return number

    def _open(self, index: QModelIndex) -> None:
        self.opened.emit(self._number(index))

    def withdraw_current(self) -> None:
        """Ask that the entry with the keyboard no longer counts."""
        index = self.currentIndex()
        if index.isValid() and (number := self._number(index)) > 0:
            self.withdrawn.emit(number)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Keys that are meant for a line go no further."""
        if event.key() == Qt.Key.Key_Delete:
            self.withdraw_current()
        elif self._opens and event.key() in ENTER_KEYS and self.currentIndex().isValid():
            self._open(self.currentIndex())
        else:
            super().keyPressEvent(event)
