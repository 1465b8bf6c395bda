"""The readings as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.pins.shown import RowShown
from valvebench.ui.widgets.rows_model import JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=72),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.NUMBER, width_px=62),
    Column(kind=Kind.NUMBER, width_px=113),
    Column(kind=Kind.LIMITS, width_px=98),
    Column(kind=Kind.MARK, width_px=34),
)
HEADERS: Final = ("Between", "What", "\u03a9", "at 20 \u00b0C", "Limits", "")


class ReadingsModel(JudgedRowsModel[RowShown]):
    """Rows in the order they came; a row is known by its first entry."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent)


def _cells(row: RowShown) -> tuple[str, ...]:
    return (row.between, row.what, row.ohm, row.at_ref, row.limits, "")
