"""One box to find sessions with, the filters, and the list."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from PySide6.QtCore import QObject, Qt, QTimer, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QWidget

from valvebench.bench.archived import Names
from valvebench.model.words import VERDICT_TEXT
from valvebench.ui import fonts
from valvebench.ui.archive.presenter import Filters
from valvebench.ui.archive.shown import FATE_WORDS, VERDICTS, FoundRow
from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.search_card import SearchCard
from valvebench.ui.widgets.table import Column, Kind

HEADERS: Final = ("Job", "Closed", "Part, customer, what became of it", "")
COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=100),
    Column(kind=Kind.TEXT, width_px=96),
    Column(kind=Kind.TEXT, least_px=120),
    Column(kind=Kind.MARK, width_px=44),
)
HINT: Final = "job, serial, part number, customer, supplier, device or words of a note"
PREVIOUS_KEY, NEXT_KEY = "Ctrl+Up", "Ctrl+Down"
_ACCESSIBLE: Final = Qt.ItemDataRole.AccessibleTextRole
_ONE_ROW_PX: Final = 640
_PAUSE_MS: Final = 60
"""So long nothing more is typed before it is looked for: less than one notices, more than between two signs."""


def _more(row: FoundRow) -> str:
    verdict = VERDICT_TEXT[row.verdict] if row.verdict is not None else row.fate
    return f"Job {row.job}\n{row.about}\n{verdict}"


class FoundModel(RowsModel[FoundRow]):
    """The list; its last column is the mark."""

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(HEADERS, lambda row: row.cells, _more, parent)

    def data(self, index: Any, role: int = Qt.ItemDataRole.DisplayRole) -> Any:
        """Words of a cell; the mark is told by its accessible text."""
        if index.isValid() and role == _ACCESSIBLE and index.column() == len(HEADERS) - 1:
            verdict = self.row(index.row()).verdict
            return VERDICT_TEXT[verdict] if verdict is not None else "not closed"
        return super().data(index, role)


class SessionsTable(WrapTable):
    """Each with the verdict of a whole session, which has no limits of its own."""

    limits_in_cells = True


def _known_by(row: FoundRow) -> str:
    return row.id or str(row.path)


class FindCard(SearchCard):
    """The box has the keyboard: Up and Down walk the list, Enter opens."""

    typed = Signal(str)
    filtered = Signal(object)
    next_asked = Signal()
    previous_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(
            "Sessions",
            search=LineField("Anything you know of it", hint=HINT),
            table=SessionsTable(COLUMNS, (0, 2), name="Sessions"),
            model=FoundModel(),
            key_of=_known_by,
            parent=parent,
        )
        self.variant = ChoiceField("Variant", [("", "Any")])
        self.verdict = ChoiceField("Verdict", [("", "Any"), *((one.value, VERDICT_TEXT[one]) for one in VERDICTS)])
        self.outcome = ChoiceField("What became of it", [("", "Any"), *((f.value, w) for f, w in FATE_WORDS.items())])
        self.since = LineField("Closed since", hint="2031-05")
        self.previous = Button("Newer", key=PREVIOUS_KEY)
        self.next = Button("Older", key=NEXT_KEY)
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(_PAUSE_MS)
        self._filters, self._pages = QGridLayout(), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self.body.addWidget(self.search)
        self.body.addLayout(self._filters)
        self.body.addWidget(self.table, 1)
        for button in (self.previous, self.next):
            self._pages.addWidget(button)
            button.hide()
        self._pages.addStretch(1)
        self.body.addLayout(self._pages)
        self._place(across=4)
        self.rescale()

    def _place(self, *, across: int) -> None:
        fields = (self.variant, self.verdict, self.outcome, self.since)
        for column in range(len(fields)):
            self._filters.setColumnStretch(column, 1 if column < across else 0)
        for place, field in enumerate(fields):
            self._filters.addWidget(field, place // across, place % across, Qt.AlignmentFlag.AlignTop)

    def fit(self, room_px: float) -> None:
        """The filters in one row, or in two."""
        self._place(across=4 if room_px >= _ONE_ROW_PX else 2)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_pages"):
            self._filters.setSpacing(fonts.whole_px(8))
            self._pages.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        self.search.entry.textChanged.connect(self._restart)
        self._pause.timeout.connect(self._tell_typed)
        for field in (self.variant, self.verdict, self.outcome):
            field.chosen.connect(self._tell_filters)
        self.since.entry.textChanged.connect(self._tell_filters)
        self.next.clicked.connect(self.next_asked)
        self.previous.clicked.connect(self.previous_asked)

    def _restart(self) -> None:
        self._pause.start()

    def _tell_typed(self) -> None:
        self.typed.emit(self.search.entry.text())

    def _tell_filters(self) -> None:
        self.filtered.emit(Filters(self.variant.word(), self.verdict.word(), self.outcome.word(), self.since.text()))

    # -- what the page asks ----------------------------------------------------------------

    def show_rows(self, rows: Sequence[FoundRow], *, chosen: str, about: str, has_next: bool) -> None:
        """These lines, one of them marked; tells nobody."""
        self.fill(rows, chosen)
        self.set_aside(about)
        self.next.setVisible(has_next)
        self.previous.setVisible(about not in {"", "page 1"})

    def show_names(self, names: Names) -> None:
        """The variants to choose from; what was chosen stays."""
        word = self.variant.word()
        self.variant.box.clear()
        for key, text in [("", "Any"), *((key, key) for key in names.variants)]:
            self.variant.add(key, text)
        self.variant.set_word(word)

    def begin(self) -> None:
        """The box has the keyboard, what stands in it is marked: typing begins anew."""
        self.search.entry.setFocus(Qt.FocusReason.OtherFocusReason)
        self.search.entry.selectAll()
