"""The page of the variant editor: drawing at the left, tables at the right, below them what is missing."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QGuiApplication, QKeySequence
from PySide6.QtWidgets import (
    QApplication,
    QFileDialog,
    QGridLayout,
    QLineEdit,
    QMessageBox,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)

from valvebench.model.draft_field import Part
from valvebench.model.draft_lacks import Lack
from valvebench.model.draft_photos import PhotoOf
from valvebench.model.variant import Picture
from valvebench.model.variant_draft import Draft, Spot
from valvebench.model.words import Place
from valvebench.ui import fonts
from valvebench.ui.editor.edit_table import EditTable
from valvebench.ui.editor.face_card import FaceCard
from valvebench.ui.editor.lacks_table import LacksTable
from valvebench.ui.editor.paste import Plan
from valvebench.ui.editor.paste_card import PasteCard
from valvebench.ui.editor.presenter import CANCEL, DISCARD, SAVE
from valvebench.ui.editor.table_model import LacksModel
from valvebench.ui.editor.tables_card import TABS, TablesCard
from valvebench.ui.shortcuts import add_page_keys
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.paint import set_tip
from valvebench.ui.widgets.scroll import Page, forget_widths
from valvebench.ui.widgets.text import ElidedText, Text

PHOTO_KEYS: Final = {f"{key}_{place.value}": place for place in Place for key in ("picture", "sha")}
FILE_FILTER: Final = "Variant files (*.json)"
_NARROW_PX: Final = 1080
_TIGHT_PX: Final = 700
_BUTTONS_PX: Final = 620
"""Below it the buttons stand in two rows of at most four."""
_FEW_IN_A_ROW: Final = 4
PHOTO_FILTER: Final = "Photos (*.png *.jpg *.jpeg)"
WHICH_BOARD: Final = "Of the body or the case? Go to the photo line of one below the ports, then drop {name} again."
WHICH_FEATURE: Final = "Of which feature? Go to its row in the table, then drop {name} again."
_CHANGED, _KEPT, _NEW = "not saved", "saved", "new"


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
    photo_chosen = Signal(object, object)
    photos_wanted = Signal(object)
    feature_chosen = Signal(int)
    feature_wanted = Signal(object)
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
        self.face_card, self.tables_card, self.paste_card = FaceCard(), TablesCard(), PasteCard()
        self.body, self.tables, self.tabs = self.tables_card.body_form, self.tables_card.tables, self.tables_card.tabs
        self.lacks, self.lacks_table = LacksModel(self), LacksTable()
        self._said = MessageLine(grows=False)
        self.lacks_card, self._right = Card("What is missing", is_outdented=True), QStackedWidget()
        self.own_folder: Callable[[], Path | None] = _nowhere
        self._face_index = 0
        self._is_narrow = self._is_tight = False
        self._build()
        self._connect()
        self.show_tab(0)

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        self._head, self._bar = QGridLayout(), QGridLayout()
        self._bar_side = QWidget()
        self._bar_side.setLayout(self._bar)
        self._bar.setContentsMargins(0, 0, 0, 0)
        self._place_buttons(in_a_row=len(self.buttons))
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
        side = QWidget()
        self._side = QVBoxLayout(side)
        self._side.setContentsMargins(0, 0, 0, 0)
        self._side.addWidget(self.tables_card, 62)
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

    def _place_buttons(self, *, in_a_row: int) -> None:
        for place, button in enumerate(self.buttons.values()):
            self._bar.addWidget(button, *divmod(place, in_a_row))

    def fit_width(self, room_px: float) -> None:
        """Lay out for this width in drawn px."""
        self._is_tight = room_px < _TIGHT_PX
        self.tabs.set_counted(is_counted=not self._is_tight)
        for part in (self.body, self.paste_card):
            part.fit(is_tight=self._is_tight)
        self._said.setFixedHeight(self._said_px())
        forget_widths(self._right, self)
        self._place_buttons(in_a_row=len(self.buttons) if room_px >= _BUTTONS_PX else _FEW_IN_A_ROW)
        is_narrow = room_px < _NARROW_PX
        if is_narrow != self._is_narrow:
            self._is_narrow = is_narrow
            self._place()

    def _said_px(self) -> int:
        """The room of a message: two lines where one is short."""
        return fonts.whole_px(40 if self._is_tight else 20)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        gap = fonts.whole_px(16)
        self._all.setContentsMargins(gap, gap, gap + fonts.whole_px(4), gap)
        self._all.setSpacing(fonts.whole_px(8))
        self._grid.setSpacing(gap)
        self._side.setSpacing(gap)
        self._head.setSpacing(fonts.whole_px(8))
        self._bar.setSpacing(fonts.whole_px(8))
        self._said.setFixedHeight(self._said_px())
        self._place()

    def _connect(self) -> None:
        self._connect_buttons()
        self._connect_tables()
        self._connect_keys()
        self.tables_card.part_shown.connect(self._part_shown)
        self.lacks_table.clicked.connect(self._lack_chosen)
        self.lacks_table.activated.connect(self._lack_chosen)
        self.paste_card.taken.connect(self._paste_is_taken)
        self.paste_card.left.connect(self._paste_is_left)
        self.face_card.photo_asked.connect(self._ask_photo)

    def _connect_buttons(self) -> None:
        self.buttons["new"].clicked.connect(self.new_asked)
        self.buttons["open"].clicked.connect(self.ask_open)
        self.buttons["undo"].clicked.connect(self.undo_asked)
        self.buttons["redo"].clicked.connect(self.redo_asked)
        self.buttons["save"].clicked.connect(self.save_asked)
        self.buttons["save_as"].clicked.connect(self.save_as_asked)
        self.buttons["back"].clicked.connect(self.left)

    def _connect_tables(self) -> None:
        card = self.tables_card
        card.cell_typed.connect(self.cell_typed)
        card.cells_cleared.connect(self.cells_cleared)
        card.rows_deleted.connect(self.rows_deleted)
        card.copied.connect(self.copied)
        card.pasted.connect(self.pasted)
        card.tables[Part.FEATURES].selectionModel().currentRowChanged.connect(self._feature_at)

    def _connect_keys(self) -> None:
        standard = QKeySequence.StandardKey
        add_page_keys(
            self,
            (standard.New, self.new_asked.emit, "New variant"),
            (standard.Open, self.ask_open, "Open a variant file"),
            (standard.Save, self._save_by_key, "Save"),
            ("Ctrl+Shift+S", self._save_as_by_key, "Save under another name"),
            (standard.Undo, self.undo_asked.emit, "Undo"),
            ("Ctrl+Y", self.redo_asked.emit, "Redo"),
            ("Ctrl+Shift+Z", self.redo_asked.emit, "Redo"),
            ("Ctrl+W", self.left.emit, "Close the editor"),
            (standard.Paste, self.tables_card.paste, "Paste a table"),
        )
        self.tables_card.add_keys(self)

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

    def _ask_photo(self, of: PhotoOf) -> None:
        words = f"A photo of the {of.value}" if isinstance(of, Place) else "A photo of this feature"
        chosen, _ = QFileDialog.getOpenFileName(self, words, "", PHOTO_FILTER)
        if chosen:
            self.photo_chosen.emit(of, Path(chosen))

    def photo_dropped(self, path: Path) -> None:
        """A photo for the feature or the board at hand, or the only board there is; else the question in words."""
        of = self.face_card.photo_at_hand()
        if of is not None:
            self.photo_chosen.emit(of, path)
        else:
            which = WHICH_FEATURE if self.table() is self.tables[Part.FEATURES] else WHICH_BOARD
            self.say(which.format(name=path.name), is_problem=True)

    def _feature_at(self, index: QModelIndex) -> None:
        self.feature_chosen.emit(max(index.row(), 0))

    def table(self) -> EditTable | None:
        """The table in front; None where it is a form."""
        return self.tables_card.table()

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

    def show_tab(self, place: int) -> None:
        """Bring a table to the front."""
        self.tables_card.show_tab(place)

    def _part_shown(self, part: Part) -> None:
        self.face_card.show_part(part)

    def begin(self) -> None:
        """The table in front has the keyboard, or the first field of the form."""
        self.tables_card.begin()

    # -- what the presenter asks -----------------------------------------------------------

    def show_draft(self, draft: Draft, lacks: Sequence[Lack], *, face: int) -> None:
        """Show every table, the drawing and what is missing."""
        self.tables_card.show_draft(draft, lacks)
        self.face_card.show_draft(draft, face=face)
        self.lacks.set_lacks(lacks)
        self.lacks_card.set_aside(_counts(lacks))

    def want_photos(self, wanted: Mapping[Place, Picture]) -> None:
        """Ask for the photos behind the ports; they come when they are read."""
        self.photos_wanted.emit(dict(wanted))

    def want_feature(self, row: int, name: str, picture: Picture | None) -> None:
        """Name the feature at hand, and ask for its photo; it comes when it is read."""
        self.face_card.feature.show_feature(row, name, picture.file if picture is not None else "")
        self.feature_wanted.emit(picture)

    def show_state(self, title: str, *, is_changed: bool, is_on_disk: bool, undo: str, redo: str) -> None:
        """Name, whether it is saved, and what undo and redo would do."""
        self.title.setText(title)
        self._state.setText(_CHANGED if is_changed else _KEPT if is_on_disk else _NEW)
        for name, words in (("undo", undo), ("redo", redo)):
            self.buttons[name].setEnabled(bool(words))
            set_tip(self.buttons[name], f"{name.capitalize()}: {words}" if words else "")
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
        if spot.key in PHOTO_KEYS:
            self.show_tab(TABS.index(Part.PORTS))
            self.face_card.go_to_photo(PHOTO_KEYS[spot.key])
        else:
            self.tables_card.go_to(spot)

    def put_on_clipboard(self, text: str) -> None:
        """For the spreadsheet."""
        QGuiApplication.clipboard().setText(text)

    def ask_where(self, suggested: str) -> None:
        """Ask for a file name; a new variant is offered a place among the user's own, where the library lists it."""
        folder = self.own_folder()
        place = str(folder / suggested) if folder is not None else suggested
        chosen, _ = QFileDialog.getSaveFileName(self, "Save the variant", place, FILE_FILTER)
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


def _nowhere() -> None:
    """No folder is proposed."""


def _counts(lacks: Sequence[Lack]) -> str:
    wrong = sum(lack.is_wrong for lack in lacks)
    parts = [f"{wrong} wrong" if wrong else "", f"{len(lacks) - wrong} missing" if len(lacks) > wrong else ""]
    return ", ".join(part for part in parts if part) or "nothing"
