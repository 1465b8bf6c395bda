"""The card of a closed session that hands it over: tag, e-mail, claim page."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QWidget

from valvebench.ui.job.export_card import ExportCard
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.text import Text


class HandCard(ExportCard):
    """Only a closed session has it."""

    tag_asked = Signal(str)
    claim_asked = Signal(str)
    mail_copied = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Hand over", parent=parent)
        self.tag_button, self.label_button = Button("Tag as PDF"), Button("Tag as picture")
        self.claim_button, self.claim_sheet_button = Button("Claim page as PDF"), Button("Claim page as workbook")
        self.mail_button = Button("Copy an e-mail")
        self._given = Text(size_px=14, wraps=True)
        self._build()
        self.tag_button.clicked.connect(self._tag)
        self.label_button.clicked.connect(self._label)
        self.claim_button.clicked.connect(self._claim)
        self.claim_sheet_button.clicked.connect(self._claim_sheet)
        self.mail_button.clicked.connect(self.mail_copied)

    def _build(self) -> None:
        self.body.addWidget(self._given)
        self.add_row(self.tag_button, self.label_button, self.mail_button)
        self.add_row(self.claim_button, self.claim_sheet_button)
        self.add_row(self.cancel_button, self.folder_button)
        self.set_writers(self.tag_button, self.label_button, self.claim_button, self.claim_sheet_button)
        self.body.addWidget(self._said)
        self.hide()
        self.rescale()

    def _tag(self) -> None:
        self.tag_asked.emit(".pdf")

    def _label(self) -> None:
        self.tag_asked.emit(".png")

    def _claim(self) -> None:
        self.claim_asked.emit(".pdf")

    def _claim_sheet(self) -> None:
        self.claim_asked.emit(".xlsx")

    # -- what the presenter asks -----------------------------------------------------------

    def show_open(self, *, is_open: bool) -> None:
        """Show the card, or keep it away before closing."""
        self.setVisible(is_open)

    def show_given(self, words: str) -> None:
        """How far outside the shop the head is known."""
        self._given.setText(words)
