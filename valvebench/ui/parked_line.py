"""The line below the strip that says which job is parked, and the key back to it."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine

BACK_KEY: Final = "F11"
ENQUIRY_KEY: Final = "F12"


class ParkedLine(QWidget):
    """Hidden while nothing is parked."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._said, self.back = MessageLine(icon="clock"), KeyCap(BACK_KEY, "back to it")
        self._row = QHBoxLayout(self)
        self._row.addWidget(self._said, 1, Qt.AlignmentFlag.AlignVCenter)
        self._row.addWidget(self.back)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.hide()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(20)
        self._row.setContentsMargins(side, fonts.whole_px(4), side, fonts.whole_px(4))
        self._row.setSpacing(fonts.whole_px(12))

    def show_parked(self, words: str) -> None:
        """What is parked; empty for nothing."""
        self._said.show_message(words, icon="clock")
        self.setVisible(bool(words))

    def words(self) -> str:
        """What is said."""
        return self._said.words() if not self.isHidden() else ""
