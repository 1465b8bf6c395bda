"""The card of two bodies: choose the other session, then a sentence, a chart around nought and a table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.drop_target import DropTarget
from valvebench.ui.findings.compared_model import COLUMNS, ComparedModel
from valvebench.ui.findings.compared_shown import ComparedShown
from valvebench.ui.services import Listed
from valvebench.ui.start.drops import Dropped, Kind, as_path
from valvebench.ui.start.listing import Listing, Pressed, path_of
from valvebench.ui.start.open_card import MOST_SHOWN, ask_for_folder
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import bring_into_sight
from valvebench.ui.widgets.table import ROW_PX, Table
from valvebench.ui.widgets.text import Text
from valvebench.ui.widgets.whiskers import WhiskerChart

TITLE: Final = "Compare with another body"
PURPOSE: Final = (
    "Read two bodies with the same meter and leads within two hours: gain, leads and temperature cancel, "
    "and no limits are needed. Choose the other session here, or drop its folder on this card."
)
_MOST_LINES: Final = 20


class CompareCard(Card):
    """Shows what its presenter says; tells it in plain words what the person did."""

    chosen = Signal(object)
    again_asked = Signal()
    copy_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(TITLE, parent=parent)
        self.folder = LineField("Session folder of the other body", hint="a folder that holds journal.jsonl")
        self.ask_for_folder = ask_for_folder
        self.browse_button, self.compare_button = Button("Browse \u2026"), Button("Compare")
        self._recent_title = Text("Opened last", size_px=15, weight=fonts.SEMIBOLD)
        self.recent, self._said = Listing(), MessageLine()
        self.sentence = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.chart, self.model = WhiskerChart(), ComparedModel(self)
        self.table = Table(COLUMNS, name=TITLE)
        self._left_out = Text(size_px=13, muted=True, wraps=True)
        self.copy_button, self.again_button = Button("Copy the comparison"), Button("Choose another session")
        self.notes: list[MessageLine] = []
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self.table.setModel(self.model)
        self._choice, self._result = QWidget(), QWidget()
        self.body.addWidget(self._choice)
        self.body.addWidget(self._said)
        self.body.addWidget(self._result)
        self._build_choice()
        self._build_result()
        self._said.hide()
        self._recent_title.hide()
        self._result.hide()
        self.rescale()

    def _build_choice(self) -> None:
        rows, self._row = QVBoxLayout(self._choice), QHBoxLayout()
        rows.setContentsMargins(0, 0, 0, 0)
        self._row.addWidget(self.folder, 1)
        for button in (self.browse_button, self.compare_button):
            self._row.addWidget(button, 0, Qt.AlignmentFlag.AlignBottom)
        rows.addWidget(Text(PURPOSE, size_px=14, muted=True, wraps=True))
        rows.addLayout(self._row)
        rows.addWidget(self._recent_title)
        rows.addLayout(self.recent)

    def _build_result(self) -> None:
        rows, self._foot = QVBoxLayout(self._result), QHBoxLayout()
        rows.setContentsMargins(0, 0, 0, 0)
        self._note_rows = QVBoxLayout()
        for part in (self.sentence, self.chart, self._left_out, self.table):
            rows.addWidget(part)
        rows.addLayout(self._note_rows)
        self._foot.addWidget(self.copy_button)
        self._foot.addWidget(self.again_button)
        self._foot.addStretch(1)
        rows.addLayout(self._foot)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_foot"):
            for row in (self._row, self._foot):
                row.setSpacing(fonts.whole_px(8))
            self._note_rows.setSpacing(fonts.whole_px(4))
            self.recent.rescale()
            self._fit_table()

    def _fit_table(self) -> None:
        """As high as its lines, up to a limit."""
        lines = min(self.model.rowCount(), _MOST_LINES) + 1
        self.table.setFixedHeight(fonts.whole_px(lines * ROW_PX) + fonts.whole_px(4))

    def _connect(self) -> None:
        self.browse_button.clicked.connect(self._browse)
        self.compare_button.clicked.connect(self._ask)
        self.folder.confirmed.connect(self._ask)
        self.copy_button.clicked.connect(self.copy_asked)
        self.again_button.clicked.connect(self.again_asked)
        DropTarget(self).dropped.connect(self._dropped)

    def _browse(self) -> None:
        chosen = self.ask_for_folder(self, "Choose the session of the other body", self.folder.text())
        if chosen:
            self.folder.set_text(chosen)
            self._ask()

    def _ask(self) -> None:
        self.chosen.emit(as_path(self.folder.text()))

    def _recent_pressed(self) -> None:
        self.folder.set_text(str(path_of(self.sender())))
        self._ask()

    def _dropped(self, thing: Dropped) -> None:
        if thing.kind is Kind.SESSION:
            self.folder.set_text(str(thing.path))
            self.chosen.emit(thing.path)
        else:
            self.show_problem(thing.why or f"{Path(thing.path).name} is no session folder.")

    def tab_stops(self) -> list[QWidget]:
        """What Tab visits, in order."""
        choice: list[QWidget] = [self.folder.entry, self.browse_button, self.compare_button, *self.recent.buttons()]
        return [*choice, self.table, self.copy_button, self.again_button]

    # -- what the presenter asks -----------------------------------------------------------

    def show_recent(self, recent: Sequence[Listed]) -> None:
        """The sessions opened last, without the one at hand."""
        self._recent_title.setVisible(bool(recent))
        self.recent.show(recent[:MOST_SHOWN], Pressed(open=self._recent_pressed))

    def show_choice(self) -> None:
        """Nothing is compared; the place to name a session has the keyboard."""
        self._said.hide()
        self.set_aside("")
        self.folder.set_problem("")
        self._result.hide()
        self._choice.show()
        self.folder.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_busy(self, words: str) -> None:
        """Work is under way."""
        self.folder.set_problem("")
        self._tell(words, icon="clock")

    def show_problem(self, words: str) -> None:
        """What is wrong, beside the field it is about."""
        self._said.hide()
        self._result.hide()
        self._choice.show()
        self.folder.set_problem(words)
        announce(self, words)

    def show_comparison(self, shown: ComparedShown) -> None:
        """Sentence, chart, table and what does not cancel."""
        was_choosing = self._choice.isVisibleTo(self)
        self._said.hide()
        self.set_aside(f"with {shown.other}")
        self.sentence.setText(f"{shown.sentence}.")
        self.chart.show_rows(shown.whiskers, unit="difference, %", widest=shown.widest_percent)
        self.chart.setVisible(bool(shown.whiskers))
        self._left_out.setText(shown.left_out)
        self._left_out.setVisible(bool(shown.left_out))
        self.model.set_rows(shown.rows)
        self.table.setVisible(bool(shown.rows))
        self._show_notes(shown.notes)
        self._fit_table()
        self._result.show()
        if was_choosing:
            self._to_result(shown)
        self._choice.hide()

    def _to_result(self, shown: ComparedShown) -> None:
        """The keyboard goes from the choice, which is leaving, to what was found."""
        first = self.table if shown.rows else self.again_button
        first.setFocus(Qt.FocusReason.OtherFocusReason)
        bring_into_sight(self)
        if shown.rows:
            self.table.setCurrentIndex(self.model.index(0, 0))
        announce(self, f"{shown.sentence}.")

    def _show_notes(self, notes: Sequence[str]) -> None:
        for line in self.notes:
            self._note_rows.removeWidget(line)
            line.hide()
            line.deleteLater()
        self.notes = [MessageLine(words, icon="note") for words in notes]
        for line in self.notes:
            self._note_rows.addWidget(line)

    def put_on_clipboard(self, text: str) -> None:
        """The comparison as text."""
        QGuiApplication.clipboard().setText(text)

    def say(self, words: str) -> None:
        """One quiet line."""
        self._tell(words, icon="kept")
        announce(self, words)

    def _tell(self, words: str, *, icon: str) -> None:
        self._said.show_message(words, icon=icon)
        self._said.show()
