"""The Identify page: the feature to look at, chances beside it, points of both parts, looks, order sheet, a new job."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QHideEvent, QKeyEvent, QShowEvent
from PySide6.QtWidgets import QBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.identify.examples import ExampleShown
from valvebench.ui.identify.looks_model import COLUMNS, LooksModel
from valvebench.ui.identify.question_card import PHOTO_KEY, QuestionCard
from valvebench.ui.identify.shown import LookShown, PointShown, QuestionShown, VerdictShown
from valvebench.ui.identify.side_cards import ORDER_KEY, START_KEY, OrderCard, PhotoCard, StartCard
from valvebench.ui.identify.verdict_card import PointsCard, VerdictCard
from valvebench.ui.job.found_card import thumbnail
from valvebench.ui.shortcuts import add_page_keys, taking_back
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.entry_table import EntryTable
from valvebench.ui.widgets.scroll import Page, bring_into_sight

_NARROW_PX: Final = 760
_TABLE_PX: Final = 150
_BOX = QBoxLayout.Direction
_OTHER: Final = Qt.FocusReason.OtherFocusReason


class IdentifyPage(Page):
    """Shows what its presenters say; tells them in plain words what the person did."""

    answered = Signal(str)
    more_asked = Signal()
    seen_turned = Signal()
    part_turned = Signal()
    previous_asked = Signal()
    skip_asked = Signal()
    picture_typed = Signal(str)
    photo_named = Signal(object)
    order_asked = Signal()
    start_asked = Signal(object)
    undo_asked = Signal()
    redo_asked = Signal()
    withdrawn = Signal(int)
    go_to = Signal(str, str)
    came_to_front = Signal()
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.question, self.verdict, self.points = QuestionCard(), VerdictCard(), PointsCard()
        self.photo, self.order, self.start = PhotoCard(), OrderCard(), StartCard()
        self.model = LooksModel(self)
        self.table = EntryTable(COLUMNS, name="What was looked at")
        self.take_back = Button("Take back", key="Del")
        self._build()
        self._connect()

    def _build(self) -> None:
        self.table.setModel(self.model)
        self.looks = Card("What was looked at", is_outdented=True)
        self.looks.head.addWidget(self.take_back)
        self.looks.body.addWidget(self.table, 1)
        self._row, self._left, self._right = QBoxLayout(_BOX.LeftToRight, self), QVBoxLayout(), QVBoxLayout()
        for column, cards in (
            (self._left, (self.question, self.looks, self.photo)),
            (self._right, (self.verdict, self.points, self.order, self.start)),
        ):
            for card in cards:
                column.addWidget(card)
            column.addStretch(1)
            self._row.addLayout(column, 1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _connect(self) -> None:
        card = self.question
        for signal, handed_on in (
            (card.answered, self.answered),
            (card.more_asked, self.more_asked),
            (card.seen_turned, self.seen_turned),
            (card.part_turned, self.part_turned),
            (card.previous_asked, self.previous_asked),
            (card.skip_asked, self.skip_asked),
            (self.photo.picture_typed, self.picture_typed),
            (self.photo.photo_named, self.photo_named),
            (self.order.order_asked, self.order_asked),
            (self.start.start_asked, self.start_asked),
        ):
            signal.connect(handed_on)
        card.photo_asked.connect(self._to_photo)
        self.take_back.clicked.connect(self.table.withdraw_current)
        self.table.withdrawn.connect(self.withdrawn)
        self.table.installEventFilter(self)
        add_page_keys(
            self,
            *taking_back(self.undo_asked, self.redo_asked),
            (PHOTO_KEY, self._to_photo, "A photo of the feature that is asked"),
            (ORDER_KEY, self._ask_order, "Write the order sheet"),
            (START_KEY, self._to_start, "Start a job from what was seen"),
        )

    # -- what the person does --------------------------------------------------------------

    def _to_photo(self) -> None:
        self.photo.begin()
        bring_into_sight(self.photo)

    def _ask_order(self) -> None:
        """What becomes of it is said there."""
        self.order_asked.emit()
        bring_into_sight(self.order)

    def _to_start(self) -> None:
        self.start.begin()
        bring_into_sight(self.start)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape leads back to the question; keys that nothing else wanted answer it, those of a field never do."""
        if event.key() == Qt.Key.Key_Escape:
            self.begin()
            bring_into_sight(self.question)
            return
        if not self.question.take_from_page(self, event):
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """In the table the arrows walk; other keys answer the question there too."""
        if watched is self.table and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            return self.question.take_from_table(event)
        return super().eventFilter(watched, event)

    def showEvent(self, event: QShowEvent) -> None:
        """The page comes to the front: another page may have changed the session."""
        super().showEvent(event)
        self.came_to_front.emit()

    def hideEvent(self, event: QHideEvent) -> None:
        """Nobody looks any more."""
        super().hideEvent(event)
        self.left.emit()

    # -- layout ----------------------------------------------------------------------------

    def fit_width(self, room_px: float) -> None:
        """The columns beside each other, or one below the other where the room is narrow."""
        self._row.setDirection(_BOX.TopToBottom if room_px < _NARROW_PX else _BOX.LeftToRight)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._row.setContentsMargins(0, gap, gap + fonts.whole_px(4), gap)
        for layout in (self._row, self._left, self._right):
            layout.setSpacing(gap)
        self.table.setMinimumHeight(fonts.whole_px(_TABLE_PX))

    # -- what the presenter asks -----------------------------------------------------------

    def show_question(self, shown: QuestionShown) -> None:
        """The feature at hand."""
        self.question.show_question(shown)
        self.photo.set_title(f"Photo of {shown.feature}")

    def show_nothing(self, words: str) -> None:
        """Nothing is asked, and why."""
        self.question.show_nothing(words)

    def show_busy(self, *, is_busy: bool) -> None:
        """It is being worked out what comes next."""
        self.question.show_busy(is_busy=is_busy)
        self.verdict.set_aside("working it out \u2026" if is_busy else "")

    def show_how(self, seen: str, part: str) -> None:
        """How it is seen, and on which part."""
        self.question.show_how(seen, part)

    def show_verdict(self, shown: VerdictShown) -> None:
        """What was concluded."""
        self.verdict.show_verdict(shown)

    def show_points(self, title: str, points: Sequence[PointShown]) -> None:
        """Old and new part side by side."""
        self.points.show_points(title, points)

    def show_looks(self, looks: Sequence[LookShown]) -> None:
        """What was kept."""
        self.model.set_rows(looks)
        self.table.scrollToBottom()

    def show_picture(self, raw: bytes | None) -> None:
        """A photo of the feature at hand."""
        picture = thumbnail(raw, self.question.picture_px()) if raw is not None else None
        self.question.show_picture(picture if picture is not None and not picture.isNull() else None)

    def show_examples(self, examples: Sequence[ExampleShown]) -> None:
        """What the library shows of the feature at hand."""
        self.question.examples.show_examples(examples)

    def show_path(self, path: str) -> None:
        """A picture that was chosen or dropped; after it was kept the question has the keyboard."""
        self.photo.path.set_text(path)
        (self.photo.keep if path else self.question).setFocus(_OTHER)

    def set_open(self, *, is_open: bool) -> None:
        """Whether anything is added."""
        self.question.set_open(is_open=is_open)
        self.photo.set_open(is_open=is_open)
        self.take_back.setEnabled(is_open)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the keys."""
        self.question.say(words, is_problem=is_problem)

    def begin(self) -> None:
        """The question has the keyboard."""
        self.question.setFocus(_OTHER)
