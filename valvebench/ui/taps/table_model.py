"""Pressures at taps as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.taps.shown import LineShown
from valvebench.ui.widgets.rows_model import JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY),
    Column(kind=Kind.TEXT, width_px=58),
    Column(kind=Kind.MUTED, width_px=94),
    Column(kind=Kind.DOUBT, width_px=94),
    Column(kind=Kind.LIMITS, width_px=98),
    Column(kind=Kind.MARK, width_px=34),
)
HEADERS: Final = ("Tap", "State", "Fluid", "kPa", "Window, kPa", "")


class TapsModel(JudgedRowsModel[LineShown]):
    """A line for each window, then what else was read."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent)


def _cells(line: LineShown) -> tuple[str, ...]:
    return (line.tap, line.state, line.fluid, line.kpa, line.window, "")
