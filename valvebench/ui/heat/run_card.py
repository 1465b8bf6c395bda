"""The card of one run: its verdict with the limits, three rulers, what happened, and what to do next."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.words import Verdict
from valvebench.ui import fonts
from valvebench.ui.heat.shown import CardShown, RulerShown
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.ruler import Ruler, RulerState
from valvebench.ui.widgets.text import Text

_RULERS = 3
_MARK_PX = 32


class _State(RulerState, frozen=True, kw_only=True):
    """A number that is no verdict: read out by what it is."""

    def sentence(self) -> str:
        """Value with its doubt."""
        return self.value_text


class FoundRuler(QWidget):
    """A label, a value with its doubt on the ruler, or the reason why there is none; its height never changes."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._label, self._value = Text(size_px=13, muted=True), Text(size_px=15, weight=fonts.SEMIBOLD, tabular=True)
        self.ruler = Ruler()
        self._rows, self._head = QVBoxLayout(self), QHBoxLayout()
        self._rows.setContentsMargins(0, 0, 0, 0)
        self._rows.setSpacing(0)
        self._head.addWidget(self._label, 1)
        self._head.addWidget(self._value)
        self._rows.addLayout(self._head)
        self._rows.addWidget(self.ruler)

    def show_found(self, shown: RulerShown) -> None:
        """Another number."""
        has_value = shown.value is not None
        self._label.setText(shown.label)
        self._value.setText(shown.text)
        self.ruler.show_state(
            _State(
                unit=shown.unit,
                value=shown.value,
                expanded=shown.expanded,
                verdict=Verdict.NO_LIMIT,
                value_text=f"{shown.label}: {shown.text}. {shown.why}".strip(),
                empty_text=shown.why,
                post=shown.post if has_value else None,
                post_text=shown.post_text,
            )
        )


class RunCard(Card):
    """Shows what the presenter says of the run in front."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Against copper", parent=parent)
        self.mark = MarkLabel(size_px=_MARK_PX)
        self.sentence = Text(size_px=17, weight=fonts.SEMIBOLD, wraps=True)
        self.limits = Text(size_px=13, muted=True, wraps=True)
        self.rulers = tuple(FoundRuler() for _ in range(_RULERS))
        self.reasons, self.events, self.about = (
            Text(size_px=13, muted=is_muted, wraps=True) for is_muted in (False, False, True)
        )
        self.advice = MessageLine(icon="note")
        self._head, words = QHBoxLayout(), QVBoxLayout()
        words.addWidget(self.sentence)
        words.addWidget(self.limits)
        self._head.addWidget(self.mark, 0, Qt.AlignmentFlag.AlignTop)
        self._head.addLayout(words, 1)
        self.body.addLayout(self._head)
        for part in (*self.rulers, self.events, self.advice, self.reasons, self.about):
            self.body.addWidget(part)
        self.body.addStretch(1)

    def show_card(self, card: CardShown) -> None:
        """Another run."""
        self.set_title(f"{card.device} against copper")
        self.mark.set_verdict(card.verdict)
        self.sentence.setText(card.sentence)
        self.limits.setText(card.limits)
        for ruler, shown in zip(self.rulers, card.rulers, strict=True):
            ruler.show_found(shown)
        _show(self.events, card.events, lead="What happened")
        _show(self.reasons, card.reasons)
        self.about.setText(card.about)
        self.advice.show_message(" ".join(card.advice))
        self.advice.setVisible(bool(card.advice))


def _show(text: Text, lines: Sequence[str], *, lead: str = "") -> None:
    text.setText("\n".join([lead, *lines] if lead else lines))
    text.setVisible(bool(lines))
