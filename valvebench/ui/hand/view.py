"""The page of the walk: the connector as it becomes clear, the pair at hand, what was found, what is not clear."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.hand.naming import BodyAsked, PartAsked
from valvebench.ui.hand.naming_card import BodyCard, PartCard, SavedCard
from valvebench.ui.hand.question_card import QuestionCard
from valvebench.ui.hand.shown import FaceShown, FoundRow, QuestionShown
from valvebench.ui.hand.table_model import COLUMNS, FoundModel
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.face_links import Link
from valvebench.ui.widgets.pin_button import Standing
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.text import Text

_NARROW_PX: Final = 960
"""Below this room the cards stand under each other, the question first."""
_BOX: Final = QBoxLayout.Direction
_CONNECTOR: Final = "Connector"
_OTHER: Final = Qt.FocusReason.OtherFocusReason


class HandPage(Page):
    """Shows what the presenters say; tells them in plain words what the person did."""

    pin_chosen = Signal(str)
    undo_asked = Signal()
    redo_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.face = Face(_CONNECTOR)
        self.question, self.part, self.body, self.saved = QuestionCard(), PartCard(), BodyCard(), SavedCard()
        self.field = self.question.field
        self.model = FoundModel(self)
        self.table = Table(COLUMNS, name="Found so far")
        self.table.setModel(self.model)
        self._notes = Text(size_px=14, wraps=True)
        self._stack = QStackedWidget()
        self._build()
        self._connect()

    def _build(self) -> None:
        for card in (self.question, self.part, self.body, self.saved):
            self._stack.addWidget(card)
        face_card = Card()
        face_card.body.addWidget(self.face, 1)
        self.found_card = Card("Found so far", is_outdented=True)
        self.found_card.body.addWidget(self.table, 1)
        self.notes_card = Card("What the readings say")
        self._notes.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.notes_card.body.addWidget(self._notes, 1)
        self._rows, self._upper, self._lower = QVBoxLayout(self), QHBoxLayout(), QHBoxLayout()
        self._rows.addLayout(self._upper, 54)
        self._rows.addLayout(self._lower, 46)
        self._upper.addWidget(face_card, 46)
        self._upper.addWidget(self._stack, 54)
        self._lower.addWidget(self.found_card, 54)
        self._lower.addWidget(self.notes_card, 46)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def fit_width(self, room_px: float) -> None:
        """Two cards beside each other, or one below the other where the room is narrow."""
        is_narrow = room_px < _NARROW_PX
        self._upper.setDirection(_BOX.BottomToTop if is_narrow else _BOX.LeftToRight)
        self._lower.setDirection(_BOX.TopToBottom if is_narrow else _BOX.LeftToRight)
        self.question.fit(is_narrow=is_narrow)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._rows.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for row in (self._rows, self._upper, self._lower):
            row.setSpacing(gap)

    def _connect(self) -> None:
        self.face.pin_chosen.connect(self.pin_chosen)
        self.question.turn_asked.connect(self.face.turn_over)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            ("F2", self.question.set_up_asked, "Bench set-up"),
            ("F3", self.question.repeat_asked, "Read again what contradicts itself"),
            ("F4", self.question.names_asked, "Give names to what was found"),
        )

    # -- the walk --------------------------------------------------------------------------

    def show_question(self, question: QuestionShown) -> None:
        """Where the leads go."""
        self.question.show_question(question)
        self.face.drawing.set_pair(question.black, question.red)

    def show_echo(self, words: str) -> None:
        """How the typed text is understood."""
        self.question.show_echo(words)

    def show_face(self, face: FaceShown) -> None:
        """The connector as far as it is known."""
        drawing = self.face.drawing
        names = {name for name, _, _ in face.pins} | ({"case"} if face.has_case and face.pins else set())
        if names != set(drawing.names()):
            drawing.set_pins([PinSpot(name=name, x=x, y=y) for name, x, y in face.pins], has_case=face.has_case)
        standings = (
            dict.fromkeys(face.unsettled, Standing.UNSETTLED)
            | dict.fromkeys(face.commons, Standing.COMMON)
            | dict.fromkeys(face.unused, Standing.UNUSED)
        )
        drawing.set_links([Link(one.a, one.b, one.is_sure) for one in face.links], standings)
        for name in drawing.names():
            drawing.set_state(name, None, face.notes.get(name, ""))

    def show_found(self, rows: Sequence[FoundRow]) -> None:
        """The parts found so far."""
        self.model.set_rows(rows)

    def show_notes(self, lines: Sequence[str]) -> None:
        """What cannot be told, and what contradicts itself."""
        self._notes.setText("\n\n".join(lines))

    def show_count(self, words: str) -> None:
        """How far the walk is."""
        self.question.show_count(words)

    def show_repeat(self, words: str) -> None:
        """The reading in doubt."""
        self.question.show_repeat(words)

    def show_temperature(self, words: str) -> None:
        """What is assumed of the coils."""
        self.question.show_temperature(words)

    def show_problem(self, words: str, *, is_question: bool = False) -> None:
        """Say what is wrong, or ask, under the field."""
        self.field.set_error(words, icon="ask" if is_question else "problem")

    def set_field(self, text: str) -> None:
        """What stands in the field."""
        self.field.set_text(text)

    def set_enabled(self, is_enabled: bool) -> None:  # noqa: FBT001  a plain setter
        """Whether readings can be taken."""
        self.question.set_enabled(is_enabled=is_enabled)
        if is_enabled and self.isVisible() and self._stack.currentWidget() is self.question:
            self.field.setFocus(_OTHER)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """What the last reading settled, or what went wrong."""
        self.question.say(words, is_problem=is_problem)

    def show_saving(self, words: str) -> None:
        """That the variant is on its way to the disk."""
        self.body.show_saving(words)

    # -- the names -------------------------------------------------------------------------

    def show_part(self, part: PartAsked) -> None:
        """Ask for the name of one part."""
        self._turn_to(self.part, lambda: self.part.show_part(part))

    def show_body(self, body: BodyAsked) -> None:
        """Ask for the title of the whole."""
        self._turn_to(self.body, lambda: self.body.show_body(body))

    def show_saved(self, title: str, words: str) -> None:
        """It is saved: what can follow."""
        self._turn_to(self.saved, lambda: self.saved.show_saved(title, words))

    def show_walk(self) -> None:
        """Back to the pairs."""
        self._turn_to(self.question, lambda: self.field.setFocus(_OTHER))

    def _turn_to(self, card: QWidget, fill: Callable[[], None]) -> None:
        """Another card in front; it takes the keyboard before the old one goes, or the page would scroll elsewhere."""
        card.show()
        fill()
        self._stack.setCurrentWidget(card)

    def show_problem_at(self, field: str, words: str) -> None:
        """What is wrong, beside its field."""
        if field == "name":
            self.part.name.set_problem(words)
            self.part.begin()
        else:
            for name, each in self.body.fields.items():
                each.set_problem(words if name == field else "")
            self.body.fields[field].setFocus(_OTHER)

    def begin(self) -> None:
        """The place to answer has the keyboard."""
        card = self._stack.currentWidget()
        if isinstance(card, (PartCard, BodyCard, SavedCard)):
            card.begin()
        else:
            self.field.setFocus(_OTHER)
