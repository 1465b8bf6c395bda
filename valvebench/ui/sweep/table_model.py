"""Kept sweeps as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.sweep.shown import LineShown
from valvebench.ui.widgets.rows_model import JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=96),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.LIMITS, width_px=92),
    Column(kind=Kind.MARK, width_px=36),
)
HEADERS: Final = ("Solenoid", "Hysteresis", "Limit", "")


class SweepModel(JudgedRowsModel[LineShown]):
    """Lines in the order they were kept."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent)


def _cells(line: LineShown) -> tuple[str, ...]:
    return (line.device, line.hysteresis, line.limit, "")
