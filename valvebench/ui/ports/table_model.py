"""What was heard, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.ports.heard import HeardShown, SolenoidShown
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


SOLENOID_COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=82),
    Column(kind=Kind.MUTED),
    Column(kind=Kind.TEXT, width_px=50),
    Column(kind=Kind.TEXT, width_px=48),
    Column(kind=Kind.TEXT, width_px=48),
    Column(kind=Kind.DOUBT, width_px=94),
    Column(kind=Kind.MARK, width_px=36),
)
NOT_TRIED: Final = "not tried yet"
SOLENOID_HEADERS: Final = ("Solenoid", "Expected", "Clicks", "Off", "On", "Seat, ml/min", "")


class SolenoidModel(JudgedRowsModel[SolenoidShown]):
    """Every solenoid of the variant, in its order."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(SOLENOID_HEADERS, _solenoid_cells, parent, waits=lambda _: NOT_TRIED)


def _solenoid_cells(row: SolenoidShown) -> tuple[str, ...]:
    return (row.name, row.expected, row.clicks, row.off, row.on, row.seat, "")


class HeardModel(JudgedRowsModel[HeardShown]):
    """Lines in the order they came; a line is known by its entry."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, parent)


def _cells(row: HeardShown) -> tuple[str, ...]:
    return (row.what, row.states, row.kpa, row.expected, row.heard, "")
