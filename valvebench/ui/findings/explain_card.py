"""The card of explanations: an answer in words with its odds, the next step, the readings that decide."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLayout, QScrollArea, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.findings.explain_shown import TITLE, ExplainShown, OtherShown, ToldShown
from valvebench.ui.pins.keys import NEXT_KEY
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.text import Text

_TOP: Final = Qt.AlignmentFlag.AlignTop
_RIGHT: Final = Qt.AlignmentFlag.AlignRight
_HEADS: Final = ("Between", "Read", "This predicts", "The next predicts")


class ExplainCard(Card):
    """Shows what its presenter says; hidden while nothing was read."""

    acted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(TITLE, parent=parent)
        self.sentence = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.chance = Text(size_px=15, wraps=True)
        self.said, self.warning = MessageLine(), MessageLine()
        self.action = Button("", key=NEXT_KEY, is_primary=True)
        self.takes, self.ends = Text(size_px=13, muted=True, wraps=True), Text(size_px=14, wraps=True)
        self._about, self._others, self._told, self._small = QVBoxLayout(), QGridLayout(), QGridLayout(), QVBoxLayout()
        self._step = QHBoxLayout()
        self._build()
        self.action.clicked.connect(self.acted)
        self.hide()

    def _build(self) -> None:
        self._step.addWidget(self.action, 0, _TOP)
        self._step.addWidget(self.takes, 1)
        self._others.setColumnStretch(0, 1)
        self._told.setColumnStretch(0, 1)
        for part in (self.said, self.sentence, self.chance, self._about, self.warning, self._step, self.ends):
            self._put(part)
        for grid in (self._told, self._others):
            self._put(grid)
        self._put(self._small)
        self.rescale()

    def _put(self, part: QWidget | QLayout) -> None:
        if isinstance(part, QLayout):
            self.body.addLayout(part)
        else:
            self.body.addWidget(part)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_step"):
            self._step.setSpacing(fonts.whole_px(12))
            for grid in (self._others, self._told):
                grid.setHorizontalSpacing(fonts.whole_px(16))
                grid.setVerticalSpacing(fonts.whole_px(4))
            for rows in (self._about, self._small):
                rows.setSpacing(fonts.whole_px(4))

    # -- what the presenter asks -----------------------------------------------------------

    def show_answer(self, shown: ExplainShown) -> None:
        """An answer; whoever stands on its action stays there."""
        self.set_aside(shown.aside)
        _say(self.said, "")
        _say(self.sentence, shown.sentence)
        _say(self.chance, _capital(shown.chance))
        _say(self.warning, shown.warning, icon="problem")
        _fill(self._about, [Text(words, size_px=14, wraps=True) for words in shown.about])
        self._show_others(shown.others_title, shown.others)
        self._show_told(shown.told)
        _fill(self._small, [Text(words, size_px=13, muted=True, wraps=True) for words in shown.small])
        _say(self.ends, shown.ends)
        self._show_action(shown.ask.word if shown.ask is not None else "", shown.ask.words if shown.ask else "")
        self.show()
        if self.action.hasFocus():
            announce(self, f"{shown.sentence}. {shown.chance}")
            self.bring_into_sight()

    def show_busy(self, words: str) -> None:
        """Work is under way: what stands here is not the newest."""
        self.set_aside(words)
        if not self.sentence.text():
            _say(self.said, words, icon="clock")
        self._show_action(words, "")
        _say(self.ends, "")
        self.show()

    def show_words(self, words: str, *, action: str, is_problem: bool = False) -> None:
        """No answer, why, and what to do about it."""
        self._clear()
        self.set_aside("")
        _say(self.said, words, icon="problem" if is_problem else "note")
        self._show_action(action, "")
        self.show()

    def show_nothing(self) -> None:
        """Nothing was read: there is nothing to explain."""
        self._clear()
        self.hide()

    def _clear(self) -> None:
        for part in (self.said, self.sentence, self.chance, self.warning, self.ends):
            _say(part, "")
        for layout in (self._about, self._others, self._told, self._small):
            _fill(layout, [])

    def _show_action(self, word: str, takes: str) -> None:
        self.action.set_word(word)
        self.action.setVisible(bool(word))
        _say(self.takes, takes)

    def _show_others(self, title: str, others: Sequence[OtherShown]) -> None:
        _fill(self._others, [])
        if not others:
            return
        self._others.addWidget(Text(title, size_px=13, muted=True), 0, 0)
        for row, one in enumerate(others, start=1):
            self._others.addWidget(Text(one.words, size_px=14, wraps=True), row, 0)
            self._others.addWidget(Text(one.chance, size_px=14), row, 1, _RIGHT | _TOP)

    def _show_told(self, told: Sequence[ToldShown]) -> None:
        _fill(self._told, [])
        if not told:
            return
        has_next = any(one.otherwise for one in told)
        for column, head in enumerate(_HEADS if has_next else _HEADS[:-1]):
            self._told.addWidget(Text(head, size_px=13, muted=True), 0, column, _side(column))
        for row, one in enumerate(told, start=1):
            cells = (one.between, one.read, one.predicted, *((one.otherwise,) if has_next else ()))
            for column, words in enumerate(cells):
                weight = fonts.REGULAR if column else fonts.SEMIBOLD
                label = Text(words, size_px=14, weight=weight, tabular=bool(column))
                label.setAccessibleName(f"{_HEADS[column]}: {words}")
                self._told.addWidget(label, row, column, _side(column))

    # -- in sight --------------------------------------------------------------------------

    def begin(self) -> None:
        """The action has the keyboard, where there is one, and stands where it is seen."""
        if self.action.isHidden():
            return
        self.action.setFocus(Qt.FocusReason.OtherFocusReason)
        self.bring_into_sight()

    def bring_into_sight(self) -> None:
        """Scroll the page until the answer and its action are seen, once everything is laid out."""
        QTimer.singleShot(0, self, self._into_sight)

    def _into_sight(self) -> None:
        area = self.parentWidget()
        while area is not None and not isinstance(area, QScrollArea):
            area = area.parentWidget()
        if isinstance(area, QScrollArea):
            area.ensureWidgetVisible(self.action, 0, fonts.whole_px(20))
            area.ensureWidgetVisible(self.title, 0, fonts.whole_px(20))


def _say(part: Text | MessageLine, words: str, *, icon: str = "note") -> None:
    """Words, or no room for them."""
    if isinstance(part, MessageLine):
        part.show_message(words, icon=icon)
    else:
        part.setText(words)
    part.setVisible(bool(words))


def _fill(layout: QLayout, parts: Sequence[QWidget]) -> None:
    """Other parts in place of those that stood there."""
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
    for part in parts:
        layout.addWidget(part)


def _side(column: int) -> Qt.AlignmentFlag:
    return _RIGHT if column else Qt.AlignmentFlag.AlignLeft


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
