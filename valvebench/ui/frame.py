"""The empty frame: strip on top, rail at the left, room for pages, and the keys that hold everywhere."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from PySide6.QtWidgets import QHBoxLayout, QMainWindow, QStackedWidget, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.asides import Asides
from valvebench.ui.parked_line import ParkedLine
from valvebench.ui.runner import QtRunner
from valvebench.ui.services import WindowServices
from valvebench.ui.settings import SettingsHolder
from valvebench.ui.shortcuts import ARCHIVE_KEYS, HAND_KEYS, add_shortcut
from valvebench.ui.trouble_line import TroubleLine
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.scroll import ScrollPage
from valvebench.ui.widgets.strip import Strip
from valvebench.ui.window_place import USUAL_SIZE

JOB: Final = "Job"
IDENTIFY: Final = "Identify"
PINS: Final = "Pins"
HEAT: Final = "Heat"
FLEX: Final = "Flex"
LEAK: Final = "Leak"
PORTS: Final = "Ports"
TAPS: Final = "Taps"
SWEEP: Final = "Sweep"
FINDINGS: Final = "Findings"
ARCHIVE: Final = "Archive"
VARIANTS: Final = "Variants"
EDITOR: Final = "Variant editor"
START: Final = "Start"
HAND: Final = "Part in hand"
TITLE: Final = "valvebench"
ZOOM_STEP: Final = 1.1


class FrameWindow(QMainWindow):
    """Lays out the frame and keeps its pages; what they are about is not its business."""

    def __init__(self, services: WindowServices) -> None:
        super().__init__()
        self.runner, self.exporter = QtRunner(self), QtRunner(self)
        self.thinker = QtRunner(self)  # what it works out is only shown: nobody waits for it when a session is left
        self.strip, self.rail, self.pages = (
            Strip(),
            Rail([JOB, IDENTIFY, PINS, HEAT, PORTS, FINDINGS, ARCHIVE], foot=[VARIANTS]),
            QStackedWidget(),
        )
        self.trouble_line, self.parked_line = TroubleLine(), ParkedLine()
        self.settings = SettingsHolder(services.settings_file(), self.runner, say=self.trouble_line.show_words)
        self.settings.load()
        self._scrolls: dict[QWidget, ScrollPage] = {}
        self.asides = Asides(self)
        self._lay_out()

    def _lay_out(self) -> None:
        self.setWindowTitle(TITLE)
        whole = QWidget()
        column, row = QVBoxLayout(whole), QHBoxLayout()
        for layout in (column, row):
            layout.setContentsMargins(0, 0, 0, 0)
            layout.setSpacing(0)
        column.addWidget(self.strip)
        column.addWidget(self.parked_line)
        row.addWidget(self.rail)
        row.addWidget(self.pages, 1)
        column.addLayout(row, 1)
        self.setCentralWidget(whole)
        column.addWidget(self.trouble_line)
        self.resize(*USUAL_SIZE)
        if self.settings.problem:
            self.trouble_line.show_words(self.settings.problem)

    def add_shortcuts(
        self,
        *,
        editor: Callable[[], None],
        start: Callable[[], None],
        in_hand: Callable[[], None],
        archive: Callable[[], None],
    ) -> None:
        """The keys that hold everywhere; those of the ways in give way where the editor has its own."""
        for keys, act, words in (
            ("Ctrl++", self._zoom_in, "Larger"),
            ("Ctrl+=", self._zoom_in, ""),
            ("Ctrl+-", self._zoom_out, "Smaller"),
            ("Ctrl+0", self._zoom_reset, "Size as drawn"),
            ("Ctrl+Shift+L", self.asides.next_palette, "Next colours: light, dark, high contrast"),
            ("Ctrl+E", editor, "Variants: of the open job, else the library"),
            (ARCHIVE_KEYS, archive, "Archive: find a closed session"),
            ("Ctrl+,", self.asides.show_settings, "Settings"),
            ("Ctrl+/", self.asides.show_keys, "This overview of keys"),
            ("F1", self.asides.show_guide, "The guide for the page in front"),
            ("Ctrl+Q", self.close, "Leave the program"),
        ):
            add_shortcut(self, keys, act, words)
        # The editor has the same keys for its own files: two that answer would mean that none does.
        ways_in = (("Ctrl+N", start, "New job"), ("Ctrl+O", start, "Open another session"))
        self._ways_in = [add_shortcut(self, keys, act, words) for keys, act, words in ways_in]
        add_shortcut(self, HAND_KEYS, in_hand, "Start from the part in hand")
        self.pages.currentChanged.connect(self._page_changed)

    def _page_changed(self) -> None:
        for shortcut in self._ways_in:
            shortcut.setEnabled(not self._is_editing())

    def _is_editing(self) -> bool:
        shown = self.pages.currentWidget()
        return shown is not None and shown.accessibleName() in (VARIANTS, EDITOR)

    def _zoom_in(self) -> None:
        self.asides.change_zoom(fonts.zoom.factor * ZOOM_STEP)

    def _zoom_out(self) -> None:
        self.asides.change_zoom(fonts.zoom.factor / ZOOM_STEP)

    def _zoom_reset(self) -> None:
        self.asides.change_zoom(1.0)

    def add_page(self, page: QWidget, name: str) -> None:
        """A page scrolls where the window is smaller than it needs."""
        scroll = ScrollPage(page, name=name)
        self._scrolls[page] = scroll
        self.pages.addWidget(scroll)

    def is_in_front(self, page: QWidget) -> bool:
        """Whether this page is the one that is shown."""
        return self.pages.currentWidget() is self._scrolls.get(page)

    def remove_page(self, page: QWidget) -> None:
        """Take a page out and throw it away."""
        scroll = self._scrolls.pop(page)
        self.pages.removeWidget(scroll)
        scroll.deleteLater()

    def bring_forward(self, page: QWidget) -> None:
        """Show a page that is in the window."""
        self.pages.setCurrentWidget(self._scrolls[page])
