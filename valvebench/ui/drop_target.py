"""Lets things be dropped anywhere on the window."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QEvent, QObject, Signal
from PySide6.QtGui import QDragEnterEvent, QDragMoveEvent, QDropEvent
from PySide6.QtWidgets import QWidget

from valvebench.ui.start.drops import what_is


class DropTarget(QObject):
    """Takes every drop of files, so that what cannot be used is refused in words and not in silence."""

    dropped = Signal(object)

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        window.setAcceptDrops(True)
        window.installEventFilter(self)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:  # noqa: ARG002  there is only the window
        """Only what concerns dropping."""
        if isinstance(event, QDropEvent) and event.mimeData().hasUrls():
            event.acceptProposedAction()
            if not isinstance(event, QDragMoveEvent | QDragEnterEvent):
                self.dropped.emit(
                    what_is([Path(url.toLocalFile()) for url in event.mimeData().urls() if url.isLocalFile()])
                )
            return True
        return False
