"""What stands beside the work: guide, archive, variants, settings, keys."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.shortcuts import ARCHIVE_KEYS
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card

_ACROSS: Final = ((860, 5), (600, 3), (0, 2))
"""From this width on, so many buttons stand in a row."""


class ToolsCard(Card):
    """Five buttons, each with its key."""

    guide_asked = Signal()
    archive_asked = Signal()
    variants_asked = Signal()
    settings_asked = Signal()
    keys_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.guide, self.archive = Button("Guide", key="F1"), Button("Archive", key=ARCHIVE_KEYS)
        self.variants = Button("Variants", key="Ctrl+E")
        self.settings, self.keys = Button("Settings", key="Ctrl+,"), Button("Keys", key="Ctrl+/")
        self.setAccessibleName("Beside the work")
        self._grid = QGridLayout()
        self.body.addLayout(self._grid)
        self._place(across=5)
        for button, asked in (
            (self.guide, self.guide_asked),
            (self.archive, self.archive_asked),
            (self.variants, self.variants_asked),
            (self.settings, self.settings_asked),
            (self.keys, self.keys_asked),
        ):
            button.clicked.connect(asked)
        self.rescale()

    def fit_width(self, room_px: float) -> None:
        """One row, or more where the room is narrow."""
        self._place(across=next(across for least_px, across in _ACROSS if room_px >= least_px))

    def _place(self, *, across: int) -> None:
        for column in range(6):
            self._grid.setColumnStretch(column, 1 if column == across else 0)
        for place, button in enumerate((self.guide, self.archive, self.variants, self.settings, self.keys)):
            self._grid.addWidget(button, place // across, place % across)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._grid.setSpacing(fonts.whole_px(8))
