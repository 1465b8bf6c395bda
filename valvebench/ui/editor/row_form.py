"""A table of one row as a form: a field for each cell, nothing typed is ever overwritten."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QVBoxLayout, QWidget

from valvebench.model.draft_field import Cell, Part
from valvebench.model.draft_fields import field_of
from valvebench.model.draft_lacks import Lack
from valvebench.model.variant_draft import Draft, Spot
from valvebench.ui import fonts
from valvebench.ui.widgets.form import ChoiceField, LineField

_COLUMNS = 6
Place = tuple[int, int, int, int]


class RowForm(QWidget):
    """Fields of the only row of a part, in a grid of six columns."""

    typed = Signal(object, str)

    def __init__(
        self, part: Part, places: Mapping[str, Place], hints: Mapping[str, str], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.part = part
        is_choice = {key: field_of(part, key).cell is Cell.CHOICE for key in places}
        self.lines = {key: _line(part, key, hints) for key in places if not is_choice[key]}
        self.choices = {key: _choice(part, key) for key in places if is_choice[key]}
        self._grid, self._all = QGridLayout(), QVBoxLayout(self)
        self._place(places)
        for column in range(_COLUMNS):
            self._grid.setColumnStretch(column, 1)
        self._all.setContentsMargins(0, 0, 0, 0)
        self._all.addLayout(self._grid)
        for line in self.lines.values():
            line.entry.editingFinished.connect(self._finished)
        for choice in self.choices.values():
            choice.chosen.connect(self._chosen)
        fonts.zoom.changed.connect(self.rescale)

    def _place(self, places: Mapping[str, Place]) -> None:
        """Put every field into its cells of the grid: the order in which the keyboard walks them stays."""
        for key, place in places.items():
            self._grid.addWidget(self._field(key), *place, Qt.AlignmentFlag.AlignTop)

    def _field(self, key: str) -> LineField | ChoiceField:
        return self.choices[key] if key in self.choices else self.lines[key]

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._grid.setHorizontalSpacing(fonts.whole_px(12))
        self._grid.setVerticalSpacing(fonts.whole_px(8))
        self._all.setSpacing(fonts.whole_px(8))

    def _finished(self) -> None:
        entry = self.sender()
        key = next(key for key, line in self.lines.items() if line.entry is entry)
        if self.lines[key].entry.isModified():
            self.lines[key].entry.setModified(False)
            self.typed.emit(Spot(self.part, 0, key), self.lines[key].text())

    def _chosen(self) -> None:
        field = self.sender()
        key = next(key for key, choice in self.choices.items() if choice is field)
        self.typed.emit(Spot(self.part, 0, key), self.choices[key].word())

    def show_draft(self, draft: Draft, lacks: Sequence[Lack]) -> None:
        """Show the row; a field in which somebody types is left alone."""
        wrong = {lack.spot.key: lack.words for lack in lacks if lack.is_wrong and lack.spot.part is self.part}
        for key, line in self.lines.items():
            text = draft.text(self.part, 0, key)
            if not line.entry.isModified() and line.entry.text() != text:
                line.set_text(text)
            line.set_problem(self._problem(key, text, wrong))
        for key, choice in self.choices.items():
            choice.set_word(draft.text(self.part, 0, key).lower())

    def _problem(self, key: str, text: str, wrong: Mapping[str, str]) -> str:  # noqa: ARG002  heirs ask for the text
        return wrong.get(key, "")

    def go_to(self, key: str) -> None:
        """Put the keyboard into a field."""
        field = self._field(key)
        if isinstance(field, ChoiceField):
            field.box.setFocus(Qt.FocusReason.OtherFocusReason)
        else:
            field.entry.setFocus(Qt.FocusReason.OtherFocusReason)
            field.entry.selectAll()


def _line(part: Part, key: str, hints: Mapping[str, str]) -> LineField:
    return LineField(field_of(part, key).title, hint=hints.get(key, ""))


def _choice(part: Part, key: str) -> ChoiceField:
    field = field_of(part, key)
    return ChoiceField(field.title, [("", "not said"), *((shown, shown) for _, shown in field.choices)])
