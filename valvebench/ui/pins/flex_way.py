"""The way from the pair on Pins to its flex test."""

from __future__ import annotations

from PySide6.QtCore import QObject, Signal

from valvebench.ui.pins.keys import FLEX_KEY
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.keycap import KeyCap


class FlexWay(QObject):
    """A key of the Pins page and its cap, beside the title of the plot."""

    asked = Signal()

    def __init__(self, page: PinsPage) -> None:
        super().__init__(page)
        self.cap = KeyCap(FLEX_KEY, "flex this pair")
        page.plot_card.head.addWidget(self.cap)
        self.cap.clicked.connect(self.asked)
        add_page_keys(page, (FLEX_KEY, self.asked, "Flex test of the pair that stands there"))
