"""Positions by switches as a table model."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import QObject, Qt

from valvebench.ui.codes.shown import LineShown
from valvebench.ui.widgets.rows_model import Index, JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind

_POSITION_PX: Final = 64
_MARK_PX: Final = 31
_NOT_READ: Final = "not read yet"


def columns_of(switches: Sequence[str]) -> tuple[Column, ...]:
    """Position, the switches, the mark."""
    return (
        Column(kind=Kind.KEY, width_px=_POSITION_PX),
        *(Column(kind=Kind.TEXT) for _ in switches),
        Column(kind=Kind.MARK, width_px=_MARK_PX),
    )


class CodesModel(JudgedRowsModel[LineShown]):
    """The code table of one variant, what was read in its cells."""

    def __init__(self, switches: Sequence[str], parent: QObject | None = None) -> None:
        heads = ("Lever", *switches, "")
        super().__init__(heads, lambda line: (line.position, *line.cells, ""), parent, waits=lambda _: _NOT_READ)
        self._switches = tuple(switches)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """A cell is read out with its position and its switch."""
        is_cell = index.isValid() and 0 < index.column() <= len(self._switches)
        if is_cell and role == Qt.ItemDataRole.AccessibleTextRole:
            line, place = self.row(index.row()), index.column() - 1
            words = line.cells[place]
            stated = words.strip("()")
            told = words if words == stated else f"{_NOT_READ}, expected {stated}"
            return f"{line.position}, {self._switches[place]}: {told}"
        return super().data(index, role)
