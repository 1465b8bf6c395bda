"""The part where kept sessions are judged anew."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.bench.archived import Names
from valvebench.ui import fonts
from valvebench.ui.archive.again import AgainTyped, ChangedRow, rule_choices
from valvebench.ui.archive.part import BusyPart
from valvebench.ui.archive.trend import device_text
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import Column, Kind, Table
from valvebench.ui.widgets.text import Text

ABOUT: Final = (
    "Another rule, or a corrected band of one device, over all kept sessions that match. What each was closed with "
    "stays; the new judgement is dated and stands beside it."
)
HEADERS: Final = ("Closed with", "Now", "Sessions")
COLUMNS: Final = (
    Column(kind=Kind.KEY, least_px=120),
    Column(kind=Kind.TEXT, least_px=120),
    Column(kind=Kind.NUMBER, width_px=96),
)
_NARROW_PX: Final = 700


def _cells(row: ChangedRow) -> tuple[str, ...]:
    return row.cells


def _nothing(_: ChangedRow) -> str:
    return ""


class AgainPart(BusyPart):
    """A form, progress with a way out, and from what to what verdicts changed."""

    again_asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rule = ChoiceField("Rule", list(rule_choices()))
        self.variant = ChoiceField("Only sessions of variant", [("", "Any")])
        self.device = ChoiceField("Corrected band of device", [("", "None")])
        self.fields = {
            "low": LineField("Its lower limit, \u03a9"),
            "high": LineField("Its upper limit, \u03a9"),
            "since": LineField("Only closed since", hint="2031-05"),
            "why": LineField("Why, for those who read it later"),
        }
        self._device_problem = Text(size_px=13, wraps=True)
        self.go = Button("Judge anew", is_primary=True)
        self.model: RowsModel[ChangedRow] = RowsModel(HEADERS, _cells, _nothing, self)
        self.table = Table(COLUMNS, name="What came out otherwise")
        self.card, self.result = Card("Judge anew"), Card("What came out otherwise")
        self._rows, self._grid, self._foot = QVBoxLayout(self), QGridLayout(), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self._rows.setContentsMargins(0, 0, 0, 0)
        self.table.setModel(self.model)
        self.card.body.addWidget(Text(ABOUT, size_px=14, muted=True, wraps=True))
        self.card.body.addLayout(self._grid)
        self.card.body.addWidget(self._device_problem)
        self._foot.addStretch(1)
        self._foot.addWidget(self.go)
        self.card.body.addLayout(self._foot)
        self.result.body.addWidget(self.table, 1)
        self._rows.addWidget(self.card)
        self._rows.addLayout(self.foot)
        self._rows.addWidget(self.result, 1)
        self._device_problem.hide()
        self.result.hide()
        self._rows.addStretch(0)
        self.set_starters(self.go)
        self._lay_out(across=2)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _lay_out(self, *, across: int) -> None:
        fields = (self.rule, self.variant, self.device, *self.fields.values())
        for place, field in enumerate(fields):
            self._grid.addWidget(field, place // across, place % across, Qt.AlignmentFlag.AlignTop)
        for column in range(2):
            self._grid.setColumnStretch(column, 1 if column < across else 0)

    def fit(self, room_px: float) -> None:
        """Two fields beside each other where there is room."""
        self._lay_out(across=1 if room_px < _NARROW_PX else 2)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        self._rows.setSpacing(fonts.whole_px(12))
        self._grid.setHorizontalSpacing(fonts.whole_px(16))
        self._grid.setVerticalSpacing(fonts.whole_px(12))

    def _connect(self) -> None:
        self.go.clicked.connect(self._ask)
        for field in self.fields.values():
            field.confirmed.connect(self._ask)

    def typed(self) -> AgainTyped:
        """The form as it stands."""
        texts = {name: field.text() for name, field in self.fields.items()}
        return AgainTyped(rule=self.rule.word(), variant=self.variant.word(), device=self.device.word(), **texts)

    def _ask(self) -> None:
        self.again_asked.emit(self.typed())

    def begin(self) -> None:
        """The rule has the keyboard."""
        self.rule.setFocus(Qt.FocusReason.OtherFocusReason)

    # -- what the presenter asks -----------------------------------------------------------

    def show_names(self, names: Names) -> None:
        """Variants and devices to choose from; what was chosen stays."""
        devices = [(str(place), device_text(one)) for place, one in enumerate(names.devices)]
        for field, first, choices in (
            (self.variant, "Any", [(key, key) for key in names.variants]),
            (self.device, "None", devices),
        ):
            word = field.word()
            field.box.clear()
            for key, text in [("", first), *choices]:
                field.add(key, text)
            field.set_word(word)

    def show_problems(self, problems: dict[str, str]) -> None:
        """What is wrong, beside each field."""
        for name, field in self.fields.items():
            field.set_problem(problems.get(name, ""))
        self._device_problem.setText(problems.get("device", ""))
        self._device_problem.setVisible("device" in problems)

    def show_changed(self, rows: Sequence[ChangedRow]) -> None:
        """From what to what, and how many."""
        self.model.set_rows(rows)
        self.result.setVisible(bool(rows))
