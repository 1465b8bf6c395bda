"""What the variant says of the body as a whole: name, isolation, electronics with the stop sign."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.model.draft_cells import is_on
from valvebench.model.draft_fields import SOURCES, Part, field_of
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Draft, Spot
from valvebench.ui import fonts
from valvebench.ui.widgets.controls import TickBox
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine

STOP_WORDS: Final = "Stop: electronics on board. Static care; do not probe with an ohmmeter unless the maker says so."
TWO_LINES_PX: Final = 40
"""Room of a message of two lines: a page of messages that grow would not shrink below its wish."""
_HINTS: Final = {
    "key": "tern-body-2",
    "title": "Quillon Tern, body 2",
    "isolation": "1 M",
    "clutches": "Auk; Brant",
    "source_text": "shop manual, page 12",
}
_PLACES: Final = {
    "key": (0, 0, 1, 2),
    "title": (0, 2, 1, 4),
    "note": (1, 0, 1, 6),
    "isolation": (2, 0, 1, 2),
    "source": (2, 2, 1, 1),
    "source_text": (2, 3, 1, 2),
    "n": (2, 5, 1, 1),
    "clutches": (3, 0, 1, 6),
}


class BodyForm(QWidget):
    """Fields of the body's only row."""

    typed = Signal(object, str)
    electronics_set = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.lines = {key: _line(key) for key in _PLACES if key != "source"}
        self.source = ChoiceField(field_of(Part.BODY, "source").title, [("", "not said"), *_shown_sources()])
        self.electronics = TickBox("Electronics on board")
        self.stop = MessageLine(STOP_WORDS, icon="problem", grows=False)
        self._grid, self._all = QGridLayout(), QVBoxLayout(self)
        self._build()
        self._connect()

    def _build(self) -> None:
        for key, place in _PLACES.items():
            widget = self.source if key == "source" else self.lines[key]
            self._grid.addWidget(widget, *place, Qt.AlignmentFlag.AlignTop)
        for column in range(6):
            self._grid.setColumnStretch(column, 1)
        self._all.setContentsMargins(0, 0, 0, 0)
        self._all.addLayout(self._grid)
        self._board = QHBoxLayout()
        self._board.addWidget(self.electronics, 0, Qt.AlignmentFlag.AlignTop)
        self._board.addWidget(self.stop, 1)
        self._all.addLayout(self._board)
        self._all.addStretch(1)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._grid.setHorizontalSpacing(fonts.whole_px(12))
        self._grid.setVerticalSpacing(fonts.whole_px(8))
        self._all.setSpacing(fonts.whole_px(8))
        self._board.setSpacing(fonts.whole_px(16))
        self.stop.setFixedHeight(fonts.whole_px(TWO_LINES_PX))

    def _connect(self) -> None:
        for line in self.lines.values():
            line.entry.editingFinished.connect(self._finished)
        self.source.chosen.connect(self._source_chosen)
        self.electronics.clicked.connect(self.electronics_set)

    def _finished(self) -> None:
        entry = self.sender()
        key = next(key for key, line in self.lines.items() if line.entry is entry)
        if self.lines[key].entry.isModified():
            self.lines[key].entry.setModified(False)
            self.typed.emit(Spot(Part.BODY, 0, key), self.lines[key].text())

    def _source_chosen(self) -> None:
        self.typed.emit(Spot(Part.BODY, 0, "source"), self.source.word())

    def show_draft(self, draft: Draft, lacks: Sequence[Lack]) -> None:
        """Show the body's row; a field in which somebody types is left alone."""
        wrong = {lack.spot.key: lack.words for lack in lacks if lack.is_wrong and lack.spot.part is Part.BODY}
        for key, line in self.lines.items():
            if not line.entry.isModified() and line.entry.text() != draft.body(key):
                line.set_text(draft.body(key))
            is_blank = key in ("key", "title") and not draft.body(key)
            line.set_problem("" if is_blank else wrong.get(key, ""))
        self.source.set_word(draft.body("source").lower())
        on = is_on(draft.body("electronics"))
        self.electronics.setChecked(on)
        self.stop.setVisible(on)

    def go_to(self, key: str) -> None:
        """Put the keyboard into a field."""
        if key == "electronics":
            self.electronics.setFocus(Qt.FocusReason.OtherFocusReason)
        elif key == "source":
            self.source.box.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            self.lines[key].entry.setFocus(Qt.FocusReason.OtherFocusReason)
            self.lines[key].entry.selectAll()


def _line(key: str) -> LineField:
    return LineField(field_of(Part.BODY, key).title, hint=_HINTS.get(key, ""))


def _shown_sources() -> list[tuple[str, str]]:
    return [(shown, shown) for _, shown in SOURCES]
