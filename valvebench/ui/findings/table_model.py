"""What is missing, as a table model."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QObject

from valvebench.ui.findings.shown import MissingShown
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind

COLUMNS: Final = (
    Column(kind=Kind.KEY),
    Column(kind=Kind.TEXT, width_px=88),
    Column(kind=Kind.MUTED, width_px=84),
)
HEADERS: Final = ("What", "Where", "Now")


class MissingModel(RowsModel[MissingShown]):
    """Missing items in the order the variant asks for them."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, _cells, _more, parent)


def _cells(row: MissingShown) -> tuple[str, ...]:
    return (row.what, row.where, row.why)


def _more(row: MissingShown) -> str:
    return f"{row.what}, {row.where}, {row.why}. Enter goes there."
