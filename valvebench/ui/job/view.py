"""The Job page: what came in, the bench set-up, and how the session is finished."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import LEAD_TEXT, TEMPERATURE_TEXT
from valvebench.ui import fonts
from valvebench.ui.job.presenter import SetUpTyped
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.text import ElidedText, Text

_NARROW_PX: Final = 760
"""Below this room the job stands under the set-up."""
_LEADS: Final = [(state.value, words[0].upper() + words[1:]) for state, words in LEAD_TEXT.items()]
_TEMPERATURES: Final = [(how.value, words[0].upper() + words[1:]) for how, words in TEMPERATURE_TEXT.items()]


class JobPage(Page):
    """Shows what the presenter says; tells it in plain words what the person did."""

    set_up_typed = Signal(object)
    to_pins = Signal()
    close_asked = Signal()
    export_asked = Signal(object)
    verify_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.fields = {
            "meter": LineField("Meter accuracy on this range", hint="0.9%+2x0.1"),
            "meter_id": LineField("Which meter", hint="its name, if there are several"),
            "lead_ohm": LineField("Tips shorted, \u03a9", hint="only for tips taken off"),
            "range_ohm": LineField("Highest range, for open", hint="60 M"),
            "celsius": LineField("Coil temperature, \u00b0C", hint="23.4"),
        }
        self.leads = ChoiceField("Leads", _LEADS)
        self.temperature = ChoiceField("How it is known", _TEMPERATURES)
        self.done = Button("Take readings", key="Enter", is_primary=True)
        self.close_button = Button("Close the session")
        self.export_button = Button("Export workbook")
        self.verify_button = Button("Verify")
        self.workbook = LineField("Workbook file")
        self._capability = Text(size_px=14, wraps=True)
        self._verdict, self._missing = (
            Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True),
            Text(size_px=14, muted=True, wraps=True),
        )
        self._said = MessageLine()
        self._job_grid = QGridLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self._columns = QHBoxLayout(self)
        self._columns.addWidget(self._job_card(), 4)
        self._right = QVBoxLayout()
        self._right.addWidget(self._set_up_card())
        self._right.addWidget(self._finish_card())
        self._right.addStretch(1)
        self._columns.addLayout(self._right, 6)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _job_card(self) -> Card:
        card = Card("The job")
        card.body.addLayout(self._job_grid)
        card.body.addStretch(1)
        return card

    def _set_up_card(self) -> Card:
        card = Card("Bench set-up")
        self._form = QGridLayout()
        places = ("meter", "meter_id", "leads", "lead_ohm", "celsius", "temperature", "range_ohm")
        parts = {**self.fields, "leads": self.leads, "temperature": self.temperature}
        for place, name in enumerate(places):
            self._form.addWidget(parts[name], place // 2, place % 2, Qt.AlignmentFlag.AlignTop)
        self._form.addWidget(self.done, len(places) // 2, 1, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
        self._form.setColumnStretch(0, 1)
        self._form.setColumnStretch(1, 1)
        card.body.addLayout(self._form)
        card.body.addWidget(self._capability)
        return card

    def _finish_card(self) -> Card:
        card = Card("Finish")
        self._buttons = QHBoxLayout()
        for button in (self.close_button, self.export_button, self.verify_button):
            self._buttons.addWidget(button)
        self._buttons.addStretch(1)
        card.body.addWidget(self._verdict)
        card.body.addWidget(self._missing)
        card.body.addWidget(self.workbook)
        card.body.addLayout(self._buttons)
        card.body.addWidget(self._said)
        return card

    def fit_width(self, room_px: float) -> None:
        """Beside each other, or the job below the set-up where the room is narrow."""
        direction = QBoxLayout.Direction
        self._columns.setDirection(direction.BottomToTop if room_px < _NARROW_PX else direction.LeftToRight)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._columns.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        self._columns.setSpacing(gap)
        self._right.setSpacing(gap)
        self._form.setHorizontalSpacing(gap)
        self._form.setVerticalSpacing(fonts.whole_px(12))
        self._buttons.setSpacing(fonts.whole_px(8))
        self._job_grid.setHorizontalSpacing(gap)
        self._job_grid.setVerticalSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        for field in self.fields.values():
            field.confirmed.connect(self._confirmed)
        self.done.clicked.connect(self._confirmed)
        self.leads.chosen.connect(self._tell_set_up)
        self.temperature.chosen.connect(self._tell_set_up)
        self.close_button.clicked.connect(self.close_asked)
        self.verify_button.clicked.connect(self.verify_asked)
        self.export_button.clicked.connect(self._export)
        self.workbook.confirmed.connect(self._export)

    def typed_set_up(self) -> SetUpTyped:
        """The form as it stands."""
        texts = {name: field.text() for name, field in self.fields.items()}
        return SetUpTyped(leads=self.leads.word(), temperature=self.temperature.word(), **texts)

    def _tell_set_up(self) -> None:
        self.set_up_typed.emit(self.typed_set_up())

    def _confirmed(self) -> None:
        self._tell_set_up()
        self.to_pins.emit()

    def _export(self) -> None:
        self.export_asked.emit(Path(self.workbook.text()))

    # -- what the presenter asks -----------------------------------------------------------

    def show_job(self, lines: Sequence[tuple[str, str]]) -> None:
        """What came in, label and words."""
        while (item := self._job_grid.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        for place, (label, words) in enumerate(lines):
            self._job_grid.addWidget(Text(label, size_px=13, muted=True), place, 0)
            self._job_grid.addWidget(ElidedText(words, size_px=15), place, 1)
        self._job_grid.setColumnStretch(1, 1)

    def show_set_up(self, typed: SetUpTyped) -> None:
        """Fill the form."""
        for name, field in self.fields.items():
            field.set_text(getattr(typed, name))
        self.leads.set_word(typed.leads)
        self.temperature.set_word(typed.temperature)

    def show_set_up_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong, beside each field."""
        for name, field in self.fields.items():
            field.set_problem(problems.get(name, ""))

    def show_capability(self, words: str) -> None:
        """Whether this meter can decide."""
        self._capability.setText(words)

    def show_state(self, verdict_line: str, missing: str, *, is_closed: bool) -> None:
        """Where the session stands."""
        self._verdict.setText(verdict_line)
        self._missing.setText(missing)
        self.close_button.setEnabled(not is_closed)
        self.done.setEnabled(not is_closed)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line on what was done."""
        self._said.show_message(words, icon="problem" if is_problem else "kept")

    def begin(self) -> None:
        """The temperature has the keyboard: it changes most often."""
        field = self.fields["celsius"]
        field.entry.setFocus(Qt.FocusReason.OtherFocusReason)
        field.entry.selectAll()
