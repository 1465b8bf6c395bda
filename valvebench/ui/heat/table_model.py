"""The runs that were kept, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.heat.shown import RunShown
from valvebench.ui.widgets.rows_model import JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=86),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.DOUBT, width_px=118),
    Column(kind=Kind.LIMITS, width_px=82),
    Column(kind=Kind.MARK, width_px=36),
)
HEADERS: Final = ("Device", "With heat", "Resistance, \u03a9", "Limits", "")


class RunsModel(JudgedRowsModel[RunShown]):
    """Runs in the order of their entries."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent)


def _cells(row: RunShown) -> tuple[str, ...]:
    return (row.device, row.kind, row.value, row.limits, "")
