"""The Flex page: the pair with its field, the readings drawn as they come, and what they say."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QBoxLayout, QFileDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.flex import FLEXED_PLACES
from valvebench.model.format import OHM
from valvebench.ui import fonts
from valvebench.ui.flex.shown import SAFE, PairShown, SeriesShown
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.aside_page import AsidePage
from valvebench.ui.widgets.big_field import DOWN, UP, BigField
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.plot_room import PlotRoom
from valvebench.ui.widgets.said_card import SaidCard
from valvebench.ui.widgets.text import Text

FILTER: Final = "Logs (*.csv *.txt *.tsv *.xlsx);;All files (*)"
FILE_KEY: Final = "F6"
_NARROW_PX: Final = 800
_PLOT_PX: Final = 200
_BOX: Final = QBoxLayout.Direction
_KEYS: Final = (
    ("keep", "Enter", "keep"),
    ("open", "*", "open (OL)"),
    ("again", "Down", "the same again"),
    ("back", "Up", "take back"),
    ("finish", "/", "done"),
    ("file", FILE_KEY, "logger's file"),
)


def ask_for_log(parent: QWidget) -> str:
    """The file a person chooses; empty for none."""
    return QFileDialog.getOpenFileName(parent, "Open a logger's file of the flex test", "", FILTER)[0]


class FlexPage(AsidePage):
    """Shows what the presenter says; tells it in plain words what the person did."""

    typed = Signal(str)
    kept = Signal(str)
    opened = Signal()
    again_asked = Signal()
    finished = Signal()
    flexed_chosen = Signal(str)
    file_named = Signal(str)
    undo_asked = Signal()
    redo_asked = Signal()
    gone = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.flexed = PickField("What is flexed", FLEXED_PLACES)
        self.field = BigField("Reading", unit=OHM)
        self.plot = PlotRoom(SeriesShown(), _PLOT_PX)
        self.ask_for_log = ask_for_log
        self._lead, self._pair = Text("Flex", size_px=15, muted=True), Text(size_px=40, weight=fonts.BOLD)
        self._what = Text(size_px=17, weight=fonts.SEMIBOLD)
        self._said = MessageLine()
        self._safety = MessageLine(SAFE, icon="electricity")
        self._caps = {name: KeyCap(key, word) for name, key, word in _KEYS}
        self.said_card = SaidCard("What they say")
        self._build()
        self._connect()
        self.show_series(SeriesShown())

    def _build(self) -> None:
        self.field.set_commands(["*", "/", UP, DOWN])
        self._pair.hold_width("30 and 30")
        card = Card()
        self._heads, names, self._keys = QHBoxLayout(), QVBoxLayout(), QGridLayout()
        names.setSpacing(0)
        names.addWidget(self._lead)
        names.addWidget(self._pair)
        self._heads.addLayout(names)
        self._heads.addWidget(self._what, 1, Qt.AlignmentFlag.AlignBottom)
        for place, cap in enumerate(self._caps.values()):
            self._keys.addWidget(cap, place // 3, place % 3, Qt.AlignmentFlag.AlignLeft)
        card.body.addLayout(self._heads)
        card.body.addWidget(self.flexed)
        card.body.addWidget(self.field)
        card.body.addLayout(self._keys)
        card.body.addWidget(self._said)
        card.body.addStretch(1)
        card.body.addWidget(self._safety)
        self._row, self._right = QHBoxLayout(self), QVBoxLayout()
        self._row.addWidget(card, 46)
        self._row.addLayout(self._right, 54)
        self._right.addWidget(self._plot_card(), 55)
        self._right.addWidget(self.said_card, 45)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _plot_card(self) -> Card:
        self.plot_card = Card("Reading after reading")
        self.plot_card.body.addWidget(self.plot, 1)
        words = "A cross at the top is open; a dashed line is where the readings jumped or stepped."
        self.plot_card.body.addWidget(Text(words, size_px=13, muted=True, wraps=True))
        return self.plot_card

    def _connect(self) -> None:
        self.field.text_edited.connect(self.typed)
        self.field.kept.connect(self.kept)
        self.field.command.connect(self._command)
        self.flexed.changed.connect(self._flexed)
        self.flexed.confirmed.connect(self.begin)
        caps = self._caps
        caps["keep"].clicked.connect(self._keep_clicked)
        caps["open"].clicked.connect(self.opened)
        caps["again"].clicked.connect(self.again_asked)
        caps["back"].clicked.connect(self.undo_asked)
        caps["finish"].clicked.connect(self.finished)
        caps["file"].clicked.connect(self._choose)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            (FILE_KEY, self._choose, "Open a logger's file of the flex test"),
        )

    def _command(self, key: str) -> None:
        asked = {"*": self.opened, "/": self.finished, UP: self.undo_asked, DOWN: self.again_asked}
        asked[key].emit()

    def _keep_clicked(self) -> None:
        self.kept.emit(self.field.text())

    def _flexed(self) -> None:
        self.flexed_chosen.emit(self.flexed.text())

    def _choose(self) -> None:
        if self.field.isEnabled() and (path := self.ask_for_log(self)):
            self.file_named.emit(path)

    def fit_width(self, room_px: float) -> None:
        """The cards beside each other, or one below the other where the room is narrow."""
        self._row.setDirection(_BOX.TopToBottom if room_px < _NARROW_PX else _BOX.LeftToRight)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._row.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for layout in (self._row, self._right):
            layout.setSpacing(gap)
        self._heads.setSpacing(fonts.whole_px(24))
        self._keys.setHorizontalSpacing(fonts.whole_px(12))
        self._keys.setVerticalSpacing(fonts.whole_px(8))
        self._pair.hold_width("30 and 30")

    # -- what the presenter asks -----------------------------------------------------------

    def show_pair(self, pair: PairShown) -> None:
        """The pair that is watched."""
        self._lead.setText(pair.lead)
        self._pair.setText(pair.big)
        self._what.setText(pair.what)
        self.field.set_name(f"Reading between {pair.big}, {pair.what}".removesuffix(", "))

    def show_flexed(self, words: str) -> None:
        """What is flexed."""
        self.flexed.set_text(words)

    def show_series(self, series: SeriesShown) -> None:
        """The readings so far and what they say."""
        self.plot.show_data(series, f"Readings drawn: {series.spoken}")
        self.plot_card.set_aside(series.count)
        self.said_card.show_said(series.verdict, series.headline, series.lines)

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """Say what is wrong, or ask, under the field."""
        self.field.set_error(words, icon="ask" if is_question else "problem")

    def set_field(self, text: str) -> None:
        """What stands in the field."""
        self.field.set_text(text)

    def set_enabled(self, *, is_enabled: bool) -> None:
        """Whether readings can be taken."""
        self.field.setEnabled(is_enabled)
        self.flexed.setEnabled(is_enabled)
        for name, cap in self._caps.items():
            cap.setEnabled(is_enabled or name == "finish")

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One quiet line below the keys."""
        self._said.show_message(words, icon="problem" if is_problem else "note")

    def let_draw(self) -> None:
        """What draws is there now."""
        from valvebench.ui.flex.plot import FlexDrawing

        self.plot.let_draw(FlexDrawing)

    def leave(self, words: str) -> None:
        """Back to Pins, with what is to be said there."""
        self.gone.emit(words)

    def begin(self) -> None:
        """The field has the keyboard."""
        self.field.setFocus(Qt.FocusReason.OtherFocusReason)
