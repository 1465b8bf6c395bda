"""The table of selector positions in the place of the readings, and the way into it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QItemSelectionModel, QObject, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QGridLayout, QWidget

from valvebench.model.words import SwitchState
from valvebench.ui import fonts
from valvebench.ui.codes.presenter import Cell
from valvebench.ui.codes.shown import CellShown, LineShown
from valvebench.ui.codes.table_model import CodesModel, columns_of
from valvebench.ui.pins.keys import CODES_KEY, LEVER_KEY
from valvebench.ui.pins.view import PinsPage
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.paint import set_tip
from valvebench.ui.widgets.rows_model import Index
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.text import ElidedText, Text

_TOLD_PX: Final = 80
"""Room for four lines: a wrong switch, what else it could be, what to do."""
CLOSED_KEY: Final = "+"
OPEN_KEY: Final = "-"
_STATE_OF_KEY: Final = {Qt.Key.Key_Plus: SwitchState.CLOSED, Qt.Key.Key_Minus: SwitchState.OPEN}


class CodesTable(Table):
    """One key a cell; arrows walk.  What is stated stands in every cell, beside the verdict of its row."""

    limits_in_cells = True
    answered = Signal(object)
    taken_back = Signal()
    undo_asked = Signal()
    moved = Signal(int, int)
    left = Signal()

    def __init__(self, switches: Sequence[str], parent: QWidget | None = None) -> None:
        super().__init__(columns_of(switches), name="Selector positions", parent=parent)
        self.lines = CodesModel(switches, self)
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setModel(self.lines)

    def minimumSizeHint(self) -> QSize:
        """A card of many switches is no wider than one of few."""
        return QSize(fonts.whole_px(240), super().minimumSizeHint().height())

    def go_to(self, cell: Cell) -> None:
        """Put the keyboard into a cell."""
        index = self.lines.index(cell.row, cell.column + 1)
        self.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)
        self.scrollTo(index)

    def currentChanged(self, current: Index, previous: Index) -> None:
        """Tell where the keyboard is; only cells of switches can be answered."""
        super().currentChanged(current, previous)
        if 0 < current.column() < self.lines.columnCount() - 1:
            self.moved.emit(current.row(), current.column() - 1)

    def event(self, event: QEvent) -> bool:
        """Escape and undo mean the table here, not the pair beside it."""
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            is_undo = event.matches(QKeySequence.StandardKey.Undo)
            if is_undo or event.key() in (Qt.Key.Key_Escape, *_STATE_OF_KEY):
                event.accept()
                return True
        return super().event(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Answer, take back, leave; other keys walk."""
        state = _STATE_OF_KEY.get(Qt.Key(event.key()))
        is_cell = 0 < self.currentIndex().column() < self.lines.columnCount() - 1
        if event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        elif event.matches(QKeySequence.StandardKey.Undo):
            self.undo_asked.emit()
        elif state is not None and is_cell:
            self.answered.emit(state)
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and is_cell:
            self.taken_back.emit()
        else:
            super().keyPressEvent(event)


class CodesCard(Card):
    """The table, and the key that leaves it."""

    def __init__(self, table: CodesTable, parent: QWidget | None = None) -> None:
        super().__init__("Selector positions", is_outdented=True, parent=parent)
        self.table = table
        self.out = KeyCap("Esc", "leave")
        self.head.addWidget(self.out)
        self.body.addWidget(table, 1)


class SteadyText(Text):
    """As high as there is room, whatever it says: a page that grows with its words moves under the hand."""

    def hasHeightForWidth(self) -> bool:
        """TRAP: a label that wraps says so anew with every text."""
        return False

    def sizeHint(self) -> QSize:
        """Its least height; more where there is room."""
        return QSize(super().sizeHint().width(), self.minimumHeight())


class CellCard(Card):
    """What to do in large words, what is known of the position, and the keys."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.setAccessibleName("Switch at hand")
        self.big = ElidedText(size_px=24, weight=fonts.BOLD)
        self.expect = ElidedText(size_px=15, muted=True)
        self.told = SteadyText(size_px=14, wraps=True)
        self.told.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.said = MessageLine(grows=False)
        self.caps = {
            SwitchState.CLOSED: KeyCap(CLOSED_KEY, "closed"),
            SwitchState.OPEN: KeyCap(OPEN_KEY, "open"),
        }
        self.back = KeyCap("Del", "take back")
        self._keys = QGridLayout()  # in two rows: a narrow window does not scroll sideways for them
        for column, cap in enumerate(self.caps.values()):
            self._keys.addWidget(cap, 0, column)
        self._keys.addWidget(self.back, 1, 0, 1, 2)
        self._keys.setColumnStretch(2, 1)
        self.body.addWidget(self.big)
        self.body.addWidget(self.expect)
        self.body.addLayout(self._keys)
        self.body.addWidget(self.told)
        self.body.addWidget(self.said)
        self.body.addStretch(1)
        fonts.zoom.changed.connect(self._place)
        self._place()

    def _place(self) -> None:
        self._keys.setHorizontalSpacing(fonts.whole_px(20))
        self._keys.setVerticalSpacing(fonts.whole_px(8))
        self.said.setFixedHeight(fonts.whole_px(20))
        self.told.setMinimumHeight(fonts.whole_px(_TOLD_PX))

    def show_cell(self, cell: CellShown) -> None:
        """The question of the cell with the keyboard."""
        self.big.setText(cell.big)
        self.expect.setText(cell.expect)
        self.told.setText(cell.told)
        set_tip(self.told, cell.told)


class CodesBoard(QObject):
    """Puts the card onto the Pins page and takes it off again."""

    asked = Signal()
    left = Signal()
    answered = Signal(object)
    taken_back = Signal()
    undo_asked = Signal()
    moved = Signal(int, int)

    def __init__(self, page: PinsPage) -> None:
        super().__init__(page)
        self.page = page
        self.card: CodesCard | None = None
        self.words = CellCard()
        self._before: tuple[QWidget | None, QWidget | None] = None, None
        self.way_in = KeyCap(CODES_KEY, "codes")
        page.readings_card.head.addWidget(self.way_in)
        page.aside.addWidget(self.words)
        self.way_in.clicked.connect(self.asked)
        add_page_keys(page, (CODES_KEY, self.asked, "Selector positions, switch by switch"))

    def show_table(self, switches: Sequence[str]) -> None:
        """The card in the place of the readings, the keyboard in its table."""
        if self.card is None:
            self.card = self._made(switches)
            self.page.left_cards.addWidget(self.card)
        shown = self.page.left_cards.currentWidget(), self.page.aside.currentWidget()
        if shown[0] is not self.card:
            self._before = shown
        self.page.left_cards.setCurrentWidget(self.card)
        self.page.aside.setCurrentWidget(self.words)
        self.card.table.setFocus(Qt.FocusReason.OtherFocusReason)

    def _made(self, switches: Sequence[str]) -> CodesCard:
        table = CodesTable(switches)
        card = CodesCard(table)
        table.answered.connect(self.answered)
        table.taken_back.connect(self.taken_back)
        table.undo_asked.connect(self.undo_asked)
        table.moved.connect(self.moved)
        table.left.connect(self.left)
        card.out.clicked.connect(self.left)
        self.words.back.clicked.connect(self.taken_back)
        self.words.caps[SwitchState.CLOSED].clicked.connect(self._closed)
        self.words.caps[SwitchState.OPEN].clicked.connect(self._open)
        return card

    def _closed(self) -> None:
        self.answered.emit(SwitchState.CLOSED)

    def _open(self) -> None:
        self.answered.emit(SwitchState.OPEN)

    def show_lines(self, lines: Sequence[LineShown], aside: str) -> None:
        """What was read; the keyboard stays where it is."""
        if self.card is None:
            return
        self.card.set_aside(aside)
        model = self.card.table.lines
        if model.rowCount() != len(lines):
            model.set_rows(lines)
            return
        for line in lines:
            if model.row(line.number) != line:
                model.put(line)

    def show_cell(self, cell: CellShown) -> None:
        """The question of the cell at hand."""
        self.words.show_cell(cell)

    def go_to(self, cell: Cell) -> None:
        """The keyboard into a cell."""
        if self.card is not None:
            self.card.table.go_to(cell)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One quiet line."""
        self.words.said.show_message(words, icon="problem" if is_problem else "note")

    def leave(self) -> None:
        """The readings, or the rounds, have their place again, and the field the keyboard."""
        before, self._before = self._before, (None, None)
        for stack, widget in zip((self.page.left_cards, self.page.aside), before, strict=True):
            if widget is not None and stack.indexOf(widget) >= 0:  # the rounds may have ended meanwhile
                stack.setCurrentWidget(widget)
        if self.page.left_cards.currentWidget() is self.card:
            self.page.left_cards.setCurrentWidget(self.page.readings_card)
        self.page.begin()


class LeverKey(QObject):
    """The key that says where the lever stands, above the readings."""

    turned = Signal(str)

    def __init__(self, page: PinsPage) -> None:
        super().__init__(page)
        self.page = page
        self.cap: KeyCap | None = None
        add_page_keys(page, (LEVER_KEY, self._turn, "Where the selector lever stands: next position"))

    def offer(self, words: Sequence[str]) -> None:
        """Put the key in its place, wide enough for everything it can say."""
        self.cap = KeyCap(LEVER_KEY, words[0], also=words[1:])
        self.page.readings_card.head.addWidget(self.cap)
        self.cap.clicked.connect(self._turn)

    def _turn(self) -> None:
        self.turned.emit(self.page.field.text())

    def show_lever(self, words: str) -> None:
        """Where it stands now."""
        if self.cap is not None:
            self.cap.set_word(words)
