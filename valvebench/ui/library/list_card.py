"""The list of variants with the field that searches it as one types."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QAbstractItemView, QWidget

from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.library.shown import LibraryRow
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind

HEADERS: Final = ("Key", "Title", "Pins", "Part number", "From", "State")
COLUMNS: Final = (
    Column(kind=Kind.KEY, least_px=100),
    Column(kind=Kind.TEXT, least_px=100),
    Column(kind=Kind.NUMBER, width_px=44),
    Column(kind=Kind.TEXT, width_px=96),
    Column(kind=Kind.MUTED, width_px=72),
    Column(kind=Kind.TEXT, width_px=116),
)
HINT: Final = "key, title, part number or device"
_OVERRIDE: Final = QEvent.Type.ShortcutOverride
_STEPS: Final = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}


def _cells(row: LibraryRow) -> tuple[str, ...]:
    return row.cells


def _more(row: LibraryRow) -> str:
    return f"{row.title}\n{row.path}"


class ListCard(Card):
    """Type to search, walk with the arrows, Enter opens."""

    typed = Signal(str)
    chosen = Signal(object)
    opened = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Variants", parent=parent)
        self._is_filling = False
        self.search = LineField("Search", hint=HINT)
        self.model: RowsModel[LibraryRow] = RowsModel(HEADERS, _cells, _more, self)
        self.table = WrapTable(COLUMNS, (0, 1, 3), name="Variants")
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setModel(self.model)
        self.body.addWidget(self.search)
        self.body.addWidget(self.table, 1)
        self.search.entry.installEventFilter(self)
        self.search.entry.textChanged.connect(self.typed)
        self.table.activated.connect(self._activated)
        self.table.selectionModel().currentRowChanged.connect(self._row_changed)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Down and Up in the search field walk the list, Enter opens what is marked; undo is that of the library."""
        if watched is self.search.entry and isinstance(event, QKeyEvent) and event.type() == _OVERRIDE:
            if event.matches(QKeySequence.StandardKey.Undo):
                event.ignore()
                return True
        elif watched is self.search.entry and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            step = _STEPS.get(Qt.Key(event.key()))
            if step is not None:
                self._step(step)
                return True
            if event.key() in ENTER_KEYS:
                self.opened.emit()
                return True
        return super().eventFilter(watched, event)

    def _step(self, step: int) -> None:
        rows = self.model.rowCount()
        if rows:
            row = min(rows - 1, max(0, self.table.currentIndex().row() + step))
            self.table.selectRow(row)

    def _activated(self, _: QModelIndex) -> None:
        self.opened.emit()

    def _row_changed(self, now: QModelIndex) -> None:
        if now.isValid() and not self._is_filling:
            self.chosen.emit(self.model.row(now.row()).path)

    def show_rows(self, rows: Sequence[LibraryRow], *, chosen: Path | None, of: int) -> None:
        """Show these lines with one of them marked; tells nobody."""
        self._is_filling = True
        self.model.set_rows(rows)
        place = next((i for i, row in enumerate(rows) if row.path == chosen), None)
        if place is not None:
            self.table.selectRow(place)
        self._is_filling = False
        self.set_aside(str(of) if len(rows) == of else f"{len(rows)} of {of}")

    def begin(self) -> None:
        """The search field has the keyboard."""
        self.search.entry.setFocus(Qt.FocusReason.OtherFocusReason)
