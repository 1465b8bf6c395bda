"""The Heat page: the runs, the one in front against time and temperature, and its card with three rulers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, QTimer, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QLineEdit, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.heat.plot_card import PlotCard
from valvebench.ui.heat.presenter import HEAT_SAFETY
from valvebench.ui.heat.run_card import RunCard
from valvebench.ui.heat.shown import CardShown, RunShown
from valvebench.ui.heat.table_model import COLUMNS, RunsModel
from valvebench.ui.heat.take_card import TakeCard
from valvebench.ui.pins.keys import BY_ROUNDS
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.entry_table import EntryTable
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.table import ROW_PX
from valvebench.ui.widgets.text import Text

if TYPE_CHECKING:
    from valvebench.ui.heat.loading import Plots

PINS_PAGE: Final = "Pins"
TAKE_KEYS: Final = "Ctrl+L"
TAKE_WORDS: Final = "Take in a logger's file"
ROUNDS_WORDS: Final = "Type rounds on Pins"
_NARROW_PX: Final = 900
_MOST_LINES: Final = 7
_TICK_MS: Final = 250


class HeatPage(Page):
    """Shows what the presenter says; tells it in plain words what the person did."""

    run_chosen = Signal(int)
    take_asked = Signal()
    undo_asked = Signal()
    redo_asked = Signal()
    withdrawn = Signal(int)
    go_to = Signal(str, str)
    came_to_front = Signal()
    left = Signal()
    ticked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.model = RunsModel(self)
        self.table = EntryTable(COLUMNS, name="Runs")
        self.plot_card, self.run_card, self.take_card = PlotCard(), RunCard(), TakeCard()
        self.take_button, self.more_button = (
            Button(TAKE_WORDS, key=TAKE_KEYS, is_primary=is_first) for is_first in (True, False)
        )
        self.rounds_button, self.also_rounds = Button(ROUNDS_WORDS), Button(ROUNDS_WORDS)
        self._ratios, self._empty_words = Text(size_px=13, wraps=True), Text(size_px=17, wraps=True)
        self._said, self._stop = MessageLine(icon="kept"), MessageLine(icon="electricity")
        self.pending, self.also_pending = (Text(size_px=13, wraps=True) for _ in range(2))
        self._is_empty = True
        self._is_taking = False
        self._ticker = QTimer(self)
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self.table.setModel(self.model)
        work, take = QWidget(), QWidget()
        self._columns, self._left, self._right = QHBoxLayout(work), QVBoxLayout(), QVBoxLayout()
        self._left.addWidget(self.plot_card)
        self._left.addStretch(1)
        self._safety = Card()
        self._safety.body.addWidget(MessageLine(HEAT_SAFETY, icon="heat"))
        for card in (self._runs_card(), self.run_card, self._ratios_card(), self._safety):
            self._right.addWidget(card)
        self._right.addStretch(1)
        self._columns.addLayout(self._left, 56)
        self._columns.addLayout(self._right, 44)
        self._take_rows = QVBoxLayout(take)
        self._take_rows.addWidget(self.take_card)
        self._take_rows.addStretch(1)
        # one below the other with two hidden: in a stack the highest page would make all of them scroll
        self._whole = QVBoxLayout(self)
        self._whole.setContentsMargins(0, 0, 0, 0)
        self._pages = (self._empty_page(), work, take)
        for page in self._pages:
            self._whole.addWidget(page)
        self._ticker.setInterval(_TICK_MS)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()
        self.show_pending(())
        self.show_stop("")
        self._turn()

    def _runs_card(self) -> Card:
        self.runs_card = Card("Runs", is_outdented=True)
        self._actions = QHBoxLayout()
        for button in (self.more_button, self.also_rounds):
            self._actions.addWidget(button)
        self._actions.addStretch(1)
        self.runs_card.body.addWidget(self.table)
        self.runs_card.body.addWidget(self.also_pending)
        self.runs_card.body.addWidget(self._said)
        self.runs_card.body.addLayout(self._actions)
        return self.runs_card

    def _ratios_card(self) -> Card:
        self.ratios_card = Card("Like devices at the same moments")
        self.ratios_card.body.addWidget(self._ratios)
        self.ratios_card.hide()
        return self.ratios_card

    def _empty_page(self) -> QWidget:
        page, self._empty, self._empty_buttons = QWidget(), QVBoxLayout(), QHBoxLayout()
        page.setLayout(self._empty)
        card = Card("Heat against copper")
        for button in (self.take_button, self.rounds_button):
            self._empty_buttons.addWidget(button)
        self._empty_buttons.addStretch(1)
        card.body.addWidget(self._empty_words)
        card.body.addWidget(self.pending)
        card.body.addLayout(self._empty_buttons)
        card.body.addWidget(self._stop)
        card.body.addWidget(MessageLine(HEAT_SAFETY, icon="heat"))
        self._empty.addWidget(card)
        self._empty.addStretch(1)
        return page

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        for layout in (self._columns, self._empty, self._take_rows):
            layout.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for each in (self._columns, self._left, self._right, self._empty, self._empty_buttons, self._actions):
            each.setSpacing(gap)
        self._fit_table()

    def fit_width(self, room_px: float) -> None:
        """Side by side, or the drawings below where the page is narrow."""
        way = QBoxLayout.Direction
        self._columns.setDirection(way.BottomToTop if room_px < _NARROW_PX else way.LeftToRight)

    def _fit_table(self) -> None:
        lines = min(max(self.model.rowCount(), 1), _MOST_LINES) + 1
        self.table.setFixedHeight(fonts.whole_px(lines * ROW_PX) + fonts.whole_px(4))

    def _connect(self) -> None:
        for button in (self.take_button, self.more_button):
            button.clicked.connect(self.take_asked)
        for button in (self.rounds_button, self.also_rounds):
            button.clicked.connect(self._to_pins)
        self.take_card.shown.connect(self._take_shown)
        self.table.selectionModel().currentRowChanged.connect(self._row_changed)
        self.table.withdrawn.connect(self.withdrawn)
        self.table.installEventFilter(self)
        self._ticker.timeout.connect(self.ticked)
        add_page_keys(
            self,
            (TAKE_KEYS, self.take_asked, TAKE_WORDS),
            *taking_back(self.undo_asked, self.redo_asked),
        )

    def _to_pins(self) -> None:
        self.go_to.emit(PINS_PAGE, BY_ROUNDS)

    def _row_changed(self, index: QModelIndex, _: QModelIndex) -> None:
        if index.isValid():
            self.run_chosen.emit(self.model.row(index.row()).number)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """In the list the arrows walk, and other keys move the drawing."""
        if watched is self.table and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self.plot_card.take_key(event)
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leaves the taking in; the keys of the drawing work wherever no text is typed."""
        is_typing = isinstance(self.focusWidget(), QLineEdit)
        if event.key() == Qt.Key.Key_Escape and self._is_taking:
            self.take_card.cancelled.emit()
        elif is_typing or self._is_taking or not self.plot_card.take_key(event):
            super().keyPressEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        """Somebody looks."""
        super().showEvent(event)
        self.came_to_front.emit()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks any more."""
        super().hideEvent(event)
        self._ticker.stop()
        self.left.emit()

    # -- what the presenter asks -----------------------------------------------------------

    def show_empty(self, words: str) -> None:
        """No run yet, and what the page is for."""
        self._empty_words.setText(words)
        self._is_empty = True
        self._turn()

    def offer_rounds(self, *, is_offered: bool) -> None:
        """Whether rounds can be typed on Pins."""
        for button in (self.rounds_button, self.also_rounds):
            button.setVisible(is_offered)

    def show_stop(self, words: str) -> None:
        """What forbids the work."""
        self._stop.show_message(words, icon="electricity")
        self._stop.setVisible(bool(words))

    def show_runs(self, rows: Sequence[RunShown], current: int) -> None:
        """The list, with the run in front."""
        self._is_empty = False
        self.table.selectionModel().blockSignals(True)
        self.model.set_rows(rows)
        place = next((place for place, row in enumerate(rows) if row.number == current), 0)
        self.table.setCurrentIndex(self.model.index(place, 0))
        self.table.selectionModel().blockSignals(False)
        self.runs_card.set_aside("1 run" if len(rows) == 1 else f"{len(rows)} runs")
        self._fit_table()
        self._turn()

    def show_card(self, card: CardShown) -> None:
        """The run in front."""
        self.run_card.show_card(card)

    def show_waiting(self, words: str, *, is_busy: bool = False) -> None:
        """What the drawing waits for, or why there is none."""
        self.plot_card.show_waiting(words)
        if not is_busy:
            self._ticker.stop()
        elif not self._ticker.isActive():
            self._ticker.start()

    def show_plots(self, plots: Plots, sentence: str) -> None:
        """The drawings of the run in front."""
        self._ticker.stop()
        self.plot_card.show_plots(plots, sentence)

    def show_ratios(self, lines: Sequence[str]) -> None:
        """Like devices compared."""
        self._ratios.setText("\n".join(lines))
        self.ratios_card.setVisible(bool(lines))

    def show_pending(self, lines: Sequence[str]) -> None:
        """Typed rounds that make no run yet, and why."""
        for words in (self.pending, self.also_pending):
            words.setText("\n".join(["Typed in rounds, and no run yet:", *lines]) if lines else "")
            words.setVisible(bool(lines))

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the runs."""
        self._said.show_message(words, icon="problem" if is_problem else "kept")
        if words:
            announce(self, words)

    def _take_shown(self, is_shown: bool) -> None:  # noqa: FBT001  a slot
        self._is_taking = is_shown
        self._turn()
        self.begin()

    def _turn(self) -> None:
        wanted = 2 if self._is_taking else 0 if self._is_empty else 1
        for place, page in enumerate(self._pages):
            page.setVisible(place == wanted)

    def begin(self) -> None:
        """The list of runs has the keyboard, or what fills the empty page, or the file that is taken in."""
        if self._is_taking:
            self.take_card.begin()
        else:
            target = self.take_button if self._is_empty else self.table
            target.setFocus(Qt.FocusReason.OtherFocusReason)
