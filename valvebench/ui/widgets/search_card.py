"""A list with a field that searches it: typing goes into the field, the arrows walk the list all the same."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from PySide6.QtCore import QEvent, QModelIndex, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QAbstractItemView, QWidget

from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Table

_STEPS: Final = {Qt.Key.Key_Down: 1, Qt.Key.Key_Up: -1}
_CONTROL: Final = Qt.KeyboardModifier.ControlModifier


class SearchCard(Card):
    """Down and Up in the field walk, Enter opens what is marked; `key_of` tells by what a row is known."""

    chosen = Signal(object)
    opened = Signal()

    def __init__(
        self,
        title: str,
        *,
        search: LineField,
        table: Table,
        model: RowsModel[Any],
        key_of: Callable[[Any], object],
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(title, parent=parent)
        self.search, self.table, self.model = search, table, model
        self._key_of, self._is_filling = key_of, False
        model.setParent(self)
        table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        table.setModel(model)
        search.entry.installEventFilter(self)
        table.activated.connect(self._activated)
        table.selectionModel().currentRowChanged.connect(self._row_changed)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Keys of the field that mean the list."""
        if watched is self.search.entry and isinstance(event, QKeyEvent) and event.type() == QEvent.Type.KeyPress:
            step = _STEPS.get(Qt.Key(event.key())) if not event.modifiers() & _CONTROL else None
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
            self.table.selectRow(min(rows - 1, max(0, self.table.currentIndex().row() + step)))

    def _activated(self, _: QModelIndex) -> None:
        self.opened.emit()

    def _row_changed(self, now: QModelIndex) -> None:
        if now.isValid() and not self._is_filling:
            self.chosen.emit(self._key_of(self.model.row(now.row())))

    def fill(self, rows: Sequence[Any], chosen: object) -> None:
        """Show these rows, the chosen one marked; tells nobody."""
        self._is_filling = True
        self.model.set_rows(rows)
        place = next((i for i, row in enumerate(rows) if self._key_of(row) == chosen), None)
        if place is not None:
            self.table.selectRow(place)
        self._is_filling = False
