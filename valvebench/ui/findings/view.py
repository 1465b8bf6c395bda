"""The Findings page: the verdict as a sentence, its reasons, what is missing."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QHideEvent, QKeySequence, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.findings.compare_card import CompareCard
from valvebench.ui.findings.explain_card import ExplainCard
from valvebench.ui.findings.matched_card import MatchedCard
from valvebench.ui.findings.reason_card import ReasonCard
from valvebench.ui.findings.shown import (
    CAUTION,
    NOTHING_MISSING,
    PINS_PAGE,
    FindingsShown,
    ReasonShown,
)
from valvebench.ui.findings.table_model import COLUMNS, MissingModel
from valvebench.ui.pins.keys import NEXT_KEY
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import OUTDENT_PX, Card
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.table import ROW_PX, Table
from valvebench.ui.widgets.text import Text

_MOST_LINES: Final = 16
"""Lines of missing items that stand without scrolling."""
_NARROW_PX: Final = 600
"""Below it what is missing stands under the reasons."""

_TOP_RIGHT: Final = Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignRight


class FindingsPage(Page):
    """Shows what the presenter says; tells it in plain words what the person did."""

    go_to = Signal(str, str)
    copy_asked = Signal()
    came_to_front = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.mark = MarkLabel(size_px=48)
        self.sentence = Text(size_px=36, weight=fonts.BOLD, wraps=True)
        self._scope = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self._rule = Text(size_px=14, muted=True, wraps=True)
        self._said, self._more = MessageLine(), Text(size_px=14, muted=True, wraps=True)
        self.copy_button = Button("Copy as text", key="Ctrl+C")
        self.model = MissingModel(self)
        self.table = Table(COLUMNS, name="Still missing")
        self._nothing_missing = Text(NOTHING_MISSING, size_px=15)
        self.reason_cards: list[ReasonCard] = []
        self.explain_card, self.matched_card, self.compare_card = ExplainCard(), MatchedCard(), CompareCard()
        self._empty_words = Text(size_px=17, wraps=True)
        self.take_button = Button("Take readings", is_primary=True)
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self.table.setModel(self.model)
        whole, self._rows, self._columns = QWidget(), QVBoxLayout(), QHBoxLayout()
        self._left, self._right = QVBoxLayout(), QVBoxLayout()
        self._nothing_wrong = Card()
        self._nothing_words = Text(size_px=15, wraps=True)
        self._nothing_wrong.body.addWidget(self._nothing_words)
        whole.setLayout(self._rows)
        self._rows.addWidget(self._verdict_card())
        self._rows.addLayout(self._columns)
        self._rows.addWidget(self.matched_card)
        self._rows.addWidget(self.compare_card)
        self._rows.addStretch(1)
        self._left.addWidget(self._nothing_wrong)
        self._left.addWidget(self._more)
        self._left.addStretch(1)
        self._right.addWidget(self.explain_card)
        self._right.addWidget(self._missing_card())
        self._right.addStretch(1)
        self._columns.addLayout(self._left, 58)
        self._columns.addLayout(self._right, 42)
        # Not stacked: a stack asks for the room of the page that is hidden, and an empty one would scroll.
        pages = QVBoxLayout(self)
        pages.setContentsMargins(0, 0, 0, 0)
        self._both = (whole, self._empty_page())
        for page in self._both:
            pages.addWidget(page)
        self._turn_to(0)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _verdict_card(self) -> Card:
        card = Card()
        self._heads, words = QHBoxLayout(), QVBoxLayout()
        for part in (self.sentence, self._scope, self._rule):
            words.addWidget(part)
        words.addWidget(MessageLine(CAUTION, icon="note"))
        words.addWidget(self._said)
        self._heads.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        self._heads.addLayout(words, 1)
        self._head_and_button = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self._head_and_button.addLayout(self._heads, 1)
        self._head_and_button.addWidget(self.copy_button, 0, _TOP_RIGHT)
        card.body.addLayout(self._head_and_button)
        return card

    def _missing_card(self) -> Card:
        self.missing_card = Card("Still missing", is_outdented=True)
        self.missing_card.body.addWidget(self.table)
        self.missing_card.body.addWidget(self._nothing_missing)
        return self.missing_card

    def _empty_page(self) -> QWidget:
        page, self._empty = QWidget(), QVBoxLayout()
        page.setLayout(self._empty)
        card = Card("Findings")
        card.body.addWidget(self._empty_words)
        card.body.addWidget(self.take_button, 0, Qt.AlignmentFlag.AlignLeft)
        card.body.addWidget(MessageLine(CAUTION, icon="note"))
        self._empty.addWidget(card)
        self._empty.addStretch(1)
        return page

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        for layout in (self._rows, self._empty):
            layout.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for each in (
            self._rows,
            self._empty,
            self._columns,
            self._left,
            self._right,
            self._heads,
            self._head_and_button,
        ):
            each.setSpacing(gap)
        self._nothing_missing.setIndent(fonts.whole_px(OUTDENT_PX))
        self._fit_table()

    def fit_width(self, room_px: float) -> None:
        """Side by side, or one below the other where the page is narrow."""
        way = QBoxLayout.Direction
        for row in (self._columns, self._head_and_button):
            row.setDirection(way.TopToBottom if room_px < _NARROW_PX else way.LeftToRight)

    def _fit_table(self) -> None:
        """As high as its lines, up to a limit."""
        lines = min(self.model.rowCount(), _MOST_LINES) + 1
        self.table.setFixedHeight(fonts.whole_px(lines * ROW_PX) + fonts.whole_px(4))

    def _connect(self) -> None:
        self.copy_button.clicked.connect(self.copy_asked)
        self.table.activated.connect(self._missing_chosen)
        self.take_button.clicked.connect(self._take_readings)
        self.explain_card.step_gone.connect(self._begin_below)
        add_page_keys(
            self,
            (QKeySequence.StandardKey.Copy, self.copy_asked, "Copy the findings as text"),
            (NEXT_KEY, self.explain_card.acted, "The reading that tells most about what is wrong"),
        )

    def _missing_chosen(self, index: QModelIndex) -> None:
        row = self.model.row(index.row())
        self.go_to.emit(row.page, row.key)

    def _take_readings(self) -> None:
        self.go_to.emit(PINS_PAGE, "")

    def showEvent(self, event: QShowEvent) -> None:
        """Somebody looks."""
        super().showEvent(event)
        self.came_to_front.emit()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks any more."""
        super().hideEvent(event)
        self.left.emit()

    # -- what the presenter asks -----------------------------------------------------------

    def show_findings(self, findings: FindingsShown) -> None:
        """The whole page."""
        self._turn_to(0)
        self.mark.set_verdict(findings.verdict)
        self.sentence.setText(findings.sentence)
        self._scope.setText(findings.scope)
        self._rule.setText(f"Rule: {findings.rule}. {findings.state}")
        self._show_reasons(findings)
        self.model.set_rows(findings.missing)
        self.table.setVisible(bool(findings.missing))
        self._nothing_missing.setVisible(not findings.missing)
        self.missing_card.set_aside(str(len(findings.missing)) if findings.missing else "")
        self._fit_table()

    def _show_reasons(self, findings: FindingsShown) -> None:
        # What has not changed stays: each card that is shown lays the whole page out at once.
        known = {card.shown: card for card in self.reason_cards}
        self.reason_cards = [
            known.pop(reason) if reason in known else self._new_reason(reason) for reason in findings.reasons
        ]
        for card in known.values():
            self._left.removeWidget(card)
            card.hide()
            card.deleteLater()
        for place, card in enumerate(self.reason_cards):
            if self._left.indexOf(card) != place:
                self._left.insertWidget(place, card)
                if self.isVisible():  # before that it is shown with the page, and laid out once
                    card.show()
        has_doubt = findings.verdict is not Verdict.NOT_FINISHED or bool(findings.reasons)
        self._nothing_words.setText(findings.nothing)
        self._nothing_wrong.setVisible(not findings.reasons and has_doubt)
        self._more.setText(findings.more)
        self._more.setVisible(bool(findings.more))
        self._join_tab_chain()

    def _new_reason(self, reason: ReasonShown) -> ReasonCard:
        card = ReasonCard(reason)
        card.go_to.connect(self.go_to)
        return card

    def _join_tab_chain(self) -> None:
        """Cards made late stand between copying and the table in the order of Tab."""
        before: QWidget = self.copy_button
        for card in self.reason_cards:
            QWidget.setTabOrder(before, card.open_button)
            before = card.open_button
        for stop in (self.explain_card.action, self.table, *self.compare_card.tab_stops()):
            QWidget.setTabOrder(before, stop)
            before = stop

    def show_empty(self, words: str, *, is_waiting: bool = False) -> None:
        """Nothing to say yet, and why."""
        self._empty_words.setText(words)
        self.take_button.setVisible(not is_waiting)
        self._turn_to(1)

    def _turn_to(self, place: int) -> None:
        """One page in front."""
        for other in (1 - place, place):
            self._both[other].setVisible(other == place)

    def put_on_clipboard(self, text: str) -> None:
        """The page as text."""
        QGuiApplication.clipboard().setText(text)

    def say(self, words: str) -> None:
        """One quiet line."""
        self._said.show_message(words, icon="kept")
        self._said.setVisible(bool(words))
        if words:
            announce(self, words)

    def begin(self) -> None:
        """The next reading has the keyboard, else the list of what is missing, else what can be pressed."""
        is_empty = self._both[1].isVisibleTo(self)
        if is_empty:
            self.take_button.setFocus(Qt.FocusReason.OtherFocusReason)
        elif self.explain_card.action.isVisibleTo(self):
            self.explain_card.action.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self._begin_below()

    def _begin_below(self) -> None:
        """Where nothing is asked for the list of what is missing has the keyboard, else copying."""
        if self.model.rowCount():
            self.table.setFocus(Qt.FocusReason.OtherFocusReason)
            self.table.setCurrentIndex(self.model.index(0, 0))
        else:
            self.copy_button.setFocus(Qt.FocusReason.OtherFocusReason)
