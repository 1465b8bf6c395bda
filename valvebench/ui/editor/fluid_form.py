"""The fluid window: how the level is checked, and between which fluid temperatures it is right."""

from __future__ import annotations

from typing import Final

from PySide6.QtWidgets import QWidget

from valvebench.model.draft_field import Part
from valvebench.ui.editor.row_form import RowForm
from valvebench.ui.widgets.message_line import MessageLine

LEVEL_SAFETY: Final = (
    "Where the engine must run for the level: vehicle level on rated supports, chocked, brake on; nobody near wheels, "
    "shafts or belts; exhaust gas led out; fluid and exhaust burn."
)
_HINTS: Final = {"low": "35", "high": "45", "kind": "what it is called on the can", "note": "selector in P, engine on"}
_PLACES: Final = {
    "by": (0, 0, 1, 2),
    "low": (0, 2, 1, 2),
    "high": (0, 4, 1, 2),
    "kind": (1, 0, 1, 6),
    "note": (2, 0, 1, 6),
}


class FluidForm(RowForm):
    """Fields of the fluid's only row, and the caution that goes with checking a level."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(Part.FLUID, _PLACES, _HINTS, parent)
        self._caution = MessageLine(LEVEL_SAFETY, icon="problem")
        self._all.addWidget(self._caution)
        self._all.addStretch(1)
        self.rescale()
