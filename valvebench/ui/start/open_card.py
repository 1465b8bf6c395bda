"""The cards of what is there already: a session by its folder, the recent ones, what is dropped; the sample jobs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.services import Listed
from valvebench.ui.start.drop_zone import DropZone
from valvebench.ui.start.drops import as_path
from valvebench.ui.start.listing import Listing, Pressed, is_pinned, path_of
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.text import Text

MOST_SHOWN: Final = 5
LAST_KEY: Final = "Ctrl+L"
OPEN_HINT: Final = "Go on with a session: one of those opened last, any by its folder, or one that was sent."
NOTHING_BEFORE: Final = "None yet. A session stands here once it was opened."
BUNDLE_TIP: Final = "A session that somebody sent: it is opened as a new folder among your jobs"
SAMPLES_HINT: Final = "Jobs to try everything on, each as a fresh copy. All of it is invented."


def ask_for_folder(parent: QWidget, title: str, folder: str) -> str:
    """The folder a person chooses; empty for none."""
    return QFileDialog.getExistingDirectory(parent, title, folder)


def ask_for_file(parent: QWidget, title: str, folder: str) -> str:
    """The bundle a person chooses; empty for none."""
    return QFileDialog.getOpenFileName(parent, title, folder, "Bundles (*.zip)")[0]


class OpenCard(Card):
    """What is opened again."""

    open_asked = Signal(object)
    clear_asked = Signal()
    pinned = Signal(object, bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Open", parent=parent)
        self.folder = LineField("Session folder or bundle", hint="a folder that holds journal.jsonl, or a .zip file")
        self.ask_for_folder, self.ask_for_file = ask_for_folder, ask_for_file
        self.last_folder = ""
        self.clear = Button("Clear the list")
        self.clear.setAccessibleName("Clear the list of sessions opened last")
        self._open, self._browse = Button("Open the session"), Button("Browse \u2026")
        self.bundle_button = Button("Open a bundle \u2026")
        self.bundle_button.setToolTip(tip(BUNDLE_TIP))
        self.bundle_button.setAccessibleDescription(BUNDLE_TIP)
        self._recent_title = Text("Opened last", size_px=14, weight=fonts.SEMIBOLD)
        self._nothing = Text(NOTHING_BEFORE, size_px=14, muted=True, wraps=True)
        self._recent, self._row, self._title_row = Listing(), QHBoxLayout(), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.body.addWidget(Text(OPEN_HINT, size_px=14, muted=True, wraps=True))
        self._title_row.addWidget(self._recent_title, 1)
        self._title_row.addWidget(self.clear)
        self.body.addLayout(self._title_row)
        self.body.addWidget(self._nothing)
        self.body.addLayout(self._recent)
        self._row.addStretch(1)
        self._row.addWidget(self.bundle_button)
        self._row.addWidget(self._browse)
        self._row.addWidget(self._open)
        self.body.addWidget(self.folder)
        self.body.addLayout(self._row)
        self.body.addWidget(DropZone(), 1)
        self.clear.hide()
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_title_row"):
            self._row.setSpacing(fonts.whole_px(8))
            self._title_row.setContentsMargins(0, fonts.whole_px(4), 0, 0)
            self._row.setContentsMargins(0, 0, 0, fonts.whole_px(8))
            self._recent.setContentsMargins(0, 0, 0, fonts.whole_px(4))
            self._recent.rescale()

    def _connect(self) -> None:
        self._open.clicked.connect(self._ask_open)
        self._browse.clicked.connect(self._choose_folder)
        self.bundle_button.clicked.connect(self._choose_bundle)
        self.folder.confirmed.connect(self._ask_open)
        self.clear.clicked.connect(self.clear_asked)

    def _choose_folder(self) -> None:
        chosen = self.ask_for_folder(self, "Open a session folder", self.folder.text() or self.last_folder)
        if chosen:
            self.folder.set_text(chosen)
            self._ask_open()

    def _choose_bundle(self) -> None:
        chosen = self.ask_for_file(self, "Open a session that was sent as one file", self.last_folder)
        if chosen:
            self.folder.set_text(chosen)
            self._ask_open()

    def _ask_open(self) -> None:
        self.open_asked.emit(as_path(self.folder.text()))

    def _recent_pressed(self) -> None:
        self.open_asked.emit(path_of(self.sender()))

    def _pin_pressed(self) -> None:
        button = self.sender()
        self.pinned.emit(path_of(button), not is_pinned(button))

    def show_recent(self, recent: Sequence[Listed], *, newest: Path | None) -> None:
        """The sessions opened last, the newest with its key."""
        self._nothing.setVisible(not recent)
        self.clear.setVisible(any(not one.is_pinned for one in recent))
        pressed = Pressed(open=self._recent_pressed, pin=self._pin_pressed)
        keys = {newest: LAST_KEY} if newest is not None else {}
        self._recent.show(recent[:MOST_SHOWN], pressed, keys=keys)


class SampleCard(Card):
    """Jobs to try the program on."""

    sample_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Try it on a sample job", parent=parent)
        self._samples = Listing()
        self.body.addWidget(Text(SAMPLES_HINT, size_px=14, muted=True, wraps=True))
        self.body.addLayout(self._samples)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_samples"):
            self._samples.rescale()

    def show_samples(self, samples: Sequence[Listed]) -> None:
        """One button for each sample job."""
        self._samples.show(samples, Pressed(open=self._sample_pressed))

    def _sample_pressed(self) -> None:
        self.sample_asked.emit(path_of(self.sender()))
