"""The card of what is there already: a session by its folder, the recent ones, the sample jobs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.services import Listed
from valvebench.ui.start.drops import as_path
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.text import ElidedText, Text

MOST_SHOWN: Final = 5


def ask_for_folder(parent: QWidget, title: str, folder: str) -> str:
    """The folder a person chooses; empty for none."""
    return QFileDialog.getExistingDirectory(parent, title, folder)


class Listing(QGridLayout):
    """One button for each session, its words beside it."""

    def show(self, listed: Sequence[Listed], pressed: object, *, wraps: bool) -> None:
        """Replace what stands there."""
        while (item := self.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        for place, one in enumerate(listed):
            button = Button(one.title)
            button.setProperty("path", str(one.path))
            button.clicked.connect(pressed)
            self.addWidget(button, place, 0)
            about = Text(one.about, size_px=14, muted=True, wraps=True) if wraps else ElidedText(one.about, muted=True)
            self.addWidget(about, place, 1)
        self.setColumnStretch(1, 1)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self.setVerticalSpacing(fonts.whole_px(8))
        self.setHorizontalSpacing(fonts.whole_px(16))


class OpenCard(Card):
    """What is opened again."""

    open_asked = Signal(object)
    sample_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Open", parent=parent)
        self.folder = LineField("Session folder", hint="a folder that holds journal.jsonl")
        self.ask_for_folder = ask_for_folder
        self.last_folder = ""
        self._open, self._browse = Button("Open the session"), Button("Browse \u2026")
        self._recent_title = Text("Opened last", size_px=15, weight=fonts.SEMIBOLD)
        self._recent, self._samples, self._row = Listing(), Listing(), QHBoxLayout()
        self._build()
        self._open.clicked.connect(self._ask_open)
        self._browse.clicked.connect(self._choose_folder)
        self.folder.confirmed.connect(self._ask_open)

    def _build(self) -> None:
        self._row.addStretch(1)
        self._row.addWidget(self._browse)
        self._row.addWidget(self._open)
        self.body.addWidget(self.folder)
        self.body.addLayout(self._row)
        self.body.addWidget(self._recent_title)
        self.body.addLayout(self._recent)
        self.body.addWidget(Text("Sample jobs, invented", size_px=15, weight=fonts.SEMIBOLD))
        self.body.addLayout(self._samples)
        self.body.addStretch(1)
        self._recent_title.hide()
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_row"):
            self._row.setSpacing(fonts.whole_px(8))
            self._recent.rescale()
            self._samples.rescale()

    def _choose_folder(self) -> None:
        chosen = self.ask_for_folder(self, "Open a session folder", self.folder.text() or self.last_folder)
        if chosen:
            self.folder.set_text(chosen)
            self._ask_open()

    def _ask_open(self) -> None:
        self.open_asked.emit(as_path(self.folder.text()))

    def _recent_pressed(self) -> None:
        self.open_asked.emit(as_path(self.sender().property("path")))

    def _sample_pressed(self) -> None:
        self.sample_asked.emit(as_path(self.sender().property("path")))

    def show_recent(self, recent: Sequence[Listed]) -> None:
        """The sessions opened last."""
        self._recent_title.setVisible(bool(recent))
        self._recent.show(recent[:MOST_SHOWN], self._recent_pressed, wraps=False)

    def show_samples(self, samples: Sequence[Listed]) -> None:
        """One button for each sample job."""
        self._samples.show(samples, self._sample_pressed, wraps=True)
