"""The list of variants with the field that searches it as one types."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence
from PySide6.QtWidgets import QWidget

from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.library.shown import LibraryRow
from valvebench.ui.widgets.form import LineField
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.search_card import SearchCard
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


def _cells(row: LibraryRow) -> tuple[str, ...]:
    return row.cells


def _more(row: LibraryRow) -> str:
    return f"{row.title}\n{row.path}"


def _path(row: LibraryRow) -> Path:
    return row.path


class ListCard(SearchCard):
    """Type to search, walk with the arrows, Enter opens."""

    typed = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            "Variants",
            search=LineField("Search", hint=HINT),
            table=WrapTable(COLUMNS, (0, 1, 3), name="Variants"),
            model=RowsModel(HEADERS, _cells, _more),
            key_of=_path,
            parent=parent,
        )
        self.body.addWidget(self.search)
        self.body.addWidget(self.table, 1)
        self.search.entry.textChanged.connect(self.typed)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Undo in the search field is that of the library."""
        is_asked = watched is self.search.entry and event.type() == _OVERRIDE
        if is_asked and isinstance(event, QKeyEvent) and event.matches(QKeySequence.StandardKey.Undo):
            event.ignore()
            return True
        return super().eventFilter(watched, event)

    def show_rows(self, rows: Sequence[LibraryRow], *, chosen: Path | None, of: int) -> None:
        """Show these lines with one of them marked; tells nobody."""
        self.fill(rows, chosen)
        self.set_aside(str(of) if len(rows) == of else f"{len(rows)} of {of}")

    def begin(self) -> None:
        """The search field has the keyboard."""
        self.search.entry.setFocus(Qt.FocusReason.OtherFocusReason)
