"""What a photo shows and its file, in one line with the buttons that choose one or take it away."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.model.words import Place
from valvebench.ui import fonts
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.text import ElidedText

PLAIN_BOARD = "none, plain board"
NO_PHOTO = "no photo"


class PhotoRow(QWidget):
    """One line for the body, one for the case, one for the feature at hand."""

    wanted = Signal()
    unwanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.words = ElidedText("", size_px=13)
        self.choose, self.remove = Button("Photo \u2026"), Button("Take away")
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addWidget(self.words, 1)
        for button in (self.choose, self.remove):
            self._row.addWidget(button)
        self.choose.clicked.connect(self.wanted)
        self.remove.clicked.connect(self.unwanted)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._row.setSpacing(fonts.whole_px(8))

    def show_file(self, of: str, name: str, *, without: str = NO_PHOTO) -> None:
        """Name what it shows and the photo; an empty name is none."""
        self.choose.setAccessibleName(f"Choose a photo of {of}")
        self.remove.setAccessibleName(f"Take away the photo of {of}")
        words = of.removeprefix("the ")
        self.words.setText(f"{words[:1].upper()}{words[1:]}: {name or without}")
        self.remove.setEnabled(bool(name))

    def begin(self) -> None:
        """Put the keyboard on the button that chooses."""
        self.choose.setFocus(Qt.FocusReason.OtherFocusReason)


class BoardPhotoRow(PhotoRow):
    """The photo behind the ports of one place."""

    def __init__(self, place: Place, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.place = place
        self.show_board("")

    def show_board(self, name: str) -> None:
        """Name the photo; empty where there is none."""
        self.show_file(f"the {self.place.value}", name, without=PLAIN_BOARD)
