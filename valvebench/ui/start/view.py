"""The page before a session is open: new job, open, recent sessions, sample jobs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import JobKind
from valvebench.ui import fonts
from valvebench.ui.services import Listed
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.start.hand_card import HandCard
from valvebench.ui.start.new_card import NewCard
from valvebench.ui.start.open_card import LAST_KEY, OpenCard, SampleCard
from valvebench.ui.start.tools_card import ToolsCard
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.text import Text

_NARROW_PX: Final = 900
"""Below this room the cards stand under each other."""
_SIDE_PX: Final = 40
_GAP_PX: Final = 16


class StartPage(Page):
    """Never an empty window: the ways in."""

    open_asked = Signal(object)
    sample_asked = Signal(object)
    job_asked = Signal(object)
    hand_asked = Signal(object)
    kind_chosen = Signal(object)
    variant_chosen = Signal(object)
    last_asked = Signal()
    guide_asked = Signal()
    archive_asked = Signal()
    variants_asked = Signal()
    settings_asked = Signal()
    keys_asked = Signal()
    back_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.new, self.hand, self.tools = NewCard(), HandCard(), ToolsCard()
        self.open, self.samples = OpenCard(), SampleCard()
        self.job, self.folder = self.new.fields["job"], self.open.folder
        self.back_button = Button("Back", key="Esc")
        self._said = MessageLine()
        self._build()
        self._connect()

    def _build(self) -> None:
        about = "Readings into verdicts that hold up, kept where nothing can be lost."
        self._about = Text(about, size_px=15, muted=True, wraps=True)
        self._page, self._head, self._cards = QVBoxLayout(self), QHBoxLayout(), QHBoxLayout()
        self._head.addWidget(Text("Test a valve body", size_px=24, weight=fonts.BOLD), 1)
        self._left, self._right = QVBoxLayout(), QVBoxLayout()
        self._left.addWidget(self.new)
        self._left.addWidget(self.hand)
        self._left.addWidget(self.tools)
        self._left.addStretch(1)
        self._right.addWidget(self.open, 1)
        self._right.addWidget(self.samples)
        for column in (self._left, self._right):
            self._cards.addLayout(column, 1)
        self._page.addLayout(self._head)
        self._page.addWidget(self._about)
        self._page.addWidget(self._said)
        self._page.addLayout(self._cards)
        self._page.addStretch(1)
        self.back_button.hide()
        self._head.addWidget(self.back_button, 0, Qt.AlignmentFlag.AlignTop)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def fit_width(self, room_px: float) -> None:
        """Beside each other, or below where the room is narrow."""
        direction = QBoxLayout.Direction
        is_narrow = room_px < _NARROW_PX
        self._cards.setDirection(direction.TopToBottom if is_narrow else direction.LeftToRight)
        room = room_px - 2 * _SIDE_PX
        self.tools.fit_width(room if is_narrow else (room - _GAP_PX) / 2)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side, gap = fonts.whole_px(_SIDE_PX), fonts.whole_px(_GAP_PX)
        self._page.setContentsMargins(side, fonts.whole_px(20), side, gap)
        self._page.setSpacing(fonts.whole_px(4))
        self._head.setSpacing(fonts.whole_px(8))
        for layout in (self._cards, self._left, self._right):
            layout.setSpacing(gap)

    def _connect(self) -> None:
        self.new.asked.connect(self.job_asked)
        self.hand.asked.connect(self.hand_asked)
        self.new.kind_chosen.connect(self.kind_chosen)
        self.new.variant_chosen.connect(self.variant_chosen)
        self.open.open_asked.connect(self.open_asked)
        self.samples.sample_asked.connect(self.sample_asked)
        self.back_button.clicked.connect(self.back_asked)
        self.tools.guide_asked.connect(self.guide_asked)
        self.tools.archive_asked.connect(self.archive_asked)
        self.tools.variants_asked.connect(self.variants_asked)
        self.tools.settings_asked.connect(self.settings_asked)
        self.tools.keys_asked.connect(self.keys_asked)
        add_page_keys(self, (LAST_KEY, self.last_asked, "Go on with the session opened last"))

    # -- what the presenter asks -----------------------------------------------------------

    def show_fields(self, first: Sequence[str], more: Sequence[str]) -> None:
        """Which data the kind of job needs."""
        self.new.show_fields(first, more)

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong with the new job's data."""
        self.new.show_problems(problems)

    def show_hand_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong with the body in the hand."""
        self.hand.show_problems(problems)

    def fill_job(self, fields: Mapping[str, str]) -> None:
        """What is known of a new job beforehand; the rest is empty."""
        self.new.fill(fields)

    def choose_kind(self, kind: JobKind) -> None:
        """A kind of new job."""
        self.new.kinds[kind].setChecked(True)

    def show_variants(self, variants: Sequence[Listed]) -> None:
        """More variant files to choose from."""
        self.new.show_variants(variants)

    def show_own_variants(self, variants: Sequence[Listed], *, folder: Path) -> None:
        """The user's own as they lie in their folder now."""
        self.new.show_own_variants(variants, folder=folder)

    def choose_variant(self, path: Path, title: str) -> None:
        """A variant file from anywhere."""
        self.new.choose_variant(path, title)

    def show_recent(self, recent: Sequence[Listed], *, newest: Path | None) -> None:
        """The sessions opened last."""
        self.open.show_recent(recent, newest=newest)

    def show_samples(self, samples: Sequence[Listed]) -> None:
        """One button for each sample job."""
        self.samples.show_samples(samples)

    def forget_job(self) -> None:
        """The form of a new job, empty again."""
        self.new.forget()

    def forget_hand(self) -> None:
        """The form of a part in hand, empty again."""
        self.hand.forget()

    def set_last_folder(self, folder: str) -> None:
        """Where choosing a file begins."""
        self.new.last_folder = self.open.last_folder = folder

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line on what went wrong or is going on."""
        self._said.show_message(words, icon="problem" if is_problem else "note")

    def show_back(self, words: str) -> None:
        """The way back to the session at hand; empty without one."""
        self.back_button.set_word(words)
        self.back_button.setVisible(bool(words))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape goes back where there is a session at hand."""
        if event.key() == Qt.Key.Key_Escape and not self.back_button.isHidden():
            self.back_asked.emit()
        else:
            super().keyPressEvent(event)

    def begin(self) -> None:
        """The first field has the keyboard."""
        self.new.begin()
