"""A page beside the work, that Escape leaves."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent

from valvebench.ui.widgets.scroll import Page


class AsidePage(Page):
    """Settings, keys and guide: opened over a page of work, and left for it again."""

    left = Signal()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)
