"""The card that finishes a session: verdict, close, verify, workbook, report, pictures, head."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.export_card import ExportCard
from valvebench.ui.job.finish import CLOSE, CLOSE_NOW, HEAD_NOTE, head_words
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.text import Text

BUNDLE_TIP: Final = "The whole session as one file for sending, beside the workbook"
BUNDLE_KEY: Final = "Ctrl+Shift+B"


class FinishCard(ExportCard):
    """Says where the session stands and ends it."""

    close_asked = Signal()
    export_asked = Signal(str)
    report_asked = Signal(str)
    pictures_asked = Signal(str)
    bundle_asked = Signal(str)
    verify_asked = Signal()
    head_copied = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Finish", parent=parent)
        self.workbook = LineField("Workbook file")
        self.close_button, self.export_button, self.verify_button = (
            Button(CLOSE),
            Button("Export workbook"),
            Button("Verify"),
        )
        self.report_button, self.pictures_button = Button("Export PDF"), Button("Export pictures")
        self.bundle_button = Button("Export bundle")
        self.bundle_button.setToolTip(tip(BUNDLE_TIP))
        self.bundle_button.setAccessibleDescription(BUNDLE_TIP)
        self.head_line, self.copy_button = Text(size_px=14, tabular=True, wraps=True), Button("Copy the head")
        self._head_note = Text(HEAD_NOTE, size_px=13, muted=True, wraps=True)
        self._verdict = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self._missing = Text(size_px=14, muted=True, wraps=True)
        self._head_row = QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.body.addWidget(self._verdict)
        self.body.addWidget(self._missing)
        self.add_row(self.close_button, self.verify_button)
        self.body.addWidget(self.workbook)
        exports = (self.export_button, self.report_button, self.pictures_button, self.bundle_button)
        self.add_row(*exports[:2])
        self.add_row(*exports[2:])
        self.add_row(self.cancel_button, self.folder_button)
        self.set_writers(*exports)
        self._rows.append(self._head_row)
        self._head_row.addWidget(self.head_line, 1)
        self._head_row.addWidget(self.copy_button, 0, Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(self._head_row)
        self.body.addWidget(self._head_note)
        self.body.addWidget(self._said)
        for part in (self.head_line, self._head_note, self.copy_button):
            part.hide()
        self.rescale()

    def _connect(self) -> None:
        self.close_button.clicked.connect(self.close_asked)
        self.verify_button.clicked.connect(self.verify_asked)
        self.export_button.clicked.connect(self._export)
        self.report_button.clicked.connect(self._export_report)
        self.pictures_button.clicked.connect(self._export_pictures)
        self.bundle_button.clicked.connect(self._export_bundle)
        self.workbook.confirmed.connect(self._export)
        self.copy_button.clicked.connect(self.head_copied)

    def _export(self) -> None:
        self.export_asked.emit(self.workbook.text())

    def _export_report(self) -> None:
        self.report_asked.emit(self.workbook.text())

    def _export_pictures(self) -> None:
        self.pictures_asked.emit(self.workbook.text())

    def _export_bundle(self) -> None:
        self.bundle_asked.emit(self.workbook.text())

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

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line on what was done."""
        self._said.show_message(words, icon="problem" if is_problem else "ask" if CLOSE_NOW in words else "kept")
