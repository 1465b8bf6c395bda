"""The page of the variant library: the list at the left, all about the chosen one at the right."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtWidgets import QFileDialog, QGridLayout, QVBoxLayout, QWidget

from valvebench.bench.library import Trouble
from valvebench.ui import fonts
from valvebench.ui.library.list_card import ListCard
from valvebench.ui.library.shown import Compared, LibraryRow, Told
from valvebench.ui.library.told_card import ToldCard
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.text import ElidedText

FILE_FILTER: Final = "Variant files (*.json)"
_NARROW_PX: Final = 1000
_ONE_ROW_PX: Final = 900
_FEW_IN_A_ROW: Final = 4
_TOLD_SHARE: Final = 0.44
"""Of the width, for what stands beside the list."""
_QUIET: Final = QFileDialog.Option.DontConfirmOverwrite
"""The library itself never goes over another file, so nobody is asked whether it may."""


class LibraryPage(Page):
    """Shows what the presenter says; tells it in plain words what the person did."""

    new_asked = Signal()
    file_chosen = Signal(object)
    job_asked = Signal()
    undo_asked = Signal()
    files_chosen = Signal(object)
    folder_chosen = Signal(object)
    export_chosen = Signal(object)
    export_all_chosen = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title = ElidedText("Variant library", size_px=17, weight=fonts.SEMIBOLD)
        self.buttons = {
            "new": Button("New", key="Ctrl+N"),
            "file": Button("Open file \u2026"),
            "job": Button("Variant of this job"),
            "import": Button("Import files \u2026"),
            "import_folder": Button("Import folder \u2026"),
            "export_all": Button("Export all \u2026"),
            "back": Button("Close"),
        }
        self.list, self.told = ListCard(), ToldCard()
        self._said = MessageLine(grows=False)
        self._grid, self._all, self._bar = QGridLayout(), QVBoxLayout(self), QGridLayout()
        self._is_narrow, self._in_a_row, self._has_job = False, len(self.buttons), False
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self._all.addWidget(self.title)
        self._all.addLayout(self._bar)
        self._all.addWidget(self._said)
        self._all.addLayout(self._grid, 1)
        self._place_buttons()
        self._place()
        self.buttons["job"].setParent(self)
        self.buttons["job"].hide()
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _place_buttons(self) -> None:
        shown = [button for name, button in self.buttons.items() if name != "job" or self._has_job]
        for button in self.buttons.values():
            self._bar.removeWidget(button)
        for place, button in enumerate(shown):
            self._bar.addWidget(button, *divmod(place, self._in_a_row), Qt.AlignmentFlag.AlignLeft)
        for column in range(len(self.buttons) + 1):
            self._bar.setColumnStretch(column, 1 if column == self._in_a_row else 0)

    def _place(self) -> None:
        """Side by side, or one below the other where the page is narrow."""
        for card in (self.list, self.told):
            self._grid.removeWidget(card)
        self._grid.addWidget(self.list, 0, 0)
        self._grid.addWidget(self.told, *((1, 0) if self._is_narrow else (0, 1)))
        share = round(100 * _TOLD_SHARE)
        self._grid.setColumnStretch(0, 100 - share)
        self._grid.setColumnStretch(1, 0 if self._is_narrow else share)

    def fit_width(self, room_px: float) -> None:
        """Lay out for this width in drawn px."""
        is_narrow = room_px < _NARROW_PX
        in_a_row = len(self.buttons) if room_px >= _ONE_ROW_PX else _FEW_IN_A_ROW
        if (is_narrow, in_a_row) != (self._is_narrow, self._in_a_row):
            self._is_narrow, self._in_a_row = is_narrow, in_a_row
            self._place_buttons()
            self._place()
        self.told.fit(room_px if is_narrow else room_px * _TOLD_SHARE)
        self._said.setFixedHeight(fonts.whole_px(40 if is_narrow else 20))

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._all.setContentsMargins(gap, gap, gap + fonts.whole_px(4), gap)
        self._all.setSpacing(fonts.whole_px(8))
        self._bar.setSpacing(fonts.whole_px(8))
        self._grid.setSpacing(gap)
        self._said.setFixedHeight(fonts.whole_px(40 if self._is_narrow else 20))

    def _connect(self) -> None:
        for name, act in (
            ("new", self.new_asked),
            ("file", self.ask_open),
            ("job", self.job_asked),
            ("import", self.ask_import),
            ("import_folder", self.ask_import_folder),
            ("export_all", self.ask_export_all),
            ("back", self.left),
        ):
            self.buttons[name].clicked.connect(act)
        self.told.compare_left.connect(self.begin)
        self._connect_keys()

    def _connect_keys(self) -> None:
        standard = QKeySequence.StandardKey
        add_page_keys(
            self,
            (standard.New, self.new_asked.emit, "New variant"),
            (standard.Open, self.ask_open, "Open a variant file from anywhere"),
            ("Ctrl+F", self.list.begin, "Search"),
            ("Ctrl+D", self.told.duplicate_asked.emit, "Duplicate"),
            ("F8", self.told.compare_asked.emit, "Compare with another variant"),
            ("F6", self.ask_import, "Import files"),
            ("Shift+F6", self.ask_import_folder, "Import a folder"),
            ("F7", self.told.export_asked.emit, "Export the variant"),
            ("Shift+F7", self.ask_export_all, "Export all of your own"),
            ("Ctrl+Del", self.told.remove_asked.emit, "Remove"),
            (standard.Undo, self.undo_asked.emit, "Bring back what was removed"),
            ("Ctrl+W", self.left.emit, "Close the library"),
        )

    # -- what the person does --------------------------------------------------------------

    def ask_open(self) -> None:
        """Ask which file from anywhere the editor is to open."""
        chosen, _ = QFileDialog.getOpenFileName(self, "Open a variant", "", FILE_FILTER)
        if chosen:
            self.file_chosen.emit(Path(chosen))

    def ask_import(self) -> None:
        """Ask which files to import."""
        chosen, _ = QFileDialog.getOpenFileNames(self, "Import variants", "", FILE_FILTER)
        if chosen:
            self.files_chosen.emit(tuple(Path(one) for one in chosen))

    def ask_import_folder(self) -> None:
        """Ask which folder to import."""
        chosen = QFileDialog.getExistingDirectory(self, "Import every variant of a folder")
        if chosen:
            self.folder_chosen.emit(Path(chosen))

    def ask_export(self, suggested: str) -> None:
        """Ask where the chosen one goes."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Export the variant", suggested, FILE_FILTER, options=_QUIET)
        if chosen:
            path = Path(chosen)
            self.export_chosen.emit(path if path.suffix else path.with_suffix(".json"))

    def ask_export_all(self) -> None:
        """Ask which folder all of one's own go to."""
        chosen = QFileDialog.getExistingDirectory(self, "Export all of your own variants")
        if chosen:
            self.export_all_chosen.emit(Path(chosen))

    def begin(self) -> None:
        """The search field has the keyboard."""
        self.list.begin()

    # -- what the presenter asks -----------------------------------------------------------

    def offer_job(self, words: str) -> None:
        """The way to the variant of the open job; empty for none."""
        self.buttons["job"].set_word(words or "Variant of this job")
        self._has_job = bool(words)
        self.buttons["job"].setVisible(self._has_job)
        self._place_buttons()

    def show_rows(self, rows: Sequence[LibraryRow], *, chosen: Path | None, of: int) -> None:
        """The list."""
        self.list.show_rows(rows, chosen=chosen, of=of)

    def show_told(self, title: str, about: str, lines: Sequence[Told]) -> None:
        """All about the chosen one."""
        self.told.show_told(title, about, lines)

    def show_refused(self, what: str, troubles: Sequence[Trouble]) -> None:
        """What was not imported or exported, and why."""
        self.told.show_refused(what, troubles)

    def show_others(self, others: Sequence[tuple[str, str]]) -> None:
        """What the chosen one can be compared with."""
        self.told.show_others(others)

    def show_compared(self, shown: Compared) -> None:
        """Two side by side."""
        self.told.show_compared(shown)

    def ask_remove(self, words: str) -> None:
        """Ask where the buttons stand."""
        self.told.ask_remove(words)

    def stop_asking(self) -> None:
        """The buttons again; the keyboard goes back to the list."""
        if self.told.stop_asking():
            self.begin()

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line above the list."""
        self._said.show_message(words, icon="problem" if is_problem else "note")

    def put_on_clipboard(self, text: str) -> None:
        """To be pasted into a letter."""
        QGuiApplication.clipboard().setText(text)
