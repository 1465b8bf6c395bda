"""What a card needs that writes files beside the window: a way out while it waits, the folder afterwards, one line."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, QTimer, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.exports import no_folders
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine

_TICK_MS: Final = 1000


class ExportCard(Card):
    """A card with buttons that write files; the heir lays them out by `add_row` and names them in `writes`."""

    cancelled = Signal()
    ticked = Signal()
    folder_asked = Signal()

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self.cancel_button, self.folder_button = Button("Cancel the export"), Button("Show in folder")
        self.open_url = QDesktopServices.openUrl
        self._said = MessageLine()
        self._writes: tuple[Button, ...] = ()
        self._asked_by: Button | None = None
        self._rows: list[QHBoxLayout] = []
        self._clock = QTimer(self)
        self._clock.setInterval(_TICK_MS)
        for part in (self.cancel_button, self.folder_button):
            part.hide()
        self.cancel_button.clicked.connect(self.cancelled)
        self.folder_button.clicked.connect(self.folder_asked)
        self._clock.timeout.connect(self.ticked)

    def add_row(self, *buttons: Button) -> None:
        """Buttons beside each other, from the left."""
        row = QHBoxLayout()
        for button in buttons:
            row.addWidget(button)
        row.addStretch(1)
        self._rows.append(row)
        self.body.addLayout(row)

    def set_writers(self, *buttons: Button) -> None:
        """These begin an export; while one is under way none of them can be pressed."""
        self._writes = buttons

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        for row in getattr(self, "_rows", ()):
            row.setSpacing(fonts.whole_px(8))

    # -- what the presenter asks -----------------------------------------------------------

    def show_busy(self, *, is_busy: bool) -> None:
        """While an export is on its way there is a way out; the keyboard goes there and comes back."""
        if is_busy:
            self._asked_by = next((button for button in self._writes if button.hasFocus()), self._asked_by)
        had_keyboard = any(button.hasFocus() for button in (*self._writes, self.cancel_button))
        for button in self._writes:
            button.setEnabled(not is_busy)
        self.cancel_button.setVisible(is_busy)
        after = self.cancel_button if is_busy else self._asked_by or self._writes[0]
        if had_keyboard:
            after.setFocus(Qt.FocusReason.OtherFocusReason)
        if is_busy:
            self._clock.start()
        else:
            self._clock.stop()

    def show_written(self, path: Path | None) -> None:
        """Where it is that was written; None while there is nothing."""
        self.folder_button.setVisible(path is not None)

    def open_folder(self, folder: Path) -> bool:
        """Show it in the system's own window of files; whether it can be."""
        is_shown = self.open_url(QUrl.fromLocalFile(str(folder.absolute())))
        if not is_shown:
            self.say(no_folders(folder), is_problem=True)
        return is_shown

    def put_on_clipboard(self, text: str) -> None:
        """For pasting elsewhere."""
        QGuiApplication.clipboard().setText(text)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line on what was done."""
        self._said.show_message(words, icon="problem" if is_problem else "kept")

    def words(self) -> str:
        """What was said last."""
        return self._said.words()
