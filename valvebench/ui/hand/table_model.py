"""The parts found so far, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.hand.shown import FoundRow
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=72),
    Column(kind=Kind.TEXT, width_px=92),
    Column(kind=Kind.NUMBER, width_px=66),
    Column(kind=Kind.NUMBER, width_px=136),
    Column(kind=Kind.MUTED, least_px=46),
)
HEADERS: Final = ("Between", "What", "As read", "Coils at 20 \u00b0C", "Like")


class FoundModel(RowsModel[FoundRow]):
    """Parts in the order of their pins."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, _more, parent)


def _cells(row: FoundRow) -> tuple[str, ...]:
    return (row.between, row.what, row.ohm, row.at_ref, row.like)


def _more(row: FoundRow) -> str:
    like = f", {row.like}" if row.like else ""
    at_ref = f", {row.at_ref}" + (" at 20 \u00b0C" if row.is_at_20 else "") if row.at_ref else ""
    return f"{row.between}, {row.what}, {row.ohm}{at_ref}{like}. {row.tip}".strip()
