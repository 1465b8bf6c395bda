"""The overview of keys: made from the shortcuts that are really there."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

from PySide6.QtCore import Qt, SignalInstance
from PySide6.QtGui import QKeySequence, QShortcut
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.text import Text

EVERYWHERE: Final = "Everywhere"
ARCHIVE_KEYS: Final = "Ctrl+Shift+A"
HAND_KEYS: Final = "Ctrl+Shift+N"
"""Start from the part in hand: the card and the shortcut say the same."""


class Key(NamedTuple):
    """One key: where it works, how it is written, what it does."""

    where: str
    key: str
    words: str


Keys = str | QKeySequence.StandardKey
Act = Callable[[], object] | SignalInstance


def add_shortcut(owner: QWidget, keys: Keys, act: Act, words: str) -> QShortcut:
    """A shortcut that says what it does."""
    made = QShortcut(QKeySequence(keys), owner)
    made.setWhatsThis(words)
    made.activated.connect(act)
    return made


def add_page_keys(page: QWidget, *keys: tuple[Keys, Act, str]) -> None:
    """Shortcuts that work while the keyboard is on this page: key, what it does, in words."""
    for key, act, words in keys:
        add_shortcut(page, key, act, words).setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)


def taking_back(undo: Act, redo: Act) -> tuple[tuple[Keys, Act, str], ...]:
    """The two keys of a page that writes entries."""
    return (
        (QKeySequence.StandardKey.Undo, undo, "Take back the newest entry"),
        ("Ctrl+Y", redo, "Restore what was taken back"),
    )


def keys_of(where: str, owner: QWidget, *, below: Iterable[QWidget] = ()) -> list[Key]:
    """The shortcuts and key caps of a widget, without those of the pages named in `below`."""
    apart = tuple(below)
    found: dict[str, Key] = {}
    for shortcut in owner.findChildren(QShortcut):
        holder = shortcut.parent()
        if isinstance(holder, QWidget) and not any(page is holder or page.isAncestorOf(holder) for page in apart):
            key = shortcut.key().toString(QKeySequence.SequenceFormat.NativeText)
            words = shortcut.whatsThis()
            if words:
                found.setdefault(key, Key(where, key, words))
    for cap in owner.findChildren(KeyCap):
        if not any(page.isAncestorOf(cap) for page in apart):
            words, _, key = cap.accessibleName().rpartition(", key ")
            found.setdefault(key, Key(where, key, words))
    return list(found.values())


class KeysPage(AsidePage):
    """Every key, by the page it works on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.done = Button("Done", key="Esc", is_primary=True)
        self._page, self._cards, self._foot = QVBoxLayout(self), QVBoxLayout(), QHBoxLayout()
        self._grids: list[QGridLayout] = []
        self._page.addWidget(Text("Keys", size_px=24, weight=fonts.BOLD))
        self._page.addLayout(self._cards)
        self._foot.addStretch(1)
        self._foot.addWidget(self.done)
        self._page.addLayout(self._foot)
        self._page.addStretch(1)
        self.done.clicked.connect(self.left)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        side = fonts.whole_px(40)
        self._page.setContentsMargins(side, fonts.whole_px(32), side, fonts.whole_px(16))
        self._page.setSpacing(fonts.whole_px(12))
        self._cards.setSpacing(fonts.whole_px(16))
        for grid in self._grids:
            grid.setHorizontalSpacing(fonts.whole_px(24))
            grid.setVerticalSpacing(fonts.whole_px(8))

    def show_keys(self, keys: Sequence[Key]) -> None:
        """One card for each page."""
        while (item := self._cards.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.hide()
                widget.deleteLater()
        self._grids = []
        for where in dict.fromkeys(key.where for key in keys):
            self._cards.addWidget(self._card(where, [key for key in keys if key.where == where]))
        self.rescale()

    def _card(self, where: str, keys: Sequence[Key]) -> Card:
        card, grid = Card(where), QGridLayout()
        for row, key in enumerate(keys):
            grid.addWidget(Text(key.key, weight=fonts.SEMIBOLD), row, 0, Qt.AlignmentFlag.AlignTop)
            grid.addWidget(Text(key.words, wraps=True), row, 1)
        grid.setColumnMinimumWidth(0, fonts.whole_px(96))
        grid.setColumnStretch(1, 1)
        card.body.addLayout(grid)
        self._grids.append(grid)
        return card

    def begin(self) -> None:
        """The way back has the keyboard."""
        self.done.setFocus(Qt.FocusReason.OtherFocusReason)
