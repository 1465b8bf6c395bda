"""A table one types into as into a spreadsheet; a cell that cannot be read keeps its text and says why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import QItemSelectionModel, QModelIndex, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QContextMenuEvent, QGuiApplication, QKeyEvent, QKeySequence, QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import (
    QAbstractItemDelegate,
    QAbstractItemView,
    QCompleter,
    QLineEdit,
    QMenu,
    QStyle,
    QStyleOptionViewItem,
    QWidget,
)

from valvebench.model.draft_field import PART_TITLE, Field, Part
from valvebench.model.draft_fields import FIELDS
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Row, Spot
from valvebench.ui import fonts, theme
from valvebench.ui.editor.table_model import HINT_ROLE, PROBLEM_ROLE, Index, PartModel, columns_of
from valvebench.ui.theme import Palette
from valvebench.ui.widgets import icons, paint
from valvebench.ui.widgets.button import ENTER_KEYS
from valvebench.ui.widgets.table import CellDelegate, Column, Header, Kind, Table

_ICON_PX: Final = 14
_NARROWEST_ENTRY_PX: Final = 140
_TRIGGER: Final = QAbstractItemView.EditTrigger
_BY_HAND: Final = frozenset({_TRIGGER.DoubleClicked, _TRIGGER.EditKeyPressed})
_SELECTED: Final = QStyle.StateFlag.State_Selected.value


class FlatHeader(Header):
    """Also the room beside the last column is card."""

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the headings, then what is left."""
        super().paintEvent(event)
        left = self.length() - self.offset()
        with QPainter(self.viewport()) as painter:
            painter.fillRect(left, 0, self.width(), self.height(), theme.colour(theme.current().card))


def smallest_size() -> QSize:
    """How small a table of many columns may be: it scrolls sideways inside its card."""
    return QSize(fonts.whole_px(240), fonts.whole_px(168))


class CellEntry(QLineEdit):
    """The field one types a cell into."""

    def __init__(self, parent: QWidget, field: Field) -> None:
        super().__init__(parent)
        self.setAccessibleName(field.title)
        self.setFrame(False)
        self.setMaxLength(2000)
        self.setFont(fonts.font(14))
        self.setTextMargins(fonts.whole_px(4), 0, fonts.whole_px(4), 0)
        palette = QPalette(self.palette())
        palette.setColor(QPalette.ColorRole.Base, theme.colour(theme.current().card))
        self.setPalette(palette)
        if field.choices:
            self._complete([shown for _, shown in field.choices])

    def paintEvent(self, event: QPaintEvent) -> None:
        """Draw the text, then an ink frame."""
        super().paintEvent(event)
        with paint.start(self) as painter:
            painter.setPen(paint.pen(theme.current().ink, fonts.px(2)))
            painter.setBrush(paint.NO_BRUSH)
            painter.drawRect(QRectF(self.rect()).adjusted(1, 1, -1, -1))

    def _complete(self, words: Sequence[str]) -> None:
        completer = QCompleter(list(words), self)
        completer.setCompletionMode(QCompleter.CompletionMode.InlineCompletion)
        completer.setCaseSensitivity(Qt.CaseSensitivity.CaseInsensitive)
        self.setCompleter(completer)


class EditDelegate(CellDelegate):
    """Paints the mark of a problem beside the words, and opens the entry."""

    def __init__(self, columns: Sequence[Column], fields: Sequence[Field], parent: QWidget) -> None:
        super().__init__(columns, parent)
        self._fields = tuple(fields)

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        """Draw one cell."""
        problem, hint = index.data(PROBLEM_ROLE), index.data(HINT_ROLE)
        super().paint(painter, option, index)
        palette = theme.current()
        shown = palette.inverted() if option.state.value & _SELECTED else palette
        if problem:
            is_right = self._columns[index.column()].kind is Kind.NUMBER
            _paint_problem(painter, option.rect, shown, at_left=is_right)
        elif hint:
            inner = QRectF(option.rect).adjusted(fonts.px(10), 0, 0, 0)
            paint.draw_elided(painter, inner, hint, font=fonts.font(13), code=shown.muted)

    def createEditor(self, parent: QWidget, option: QStyleOptionViewItem, index: Index) -> QWidget:  # noqa: ARG002
        """The field of a cell."""
        return CellEntry(parent, self._fields[index.column()])

    def updateEditorGeometry(self, editor: QWidget, option: QStyleOptionViewItem, index: Index) -> None:  # noqa: ARG002
        """Over the cell, wide enough to type in."""
        box = QRect(option.rect)
        box.setWidth(max(box.width(), fonts.whole_px(_NARROWEST_ENTRY_PX)))
        editor.setGeometry(box)


def _paint_problem(painter: QPainter, rect: QRect, palette: Palette, *, at_left: bool) -> None:
    """An ink frame and the sign with the bar, away from the words: shape, not colour."""
    painter.save()
    painter.setRenderHint(paint.SMOOTH)
    painter.setPen(paint.pen(palette.ink, fonts.px(1.5)))
    painter.setBrush(paint.NO_BRUSH)
    painter.drawRect(QRectF(rect).adjusted(1, 1, -1, -1))
    side = fonts.px(_ICON_PX)
    left = rect.left() + fonts.px(5) if at_left else rect.right() - side - fonts.px(4)
    box = QRectF(left, rect.center().y() - side / 2 + 0.5, side, side)
    painter.fillRect(box.adjusted(-2, -1, 2, 1), theme.colour(palette.card))
    icons.paint_icon(painter, "problem", box, palette.ink)
    painter.restore()


class EditTable(Table):
    """One table of the draft."""

    typed = Signal(object, str)
    cleared = Signal(object)
    rows_deleted = Signal(object, object)
    copied = Signal(object, object)
    pasted = Signal(object, str)

    def __init__(self, part: Part, parent: QWidget | None = None) -> None:
        columns = columns_of(part)
        super().__init__(columns, name=PART_TITLE[part], parent=parent)
        self.part, self.part_model = part, self._model_of(part)
        self.setItemDelegate(EditDelegate(columns, FIELDS[part], self))
        self.setHorizontalHeader(FlatHeader(columns, self))
        self.setSelectionBehavior(QAbstractItemView.SelectionBehavior.SelectItems)
        self.setEditTriggers(_TRIGGER.AnyKeyPressed | _TRIGGER.DoubleClicked | _TRIGGER.EditKeyPressed)
        self.setCornerWidget(QWidget(self))  # the style would draw an edge where the two bars meet
        self.setModel(self.part_model)
        self.part_model.typed.connect(self.typed)

    def _model_of(self, part: Part) -> PartModel:
        return PartModel(part, self)

    def minimumSizeHint(self) -> QSize:
        """Less than all columns."""
        return smallest_size()

    def show_rows(self, rows: Sequence[Row], lacks: Sequence[Lack]) -> None:
        """Other rows, and what is wrong with them."""
        self.part_model.set_rows(rows, lacks)

    # -- where one is ----------------------------------------------------------------------

    def spot(self) -> Spot:
        """The cell with the keyboard, the first one where none has it."""
        index = self.currentIndex()
        return self.part_model.spot(index if index.isValid() else self.part_model.index(0, 0))

    def go_to(self, spot: Spot) -> None:
        """Put the keyboard into a cell."""
        row = min(spot.row, self.part_model.rowCount() - 1)
        self.setCurrentIndex(self.part_model.index(row, self.part_model.place(spot.key)))
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def chosen_rows(self) -> list[int]:
        """The rows that hold a selected cell."""
        return sorted({index.row() for index in self.chosen_cells()})

    def chosen_cells(self) -> list[QModelIndex]:
        """The selected cells, else the one with the keyboard."""
        current = self.currentIndex()
        return self.selectedIndexes() or ([current] if current.isValid() else [])

    def step_down(self) -> None:
        """To the cell below."""
        index = self.currentIndex()
        if index.row() + 1 < self.part_model.rowCount():
            self.setCurrentIndex(index.siblingAtRow(index.row() + 1))

    # -- keys ------------------------------------------------------------------------------

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Copy, paste, clear, delete; other keys walk or begin to type."""
        if event.matches(QKeySequence.StandardKey.Copy):
            self.copy()
        elif event.matches(QKeySequence.StandardKey.Paste):
            self.paste()
        elif event.key() == Qt.Key.Key_Delete and event.modifiers() & Qt.KeyboardModifier.ControlModifier:
            self.delete_rows()
        elif event.key() in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace):
            self.cleared.emit([self.part_model.spot(index) for index in self.chosen_cells()])
        elif event.key() in ENTER_KEYS and self.state() != QAbstractItemView.State.EditingState:
            self.step_down()
        else:
            super().keyPressEvent(event)

    def copy(self) -> None:
        """The rows with a selected cell."""
        self.copied.emit(self.part, self.chosen_rows())

    def paste(self) -> None:
        """What the clipboard holds, at the cell with the keyboard."""
        self.pasted.emit(self.spot(), QGuiApplication.clipboard().text())

    def delete_rows(self) -> None:
        """The rows with a selected cell."""
        self.rows_deleted.emit(self.part, self.chosen_rows())

    def edit(self, *arguments: object) -> bool:  # type: ignore[override]  # one name for a slot and a virtual in Qt
        """A cell of a few words opens their menu; every other key or cell opens the entry."""
        if len(arguments) == 3 and arguments[1] in _BY_HAND:
            index = arguments[0]
            field = self.part_model.fields[index.column()] if index.isValid() else None  # type: ignore[attr-defined]
            if field is not None and field.choices:
                self._open_menu(field)
                return False
        return bool(super().edit(*arguments))  # type: ignore[call-overload]

    def _open_menu(self, field: Field) -> None:
        menu, index = QMenu(self), self.currentIndex()
        menu.setFont(fonts.font(14))
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for word in [*(shown for _, shown in field.choices), ""]:
            action = menu.addAction(word or "(empty)")
            action.setData((index.row(), index.column(), word))
        menu.triggered.connect(self._chosen)
        menu.popup(self.viewport().mapToGlobal(self.visualRect(self.currentIndex()).bottomLeft()))

    def _chosen(self, action: object) -> None:
        row, column, word = action.data()  # type: ignore[attr-defined]
        self.part_model.setData(self.part_model.index(row, column), word)

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        """What can be done with rows, in words."""
        menu = QMenu(self)
        menu.setFont(fonts.font(14))
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        for words, act in (("Copy rows", self.copy), ("Paste", self.paste), ("Delete rows", self.delete_rows)):
            menu.addAction(words).triggered.connect(act)
        menu.popup(event.globalPos())

    def closeEditor(self, editor: QWidget, hint: QAbstractItemDelegate.EndEditHint) -> None:
        """After Enter the cell below has the keyboard."""
        super().closeEditor(editor, hint)
        if hint == QAbstractItemDelegate.EndEditHint.SubmitModelCache:
            self.step_down()

    def select_cell(self, row: int, key: str) -> None:
        """Make a cell current and selected."""
        index = self.part_model.index(row, self.part_model.place(key))
        self.selectionModel().setCurrentIndex(index, QItemSelectionModel.SelectionFlag.ClearAndSelect)
