"""The looks that were kept, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.identify.shown import LookShown
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.NUMBER, width_px=52),
    Column(kind=Kind.KEY),
    Column(kind=Kind.TEXT, width_px=120),
    Column(kind=Kind.MUTED, width_px=112),
)
HEADERS: Final = ("Entry", "Feature", "Answer", "How")


class LooksModel(RowsModel[LookShown]):
    """A line for each look that counts, in the order of the entries."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, _tip, parent)


def _cells(look: LookShown) -> tuple[str, ...]:
    return (str(look.number), look.feature, look.value, look.how)


def _tip(look: LookShown) -> str:
    return f"Entry {look.number}: {look.feature}, {look.value}, {look.how}"
