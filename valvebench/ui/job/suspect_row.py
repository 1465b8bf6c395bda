"""One line of the card of suspects: what, where it stands, why, the test that comes next and the way to it."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.job.suspects_shown import SuspectShown
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.text import Text

_TOP: Final = Qt.AlignmentFlag.AlignTop


class SuspectRow(QWidget):
    """Filled again and again: a line that stays costs nothing."""

    go_to = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.shown: SuspectShown | None = None
        self.what = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self.strong, self.state = Text(size_px=13, weight=fonts.SEMIBOLD), Text(size_px=13, muted=True)
        self.why, self.test = Text(size_px=13, muted=True, wraps=True), Text(size_px=14, wraps=True)
        self.lead = Button("")
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setColumnStretch(0, 1)
        right = _TOP | Qt.AlignmentFlag.AlignRight
        self._grid.addWidget(self.what, 0, 0, _TOP)
        for state in (self.strong, self.state):
            self._grid.addWidget(state, 0, 1, right)
        self._grid.addWidget(self.why, 1, 0, 1, 2)
        self._grid.addWidget(self.test, 2, 0, _TOP)
        self._grid.addWidget(self.lead, 2, 1, right)
        self.lead.clicked.connect(self._go)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._grid.setVerticalSpacing(fonts.whole_px(4))
        self._grid.setHorizontalSpacing(fonts.whole_px(12))

    def show_row(self, shown: SuspectShown) -> None:
        """The line, unless it stands already."""
        if shown == self.shown:
            return
        self.shown = shown
        self.what.setText(f"{shown.number}. {shown.what}")
        self.strong.setText(shown.state if shown.stands_out else "")
        self.strong.setVisible(shown.stands_out)
        self.state.setText("" if shown.stands_out else shown.state)
        self.state.setVisible(not shown.stands_out)
        self.why.setText(shown.why)
        self.test.setText(f"Test: {shown.test}")
        self.lead.setVisible(bool(shown.page))
        if shown.page:
            self.lead.set_word(shown.lead)
            self.lead.setAccessibleName(f"{shown.lead}, to test: {shown.what}")

    def _go(self) -> None:
        if self.shown is not None:
            self.go_to.emit(self.shown.page, self.shown.key)
