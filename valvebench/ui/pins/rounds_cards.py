"""The two cards of a heat run in rounds, in the places of readings and plot, and the way into it."""

from __future__ import annotations

from typing import Any, Final

from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.pins.keys import ROUNDS_KEY
from valvebench.ui.pins.rounds_finds import FindLine, FindsShown
from valvebench.ui.pins.rounds_words import HERE, SHOWN_ROUNDS, BoardShown, LineShown, QuestionShown
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.rows_model import Index, JudgedRowsModel, RowsModel
from valvebench.ui.widgets.table import Column, Kind, Table
from valvebench.ui.widgets.text import TwoLineText

_SIDE_BY_SIDE_PX: Final = 1060
"""Rounds and finds are read side by side from here on: a sentence beside seven values."""
_NAME_PX: Final = 86
_VALUE_PX: Final = 53
_ROUND_COLUMNS: Final = (
    Column(kind=Kind.KEY),
    *(Column(kind=Kind.DOUBT, width_px=_VALUE_PX) for _ in range(SHOWN_ROUNDS)),
)
_FIND_COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=_NAME_PX),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.LIMITS, width_px=80),
    Column(kind=Kind.MARK, width_px=31),
)
_FIND_HEADS: Final = ("Winding", "Against copper", "Limits", "")


class RoundsModel(RowsModel[LineShown]):
    """Windings by rounds; the rounds have headings of their own."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(_padded(("Winding",)), lambda line: _padded((line.name, *line.cells)), lambda _: "", parent)

    def show_board(self, board: BoardShown) -> None:
        """Other rounds."""
        self._headers = _padded(("Winding", *board.heads))
        self.set_rows(board.lines)


def _padded(cells: tuple[str, ...]) -> tuple[str, ...]:
    return cells + ("",) * (len(_ROUND_COLUMNS) - len(cells))


class FindsModel(JudgedRowsModel[FindLine]):
    """What each winding says against copper."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(_FIND_HEADS, lambda line: (line.name, line.words, line.limits, ""), parent)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """A winding that says nothing yet has no mark."""
        if role == Qt.ItemDataRole.AccessibleTextRole and index.isValid() and self.row(index.row()).verdict is None:
            return None
        return super().data(index, role)


class RoundsCard(Card):
    """Windings by rounds, and the keys that lead on."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Rounds", is_outdented=True, parent=parent)
        self.model = RoundsModel(self)
        self.table = Table(_ROUND_COLUMNS, name="Rounds")
        self.table.setModel(self.model)
        self.cap = KeyCap(ROUNDS_KEY, "next temperature")
        self.head.addWidget(self.cap)
        self.body.addWidget(self.table, 1)

    def show_board(self, board: BoardShown) -> None:
        """Other rounds."""
        self.set_title(board.title)
        self.set_aside(board.aside)
        self.model.show_board(board)
        here = next((row for row, line in enumerate(board.lines) if HERE in line.cells), None)
        if here is not None:
            self.table.scrollTo(self.model.index(here, 0))


class FindsCard(Card):
    """What like windings say of each other, or what is missing; then each against copper."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("What the heat shows", is_outdented=True, parent=parent)
        self.headline = TwoLineText(size_px=14, weight=fonts.SEMIBOLD)
        self.headline.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.model = FindsModel(self)
        self.table = Table(_FIND_COLUMNS, name="Finds")
        self.table.setModel(self.model)
        self.cap = KeyCap("Esc", "leave")
        self.head.addWidget(self.cap)
        self._words = QHBoxLayout()
        self._words.addWidget(self.headline)
        self.body.addLayout(self._words)
        self.body.addWidget(self.table, 1)
        fonts.zoom.changed.connect(self._place)  # after the table, which gives its heads their height again
        self._place()

    def _place(self) -> None:
        out = fonts.whole_px(self._outdent_px)
        self._words.setContentsMargins(out, 0, out, 0)
        self.body.setSpacing(0)
        self.table.horizontalHeader().setFixedHeight(0)

    def show_finds(self, finds: FindsShown) -> None:
        """Other finds."""
        self.set_aside(finds.aside)
        self.headline.setText(finds.headline)
        self.model.set_rows(finds.lines)


class RoundsBoard(QObject):
    """Puts the cards of the rounds onto the Pins page and takes them off again."""

    rounds_asked = Signal()
    rounds_left = Signal()

    def __init__(self, page: PinsPage) -> None:
        super().__init__(page)
        self.page = page
        self._cards: tuple[RoundsCard, FindsCard] | None = None
        self.way_in = KeyCap(ROUNDS_KEY, "warm the body: rounds")
        page.plot_card.body.addWidget(self.way_in, 0, Qt.AlignmentFlag.AlignLeft)
        self.way_in.clicked.connect(self.rounds_asked)
        add_page_keys(page, (ROUNDS_KEY, self.rounds_asked, "Heat run in rounds: begin, or next temperature"))

    def show_question(self, question: QuestionShown) -> None:
        """A temperature is asked for."""
        self.page.show_question(question)

    def show_pair_keys(self) -> None:
        """The keys mean what they mean beside a pair."""
        self.page.show_pair_keys()

    def show_board(self, board: BoardShown | None) -> None:
        """The rounds in the place of the readings; None gives the places back."""
        if board is None:
            self._give_back()
            return
        rounds, _ = self.cards()
        rounds.show_board(board)

    def cards(self) -> tuple[RoundsCard, FindsCard]:
        """The two cards, in their places; while there are no rounds they need no room."""
        page = self.page
        if self._cards is None:
            self._cards = rounds, finds = RoundsCard(), FindsCard()
            page.left_cards.addWidget(rounds)
            page.aside.addWidget(finds)
            rounds.cap.clicked.connect(self.rounds_asked)
            finds.cap.clicked.connect(self.rounds_left)
            page.home = finds
            page.set_lower_px(_SIDE_BY_SIDE_PX)
            page.left_cards.setCurrentWidget(rounds)
            if page.aside.currentWidget() is page.plot_card:
                page.aside.setCurrentWidget(finds)
        return self._cards

    def _give_back(self) -> None:
        page, cards, self._cards = self.page, self._cards, None
        page.home = page.plot_card
        page.set_lower_px()
        for stack, card in zip((page.left_cards, page.aside), cards or (), strict=False):
            stack.removeWidget(card)
            card.hide()
            card.deleteLater()

    def show_finds(self, finds: FindsShown) -> None:
        """What the rounds say so far."""
        self.cards()[1].show_finds(finds)

    def show_what(self, words: str) -> None:
        """How the temperature is known."""
        self.page.show_what(words)

    def show_expect(self, words: str) -> None:
        """What is to be done."""
        self.page.show_expect(words)

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """What is wrong, or asked, right at the field."""
        self.page.show_problem(words, is_question=is_question)

    def set_field(self, text: str) -> None:
        """What stands in the field."""
        self.page.set_field(text)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One quiet line."""
        self.page.say(words, is_problem=is_problem)

    def turn_over(self) -> None:
        """The other side of the connector."""
        self.page.turn_over()
