"""The page before a session is open: new job, open, sample jobs."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QBoxLayout, QFileDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.services import Listed
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.text import Text

_NARROW_PX: Final = 900
"""Below this room the two cards stand under each other."""


class StartPage(Page):
    """Never an empty window: three ways in."""

    open_asked = Signal(object)
    sample_asked = Signal(object)
    job_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.job = LineField("Job number", hint="2217")
        self.serial = LineField("Body serial", hint="0418-77")
        self.customer = LineField("Customer")
        self.folder = LineField("Session folder", hint="a folder that holds journal.jsonl")
        self.variant = ChoiceField("Variant", [("", "No variant file")])
        self._new = Button("Open the job", is_primary=True)
        self._open, self._browse = Button("Open the session"), Button("Browse \u2026")
        self._said = MessageLine()
        self._samples = QGridLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        title = Text("Test a valve body", size_px=24, weight=fonts.BOLD)
        about = "Readings into verdicts that hold up, kept where nothing can be lost."
        self._about = Text(about, size_px=15, muted=True, wraps=True)
        self._page, self._cards = QVBoxLayout(self), QHBoxLayout()
        self._cards.addWidget(self._new_card(), 1)
        self._cards.addWidget(self._open_card(), 1)
        for part in (title, self._about):
            self._page.addWidget(part)
        self._page.addLayout(self._cards)
        self._page.addWidget(self._said)
        self._page.addStretch(1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _new_card(self) -> Card:
        card = Card("New job")
        self._form = QGridLayout()
        for place, field in enumerate((self.job, self.variant, self.serial, self.customer)):
            self._form.addWidget(field, place, 0)
        card.body.addLayout(self._form)
        card.body.addWidget(self._new, 0, Qt.AlignmentFlag.AlignRight)
        card.body.addStretch(1)
        return card

    def _open_card(self) -> Card:
        card = Card("Open")
        card.body.addWidget(self.folder)
        self._open_row = QHBoxLayout()
        self._open_row.addStretch(1)
        self._open_row.addWidget(self._browse)
        self._open_row.addWidget(self._open)
        card.body.addLayout(self._open_row)
        card.body.addWidget(Text("Sample jobs, invented", size_px=15, weight=fonts.SEMIBOLD))
        card.body.addLayout(self._samples)
        card.body.addStretch(1)
        return card

    def fit_width(self, room_px: float) -> None:
        """Beside each other, or below where the room is narrow."""
        direction = QBoxLayout.Direction
        self._cards.setDirection(direction.TopToBottom if room_px < _NARROW_PX else direction.LeftToRight)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side, gap = fonts.whole_px(40), fonts.whole_px(16)
        self._page.setContentsMargins(side, side, side, gap)
        self._page.setSpacing(fonts.whole_px(4))
        self._about.setContentsMargins(0, 0, 0, fonts.whole_px(12))
        self._cards.setSpacing(gap)
        self._form.setVerticalSpacing(fonts.whole_px(12))
        self._samples.setVerticalSpacing(fonts.whole_px(8))
        self._samples.setHorizontalSpacing(gap)

    def _connect(self) -> None:
        self._new.clicked.connect(self._ask_job)
        self._open.clicked.connect(self._ask_open)
        self._browse.clicked.connect(self._choose_folder)
        self.folder.confirmed.connect(self._ask_open)
        for field in (self.job, self.serial, self.customer):
            field.confirmed.connect(self._ask_job)

    def _choose_folder(self) -> None:
        chosen = QFileDialog.getExistingDirectory(self, "Open a session folder", self.folder.text())
        if chosen:
            self.folder.set_text(chosen)
            self._ask_open()

    def _ask_open(self) -> None:
        self.open_asked.emit(Path(self.folder.text()))

    def _ask_job(self) -> None:
        typed = {"job": self.job.text(), "serial": self.serial.text(), "customer": self.customer.text()}
        given = {name: text for name, text in typed.items() if text}
        self.job_asked.emit((given, Path(self.variant.word()) if self.variant.word() else None))

    def show_variants(self, variants: Sequence[Listed]) -> None:
        """The variant files to choose from."""
        for one in variants:
            self.variant.add(str(one.path), one.title)

    def show_samples(self, samples: Sequence[Listed]) -> None:
        """One button for each sample job."""
        for place, one in enumerate(samples):
            button = Button(one.title)
            button.setProperty("sample", str(one.path))
            button.clicked.connect(self._sample_clicked)
            self._samples.addWidget(button, place, 0)
            self._samples.addWidget(Text(one.about, size_px=14, muted=True, wraps=True), place, 1)
        self._samples.setColumnStretch(1, 1)

    def _sample_clicked(self) -> None:
        self.sample_asked.emit(Path(self.sender().property("sample")))

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line on what went wrong or is going on."""
        self._said.show_message(words, icon="problem" if is_problem else "note")

    def begin(self) -> None:
        """The job number has the keyboard."""
        self.job.setFocus(Qt.FocusReason.OtherFocusReason)
