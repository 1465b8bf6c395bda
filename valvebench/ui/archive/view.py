"""The Archive page: a row of parts, one of them in front."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.bench.archived import Names
from valvebench.ui import fonts
from valvebench.ui.archive.find_card import NEXT_KEY, PREVIOUS_KEY, FindCard
from valvebench.ui.archive.part import Part
from valvebench.ui.archive.shown import FoundRow, SessionTold
from valvebench.ui.archive.told_card import COMEBACK_KEY, NOTHING, OUTCOME_KEY, ToldCard
from valvebench.ui.editor.tabs import TabRow
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.text import ElidedText

FIND: Final = "Find"
TREND: Final = "Over time"
FAILS: Final = "What fails most"
AGAIN: Final = "Judge anew"
SAFE: Final = "Keep safe"
PARTS: Final = (FIND, TREND, FAILS, AGAIN, SAFE)
_NARROW_PX: Final = 1000
_TOLD_SHARE: Final = 0.42
"""Of the width, for what stands beside the list."""


class FindPart(Part):
    """The list, and beside it everything about the chosen session."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.list, self.told = FindCard(), ToldCard()
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._is_narrow = True
        self._place()

    def _place(self) -> None:
        for card in (self.list, self.told):
            self._grid.removeWidget(card)
        self._grid.addWidget(self.list, 0, 0)
        self._grid.addWidget(self.told, *((1, 0) if self._is_narrow else (0, 1)))
        share = round(100 * _TOLD_SHARE)
        self._grid.setColumnStretch(0, 100 - share)
        self._grid.setColumnStretch(1, 0 if self._is_narrow else share)

    def fit(self, room_px: float) -> None:
        """Side by side, or one below the other where the page is narrow."""
        if (room_px < _NARROW_PX) != self._is_narrow:
            self._is_narrow = room_px < _NARROW_PX
            self._place()
        self._grid.setSpacing(fonts.whole_px(16))
        self.list.fit(room_px if self._is_narrow else room_px * (1 - _TOLD_SHARE))
        self.told.fit(room_px if self._is_narrow else room_px * _TOLD_SHARE)

    def begin(self) -> None:
        """The box has the keyboard."""
        self.list.begin()


class ArchivePage(Page):
    """Shows what its presenters say; tells them in plain words what the person did."""

    came_to_front = Signal()
    part_chosen = Signal(str)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = ElidedText("Archive of closed sessions", size_px=17, weight=fonts.SEMIBOLD)
        self.back = Button("Close", key="Esc")
        self.tabs = TabRow(PARTS, name="Parts of the archive", count_words=lambda _: "")
        self._said = MessageLine()
        self.find_part = FindPart()
        self.list, self.told = self.find_part.list, self.find_part.told
        self.parts: dict[str, Part] = {FIND: self.find_part}
        self.current = FIND
        self._room_px = 1280.0
        self._rows, self._head = QVBoxLayout(self), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self._head.addWidget(self.title, 1)
        self._head.addWidget(self.back)
        self._rows.addLayout(self._head)
        self._rows.addWidget(self.tabs)
        self._rows.addWidget(self._said)
        self._rows.addWidget(self.find_part, 1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._rows.setContentsMargins(gap, gap, gap + fonts.whole_px(4), gap)
        self._rows.setSpacing(fonts.whole_px(8))

    def fit_width(self, room_px: float) -> None:
        """Lay out for this width in drawn px."""
        self._room_px = room_px
        self.parts[self.current].fit(room_px - 36)

    def _connect(self) -> None:
        self.back.clicked.connect(self.left)
        self.tabs.chosen.connect(self._tab_chosen)
        add_page_keys(
            self,
            ("Ctrl+F", self._to_find, "Find"),
            (NEXT_KEY, self.list.next_asked, "Older sessions"),
            (PREVIOUS_KEY, self.list.previous_asked, "Newer sessions"),
            (COMEBACK_KEY, self.told.comeback_asked, "The chosen session came back: new job"),
            (OUTCOME_KEY, self.told.outcome_asked, "Say what became of the chosen one"),
            ("Ctrl+PgDown", self._next_part, "Next part"),
            ("Ctrl+PgUp", self._previous_part, "Part before"),
        )

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves."""
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    # -- parts -----------------------------------------------------------------------------

    def add_part(self, word: str, part: Part) -> None:
        """A part that was made at its first visit."""
        self.parts[word] = part
        part.hide()
        self._rows.addWidget(part, 1)

    def _tab_chosen(self, place: int) -> None:
        self.part_chosen.emit(PARTS[place])

    def _to_find(self) -> None:
        self.part_chosen.emit(FIND)
        self.list.begin()

    def _next_part(self) -> None:
        self.part_chosen.emit(PARTS[(PARTS.index(self.current) + 1) % len(PARTS)])

    def _previous_part(self) -> None:
        self.part_chosen.emit(PARTS[PARTS.index(self.current) - 1])

    def show_part(self, word: str) -> None:
        """One of the parts in front; the keyboard stays on the tabs where it is on one of them."""
        is_on_tabs = any(tab.hasFocus() for tab in self.tabs.tabs)
        self.current = word
        self.tabs.set_current(PARTS.index(word))
        for name, part in self.parts.items():
            part.setVisible(name == word)
        self.parts[word].fit(self._room_px - 36)
        self.say("")
        if not is_on_tabs:
            self.parts[word].begin()

    def begin(self) -> None:
        """The part in front has the keyboard."""
        self.parts[self.current].begin()
        self.came_to_front.emit()

    # -- what the presenters ask -----------------------------------------------------------

    def show_rows(self, rows: Sequence[FoundRow], *, chosen: str, about: str, has_next: bool) -> None:
        """The list."""
        self.list.show_rows(rows, chosen=chosen, about=about, has_next=has_next)

    def show_told(self, told: SessionTold | None, words: str = NOTHING, *, can_open: bool = False) -> None:
        """Everything about the chosen one; None for none in the archive, with words in its place."""
        self.told.show_told(told, words, can_open=can_open)

    def show_names(self, names: Names) -> None:
        """What can be chosen from."""
        self.list.show_names(names)

    def show_since_problem(self, words: str) -> None:
        """What is wrong with the day that was typed."""
        self.list.since.set_problem(words)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line above the part in front."""
        self._said.show_message(words, icon="problem" if is_problem else "note")
        self._said.setVisible(bool(words) or self.current == FIND)  # the other parts have a line of their own
        if words:
            announce(self, words)
