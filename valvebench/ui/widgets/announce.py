"""Tell a screen reader what has just become known, such as a verdict."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget


def announce(widget: QWidget, sentence: str) -> None:
    """Have a sentence read out without moving the keyboard."""
    from PySide6.QtGui import QAccessible, QAccessibleAnnouncementEvent  # their many words are not wanted at the start

    if QAccessible.isActive():
        QAccessible.updateAccessibility(QAccessibleAnnouncementEvent(widget, sentence))
