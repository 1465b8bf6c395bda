"""The tables and forms of the draft, one in front, and what can be done with rows."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QWidget

from valvebench.model.draft_codes import switches_in
from valvebench.model.draft_field import CODE_PARTS, FORMS, PART_TITLE, Part
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Draft, Spot
from valvebench.ui import fonts
from valvebench.ui.editor.body_form import BodyForm
from valvebench.ui.editor.code_table import CodeTable
from valvebench.ui.editor.edit_table import EditTable
from valvebench.ui.editor.fluid_form import FluidForm
from valvebench.ui.editor.row_form import RowForm
from valvebench.ui.editor.tabs import TabRow
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.paint import set_tip

TABS: Final[tuple[Part, ...]] = (
    *(Part.BODY, Part.PINS, Part.DEVICES, Part.PORTS, Part.FEATURES, Part.GEARS, Part.FACES),
    *(Part.FASTENERS, Part.FLUID, Part.CHECKLIST, Part.PART_NUMBERS, Part.ORDER_WITH),
    Part.TAPS,
    *CODE_PARTS,
)
_FIRST: Final = {Part.BODY: "key", Part.FLUID: "by"}
_DIGITS: Final = "1234567890"


class TablesCard(Card):
    """Tabs, the table or form of the one in front, buttons for its rows."""

    cell_typed = Signal(object, str)
    cells_cleared = Signal(object)
    rows_deleted = Signal(object, object)
    copied = Signal(object, object)
    pasted = Signal(object, str)
    part_shown = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.tabs, self._stack = TabRow([PART_TITLE[part] for part in TABS]), QStackedWidget()
        self.body_form, self.fluid_form = BodyForm(), FluidForm()
        self.forms: dict[Part, RowForm] = {Part.BODY: self.body_form, Part.FLUID: self.fluid_form}
        self.tables: dict[Part, EditTable] = {
            part: CodeTable(part) if part in CODE_PARTS else EditTable(part) for part in TABS if part not in FORMS
        }
        self._copy, self._paste, self._delete = Button("Copy"), Button("Paste"), Button("Delete rows")
        self._actions, self._row = QWidget(), QHBoxLayout()
        self._build()
        self._connect()
        self.rescale()

    def _build(self) -> None:
        for part in TABS:
            self._stack.addWidget(self.forms[part] if part in FORMS else self.tables[part])
        self._actions.setLayout(self._row)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addStretch(1)
        for button in (self._copy, self._paste, self._delete):
            self._row.addWidget(button)
        self.body.addWidget(self.tabs)
        self.body.addWidget(self._stack, 1)
        self.body.addWidget(self._actions)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_row"):
            self._row.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        for form in self.forms.values():
            form.typed.connect(self.cell_typed)
        for table in self.tables.values():
            table.typed.connect(self.cell_typed)
            table.cleared.connect(self.cells_cleared)
            table.rows_deleted.connect(self.rows_deleted)
            table.copied.connect(self.copied)
            table.pasted.connect(self.pasted)
        self._copy.clicked.connect(self._copy_clicked)
        self._paste.clicked.connect(self.paste)
        self._delete.clicked.connect(self._delete_clicked)
        self.tabs.chosen.connect(self.show_tab)

    def add_keys(self, owner: QWidget) -> None:
        """Alt and a digit open one of the first ten tables, Ctrl and a page key the one beside."""
        for place, tab in enumerate(self.tabs.tabs[: len(_DIGITS)]):
            keys = f"Alt+{_DIGITS[place]}"
            add_page_keys(owner, (keys, partial(self.open_tab, place), f"Tab {tab.word}"))
            set_tip(tab, f"{tab.word}, {keys}")
        add_page_keys(
            owner,
            ("Ctrl+PgDown", partial(self._step, 1), "Next tab"),
            ("Ctrl+PgUp", partial(self._step, -1), "Tab before"),
        )

    # -- what the person does --------------------------------------------------------------

    def table(self) -> EditTable | None:
        """The table in front; None where it is a form."""
        widget = self._stack.currentWidget()
        return widget if isinstance(widget, EditTable) else None

    def _copy_clicked(self) -> None:
        table = self.table()
        if table is not None:
            table.copy()

    def paste(self) -> None:
        """What the clipboard holds into the table in front."""
        table = self.table()
        if table is not None:
            table.paste()

    def _delete_clicked(self) -> None:
        table = self.table()
        if table is not None:
            table.delete_rows()

    def _step(self, by: int) -> None:
        self.open_tab((self._stack.currentIndex() + by) % len(TABS))

    def open_tab(self, place: int) -> None:
        """Bring a table to the front and put the keyboard into it."""
        self.show_tab(place)
        self.begin()

    def show_tab(self, place: int) -> None:
        """Bring a table to the front."""
        self.tabs.set_current(place)
        self._stack.setCurrentIndex(place)
        self._actions.setVisible(TABS[place] not in FORMS)
        self.part_shown.emit(TABS[place])

    def begin(self) -> None:
        """The table in front has the keyboard, or the first field of the form."""
        table = self.table()
        if table is None:
            part = TABS[self._stack.currentIndex()]
            self.forms[part].go_to(_FIRST[part])
            return
        if not table.currentIndex().isValid():
            table.select_cell(0, "name")
        table.setFocus(Qt.FocusReason.OtherFocusReason)

    # -- what is shown ---------------------------------------------------------------------

    def show_draft(self, draft: Draft, lacks: Sequence[Lack]) -> None:
        """Show every table and form."""
        for form in self.forms.values():
            form.show_draft(draft, lacks)
        for part, table in self.tables.items():
            rows = draft.rows(part)
            if isinstance(table, CodeTable):
                table.show_rows(rows, lacks, switches_in(draft, part))
            else:
                table.show_rows(rows, lacks)
            self.tabs.set_count(TABS.index(part), str(len(rows) or ""))

    def go_to(self, spot: Spot) -> None:
        """Put the keyboard into a cell."""
        self.show_tab(TABS.index(spot.part))
        if spot.part in FORMS:
            self.forms[spot.part].go_to(spot.key)
        else:
            self.tables[spot.part].go_to(spot)
