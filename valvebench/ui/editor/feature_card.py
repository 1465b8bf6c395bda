"""The photo of the feature at hand, shown while the table of features is in front."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.editor.photo_row import PhotoRow
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.shot import Shot

NOTHING: Final = "Choose a feature in the table: a photo of it is shown here and where a part is identified."
NO_PHOTO: Final = "No photo of {name} yet. Choose one below, or drop it on the window."
READING: Final = "Reading the photo \u2026"
_HIGH_PX: Final = 200
_WIDE_PX: Final = 240


class FeatureCard(QWidget):
    """One photo, its line, and words where it cannot be shown."""

    wanted = Signal(object)
    unwanted = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.shot, self.line, self._said = Shot(high_px=_HIGH_PX, wide_px=_WIDE_PX), PhotoRow(), MessageLine()
        self.row = -1
        self._all = QVBoxLayout(self)
        self._all.setContentsMargins(0, 0, 0, 0)
        self._all.addWidget(self.shot, 1)
        self._all.addWidget(self._said)
        self._all.addWidget(self.line)
        self.line.wanted.connect(self._ask)
        self.line.unwanted.connect(self._remove)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.show_feature(-1, "", "")

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._all.setSpacing(fonts.whole_px(8))

    def _ask(self) -> None:
        self.wanted.emit(self.row)

    def _remove(self) -> None:
        self.unwanted.emit(self.row)

    def show_feature(self, row: int, name: str, file: str) -> None:
        """Another feature: its name and the file of its photo; row -1 is none."""
        self.row = row
        words = NOTHING if row < 0 else READING if file else NO_PHOTO.format(name=name)
        self.shot.show_image(None, words, words)
        self._said.hide()
        self.line.setVisible(row >= 0)
        self.line.show_file(name or "this feature", file)

    def show_photo(self, image: QImage | None, sentence: str) -> None:
        """Its photo, or why there is none to show."""
        self.shot.show_image(image, sentence)
        self._said.show_message("" if image is not None else sentence, icon="problem")
        self._said.setVisible(image is None)
