"""What the variant says of the body as a whole: name, isolation, electronics with the stop sign."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QWidget

from valvebench.model.draft_cells import is_on
from valvebench.model.draft_field import Part
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Draft
from valvebench.ui import fonts
from valvebench.ui.editor.row_form import RowForm
from valvebench.ui.widgets.controls import TickBox
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
_TIGHT_PLACES: Final = _PLACES | {
    "isolation": (2, 0, 1, 3),
    "source": (2, 3, 1, 3),
    "source_text": (3, 0, 1, 4),
    "n": (3, 4, 1, 2),
    "clutches": (4, 0, 1, 6),
}
"""Where four fields do not fit beside each other."""


class BodyForm(RowForm):
    """Fields of the body's only row."""

    electronics_set = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(Part.BODY, _PLACES, _HINTS, parent)
        self.electronics = TickBox("Electronics on board")
        self.stop = MessageLine(STOP_WORDS, icon="problem", grows=False)
        self._board = QHBoxLayout()
        self._board.addWidget(self.electronics, 0, Qt.AlignmentFlag.AlignTop)
        self._board.addWidget(self.stop, 1)
        self._all.addLayout(self._board)
        self._all.addStretch(1)
        self.electronics.clicked.connect(self.electronics_set)
        self.rescale()

    def fit(self, *, is_tight: bool) -> None:
        """Fewer fields beside each other where there is little room."""
        self._place(_TIGHT_PLACES if is_tight else _PLACES)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        self._board.setSpacing(fonts.whole_px(16))
        self.stop.setFixedHeight(fonts.whole_px(TWO_LINES_PX))

    def show_draft(self, draft: Draft, lacks: Sequence[Lack]) -> None:
        """Show the body's row and, with electronics on board, the stop sign."""
        super().show_draft(draft, lacks)
        on = is_on(draft.body("electronics"))
        self.electronics.setChecked(on)
        self.stop.setVisible(on)

    def _problem(self, key: str, text: str, wrong: Mapping[str, str]) -> str:
        """An empty name is told below, where it says what is missing: nothing typed is wrong yet."""
        return "" if key in ("key", "title") and not text else super()._problem(key, text, wrong)

    def go_to(self, key: str) -> None:
        """Put the keyboard into a field."""
        if key == "electronics":
            self.electronics.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            super().go_to(key)
