"""Two bodies line by line, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.findings.compared_shown import ComparedRow
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY),
    Column(kind=Kind.NUMBER, width_px=104),
    Column(kind=Kind.NUMBER, width_px=104),
    Column(kind=Kind.DOUBT, width_px=152),
    Column(kind=Kind.TEXT, width_px=160),
)
HEADERS: Final = ("What", "This body", "The other", "Difference", "Answer")


class ComparedModel(RowsModel[ComparedRow]):
    """Lines, the clearest difference first."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, _more, parent)


def _cells(row: ComparedRow) -> tuple[str, ...]:
    return (row.what, row.here, row.there, row.difference, row.answer)


def _more(row: ComparedRow) -> str:
    return f"{row.what}: {row.answer}. {row.why}"
