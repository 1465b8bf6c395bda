"""The part where the archive is kept safe."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.archive.part import BusyPart
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.text import Text

BACKUP, RESTORE, TABLES = "backup", "restore", "tables"
_FILTER: Final = "Backups (*.sqlite);;All files (*)"
_NARROW_PX: Final = 900
_SAFE: Final = (
    "Everything in one file, photos and logs too. It is written while you work; an older one is replaced once the new "
    "one is whole."
)
_BACK: Final = "On a computer without an archive. The file is looked over first, and all is checked afterwards."
_CHECK: Final = "Reads every session and every file again and holds them against what was written down when they came."
_TABLES: Final = "Sessions, readings and what became of the parts as files for a spreadsheet, in a new folder."


class SafePart(BusyPart):
    """Four cards, each with what it does."""

    backup_asked = Signal(str)
    restore_asked = Signal(str)
    tables_asked = Signal(str)
    whole_check_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields = {
            BACKUP: LineField("Backup file", hint="on another disk, such as archive-backup.sqlite"),
            RESTORE: LineField("Backup to bring back", hint="the file of a backup"),
            TABLES: LineField("New folder for the tables"),
        }
        self.go = {
            BACKUP: Button("Write the backup", is_primary=True),
            RESTORE: Button("Bring it back"),
            TABLES: Button("Write the tables"),
        }
        self.browse = {name: Button("Browse \u2026") for name in self.fields}
        self.check = Button("Check everything")
        self._place = Text(size_px=14, muted=True, wraps=True)
        self.is_there = True
        self._rows, self._grid = QVBoxLayout(self), QGridLayout()
        self._button_rows: list[QHBoxLayout] = []
        self._build()
        self._connect()

    def _build(self) -> None:
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._cards = [
            self._card("Backup", _SAFE, BACKUP),
            self._card("Bring back", _BACK, RESTORE),
            self._card("Check", _CHECK, ""),
            self._card("Tables", _TABLES, TABLES),
        ]
        self._rows.addWidget(self._place)
        self._rows.addLayout(self.foot)
        self._rows.addLayout(self._grid)
        self._rows.addStretch(1)
        for name, button in self.browse.items():
            button.setAccessibleName(f"Browse for the {self.fields[name].entry.accessibleName().lower()}")
        self.set_starters(*self.go.values(), self.check)
        self._lay_out(across=2)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _card(self, title: str, words: str, name: str) -> Card:
        card, row = Card(title), QHBoxLayout()
        card.body.addWidget(Text(words, size_px=14, muted=True, wraps=True))
        if name:
            card.body.addWidget(self.fields[name])
            row.addWidget(self.browse[name])
        row.addStretch(1)
        row.addWidget(self.go[name] if name else self.check)
        card.body.addStretch(1)
        card.body.addLayout(row)
        self._button_rows.append(row)
        return card

    def _lay_out(self, *, across: int) -> None:
        for place, card in enumerate(self._cards):
            self._grid.addWidget(card, place // across, place % across)
        for column in range(2):
            self._grid.setColumnStretch(column, 1 if column < across else 0)

    def fit(self, room_px: float) -> None:
        """Two beside each other where there is room."""
        self._lay_out(across=1 if room_px < _NARROW_PX else 2)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(8))
        self._grid.setSpacing(fonts.whole_px(16))
        for row in self._button_rows:
            row.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        asked = {BACKUP: self.backup_asked, RESTORE: self.restore_asked, TABLES: self.tables_asked}
        for name, signal in asked.items():
            ask = self._asks(name, signal.emit)
            self.fields[name].confirmed.connect(ask)
            self.go[name].clicked.connect(ask)
            self.browse[name].clicked.connect(self._browses(name))
        self.check.clicked.connect(self.whole_check_asked)

    def _asks(self, name: str, tell: Callable[[str], None]) -> Callable[[], None]:
        return lambda: tell(self.fields[name].text())

    def _browses(self, name: str) -> Callable[[], None]:
        return lambda: self._browse(name)

    def _browse(self, name: str) -> None:
        folder = str(Path(self.fields[name].text()).parent)
        if name == BACKUP:
            chosen, _ = QFileDialog.getSaveFileName(self, "Write the backup as", folder, _FILTER)
        elif name == RESTORE:
            chosen, _ = QFileDialog.getOpenFileName(self, "Choose a backup", folder, _FILTER)
        else:
            chosen = QFileDialog.getExistingDirectory(self, "Choose where the folder of tables goes", folder)
            chosen = str(Path(chosen) / "archive-tables") if chosen else ""
        if chosen:
            self.fields[name].set_text(chosen)
            self.fields[name].setFocus(Qt.FocusReason.OtherFocusReason)

    def begin(self) -> None:
        """The backup has the keyboard; on an empty computer what brings one back."""
        self.fields[BACKUP if self.is_there else RESTORE].setFocus(Qt.FocusReason.OtherFocusReason)

    # -- what the presenter asks -----------------------------------------------------------

    def show_place(self, words: str, *, is_there: bool) -> None:
        """Where the archive lies, or would lie; on an empty computer the keyboard is where one is brought back."""
        self._place.setText(words)
        had_keyboard = self.fields[BACKUP].entry.hasFocus() and not self.fields[BACKUP].text()
        self.is_there = is_there
        if had_keyboard and not is_there:
            self.begin()

    def show_problem(self, field: str, words: str) -> None:
        """What is wrong, beside its field."""
        self.fields[field].set_problem(words)

    def brought_back(self) -> None:
        """It is done: the name of the backup is no longer needed."""
        self.fields[RESTORE].set_text("")
