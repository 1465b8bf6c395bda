"""The card of explanations: an answer in words with its odds, the next step, the readings that decide."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.findings.explain_shown import TITLE, ExplainShown, OtherShown, ToldShown
from valvebench.ui.pins.keys import NEXT_KEY
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.scroll import bring_into_sight
from valvebench.ui.widgets.text import Text

_TOP: Final = Qt.AlignmentFlag.AlignTop
_RIGHT: Final = Qt.AlignmentFlag.AlignRight
_HEADS: Final = ("Between", "Read", "Predicted", "By the next")
_TOLD: Final = ("Between", "Read", "Predicted", "Predicted by the next answer")


class ExplainCard(Card):
    """Shows what its presenter says; hidden while nothing was read."""

    acted = Signal()
    step_gone = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(TITLE, parent=parent)
        self.sentence = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.chance = Text(size_px=15, wraps=True)
        self.said, self.warning = MessageLine(), MessageLine()
        self.action = Button("", key=NEXT_KEY, is_primary=True)
        self.takes, self.ends = Text(size_px=13, muted=True, wraps=True), Text(size_px=14, wraps=True)
        self._about, self._told, self._others, self._small = _Section(), _Section(), _Section(), _Section()
        self._step = QVBoxLayout()
        self._build()
        self.action.clicked.connect(self.acted)
        self.is_busy = self._is_come_back = False
        self.hide()

    def _build(self) -> None:
        self._step.addWidget(self.action, 0, Qt.AlignmentFlag.AlignLeft)
        self._step.addWidget(self.takes)
        for label in (self.said, self.sentence, self.chance):
            self.body.addWidget(label)
        self.body.addLayout(self._about)
        self.body.addWidget(self.warning)
        self.body.addLayout(self._step)
        self.body.addWidget(self.ends)
        for section in (self._told, self._others, self._small):
            self.body.addLayout(section)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_step"):
            self._step.setSpacing(fonts.whole_px(4))
            for section in (self._about, self._told, self._others, self._small):
                section.rescale()

    # -- what the presenter asks -----------------------------------------------------------

    def show_answer(self, shown: ExplainShown) -> None:
        """An answer; whoever stands on its action stays there."""
        self.is_busy = False
        _say(self.said, "")
        _say(self.sentence, shown.sentence)
        _say(self.chance, _capital(", ".join(part for part in (shown.chance, shown.aside) if part)))
        _say(self.warning, shown.warning, icon="problem")
        self._about.fill([(_Words(words),) for words in shown.about])
        self._others.fill(_others_rows(shown.others_title, shown.others))
        self._told.fill(_told_rows(shown.told))
        self._small.fill([(_Words(words, size_px=13, is_muted=True),) for words in shown.small])
        _say(self.ends, shown.ends)
        self._show_action(shown.ask.word if shown.ask is not None else "", shown.ask.words if shown.ask else "")
        self.show()
        if self._is_come_back:
            self._is_come_back = False
            announce(self, f"{shown.sentence}. {shown.chance}")
            self.bring_into_sight()

    def show_busy(self, words: str, *, has_step: bool) -> None:
        """Work is under way: what stands here is not the newest."""
        self.is_busy = True
        if not (has_step and self.sentence.text()):
            _say(self.said, words, icon="clock")
        self._show_action(words if has_step else "", "")
        _say(self.ends, "")
        self.show()

    def show_words(self, words: str, *, action: str, is_problem: bool = False) -> None:
        """No answer, why, and what to do about it."""
        self._clear()
        _say(self.said, words, icon="problem" if is_problem else "note")
        self._show_action(action, "")
        self.show()

    def show_nothing(self) -> None:
        """Nothing was read: there is nothing to explain."""
        self._clear()
        self.hide()

    def _clear(self) -> None:
        self.is_busy = False
        for part in (self.said, self.sentence, self.chance, self.warning, self.ends):
            _say(part, "")
        for section in (self._about, self._told, self._others, self._small):
            section.fill([])

    def _show_action(self, word: str, takes: str) -> None:
        self.action.set_word(word)
        if not word and self.action.hasFocus():  # hidden it would hand the keyboard on, and the page would scroll there
            self.step_gone.emit()
        if self.action.isHidden() == bool(word):
            self.action.setVisible(bool(word))
        _say(self.takes, takes)

    # -- in sight --------------------------------------------------------------------------

    def begin(self) -> None:
        """Somebody comes back: the action has the keyboard, where there is one, and the answer stands on top."""
        self._is_come_back = self.is_busy
        if not self.action.isHidden():
            self.action.setFocus(Qt.FocusReason.OtherFocusReason)
        self.bring_into_sight()

    def bring_into_sight(self) -> None:
        """Scroll the page until the card stands on top, once everything is laid out."""
        bring_into_sight(self)


class _Words(NamedTuple):
    """One label: its words, how they look, and what is read out in their place."""

    words: str
    size_px: float = 14
    is_muted: bool = False
    is_strong: bool = False
    is_number: bool = False
    told: str = ""

    def label(self) -> Text:
        """A number stands at the right and is never broken."""
        made = Text(
            self.words,
            size_px=self.size_px,
            weight=fonts.SEMIBOLD if self.is_strong else fonts.REGULAR,
            muted=self.is_muted,
            tabular=self.is_number,
            wraps=not self.is_number,
        )
        if self.told:
            made.setAccessibleName(self.told)
        return made


_Row = tuple[_Words, ...]


class _Section(QVBoxLayout):
    """Rows of words that stand together; the first column takes the room there is.

    TRAP: each widget that is shown in a visible page lays the whole page out at once.  So the rows are made in a
    box of their own, which is shown once, and only when they differ.
    """

    def __init__(self) -> None:
        super().__init__()
        self._rows: tuple[_Row, ...] = ()
        self._box: QWidget | None = None
        self._grid: QGridLayout | None = None

    def fill(self, rows: Sequence[_Row]) -> None:
        """Other rows."""
        if tuple(rows) == self._rows:
            return
        if self._box is not None:
            self.removeWidget(self._box)
            self._box.hide()
            self._box.deleteLater()
        self._rows, self._box, self._grid = tuple(rows), None, None
        if rows:
            self._box, self._grid = QWidget(), QGridLayout()
            self._box.setLayout(self._grid)
            self._grid.setColumnStretch(0, 1)
            for place, row in enumerate(rows):
                for column, words in enumerate(row):
                    side = _RIGHT if column else Qt.AlignmentFlag(0)
                    self._grid.addWidget(words.label(), place, column, side | _TOP if column else side)
            self.rescale()
            self.addWidget(self._box)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        if self._grid is not None:
            self._grid.setContentsMargins(0, fonts.whole_px(4) if len(self._rows[0]) > 1 else 0, 0, 0)
            self._grid.setHorizontalSpacing(fonts.whole_px(16))
            self._grid.setVerticalSpacing(fonts.whole_px(4))


def _others_rows(title: str, others: Sequence[OtherShown]) -> list[_Row]:
    if not others:
        return []
    rows = [(_Words(one.words), _Words(one.chance, is_number=True)) for one in others]
    return [(_Words(title, size_px=13, is_muted=True), _Words("", is_number=True)), *rows]


def _told_rows(told: Sequence[ToldShown]) -> list[_Row]:
    if not told:
        return []
    heads = _HEADS if any(one.otherwise for one in told) else _HEADS[:-1]
    head = tuple(_Words(words, size_px=13, is_muted=True, is_number=place > 0) for place, words in enumerate(heads))
    return [head, *(_told_row(one, _TOLD[: len(heads)]) for one in told)]


def _told_row(one: ToldShown, heads: Sequence[str]) -> _Row:
    cells = zip(heads, (one.between, one.read, one.predicted, one.otherwise), strict=False)
    return tuple(
        _Words(words, is_strong=not place, is_number=place > 0, told=f"{head}: {words}")
        for place, (head, words) in enumerate(cells)
    )


def _say(part: Text | MessageLine, words: str, *, icon: str = "note") -> None:
    """Words, or no room for them."""
    if isinstance(part, MessageLine):
        part.show_message(words, icon=icon)
    else:
        part.setText(words)
    if part.isHidden() == bool(words):
        part.setVisible(bool(words))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
