"""One item that failed or cannot be told, with its ruler and the first thing to do about it."""

from __future__ import annotations

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.model.words import VERDICT_TEXT
from valvebench.ui import fonts
from valvebench.ui.findings.shown import ReasonShown
from valvebench.ui.pins.reading_ruler import lay_on
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.text import ElidedText, Text


class ReasonCard(Card):
    """Mark and name, ruler, value with its limits, first reason and advice."""

    go_to = Signal(str, str)

    def __init__(self, shown: ReasonShown, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.shown = shown
        self.setAccessibleName(f"{VERDICT_TEXT[shown.verdict]}: {shown.what}")
        self.open_button = Button(f"Open on {shown.page}")
        self._heads = QHBoxLayout()
        self._heads.setSpacing(fonts.whole_px(12))
        self._heads.addWidget(MarkLabel(shown.verdict, size_px=24))
        self._heads.addWidget(ElidedText(shown.what, size_px=17, weight=fonts.SEMIBOLD), 1)
        self._heads.addWidget(self.open_button)
        self.body.addLayout(self._heads)
        self.body.addWidget(ElidedText(shown.where, size_px=13, muted=True))
        if shown.reading is not None:
            ruler = Ruler()
            lay_on(ruler, shown.reading)
            self.body.addWidget(ruler)
        self._add_words(shown)
        self.open_button.clicked.connect(self._go)

    def _add_words(self, shown: ReasonShown) -> None:
        value = shown.reading.value_text if shown.reading is not None else ""
        if value:
            self.body.addWidget(Text(value, size_px=17, weight=fonts.BOLD))
        if shown.limits:
            self.body.addWidget(Text(shown.limits, size_px=14, muted=True, wraps=True))
        for reason in shown.reasons:
            self.body.addWidget(Text(reason, size_px=14, wraps=True))
        if shown.advice:
            self.body.addWidget(MessageLine(shown.advice, icon="note"))

    def _go(self) -> None:
        self.go_to.emit(self.shown.page, self.shown.key)
