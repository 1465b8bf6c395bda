"""What is said before a part is fed or warmed, in the place of the ruler: right under the field, always in sight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtWidgets import QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets.message_line import MessageLine

_ICONS: Final = ("electricity", "hands")
_LINE_PX: Final = 40


class SafetyLines(QWidget):
    """Two lines that wrap once; together they are no higher than a ruler."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines = tuple(MessageLine(icon=icon, grows=False) for icon in _ICONS)
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(0)
        for line in self.lines:
            rows.addWidget(line)
        rows.addStretch(1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        for line in self.lines:
            line.setFixedHeight(fonts.whole_px(_LINE_PX))

    def show_words(self, words: Sequence[str], icons: Sequence[str] = _ICONS) -> None:
        """A line of the hazard and one of care."""
        for line, icon, each in zip(self.lines, icons, words, strict=True):
            line.show_message(each, icon=icon)
