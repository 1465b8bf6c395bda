"""The card of the leak itself: verdict, ruler, and what is said beside them."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts
from valvebench.ui.leak.shown import WORKING, ResultShown
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.ruler import EMPTY_TEXT, Ruler, RulerState
from valvebench.ui.widgets.text import Text

UNIT: Final = "ml/min"
NO_NUMBER: Final = "No number can be told"


class ResultCard(Card):
    """The live number with its whisker, or why there is none."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("The leak", parent=parent)
        self.mark = MarkLabel(Verdict.NOT_TAKEN, size_px=24)
        self.headline = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.ruler = Ruler()
        self.lines = Text(size_px=14, wraps=True)
        self.problem = MessageLine()
        self._about = ""
        self._heads = QHBoxLayout()
        self._heads.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        self._heads.addWidget(self.headline, 1)
        self.lines.setAlignment(Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop)
        self.body.addLayout(self._heads)
        self.body.addWidget(self.problem)
        self.body.addWidget(self.ruler)
        self.body.addWidget(self.lines)
        self.body.addStretch(1)
        self.show_result(ResultShown())

    def show_result(self, result: ResultShown) -> None:
        """Another result."""
        if result.headline != self.headline.text() and (result.verdict is not None or result.is_problem):
            announce(self, result.headline)
        self.mark.set_verdict(result.verdict or Verdict.NOT_TAKEN)
        self.mark.setAccessibleName(VERDICT_TEXT[result.verdict] if result.verdict is not None else "")
        self.mark.setVisible(not result.is_problem)
        self.headline.setText("" if result.is_problem else result.headline)
        self.headline.setVisible(not result.is_problem)
        self.problem.show_message(result.headline if result.is_problem else "", icon="problem")
        self.problem.setVisible(result.is_problem)
        self.lines.setText("\n".join(result.lines))
        self._about = result.about
        self.show_busy(is_busy=False)
        self._show_ruler(result)

    def _show_ruler(self, result: ResultShown) -> None:
        ruler = result.ruler
        if ruler is None:
            is_asked = result.is_problem or result.verdict is not None
            self.ruler.show_state(RulerState(unit=UNIT, empty_text=NO_NUMBER if is_asked else EMPTY_TEXT))
            return
        self.ruler.show_state(
            RulerState(
                unit=UNIT,
                high=ruler.limit,
                high_text="" if ruler.limit is None else f"{ruler.limit:g}",
                guard=ruler.guard,
                value=ruler.value,
                expanded=ruler.expanded,
                verdict=ruler.verdict,
                value_text=ruler.text,
            )
        )

    def show_busy(self, *, is_busy: bool) -> None:
        """While it is worked out anew."""
        self.set_aside(WORKING if is_busy else self._about)
