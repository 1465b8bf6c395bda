"""A page without a window around it, kept until its test is over."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication, QLabel, QWidget


def keep_page(qtbot, page) -> None:
    """Close it at the end of the test, and hold it until then.

    The fixture remembers a widget weakly; once the test function has returned, a page in a cycle
    with its presenter could be collected in the middle of its own painting (a crash in
    QPainter.end by the stack; PySide6 6.11.3).
    """
    qtbot.addWidget(page, before_close_func=lambda _: page)


def words_of(page: QWidget) -> list[str]:
    """All words in sight, once everything is laid out."""
    QApplication.processEvents()
    return [label.text() for label in page.findChildren(QLabel) if label.isVisible() and label.text()]
