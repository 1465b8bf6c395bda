"""What stands beside the list: all about the chosen variant, two side by side, or what was refused and why."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from PySide6.QtCore import Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from valvebench.bench.library import Trouble
from valvebench.diagnose.variant_difference import Difference
from valvebench.ui import fonts
from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.library.shown import Compared, Told
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.scroll import bring_into_sight, forget_widths
from valvebench.ui.widgets.table import Column, Kind
from valvebench.ui.widgets.text import ElidedText, Text

_TOLD_COLUMNS: Final = (Column(kind=Kind.KEY, width_px=112), Column(kind=Kind.TEXT))
_DIFFERENCE_COLUMNS: Final = (
    Column(kind=Kind.KEY, least_px=96),
    Column(kind=Kind.TEXT, least_px=96),
    Column(kind=Kind.TEXT, least_px=96),
)
_TROUBLE_COLUMNS: Final = (Column(kind=Kind.KEY, width_px=132), Column(kind=Kind.TEXT))
MUST_MATCH: Final = "must match"
_ONE_ROW_PX: Final = 520
_FEW_IN_A_ROW: Final = 3


def _told(line: Told) -> tuple[str, ...]:
    return tuple(line)


def _trouble(line: Trouble) -> tuple[str, ...]:
    return tuple(line)


def _difference(row: Difference) -> tuple[str, ...]:
    hard = f" ({MUST_MATCH})" if row.must_match else ""
    return f"{row.table}: {row.what}{hard}", row.one, row.other


def _nothing(_: object) -> str:
    return ""


class _Side(QWidget):
    """One of the things this card can show, filled from above."""

    def __init__(self) -> None:
        super().__init__()
        self.rows = QVBoxLayout(self)
        self.rows.setContentsMargins(0, 0, 0, 0)


class ToldCard(Card):
    """One of three sides in front; Esc in the others leads back to the first."""

    open_asked = Signal()
    duplicate_asked = Signal()
    compare_asked = Signal()
    export_asked = Signal()
    remove_asked = Signal()
    remove_confirmed = Signal()
    keep_asked = Signal()
    compare_with = Signal(object)
    compare_left = Signal()
    copy_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self.buttons = {
            "open": Button("Open", is_primary=True),
            "duplicate": Button("Duplicate"),
            "compare": Button("Compare"),
            "export": Button("Export \u2026"),
            "remove": Button("Remove"),
        }
        self.name, self.about = ElidedText(size_px=17, weight=fonts.SEMIBOLD), ElidedText(size_px=13, muted=True)
        self.told: RowsModel[Told] = RowsModel(("About", "What"), _told, _nothing, self)
        self.told_table = WrapTable(_TOLD_COLUMNS, (0, 1), name="About this variant")
        self.question, self.remove, self.keep = MessageLine(), Button("Remove", is_primary=True), Button("Keep it")
        self.other = ChoiceField("Compare with", [])
        self.summary = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self.compared: RowsModel[Difference] = RowsModel(("What", "This one", "The other"), _difference, _nothing, self)
        self.compared_table = WrapTable(_DIFFERENCE_COLUMNS, (0, 1, 2), name="Differences")
        self.copy, self.back = Button("Copy as text"), Button("Done", key="Esc")
        self.refused = Text(size_px=15, weight=fonts.SEMIBOLD, wraps=True)
        self.troubles: RowsModel[Trouble] = RowsModel(("File", "What is wrong"), _trouble, _nothing, self)
        self.troubles_table = WrapTable(_TROUBLE_COLUMNS, (0, 1), name="What is wrong")
        self.understood = Button("Done", key="Esc", is_primary=True)
        self._sides, self._about_side, self._compare_side, self._refused_side = (
            QStackedWidget(),
            _Side(),
            _Side(),
            _Side(),
        )
        self._build()
        self._connect()
        self.rescale()

    # -- building --------------------------------------------------------------------------

    def _build(self) -> None:
        for table, model in (
            (self.told_table, self.told),
            (self.compared_table, self.compared),
            (self.troubles_table, self.troubles),
        ):
            table.setModel(model)
        self._build_about()
        self._build_compare()
        for part in (self.refused, self.troubles_table, self.understood):
            self._refused_side.rows.addWidget(part)
        self._refused_side.rows.setAlignment(self.understood, Qt.AlignmentFlag.AlignRight)
        for side in (self._about_side, self._compare_side, self._refused_side):
            self._sides.addWidget(side)
        self.body.addWidget(self._sides, 1)

    def _build_about(self) -> None:
        self._actions, self._asking = QWidget(), QWidget()
        self._action_grid, self._answers, asking = QGridLayout(self._actions), QHBoxLayout(), QVBoxLayout(self._asking)
        self._action_grid.setContentsMargins(0, 0, 0, 0)
        asking.setContentsMargins(0, 0, 0, 0)
        self._place_actions(in_a_row=len(self.buttons))
        self._answers.addWidget(self.remove)
        self._answers.addWidget(self.keep)
        self._answers.addStretch(1)
        asking.addWidget(self.question)
        asking.addLayout(self._answers)
        for part in (self.name, self.about, self._asking, self._actions):
            self._about_side.rows.addWidget(part)
        self._about_side.rows.addWidget(self.told_table, 1)
        self._asking.hide()

    def _place_actions(self, *, in_a_row: int) -> None:
        for place, button in enumerate(self.buttons.values()):
            self._action_grid.addWidget(button, *divmod(place, in_a_row), Qt.AlignmentFlag.AlignLeft)
        for column in range(len(self.buttons) + 1):
            self._action_grid.setColumnStretch(column, 1 if column == in_a_row else 0)

    def fit(self, room_px: float) -> None:
        """The buttons in one row, or in two where the card is narrow."""
        self._place_actions(in_a_row=len(self.buttons) if room_px >= _ONE_ROW_PX else _FEW_IN_A_ROW)
        forget_widths(self._actions, self._about_side, self)

    def _build_compare(self) -> None:
        self._foot = QHBoxLayout()
        self._foot.addWidget(self.copy)
        self._foot.addStretch(1)
        self._foot.addWidget(self.back)
        self._compare_side.rows.addWidget(self.other)
        self._compare_side.rows.addWidget(self.summary)
        self._compare_side.rows.addWidget(self.compared_table, 1)
        self._compare_side.rows.addLayout(self._foot)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_foot"):
            for layout in (self._action_grid, self._answers, self._foot):
                layout.setSpacing(fonts.whole_px(8))
            for side in (self._about_side, self._compare_side, self._refused_side):
                side.rows.setSpacing(fonts.whole_px(8))

    def _connect(self) -> None:
        for name, asked in (
            ("open", self.open_asked),
            ("duplicate", self.duplicate_asked),
            ("compare", self.compare_asked),
            ("export", self.export_asked),
            ("remove", self.remove_asked),
        ):
            self.buttons[name].clicked.connect(asked)
        self.remove.clicked.connect(self.remove_confirmed)
        self.keep.clicked.connect(self.keep_asked)
        self.other.chosen.connect(self._other_chosen)
        self.copy.clicked.connect(self.copy_asked)
        self.back.clicked.connect(self.compare_left)
        self.understood.clicked.connect(self.compare_left)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Escape: not removed after all, or back to what is told."""
        if event.key() != Qt.Key.Key_Escape:
            super().keyPressEvent(event)
        elif self._asking.isVisible():
            self.keep_asked.emit()
        else:
            self.compare_left.emit()

    def _other_chosen(self) -> None:
        self.compare_with.emit(Path(self.other.word()))

    # -- what is shown ---------------------------------------------------------------------

    def show_told(self, title: str, about: str, lines: Sequence[Told]) -> None:
        """All about one variant."""
        self.name.setText(title or "No variant")
        self.about.setText(about)
        self.told.set_rows(lines)
        for button in self.buttons.values():
            button.setEnabled(bool(title))
        self._sides.setCurrentWidget(self._about_side)

    def ask_remove(self, words: str) -> None:
        """Ask in the place of the buttons."""
        self.question.show_message(words, icon="ask")
        self._actions.hide()
        self._asking.show()
        bring_into_sight(self)
        self.remove.setFocus(Qt.FocusReason.OtherFocusReason)

    def stop_asking(self) -> bool:
        """The buttons again; whether anything was asked."""
        was_asked = not self._asking.isHidden()
        self._asking.hide()
        self._actions.show()
        return was_asked

    def show_others(self, others: Sequence[tuple[str, str]]) -> None:
        """Offer what the chosen one can be compared with."""
        self.other.box.clear()
        for word, shown in others:
            self.other.add(word, shown)
        self._sides.setCurrentWidget(self._compare_side)
        bring_into_sight(self)
        self.other.box.setFocus(Qt.FocusReason.OtherFocusReason)

    def show_compared(self, shown: Compared) -> None:
        """Two side by side."""
        self.summary.setText(f"{shown.one} and {shown.other}: {shown.summary}")
        self.compared.set_rows(shown.rows)
        self._sides.setCurrentWidget(self._compare_side)

    def show_refused(self, what: str, troubles: Sequence[Trouble]) -> None:
        """Everything that is wrong, file by file."""
        self.refused.setText(what)
        self.troubles.set_rows(troubles)
        self._sides.setCurrentWidget(self._refused_side)
        bring_into_sight(self)
        self.understood.setFocus(Qt.FocusReason.OtherFocusReason)
