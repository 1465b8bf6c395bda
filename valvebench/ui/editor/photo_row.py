"""The photo of one place below its board: its file, and the buttons that choose one or take it away."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.model.words import Place
from valvebench.ui import fonts
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.text import ElidedText

NO_PHOTO = "none, plain board"


class PhotoRow(QWidget):
    """One line for the body, one for the case."""

    asked = Signal(object)
    removed = Signal(object)

    def __init__(self, place: Place, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.place = place
        self.words = ElidedText("", size_px=13)
        self.choose, self.remove = Button("Photo \u2026"), Button("Take away")
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addWidget(self.words, 1)
        for button, name in ((self.choose, "Choose a photo of the"), (self.remove, "Take away the photo of the")):
            button.setAccessibleName(f"{name} {place.value}")
            self._row.addWidget(button)
        self.choose.clicked.connect(self._ask)
        self.remove.clicked.connect(self._remove)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.show_file("")

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._row.setSpacing(fonts.whole_px(8))

    def _ask(self) -> None:
        self.asked.emit(self.place)

    def _remove(self) -> None:
        self.removed.emit(self.place)

    def show_file(self, name: str) -> None:
        """Name the photo; empty where there is none."""
        self.words.setText(f"{self.place.value.capitalize()}: {name or NO_PHOTO}")
        self.remove.setEnabled(bool(name))

    def begin(self) -> None:
        """Put the keyboard on the button that chooses."""
        self.choose.setFocus(Qt.FocusReason.OtherFocusReason)
