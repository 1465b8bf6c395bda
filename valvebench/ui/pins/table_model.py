"""The readings as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.pins.shown import RowShown
from valvebench.ui.widgets.rows_model import NOT_KEPT, JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=71),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.NUMBER, width_px=60),
    Column(kind=Kind.DOUBT, width_px=116),
    Column(kind=Kind.LIMITS, width_px=101),
    Column(kind=Kind.MARK, width_px=31),
)
HEADERS: Final = ("Between", "What", "\u03a9", "at 20 \u00b0C", "Limits", "")


class ReadingsModel(JudgedRowsModel[RowShown]):
    """Rows in the order they came; a row is known by its first entry."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent, waits=lambda row: row.state or NOT_KEPT)


def _cells(row: RowShown) -> tuple[str, ...]:
    return (row.between, row.what, row.ohm, row.at_ref, row.limits, "")
