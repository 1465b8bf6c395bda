"""The card of matched sets: each set on one ruler around its median."""

from __future__ import annotations

from PySide6.QtWidgets import QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.findings.matched import UNIT, SetShown, SetsShown
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text
from valvebench.ui.widgets.whiskers import WhiskerChart


class MatchedCard(Card):
    """Shows what its presenter says; hidden while there is no set."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Solenoids that ought to be equal", parent=parent)
        self._note = MessageLine(icon="note")
        self._parts: list[QWidget] = []
        self.body.addWidget(self._note)
        self.hide()

    def show_sets(self, shown: SetsShown) -> None:
        """Other sets."""
        for part in self._parts:
            self.body.removeWidget(part)
            part.hide()
            part.deleteLater()
        self._parts = [_SetPart(one) for one in shown.sets]
        for place, part in enumerate(self._parts):
            self.body.insertWidget(place, part)
        self._note.show_message(shown.note)
        self.setVisible(bool(shown.sets))


class _SetPart(QWidget):
    """One set at one temperature."""

    def __init__(self, shown: SetShown) -> None:
        super().__init__()
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, fonts.whole_px(12))
        rows.setSpacing(fonts.whole_px(4))
        chart = WhiskerChart()
        chart.show_rows(shown.whiskers, unit=UNIT, middle=shown.median_ohm)
        for part in (
            Text(shown.title, size_px=13, muted=True),
            Text(shown.sentence, size_px=17, weight=fonts.SEMIBOLD, wraps=True),
            chart,
            Text(shown.about, size_px=13, muted=True, wraps=True),
        ):
            rows.addWidget(part)
