"""The page of the variant editor: drawing at the left, tables at the right, below them what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import Final

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeySequence, QShortcut
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QMessageBox,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from valvebench.model.draft_fields import PART_TITLE, Part
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Draft, Spot
from valvebench.ui import fonts
from valvebench.ui.editor.body_form import BodyForm
from valvebench.ui.editor.edit_table import EditTable
from valvebench.ui.editor.face_card import FaceCard
from valvebench.ui.editor.paste import Plan
from valvebench.ui.editor.paste_card import PasteCard
from valvebench.ui.editor.presenter import CANCEL, DISCARD, SAVE
from valvebench.ui.editor.table_model import LACK_COLUMNS, LacksModel
from valvebench.ui.editor.tabs import TabRow
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.paint import tip
from valvebench.ui.widgets.scroll import Page
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.text import ElidedText, Text

TABS: Final = (Part.BODY, Part.PINS, Part.DEVICES, Part.PORTS, Part.FEATURES, Part.GEARS, Part.FACES)
FILE_FILTER: Final = "Variant files (*.json)"
_NARROW_PX: Final = 1080
_TIGHT_PX: Final = 700
_CHANGED, _KEPT = "not saved", "saved"


class EditorPage(Page):
    """Shows what the presenter says; tells it in plain words what the person did."""

    new_asked = Signal()
    open_chosen = Signal(object)
    save_asked = Signal()
    save_as_asked = Signal()
    save_chosen = Signal(object)
    save_cancelled = Signal()
    undo_asked = Signal()
    redo_asked = Signal()
    cell_typed = Signal(object, str)
    cells_cleared = Signal(object)
    rows_deleted = Signal(object, object)
    copied = Signal(object, object)
    pasted = Signal(object, str)
    paste_taken = Signal(object)
    changed = Signal(bool)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.title, self._state = (
            ElidedText("New variant", size_px=17, weight=fonts.SEMIBOLD),
            Text(size_px=13, muted=True),
        )
        self.buttons = {
            "new": Button("New"),
            "open": Button("Open \u2026"),
            "undo": Button("Undo"),
            "redo": Button("Redo"),
            "save_as": Button("Save as \u2026"),
            "save": Button("Save", is_primary=True),
            "back": Button("Close"),
        }
        self.face_card, self.body, self.paste_card = FaceCard(), BodyForm(), PasteCard()
        self.tables = {part: EditTable(part) for part in TABS if part is not Part.BODY}
        self.tabs, self._stack = TabRow([PART_TITLE[part] for part in TABS]), QStackedWidget()
        self._copy, self._paste, self._delete = Button("Copy"), Button("Paste"), Button("Delete rows")
        self.lacks, self.lacks_table = LacksModel(self), Table(LACK_COLUMNS, name="What is missing")
        self._said = MessageLine(grows=False)
        self.lacks_card, self._right = Card("What is missing", is_outdented=True), QStackedWidget()
        self._face_index = 0
        self._is_narrow = False
        self._build()
        self._connect()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self._head, self._row, self._bar = QGridLayout(), QHBoxLayout(), QHBoxLayout()
        self._bar_side = QWidget()
        self._bar_side.setLayout(self._bar)
        self._bar.setContentsMargins(0, 0, 0, 0)
        for button in self.buttons.values():
            self._bar.addWidget(button)
        self._head.addWidget(self.title, 0, 0)
        self._head.addWidget(self._state, 0, 1)
        self._head.setColumnStretch(0, 1)
        self.lacks_table.setModel(self.lacks)
        self.lacks_card.body.addWidget(self.lacks_table, 1)
        self._right.addWidget(self._tables_side())
        self._right.addWidget(self.paste_card)
        self._grid, self._all = QGridLayout(), QVBoxLayout(self)
        self._all.addLayout(self._head)
        self._all.addWidget(self._said)
        self._all.addLayout(self._grid, 1)
        self._place()
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _tables_side(self) -> QWidget:
        side, card = QWidget(), Card()
        self._side = QVBoxLayout(side)
        self._side.setContentsMargins(0, 0, 0, 0)
        self._stack.addWidget(self.body)
        for table in self.tables.values():
            self._stack.addWidget(table)
        self._actions = QWidget()
        self._actions.setLayout(self._row)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addStretch(1)
        for button in (self._copy, self._paste, self._delete):
            self._row.addWidget(button)
        card.body.addWidget(self.tabs)
        card.body.addWidget(self._stack, 1)
        card.body.addWidget(self._actions)
        self._side.addWidget(card, 62)
        self._side.addWidget(self.lacks_card, 38)
        return side

    def _place(self) -> None:
        """Side by side, or one below the other where the page is narrow."""
        for widget in (self.face_card, self._right):
            self._grid.removeWidget(widget)
        self._head.removeWidget(self._bar_side)
        if self._is_narrow:
            self._grid.addWidget(self._right, 0, 0)
            self._grid.addWidget(self.face_card, 1, 0)
            self._head.addWidget(self._bar_side, 1, 0, 1, 2, Qt.AlignmentFlag.AlignLeft)
        else:
            self._grid.addWidget(self.face_card, 0, 0)
            self._grid.addWidget(self._right, 0, 1)
            self._head.addWidget(self._bar_side, 0, 2)
        self._grid.setColumnStretch(0, 38)
        self._grid.setColumnStretch(1, 0 if self._is_narrow else 62)

    def fit_width(self, room_px: float) -> None:
        """Lay out for this width in drawn px."""
        self.tabs.set_counted(is_counted=room_px >= _TIGHT_PX)
        is_narrow = room_px < _NARROW_PX
        if is_narrow != self._is_narrow:
            self._is_narrow = is_narrow
            self._place()

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._all.setContentsMargins(gap, gap, gap + fonts.whole_px(4), gap)
        self._all.setSpacing(fonts.whole_px(8))
        self._grid.setSpacing(gap)
        self._side.setSpacing(gap)
        self._head.setSpacing(fonts.whole_px(8))
        self._bar.setSpacing(fonts.whole_px(8))
        self._row.setSpacing(fonts.whole_px(8))
        self._said.setFixedHeight(fonts.whole_px(20))
        self.lacks_table.setMinimumHeight(fonts.whole_px(112))
        self._place()

    def _connect(self) -> None:
        self._connect_buttons()
        self._connect_tables()
        self._connect_keys()
        self.tabs.chosen.connect(self.show_tab)
        self.lacks_table.clicked.connect(self._lack_chosen)
        self.lacks_table.activated.connect(self._lack_chosen)
        self.paste_card.taken.connect(self._paste_is_taken)
        self.paste_card.left.connect(self._paste_is_left)
        self.body.typed.connect(self.cell_typed)

    def _connect_buttons(self) -> None:
        self.buttons["new"].clicked.connect(self.new_asked)
        self.buttons["open"].clicked.connect(self.ask_open)
        self.buttons["undo"].clicked.connect(self.undo_asked)
        self.buttons["redo"].clicked.connect(self.redo_asked)
        self.buttons["save"].clicked.connect(self.save_asked)
        self.buttons["save_as"].clicked.connect(self.save_as_asked)
        self.buttons["back"].clicked.connect(self.left)
        self._copy.clicked.connect(self._copy_clicked)
        self._paste.clicked.connect(self._paste_clicked)
        self._delete.clicked.connect(self._delete_clicked)

    def _connect_tables(self) -> None:
        for table in self.tables.values():
            table.typed.connect(self.cell_typed)
            table.cleared.connect(self.cells_cleared)
            table.rows_deleted.connect(self.rows_deleted)
            table.copied.connect(self.copied)
            table.pasted.connect(self.pasted)

    def _connect_keys(self) -> None:
        standard = QKeySequence.StandardKey
        for keys, act, words in (
            (QKeySequence(standard.New), self.new_asked.emit, "New variant"),
            (QKeySequence(standard.Open), self.ask_open, "Open a variant file"),
            (QKeySequence(standard.Save), self._save_by_key, "Save"),
            (QKeySequence("Ctrl+Shift+S"), self._save_as_by_key, "Save under another name"),
            (QKeySequence(standard.Undo), self.undo_asked.emit, "Undo"),
            (QKeySequence("Ctrl+Y"), self.redo_asked.emit, "Redo"),
            (QKeySequence("Ctrl+Shift+Z"), self.redo_asked.emit, "Redo"),
            (QKeySequence(standard.Paste), self._paste_clicked, "Paste a table"),
        ):
            shortcut = QShortcut(keys, self)
            shortcut.setWhatsThis(words)
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(act)
        for place, tab in enumerate(self.tabs.tabs):
            shortcut = QShortcut(QKeySequence(f"Alt+{place + 1}"), self)
            shortcut.setWhatsThis(f"Tab {tab.word}")
            shortcut.setContext(Qt.ShortcutContext.WidgetWithChildrenShortcut)
            shortcut.activated.connect(partial(self.open_tab, place))
            tab.setToolTip(tip(f"{tab.word}, Alt+{place + 1}"))

    # -- what the person does --------------------------------------------------------------

    def commit(self) -> None:
        """Take over what is being typed, as leaving the field would."""
        field = QApplication.focusWidget()
        if isinstance(field, QLineEdit) and self.isAncestorOf(field):
            field.clearFocus()

    def _save_by_key(self) -> None:
        self.commit()
        self.save_asked.emit()

    def _save_as_by_key(self) -> None:
        self.commit()
        self.save_as_asked.emit()

    def ask_open(self) -> None:
        """Ask which file."""
        chosen, _ = QFileDialog.getOpenFileName(self, "Open a variant", "", FILE_FILTER)
        if chosen:
            self.open_chosen.emit(Path(chosen))

    def table(self) -> EditTable | None:
        """The table in front; None where it is the body's form."""
        widget = self._stack.currentWidget()
        return widget if isinstance(widget, EditTable) else None

    def _copy_clicked(self) -> None:
        table = self.table()
        if table is not None:
            table.copy()

    def _paste_clicked(self) -> None:
        table = self.table()
        if table is not None:
            table.paste()

    def _delete_clicked(self) -> None:
        table = self.table()
        if table is not None:
            table.delete_rows()

    def _lack_chosen(self, index: QModelIndex) -> None:
        self.go_to(self.lacks.spot(index.row()))

    def _paste_is_taken(self, plan: Plan) -> None:
        self._right.setCurrentIndex(0)
        self.paste_taken.emit(plan)
        self.begin()
        table = self.table()
        if table is not None:  # on the empty row: whoever types on changes nothing that was pasted
            table.select_cell(table.part_model.rowCount() - 1, "name")

    def _paste_is_left(self) -> None:
        self._right.setCurrentIndex(0)
        self.begin()

    def open_tab(self, place: int) -> None:
        """Bring a table to the front and put the keyboard into it."""
        self.show_tab(place)
        self.begin()

    def show_tab(self, place: int) -> None:
        """Bring a table to the front."""
        self.tabs.set_current(place)
        self._stack.setCurrentIndex(place)
        self._actions.setVisible(TABS[place] is not Part.BODY)
        self.face_card.show_ports(is_ports=TABS[place] is Part.PORTS)

    def begin(self) -> None:
        """The table in front has the keyboard, or the first field of the form."""
        table = self.table()
        if table is None:
            self.body.go_to("key")
            return
        if not table.currentIndex().isValid():
            table.select_cell(0, "name")
        table.setFocus(Qt.FocusReason.OtherFocusReason)

    # -- what the presenter asks -----------------------------------------------------------

    def show_draft(self, draft: Draft, lacks: Sequence[Lack], *, face: int) -> None:
        """Show every table, the drawing and what is missing."""
        for place, part in enumerate(TABS):
            rows = draft.rows(part)
            if part is Part.BODY:
                self.body.show_draft(draft, lacks)
            else:
                self.tables[part].part_model.set_rows(rows, lacks)
                self.tabs.set_count(place, str(len(rows) or ""))
        self.face_card.show_draft(draft, face=face)
        self.lacks.set_lacks(lacks)
        self.lacks_card.set_aside(_counts(lacks))

    def show_state(self, title: str, *, is_changed: bool, undo: str, redo: str) -> None:
        """Name, whether it is saved, and what undo and redo would do."""
        self.title.setText(title)
        self._state.setText(_CHANGED if is_changed else _KEPT)
        for name, words in (("undo", undo), ("redo", redo)):
            self.buttons[name].setEnabled(bool(words))
            self.buttons[name].setToolTip(f"{name.capitalize()}: {words}" if words else "")
        self.changed.emit(is_changed)

    def show_paste(self, plan: Plan, known: Sequence[str]) -> None:
        """Preview pasted rows in place of the tables."""
        self.paste_card.show_plan(plan, known, wants_pins=True)
        self._right.setCurrentWidget(self.paste_card)
        self.paste_card.take.setFocus(Qt.FocusReason.OtherFocusReason)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the head."""
        self._said.show_message(words, icon="problem" if is_problem else "note")

    def go_to(self, spot: Spot) -> None:
        """Put the keyboard into a cell."""
        self._right.setCurrentIndex(0)
        self.show_tab(TABS.index(spot.part))
        if spot.part is Part.BODY:
            self.body.go_to(spot.key)
        else:
            self.tables[spot.part].go_to(spot)

    def put_on_clipboard(self, text: str) -> None:
        """For the spreadsheet."""
        QGuiApplication.clipboard().setText(text)

    def ask_where(self, suggested: str) -> None:
        """Ask for a file name."""
        chosen, _ = QFileDialog.getSaveFileName(self, "Save the variant", suggested, FILE_FILTER)
        if chosen:
            path = Path(chosen)
            self.save_chosen.emit(path if path.suffix else path.with_suffix(".json"))
        else:
            self.save_cancelled.emit()

    def ask_leave(self, title: str) -> str:
        """Save, discard or stay: the only question that waits for an answer."""
        buttons = QMessageBox.StandardButton
        box = QMessageBox(self)
        box.setFont(fonts.font(14))
        box.setWindowTitle("Not saved yet")
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setText(f"{title} has changes that are not saved.")
        box.setStandardButtons(buttons.Save | buttons.Discard | buttons.Cancel)
        box.setDefaultButton(buttons.Save)
        answer = box.exec()
        box.deleteLater()
        return {buttons.Save.value: SAVE, buttons.Discard.value: DISCARD}.get(answer, CANCEL)


def _counts(lacks: Sequence[Lack]) -> str:
    wrong = sum(lack.is_wrong for lack in lacks)
    parts = [f"{wrong} wrong" if wrong else "", f"{len(lacks) - wrong} missing" if len(lacks) > wrong else ""]
    return ", ".join(part for part in parts if part) or "nothing"
