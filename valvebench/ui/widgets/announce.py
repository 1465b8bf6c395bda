"""Tell a screen reader what has just become known, such as a verdict."""

from __future__ import annotations

from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent
from PySide6.QtWidgets import QWidget


def announce(widget: QWidget, sentence: str) -> None:
    """Have a sentence read out without moving the keyboard."""
    if QAccessible.isActive():
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(widget, sentence))
