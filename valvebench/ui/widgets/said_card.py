"""The card of what readings say together: mark and headline, the sentences below."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.text import Text

_TOP = Qt.AlignmentFlag.AlignTop


class SaidCard(Card):
    """Another headline with a verdict is read out."""

    def __init__(self, title: str, parent: QWidget | None = None) -> None:
        super().__init__(title, parent=parent)
        self._mark = MarkLabel(Verdict.NOT_TAKEN, size_px=24)
        self.headline = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self._lines = Text(size_px=14, wraps=True)
        self._lines.setAlignment(Qt.AlignmentFlag.AlignLeft | _TOP)
        heads = QHBoxLayout()
        heads.addWidget(self._mark, 0, _TOP)
        heads.addWidget(self.headline, 1)
        self.body.addLayout(heads)
        self.body.addWidget(self._lines, 1)

    def show_said(self, verdict: Verdict | None, headline: str, lines: Sequence[str]) -> None:
        """What they say now; no verdict where none was reached."""
        if headline != self.headline.text() and verdict is not None:
            announce(self, headline)
        self._mark.set_verdict(verdict or Verdict.NOT_TAKEN)
        self._mark.setAccessibleName(VERDICT_TEXT[verdict] if verdict is not None else "")
        self.headline.setText(headline)
        self.headline.setAccessibleName(headline)
        self._lines.setText("\n".join(lines))
