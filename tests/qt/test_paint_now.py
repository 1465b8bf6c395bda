"""The Pins page paints a verdict on demand: all that waits for paint, and nothing else."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QWidget

from valvebench.model.words import Verdict
from valvebench.ui.pins.shown import ReadingShown
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.widgets.card import Card


class Paints(QObject):
    """Remembers which widgets were painted."""

    def __init__(self, *watched: QWidget) -> None:
        super().__init__()
        self.seen: list[QWidget] = []
        for widget in watched:
            widget.installEventFilter(self)

    def eventFilter(self, watched: QWidget, event: QEvent) -> bool:  # noqa: N802  Qt's name
        if event.type() == QEvent.Type.Paint:
            self.seen.append(watched)
        return False


def test_what_changed_is_painted_before_the_next_event_and_what_did_not_is_left(qtbot):
    page = PinsPage()
    qtbot.addWidget(page)
    page.resize(1280, 800)
    page.show()
    qtbot.waitExposed(page)
    qtbot.wait(50)
    paints = Paints(page.ruler, page.field.entry, page.table.viewport())
    page.ruler.set_reading(5.2, 0.1, Verdict.PASS)
    assert paints.seen == []
    page.paint_now()
    assert paints.seen == [page.ruler]


def test_a_reading_paints_no_card_anew(qtbot):
    """Ruler, value and sentence have a ground of their own, of the card's colour."""
    page = PinsPage()
    qtbot.addWidget(page)
    page.resize(1280, 800)
    page.show()
    qtbot.waitExposed(page)
    qtbot.wait(50)
    cards = Paints(*page.findChildren(Card))
    page.show_reading(
        ReadingShown(value=5.2, expanded=0.1, verdict=Verdict.PASS, value_text="5.20", sentence="Pass: inside")
    )
    page.paint_now()
    assert cards.seen == []
    page.field.set_text("5.2")
    page.paint_now()
    assert cards.seen != [], "what is no reading is painted on its card as ever"
