"""The preview of a paste: what each column becomes, what is wrong in which cell, and one step to take it over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QBoxLayout, QHBoxLayout, QWidget

from valvebench.model.draft_field import PART_TITLE, Part
from valvebench.model.draft_fields import FIELDS, field_of
from valvebench.ui import fonts
from valvebench.ui.editor.body_form import TWO_LINES_PX
from valvebench.ui.editor.edit_table import EditDelegate, FlatHeader, smallest_size
from valvebench.ui.editor.paste import SKIP, Plan, nodes_of, summary, with_header, with_key
from valvebench.ui.editor.table_model import PasteModel, meaning_of
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import TickBox
from valvebench.ui.widgets.form import ChoiceField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.paint import set_tip
from valvebench.ui.widgets.scroll import forget_widths
from valvebench.ui.widgets.table import Column, Kind, Table

_WIDTH_PX = 108.0
_BESIDE: Final = QBoxLayout.Direction.LeftToRight


class PasteTable(Table):
    """As many columns as were pasted."""

    def minimumSizeHint(self) -> QSize:
        """Less than all columns."""
        return smallest_size()

    def set_columns(self, count: int) -> None:
        """All columns alike."""
        self._columns = tuple(Column(kind=Kind.TEXT, width_px=_WIDTH_PX) for _ in range(count))
        self.setItemDelegate(EditDelegate(self._columns, (), self))
        self.setHorizontalHeader(FlatHeader(self._columns, self))
        self.rescale()


class PasteCard(Card):
    """Shown in place of the tables until it is taken over or left."""

    taken = Signal(object)
    left = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.plan: Plan | None = None
        self._known: tuple[str, ...] = ()
        self._said, self._meanings = MessageLine(grows=False), MessageLine(grows=False)
        self.header, self.pins = TickBox("The first row holds headings"), TickBox("Also make the pins named here")
        self.column, self.meaning = ChoiceField("Column", []), ChoiceField("becomes", [])
        self.model, self.table = PasteModel(self), PasteTable((), name="Rows to paste")
        self.take, self.cancel = Button("Take over", is_primary=True, key="Enter"), Button("Leave it", key="Esc")
        self._ticks, self._choices, self._buttons = QBoxLayout(_BESIDE), QHBoxLayout(), QHBoxLayout()
        self._build()
        self._connect()
        self.rescale()

    def _build(self) -> None:
        self._ticks.addWidget(self.header)
        self._ticks.addWidget(self.pins)
        self._ticks.addStretch(1)
        self._choices.addWidget(self.column, 1)
        self._choices.addWidget(self.meaning, 1)
        self._choices.addStretch(1)
        self._buttons.addStretch(1)
        self._buttons.addWidget(self.cancel)
        self._buttons.addWidget(self.take)
        for part in (self._said, self._meanings):
            self.body.addWidget(part)
        self.body.addWidget(self.table, 1)
        for layout in (self._ticks, self._choices, self._buttons):
            self.body.addLayout(layout)

    def fit(self, *, is_tight: bool) -> None:
        """The ticks one below the other where there is little room."""
        self._ticks.setDirection(QBoxLayout.Direction.TopToBottom if is_tight else _BESIDE)
        self.body.invalidate()
        forget_widths(self)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_buttons"):
            self._said.setFixedHeight(fonts.whole_px(20))
            self._meanings.setFixedHeight(fonts.whole_px(TWO_LINES_PX))
            for row in (self._ticks, self._choices, self._buttons):
                row.setSpacing(fonts.whole_px(12))

    def _connect(self) -> None:
        self.take.clicked.connect(self._take)
        self.cancel.clicked.connect(self.left)
        self.header.clicked.connect(self._header_set)
        self.pins.clicked.connect(self._pins_set)
        self.column.chosen.connect(self._show_column)
        self.meaning.chosen.connect(self._meaning_chosen)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Enter takes over, Esc leaves."""
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._take()
        elif event.key() == Qt.Key.Key_Escape:
            self.left.emit()
        else:
            super().keyPressEvent(event)

    def show_plan(self, plan: Plan, known: Sequence[str], *, wants_pins: bool) -> None:
        """Preview pasted rows; `known` are the names the table has already."""
        self._known = tuple(known)
        has_pins = plan.part is Part.DEVICES and bool(nodes_of(plan))
        self.pins.setVisible(plan.part is Part.DEVICES)
        self.pins.setChecked(has_pins and wants_pins)
        self.meaning.box.clear()
        self.meaning.add(SKIP, "left out")
        for field in FIELDS[plan.part]:
            self.meaning.add(field.key, field.title)
        self._show(replace(plan, adds_pins=self.pins.isChecked()))
        self.take.setFocus(Qt.FocusReason.OtherFocusReason)

    def _show(self, plan: Plan) -> None:
        self.plan = plan
        self.set_title(f"Paste into {PART_TITLE[plan.part]}")
        self.header.setChecked(plan.has_header)
        words = summary(plan, self._known)
        self._said.show_message(words, icon="problem" if "cannot be read" in words else "note")
        meanings = "; ".join(_meaning_words(plan, i) for i in range(len(plan.keys)))
        self._meanings.show_message(meanings)
        set_tip(self._meanings, meanings)
        self.table.setModel(None)
        self.model.set_plan(plan)
        self.table.set_columns(len(plan.keys))
        self.table.setModel(self.model)
        self._show_columns(plan)

    def _show_columns(self, plan: Plan) -> None:
        place = max(0, self.column.box.currentIndex())
        self.column.box.clear()
        for i, head in enumerate(plan.heads):
            self.column.add(str(i), f"{i + 1}: {head or plan.grid[0][i] if plan.grid else head}")
        self.column.box.setCurrentIndex(min(place, len(plan.keys) - 1))
        self._show_column()

    def _show_column(self) -> None:
        if self.plan is not None:
            self.meaning.set_word(self.plan.keys[self.column.box.currentIndex()])

    def _meaning_chosen(self) -> None:
        if self.plan is not None:
            self._show(with_key(self.plan, self.column.box.currentIndex(), self.meaning.word()))

    def _header_set(self) -> None:
        if self.plan is not None:
            self._show(with_header(self.plan, has_header=self.header.isChecked()))

    def _pins_set(self) -> None:
        if self.plan is not None:
            self.plan = replace(self.plan, adds_pins=self.pins.isChecked())

    def _take(self) -> None:
        if self.plan is not None:
            self.taken.emit(self.plan)


def _meaning_words(plan: Plan, column: int) -> str:
    """`Solenoid becomes Name`, or the number of the column where it has no heading."""
    head = plan.heads[column] or f"column {column + 1}"
    key = plan.keys[column]
    is_same = key != SKIP and head.lower() == field_of(plan.part, key).title.lower()
    return head if is_same else f"{head} \u2192 {meaning_of(plan, column)}"
