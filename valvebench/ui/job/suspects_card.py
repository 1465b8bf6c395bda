"""The card of the complaint: the sentence with its blanks, what changes in that shift, what to test first."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from valvebench.diagnose.suspects_words import SAFETY
from valvebench.ui import fonts
from valvebench.ui.job.suspect_row import SuspectRow
from valvebench.ui.job.suspects_shown import FEW, TITLE, ComplaintShown, SuspectsShown
from valvebench.ui.start.kinds import FEELS, SHIFTS, WHENS
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pick import PickField
from valvebench.ui.widgets.text import Text

_TOP: Final = Qt.AlignmentFlag.AlignTop


class SuspectsCard(Card):
    """Shows what its presenter says; hidden where there is no complaint."""

    complaint_changed = Signal(str, str, str)
    complaint_typed = Signal(str, str, str)
    go_to = Signal(str, str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("The complaint", parent=parent)
        self.sentence = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.fields = {
            "shift": PickField("Which shift or event", SHIFTS),
            "when": PickField("When", WHENS),
            "feel": PickField("What it feels like", FEELS),
        }
        self.keep = Button("Correct it")
        self.said = MessageLine()
        self.heading = Text(TITLE, size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self.changes, self.rows = QVBoxLayout(), QVBoxLayout()
        self.more = Button("")
        self.elsewhere = MessageLine(icon="problem")
        self.small = Text(size_px=13, muted=True, wraps=True)
        self.safety = MessageLine(SAFETY, icon="hands")
        self._grid = QGridLayout()
        self._shown: SuspectsShown | None = None
        self._wanted = FEW
        self._said_lines: tuple[str, ...] = ()
        self.lines: list[SuspectRow] = []
        self._build()
        self._connect()
        self.hide()

    def _build(self) -> None:
        for place, field in enumerate(self.fields.values()):
            self._grid.addWidget(field, place // 2, place % 2, _TOP)
        self._grid.addWidget(self.keep, 1, 1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        for column in range(2):
            self._grid.setColumnStretch(column, 1)
        self.body.addWidget(self.sentence)
        self.body.addLayout(self._grid)
        self.body.addWidget(self.said)
        self.body.addWidget(self.heading)
        self.body.addLayout(self.changes)
        self.body.addSpacing(fonts.whole_px(4))
        self.body.addLayout(self.rows)
        self.body.addWidget(self.more, 0, Qt.AlignmentFlag.AlignLeft)
        for part in (self.elsewhere, self.small, self.safety):
            self.body.addWidget(part)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_grid"):
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(12))
            self.changes.setSpacing(fonts.whole_px(4))
            self.rows.setSpacing(fonts.whole_px(16))

    def _connect(self) -> None:
        for field in self.fields.values():
            field.confirmed.connect(self._tell)
            field.changed.connect(self._tell_change)
        self.keep.clicked.connect(self._tell)
        self.more.clicked.connect(self._show_more)

    def _words(self) -> tuple[str, str, str]:
        return (self.fields["shift"].text(), self.fields["when"].text(), self.fields["feel"].text())

    def _tell(self) -> None:
        self.complaint_typed.emit(*self._words())

    def _tell_change(self) -> None:
        self.complaint_changed.emit(*self._words())

    @property
    def is_whole(self) -> bool:
        """Whether every line stands there."""
        return self._shown is None or self._wanted >= len(self._shown.rows)

    def _show_more(self) -> None:
        """A few at a time, so that the window never stands still; after the last the first alone."""
        self._wanted = FEW if self.is_whole else self._wanted + FEW
        self._fill_rows()

    # -- what the presenter asks -----------------------------------------------------------

    def show_complaint(self, shown: ComplaintShown | None) -> None:
        """The complaint as it stands; None where there is none."""
        self.setVisible(shown is not None)
        if shown is None:
            return
        self.fields["shift"].set_words(shown.shifts)
        for name, field in self.fields.items():
            field.set_text(getattr(shown, name))
            field.setVisible(shown.is_open)
        self.keep.setVisible(shown.is_open)
        self.said.setVisible(shown.is_open)

    def show_sentence(self, words: str) -> None:
        """The complaint as a sentence."""
        self.sentence.setText(words)

    def show_busy(self, words: str) -> None:
        """Work is under way."""
        self._fill_lines((words,))

    def show_suspects(self, shown: SuspectsShown) -> None:
        """What changes, and the lines in their order; whoever stands on a line stays in its place."""
        self._shown = shown
        self._fill_lines(shown.changes)
        self._fill_rows()
        self.elsewhere.show_message(shown.elsewhere, icon="problem")
        self.elsewhere.setVisible(bool(shown.elsewhere))
        self.small.setText(" ".join(shown.small))
        self.small.setVisible(bool(shown.small))
        self.safety.setVisible(bool(shown.rows))

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """What became of the complaint."""
        self.said.show_message(words, icon="problem" if is_problem else "kept")

    def _fill_lines(self, lines: tuple[str, ...]) -> None:
        if lines == self._said_lines:
            return
        self._said_lines = lines
        _empty(self.changes)
        for line in lines:
            self.changes.addWidget(Text(line, size_px=14, wraps=True))

    def _fill_rows(self) -> None:
        """As many lines as are asked for; those that are there are filled again."""
        rows = self._shown.rows if self._shown is not None else ()
        count = min(self._wanted, len(rows))
        while len(self.lines) < count:
            line = SuspectRow()
            line.go_to.connect(self.go_to)
            self.lines.append(line)
            self.rows.addWidget(line)
        for line, row in zip(self.lines, rows, strict=False):
            line.show_row(row)
        for place, line in enumerate(self.lines):
            line.setVisible(place < count)
        left = len(rows) - count
        self.more.setVisible(len(rows) > FEW)
        self.more.set_word(f"Show {min(left, FEW)} more of {len(rows)}" if left else f"Show the first {FEW} only")


def _empty(layout: QVBoxLayout) -> None:
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
