"""Photos of what a feature can look like, each over its value and the variant it was taken of."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.identify.examples import ExampleShown
from valvebench.ui.widgets.shot import Shot
from valvebench.ui.widgets.text import ElidedText

_COLUMNS: Final = 3
_MOST: Final = 8
_HIGH_PX: Final = 96
_WIDE_PX: Final = 96


class Example(QWidget):
    """One photo and its two lines."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.shot = Shot(high_px=_HIGH_PX, wide_px=_WIDE_PX, at_left=True)
        self.value = ElidedText("", size_px=14, weight=fonts.SEMIBOLD)
        self.title = ElidedText("", size_px=13, muted=True)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        for part in (self.shot, self.value, self.title):
            column.addWidget(part)

    def show_example(self, shown: ExampleShown) -> None:
        """Another photo."""
        self.shot.show_image(shown.image, shown.sentence)
        self.value.setText(shown.value)
        self.title.setText(shown.title)


class ExamplesStrip(QWidget):
    """As many photos as there are, three beside each other."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("What it can look like")
        self.examples = tuple(Example(self) for _ in range(_MOST))
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        for place, example in enumerate(self.examples):
            self._grid.addWidget(example, *divmod(place, _COLUMNS), Qt.AlignmentFlag.AlignTop)
            example.hide()
        for column in range(_COLUMNS):
            self._grid.setColumnStretch(column, 1)
        self.hide()
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._grid.setHorizontalSpacing(fonts.whole_px(12))
        self._grid.setVerticalSpacing(fonts.whole_px(8))

    def show_examples(self, shown: Sequence[ExampleShown]) -> None:
        """Other photos, none where there are none."""
        for example, one in zip(self.examples, shown, strict=False):
            example.show_example(one)
        for place, example in enumerate(self.examples):
            example.setVisible(place < len(shown))
        self.setVisible(bool(shown))
