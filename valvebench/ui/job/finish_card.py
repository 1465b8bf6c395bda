"""The card that finishes a session: verdict, close, verify, workbook, pictures, head."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, QTimer, QUrl, Signal
from PySide6.QtGui import QDesktopServices, QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.exports import no_folders
from valvebench.ui.job.finish import CLOSE, CLOSE_NOW, HEAD_NOTE, head_words
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

_TICK_MS: Final = 1000


class FinishCard(Card):
    """Says where the session stands and ends it."""

    close_asked = Signal()
    export_asked = Signal(str)
    pictures_asked = Signal(str)
    cancelled = Signal()
    ticked = Signal()
    verify_asked = Signal()
    folder_asked = Signal()
    head_copied = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Finish", parent=parent)
        self.workbook = LineField("Workbook file")
        self.close_button, self.export_button, self.verify_button = (
            Button(CLOSE),
            Button("Export workbook"),
            Button("Verify"),
        )
        self.pictures_button = Button("Export pictures")
        self.cancel_button, self.folder_button = Button("Cancel the export"), Button("Show in folder")
        self.head_line, self.copy_button = Text(size_px=14, tabular=True, wraps=True), Button("Copy the head")
        self._head_note = Text(HEAD_NOTE, size_px=13, muted=True, wraps=True)
        self.open_url = QDesktopServices.openUrl
        self._asked_by = self.export_button
        self._verdict = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self._missing = Text(size_px=14, muted=True, wraps=True)
        self._said = MessageLine()
        self._clock = QTimer(self)
        self._clock.setInterval(_TICK_MS)
        self._buttons, self._exports, self._more, self._head_row = (QHBoxLayout() for _ in range(4))
        self._build()
        self._connect()

    def _build(self) -> None:
        self.body.addWidget(self._verdict)
        self.body.addWidget(self._missing)
        self._add_row(self._buttons, self.close_button, self.verify_button)
        self.body.addWidget(self.workbook)
        self._add_row(self._exports, self.export_button, self.pictures_button)
        self._add_row(self._more, self.cancel_button, self.folder_button)
        self._head_row.addWidget(self.head_line, 1)
        self._head_row.addWidget(self.copy_button, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(self._head_row)
        self.body.addWidget(self._head_note)
        self.body.addWidget(self._said)
        for part in (self.cancel_button, self.folder_button, self.head_line, self._head_note, self.copy_button):
            part.hide()
        self.rescale()

    def _add_row(self, row: QHBoxLayout, *buttons: Button) -> None:
        for button in buttons:
            row.addWidget(button)
        row.addStretch(1)
        self.body.addLayout(row)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_head_row"):
            for row in (self._buttons, self._exports, self._more, self._head_row):
                row.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        self.close_button.clicked.connect(self.close_asked)
        self.verify_button.clicked.connect(self.verify_asked)
        self.export_button.clicked.connect(self._export)
        self.pictures_button.clicked.connect(self._export_pictures)
        self.workbook.confirmed.connect(self._export)
        self.cancel_button.clicked.connect(self.cancelled)
        self.folder_button.clicked.connect(self.folder_asked)
        self.copy_button.clicked.connect(self.head_copied)
        self._clock.timeout.connect(self.ticked)

    def _export(self) -> None:
        self.export_asked.emit(self.workbook.text())

    def _export_pictures(self) -> None:
        self.pictures_asked.emit(self.workbook.text())

    # -- what the presenter asks -----------------------------------------------------------

    def show_state(self, verdict_line: str, missing: str, *, is_closed: bool) -> None:
        """Where the session stands."""
        self._verdict.setText(verdict_line)
        self._missing.setText(missing)
        if is_closed and self.close_button.hasFocus():
            self.export_button.setFocus(Qt.FocusReason.OtherFocusReason)  # what comes next
        self.close_button.setEnabled(not is_closed)

    def show_close(self, words: str) -> None:
        """What the button that closes says now."""
        self.close_button.set_word(words)

    def show_head(self, head: str) -> None:
        """The head, to be written down or copied."""
        self.head_line.setText(head_words(head))
        for part in (self.head_line, self._head_note, self.copy_button):
            part.show()

    def show_busy(self, *, is_busy: bool) -> None:
        """While an export is on its way there is a way out; the keyboard goes there and comes back."""
        exports = (self.export_button, self.pictures_button)
        if is_busy:
            self._asked_by = next((button for button in exports if button.hasFocus()), self._asked_by)
        had_keyboard = any(button.hasFocus() for button in (*exports, self.cancel_button))
        for button in exports:
            button.setEnabled(not is_busy)
        self.cancel_button.setVisible(is_busy)
        if had_keyboard:
            after = self.cancel_button if is_busy else self._asked_by
            after.setFocus(Qt.FocusReason.OtherFocusReason)
        if is_busy:
            self._clock.start()
        else:
            self._clock.stop()

    def show_written(self, path: Path | None) -> None:
        """Where workbook or pictures are; None while there are none."""
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
        self._said.show_message(words, icon="problem" if is_problem else "ask" if CLOSE_NOW in words else "kept")

    def words(self) -> str:
        """What was said last."""
        return self._said.words()
