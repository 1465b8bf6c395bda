"""The part with values over time: a chart, what is to be said of it, and the newest values as a table."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from PySide6.QtCore import QEvent, QModelIndex, Qt, Signal
from PySide6.QtWidgets import QAbstractItemView, QGridLayout, QHBoxLayout, QVBoxLayout, QWidget

from valvebench.ui import fonts
from valvebench.ui.archive.part import Part
from valvebench.ui.archive.trend import JOB_WORDS, TrendRow
from valvebench.ui.editor.lacks_table import WrapTable
from valvebench.ui.heat.plot_card import PlotPane
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.form import ChoiceField
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rows_model import JudgedRowsModel
from valvebench.ui.widgets.table import Column, Kind
from valvebench.ui.widgets.text import Text

if TYPE_CHECKING:
    from valvebench.bench.trending import Charted

DEVICE, METER = "device", "meter"
HEADERS: Final = ("Day", "\u03a9", "", "")
COLUMNS: Final = (
    Column(kind=Kind.KEY, width_px=112),
    Column(kind=Kind.DOUBT, width_px=130),
    Column(kind=Kind.MUTED, least_px=80),
    Column(kind=Kind.MARK, width_px=44),
)
LEGEND: Final = "The band holds the limits of today. A ring: odd among the others. Whiskers: expanded uncertainty."
METER_LEGEND: Final = (
    "How far the check resistor read off. Dashed: middle and limits of the first twenty. "
    "A ring: beyond them; a square: where a drift shows."
)
_HEIGHT_PX: Final = 320
_NARROW_PX: Final = 900
_MOVES: Final = (("\u2190", "Back"), ("\u2192", "On"), ("+", "Larger"), ("\u2212", "Smaller"), ("0", "All"))


def _nothing(_: TrendRow) -> str:
    return "not judged"


class ValuesTable(WrapTable):
    """The limits stand in the drawing beside it, and below that in words."""

    limits_in_cells = True


class TrendPart(Part):
    """Shows what its presenter says; tells it in plain words what the person did."""

    device_named = Signal(str)
    job_chosen = Signal(str)
    meter_chosen = Signal(int)
    devices_asked = Signal()
    meters_asked = Signal()
    value_opened = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.kind = ChoiceField("Over time", [(DEVICE, "Values of a device"), (METER, "Checks of a meter")])
        self.device, self.meter = ChoiceField("Device", []), ChoiceField("Meter", [])
        self.job = ChoiceField("Kind of job", list(JOB_WORDS.items()))
        self.pane = PlotPane(_HEIGHT_PX)
        self.pane.setAccessibleName("Values over time")
        self.legend = Text(LEGEND, size_px=13, muted=True, wraps=True)
        self.said = MessageLine()
        self.words: list[Text] = []
        self.model: JudgedRowsModel[TrendRow] = JudgedRowsModel(HEADERS, lambda row: row.cells, self, waits=_nothing)
        self.table = ValuesTable(COLUMNS, (2,), name="Newest values")
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.table.setModel(self.model)
        self.open = Button("Open its session", key="Enter")
        self.chart, self.list = Card("Over time"), Card("Newest first")
        self._rows, self._grid, self._word_rows = QVBoxLayout(self), QGridLayout(), QVBoxLayout()
        self._choice, self._moves = QHBoxLayout(), QHBoxLayout()
        self._build()
        self._connect()

    def _build(self) -> None:
        self._rows.setContentsMargins(0, 0, 0, 0)
        for field in (self.kind, self.device, self.job, self.meter):
            self._choice.addWidget(field, 1)
        self.meter.hide()
        self._rows.addLayout(self._choice)
        self._rows.addWidget(self.said)
        self._rows.addLayout(self._grid, 1)
        for sign, word in _MOVES:
            cap = KeyCap(sign, word)
            cap.clicked.connect(self._moved)
            cap.setProperty("sign", sign)
            self._moves.addWidget(cap)
        self._moves.addStretch(1)
        self.chart.body.addWidget(self.pane, 1)
        self.chart.body.addLayout(self._moves)
        self.chart.body.addWidget(self.legend)
        self.chart.body.addLayout(self._word_rows)
        self.list.body.addWidget(self.table, 1)
        self.list.body.addWidget(self.open, 0, Qt.AlignmentFlag.AlignLeft)
        self._lay_out(is_narrow=False)
        fonts.zoom.changed.connect(self.rescale)
        self.rescale()

    def _lay_out(self, *, is_narrow: bool) -> None:
        self._grid.addWidget(self.chart, 0, 0)
        self._grid.addWidget(self.list, *((1, 0) if is_narrow else (0, 1)))
        self._grid.setColumnStretch(0, 3)
        self._grid.setColumnStretch(1, 0 if is_narrow else 2)

    def fit(self, room_px: float) -> None:
        """Chart and table beside each other where there is room."""
        self._lay_out(is_narrow=room_px < _NARROW_PX)

    def rescale(self) -> None:
        """Take up the zoom in force."""
        for layout, gap in ((self._rows, 8), (self._grid, 16), (self._choice, 16), (self._moves, 8)):
            layout.setSpacing(fonts.whole_px(gap))
        self._word_rows.setSpacing(fonts.whole_px(4))

    def changeEvent(self, event: QEvent) -> None:
        """Other colours: the drawing takes them up."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange and hasattr(self, "pane") and self.pane.drawing is not None:
            self.pane.drawing.retheme()

    def _connect(self) -> None:
        self.kind.chosen.connect(self._kind_chosen)
        self.device.chosen.connect(self._tell_device)
        self.meter.chosen.connect(self._tell_meter)
        self.job.chosen.connect(self._tell_job)
        self.open.clicked.connect(self._open)
        self.table.activated.connect(self._activated)

    def _kind_chosen(self) -> None:
        is_meter = self.kind.word() == METER
        for field in (self.device, self.job):
            field.setVisible(not is_meter)
        self.meter.setVisible(is_meter)
        self.legend.setText(METER_LEGEND if is_meter else LEGEND)
        (self.meters_asked if is_meter else self.devices_asked).emit()

    def _tell_device(self) -> None:
        self.device_named.emit(self.device.word())

    def _tell_job(self) -> None:
        self.job_chosen.emit(self.job.word())

    def _tell_meter(self) -> None:
        self.meter_chosen.emit(self.meter.box.currentIndex())

    def _activated(self, _: QModelIndex) -> None:
        self._open()

    def _open(self) -> None:
        place = self.table.currentIndex().row()
        if 0 <= place < self.model.rowCount():
            self.value_opened.emit(self.model.row(place).id)

    def _moved(self) -> None:
        drawing: Any = self.pane.drawing
        if drawing is None:
            return
        sign = self.sender().property("sign")
        acts = {
            "\u2190": lambda: drawing.pan(-0.15, 0.0),
            "\u2192": lambda: drawing.pan(0.15, 0.0),
            "+": lambda: drawing.enlarge(1.4),
            "\u2212": lambda: drawing.enlarge(1 / 1.4),
            "0": drawing.reset,
        }
        acts[sign]()

    def begin(self) -> None:
        """What is looked at is chosen first."""
        chosen = self.meter if self.kind.word() == METER else self.device
        chosen.setFocus(Qt.FocusReason.OtherFocusReason)

    # -- what the presenter asks -----------------------------------------------------------

    def show_devices(self, devices: Sequence[tuple[str, str]], chosen: str) -> None:
        """What can be chosen."""
        self.device.box.clear()
        for word, text in devices:
            self.device.add(word, text)
        self.device.set_word(chosen)

    def show_meters(self, meters: Sequence[str], chosen: int) -> None:
        """The meters that were checked."""
        self.meter.box.clear()
        for place, text in enumerate(meters):
            self.meter.add(str(place), text)
        self.meter.box.setCurrentIndex(chosen if meters else -1)

    def show_chart(self, charted: Charted | None, rows: Sequence[TrendRow]) -> None:
        """One row of values; None for none."""
        self.model.set_rows(rows)
        self._show_words(charted.words if charted is not None else ())
        for part in (self.chart, self.list):
            part.setVisible(charted is not None)
        if charted is None:
            return
        self.chart.set_title(charted.title)
        if self.pane.drawing is None:
            from valvebench.ui.archive.trend_drawing import TrendDrawing

            self.pane.hold(TrendDrawing())
        self.pane.drawing.show_chart(charted)
        self.pane.say(f"{charted.title}. {' '.join(charted.words)}")
        self.pane.updateGeometry()

    def _show_words(self, words: Sequence[str]) -> None:
        for text in self.words:
            self._word_rows.removeWidget(text)
            text.hide()
            text.deleteLater()
        self.words = [Text(one, size_px=14, wraps=True) for one in words]
        for text in self.words:
            self._word_rows.addWidget(text)

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """One line."""
        self.said.show_message(words, icon="problem" if is_problem else "note")
