"""The Job page: what came in and was found, the bench set-up, the meter check, and how the session is finished."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QHideEvent
from PySide6.QtWidgets import QBoxLayout, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import LEAD_TEXT, TEMPERATURE_TEXT, LeadState
from valvebench.ui import fonts
from valvebench.ui.job.after_card import AfterCard
from valvebench.ui.job.capability import WayCount
from valvebench.ui.job.check_card import CheckCard
from valvebench.ui.job.finish_card import BUNDLE_KEY, FinishCard
from valvebench.ui.job.found_card import FoundCard
from valvebench.ui.job.hand_card import HandCard
from valvebench.ui.job.presenter import READ_TIPS, SetUpTyped
from valvebench.ui.job.suspects_card import SuspectsCard
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.text import Text

_NARROW_PX: Final = 840
"""Below this room the job stands under the set-up."""
_LEADS: Final = [(state.value, words[0].upper() + words[1:]) for state, words in LEAD_TEXT.items()]
_TEMPERATURES: Final = [(how.value, words[0].upper() + words[1:]) for how, words in TEMPERATURE_TEXT.items()]


class JobPage(Page):
    """Shows what the presenters say; tells them in plain words what the person did."""

    set_up_typed = Signal(object)
    to_pins = Signal()
    came_to_front = Signal()
    left = Signal()
    undo_asked = Signal()
    redo_asked = Signal()

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
        self.found, self.check, self.finish = FoundCard(), CheckCard(), FinishCard()
        self.suspects, self.hand, self.after = SuspectsCard(), HandCard(), AfterCard()
        self.close_button, self.export_button, self.verify_button, self.workbook = (
            self.finish.close_button,
            self.finish.export_button,
            self.finish.verify_button,
            self.finish.workbook,
        )
        self._is_celsius_anew = False
        self._capability = Text(size_px=14, wraps=True)
        self._job_grid, self._ways = QGridLayout(), QGridLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self._columns, self._left, self._right = QHBoxLayout(self), QVBoxLayout(), QVBoxLayout()
        self._job = self._job_card()
        for card in (self._job, self.suspects, self.found):
            self._left.addWidget(card)
        for card in (self._set_up_card(), self.check, self.finish, self.hand, self.after):
            self._right.addWidget(card)
        for column, share in ((self._left, 4), (self._right, 6)):
            column.addStretch(1)
            self._columns.addLayout(column, share)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _job_card(self) -> Card:
        card = Card("The job")
        card.body.addLayout(self._job_grid)
        self._job_grid.setColumnStretch(1, 1)
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
        card.body.addLayout(self._ways)
        self._ways.setColumnStretch(0, 1)
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
        for column in (self._left, self._right):
            column.setSpacing(gap)
        self._form.setHorizontalSpacing(gap)
        self._form.setVerticalSpacing(fonts.whole_px(12))
        self._ways.setVerticalSpacing(fonts.whole_px(4))
        self._job_grid.setHorizontalSpacing(gap)
        self._job_grid.setVerticalSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        for field in self.fields.values():
            field.confirmed.connect(self._confirmed)
        self.fields["celsius"].entry.textEdited.connect(self._celsius_edited)
        self.done.clicked.connect(self._confirmed)
        self.leads.chosen.connect(self._tell_set_up)
        self.temperature.chosen.connect(self._tell_set_up)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            (BUNDLE_KEY, self.finish.bundle_button.click, "Export the session as one file for sending"),
        )

    def typed_set_up(self) -> SetUpTyped:
        """The form as it stands."""
        texts = {name: field.text() for name, field in self.fields.items()}
        return SetUpTyped(
            leads=self.leads.word(),
            temperature=self.temperature.word(),
            is_celsius_anew=self._is_celsius_anew,
            **texts,
        )

    def _celsius_edited(self) -> None:
        self._is_celsius_anew = True

    def _tell_set_up(self) -> None:
        self.set_up_typed.emit(self.typed_set_up())

    def _confirmed(self) -> None:
        self._tell_set_up()
        self.to_pins.emit()

    # -- what the presenter asks -----------------------------------------------------------

    def show_job(self, title: str, lines: Sequence[tuple[str, str]]) -> None:
        """What came in, label and words."""
        self._job.set_title(title)
        _empty(self._job_grid)
        top = Qt.AlignmentFlag.AlignTop
        for place, (label, words) in enumerate(lines):
            self._job_grid.addWidget(Text(label, size_px=13, muted=True), place, 0, top)
            self._job_grid.addWidget(Text(words, size_px=15, wraps=True), place, 1, top)

    def show_set_up(self, typed: SetUpTyped) -> None:
        """Fill the form."""
        for name, field in self.fields.items():
            field.set_text(getattr(typed, name))
        self.leads.set_word(typed.leads)
        self.temperature.set_word(typed.temperature)
        self._is_celsius_anew = False

    def show_set_up_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong, beside each field; with nothing wrong the set-up is taken."""
        self._is_celsius_anew = self._is_celsius_anew and bool(problems)
        for name, field in self.fields.items():
            field.set_problem(problems.get(name, ""))

    def show_capability(self, words: str, ways: Sequence[WayCount]) -> None:
        """Whether this meter can decide, and what each cheap way would do to that."""
        self._capability.setText(words)
        _empty(self._ways)
        for place, way in enumerate(ways):
            self._ways.addWidget(Text(way.words, size_px=14), place, 0)
            self._ways.addWidget(Text(way.effect, size_px=13, muted=True), place, 1, Qt.AlignmentFlag.AlignRight)

    def set_open(self, *, is_open: bool) -> None:
        """A closed session takes no readings and no check."""
        self.done.setEnabled(is_open)
        self.check.set_open(is_open=is_open)

    def ask_for_tips(self) -> None:
        """The tips held together are asked for: the field of what the meter shows then has the keyboard."""
        self.leads.set_word(LeadState.SUBTRACT.value)
        field = self.fields["lead_ohm"]
        field.set_problem(READ_TIPS)
        field.entry.setFocus(Qt.FocusReason.OtherFocusReason)
        field.entry.selectAll()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks any more."""
        super().hideEvent(event)
        self.left.emit()

    def ask_for_fluid(self) -> None:
        """Fluid as found is asked for: its level has the keyboard."""
        self.found.fluid["level"].setFocus(Qt.FocusReason.OtherFocusReason)

    def begin(self) -> None:
        """The temperature has the keyboard: it changes most often."""
        field = self.fields["celsius"]
        field.entry.setFocus(Qt.FocusReason.OtherFocusReason)
        field.entry.selectAll()
        self.came_to_front.emit()


def _empty(grid: QGridLayout) -> None:
    """Take out every label."""
    while (item := grid.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
