"""What was heard, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.ports.shown import HeardShown
from valvebench.ui.widgets.rows_model import JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=78),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.NUMBER, width_px=44),
    Column(kind=Kind.MUTED, width_px=88),
    Column(kind=Kind.TEXT, width_px=94),
    Column(kind=Kind.MARK, width_px=36),
)
HEADERS: Final = ("What", "Set to", "kPa", "Expected", "Heard", "")


class HeardModel(JudgedRowsModel[HeardShown]):
    """Lines in the order they came; a line is known by its entry."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent)


def _cells(row: HeardShown) -> tuple[str, ...]:
    return (row.what, row.states, row.kpa, row.expected, row.heard, "")
