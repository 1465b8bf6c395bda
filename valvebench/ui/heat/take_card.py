"""The card that takes in a log: how the file is written, what was said of it, and which column is which device."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import QFileDialog, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.heat.take_shown import ColumnShown, FileShown, Options
from valvebench.ui.widgets.announce import announce
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.controls import TickBox
from valvebench.ui.widgets.form import ChoiceField, LineField
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rows_model import RowsModel
from valvebench.ui.widgets.table import ROW_PX, Column, Kind, Table
from valvebench.ui.widgets.text import Text

FILTER: Final = "Logs (*.csv *.txt *.tsv *.xlsx);;All files (*)"
_TICK_MS: Final = 250
_WIDE: Final = 2


def ask_for_log(parent: QWidget) -> str:
    """The file a person chooses; empty for none."""
    return QFileDialog.getOpenFileName(parent, "Take in a logger's file", "", FILTER)[0]


class TakeCard(Card):
    """Shows what the presenter says; tells it in plain words what the person did."""

    named = Signal(str)
    options_changed = Signal(object)
    device_chosen = Signal(str, str)
    accepted = Signal()
    cancelled = Signal()
    ticked = Signal()
    shown = Signal(bool)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("Take in a logger's file", parent=parent)
        self.path = LineField(
            "File of the logger", hint="CSV, text or .xlsx; Enter reads it, or drop it onto the window"
        )
        self.choose, self.accept = Button("Choose \u2026"), Button("Keep it", is_primary=True)
        self.cancel = Button("Cancel", key="Esc")
        self.settled = TickBox("Each line was read after the temperature had settled; times do not count")
        self.soaked = TickBox("Soaked start: the part had the probe's temperature when the log began")
        self.meter = LineField("Meter accuracy", hint="such as 0.5%+5x0.01; empty: assumed from its step")
        self.probe = LineField("Probe accuracy, \u00b1 \u00b0C", hint="2 for a probe taped to the can")
        self.said = MessageLine()
        self.columns: dict[str, ChoiceField] = {}
        self.lines: Table | None = None
        self.ask_for_log = ask_for_log
        self._words: dict[str, Text] = {}
        self._file_box, self._columns_box = QWidget(), QWidget()
        self._facts, self._file_rows = QGridLayout(), QVBoxLayout(self._file_box)
        self._column_rows = QGridLayout(self._columns_box)
        self._ticker = QTimer(self)
        self._build()
        self._connect()

    def _build(self) -> None:
        self.probe.set_text("2")
        self._path_row, self._fields, self._buttons = QHBoxLayout(), QHBoxLayout(), QHBoxLayout()
        self._path_row.addWidget(self.path, 1)
        self._path_row.addWidget(self.choose, 0, Qt.AlignmentFlag.AlignBottom)
        for field in (self.meter, self.probe):
            self._fields.addWidget(field, 1, Qt.AlignmentFlag.AlignTop)
        for button in (self.accept, self.cancel):
            self._buttons.addWidget(button)
        self._buttons.addStretch(1)
        self._file_rows.setContentsMargins(0, 0, 0, 0)
        self._file_rows.addLayout(self._facts)
        self._facts.setColumnStretch(1, 1)
        self._column_rows.setContentsMargins(0, 0, 0, 0)
        self._column_rows.setColumnStretch(1, 1)
        self.body.addLayout(self._path_row)
        self.body.addWidget(self.said)
        self.body.addLayout(self._buttons)
        self.body.addWidget(self._columns_box)
        for box in (self.settled, self.soaked):
            self.body.addWidget(box)
        self.body.addLayout(self._fields)
        self.body.addWidget(self._file_box)
        self.body.addStretch(1)
        self._ticker.setInterval(_TICK_MS)
        self.show_file(None)
        self.show_columns(())

    def _connect(self) -> None:
        self.path.confirmed.connect(self._named)
        self.choose.clicked.connect(self._choose)
        self.accept.clicked.connect(self.accepted)
        self.cancel.clicked.connect(self.cancelled)
        for box in (self.settled, self.soaked):
            box.toggled.connect(self._options)
        for field in (self.meter, self.probe):
            field.confirmed.connect(self._options)
            field.entry.editingFinished.connect(self._options)
        self._ticker.timeout.connect(self.ticked)

    def _named(self) -> None:
        self.named.emit(self.path.text())

    def _choose(self) -> None:
        if path := self.ask_for_log(self):
            self.path.set_text(path)
            self.named.emit(path)

    def _options(self, *_: object) -> None:
        self.options_changed.emit(
            Options(
                is_settled=self.settled.isChecked(),
                is_soaked=self.soaked.isChecked(),
                meter=self.meter.text(),
                celsius_accuracy=self.probe.text(),
            )
        )

    def rescale(self) -> None:
        """Take up the zoom in force."""
        super().rescale()
        if hasattr(self, "_column_rows"):
            for layout in (self._path_row, self._fields, self._buttons, self._column_rows, self._facts):
                layout.setSpacing(fonts.whole_px(12))

    # -- what the presenter asks -----------------------------------------------------------

    def show_card(self, *, is_shown: bool) -> None:
        """Come or go."""
        self.shown.emit(is_shown)

    def show_path(self, path: str) -> None:
        """The name of the file."""
        self.path.set_text(path)

    def show_file(self, file: FileShown | None) -> None:
        """How the file is written, with its first lines."""
        _empty(self._facts)
        if self.lines is not None:
            self.lines.hide()
            self.lines.deleteLater()
            self.lines = None
        self._file_box.setVisible(file is not None)
        if file is None:
            return
        for row, (label, words) in enumerate(file.detected):
            self._facts.addWidget(Text(label, size_px=13, muted=True), row, 0, Qt.AlignmentFlag.AlignTop)
            self._facts.addWidget(Text(words, size_px=13, wraps=True), row, 1)
        columns = tuple(Column(kind=Kind.TEXT) for _ in file.headings)
        self.lines = Table(columns, name=f"First lines of {file.name}")
        model: RowsModel[tuple[str, ...]] = RowsModel(file.headings, tuple, lambda _: "", self.lines)
        model.set_rows(file.lines)
        self.lines.setModel(model)
        self.lines.setFixedHeight(fonts.whole_px(ROW_PX * (len(file.lines) + 1)) + fonts.whole_px(4))
        self._file_rows.addWidget(self.lines)

    def show_columns(self, columns: Sequence[ColumnShown]) -> None:
        """Which column is which device, and what each says."""
        self._columns_box.setVisible(bool(columns))
        for box in (self.settled, self.soaked, self.meter, self.probe, self.accept):
            box.setEnabled(bool(columns) or box is self.settled)
        if [one.column for one in columns] != list(self.columns):
            self._make_columns(columns)
            if columns and self.path.entry.hasFocus():
                self.accept.setFocus(Qt.FocusReason.OtherFocusReason)
        for one in columns:
            self.columns[one.column].set_word(one.device)
            self._words[one.column].setText(one.words)

    def _make_columns(self, columns: Sequence[ColumnShown]) -> None:
        _empty(self._column_rows)
        self.columns, self._words = {}, {}
        before: QWidget = self.cancel
        for row, one in enumerate(columns):
            field = ChoiceField(one.label, one.choices)
            field.chosen.connect(lambda column=one.column: self._chosen(column))
            words = Text(size_px=14, wraps=True)
            words.setContentsMargins(0, 0, 0, fonts.whole_px(9))
            self.columns[one.column], self._words[one.column] = field, words
            self._column_rows.addWidget(field, row, 0)
            self._column_rows.addWidget(words, row, 1, Qt.AlignmentFlag.AlignBottom)
            for part in (field, words):
                part.show()  # at once: Tab passes over what only comes with the next layout
            self.setTabOrder(before, field.box)
            before = field.box
        self.setTabOrder(before, self.settled)

    def _chosen(self, column: str) -> None:
        self.device_chosen.emit(column, self.columns[column].word())

    def show_problems(self, problems: Mapping[str, str]) -> None:
        """What is wrong with the fields."""
        self.meter.set_problem(problems.get("meter", ""))
        self.probe.set_problem(problems.get("celsius_accuracy", ""))

    def show_busy(self, *, is_busy: bool) -> None:
        """While a file is read it can be stopped."""
        self.cancel.set_word("Stop reading" if is_busy else "Cancel")
        if is_busy:
            self._ticker.start()
        else:
            self._ticker.stop()

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line below the name of the file."""
        self.said.show_message(words, icon="problem" if is_problem else "note")
        if words and is_problem:
            announce(self, words)

    def begin(self) -> None:
        """What comes next has the keyboard: the name of the file, or keeping it."""
        target = self.accept if self.columns else self.path
        target.setFocus(Qt.FocusReason.OtherFocusReason)


def _empty(layout: QGridLayout) -> None:
    while (item := layout.takeAt(0)) is not None:
        widget = item.widget()
        if widget is not None:
            widget.hide()
            widget.deleteLater()
