"""The pages of the gallery, one for each widget with all its states."""

from __future__ import annotations

from collections.abc import Callable

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QGridLayout,
    QHBoxLayout,
    QVBoxLayout,
    QWidget,
)

from tests.gallery_demo import (
    COLUMNS,
    OHM,
    Rows,
    demo_rail,
    demo_strip,
    demo_ways,
    face_of,
    free_spots,
    grid_spots,
    ring_spots,
    ruler_states,
)
from valvebench.model.variant import Solenoid
from valvebench.model.words import VERDICT_TEXT, Place, Verdict
from valvebench.ui import fonts
from valvebench.ui.archive.fails import FailRow
from valvebench.ui.archive.fails_table import FailsModel, FailsTable
from valvebench.ui.identify.answer_button import AnswerButton
from valvebench.ui.pins.plan import Pair
from valvebench.ui.pins.step_card import StepCard
from valvebench.ui.pins.steps import step_shown, volts_steps
from valvebench.ui.pins.ways_card import WaysCard
from valvebench.ui.widgets.big_field import BigField
from valvebench.ui.widgets.board_layout import PortSpot
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.chance_bars import ChanceBars, ChanceRow
from valvebench.ui.widgets.controls import Choice, LineEntry, Option, TextArea, TickBox
from valvebench.ui.widgets.face_links import Link
from valvebench.ui.widgets.icons import ICONS
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.pin_button import Standing
from valvebench.ui.widgets.port_board import PortBoard
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.table import Table
from valvebench.ui.widgets.temperature_plot import TemperaturePlot
from valvebench.ui.widgets.text import ElidedText, Text
from valvebench.ui.widgets.whisker_rows import Whisker
from valvebench.ui.widgets.whiskers import WhiskerChart

_LEFT = Qt.AlignmentFlag.AlignLeft


def column_of(*widgets: QWidget, stretch: bool = True) -> QWidget:
    page = QWidget()
    rows = QVBoxLayout(page)
    rows.setSpacing(fonts.whole_px(12))
    for widget in widgets:
        rows.addWidget(widget, 0, _LEFT)
    if stretch:
        rows.addStretch(1)
    return page


def row_of(*widgets: QWidget) -> QWidget:
    page = QWidget()
    columns = QHBoxLayout(page)
    columns.setContentsMargins(0, 0, 0, 0)
    columns.setSpacing(fonts.whole_px(16))
    for widget in widgets:
        columns.addWidget(widget)
    columns.addStretch(1)
    return page


def carded(title: str, *widgets: QWidget, aside: str = "") -> Card:
    card = Card(title, aside=aside)
    for widget in widgets:
        card.body.addWidget(widget)
    return card


def type_page() -> QWidget:
    weights = (fonts.REGULAR, fonts.MEDIUM, fonts.SEMIBOLD, fonts.BOLD)
    sizes = (12, 13, 14, 15, 17, 24, 38)
    lines = [
        Text(f"{size} px: 3 and 11, 5.17 ± 0.10 {OHM} at 20 °C", size_px=size, weight=weight)
        for size, weight in zip(sizes, (*weights, *weights), strict=False)
    ]
    lines.append(Text("Muted words beside a number", muted=True))
    return carded("Type", *lines)


def marks_page() -> QWidget:
    page = QWidget()
    grid = QGridLayout(page)
    for row, verdict in enumerate(Verdict):
        for column, size_px in enumerate((16, 20, 24, 28, 48)):
            grid.addWidget(MarkLabel(verdict, size_px=size_px), row, column)
        grid.addWidget(Text(VERDICT_TEXT[verdict]), row, 5)
    return carded("Verdict marks", page)


def ruler_page() -> QWidget:
    page = QWidget()
    grid = QGridLayout(page)
    grid.setVerticalSpacing(fonts.whole_px(20))
    for place, (title, prepare) in enumerate(ruler_states()):
        ruler = Ruler()
        ruler.setMinimumWidth(fonts.whole_px(420))
        prepare(ruler)
        grid.addWidget(column_of(Text(title, size_px=12, muted=True), ruler), place // 2, place % 2)
    return carded("Rulers", page)


def whisker_page() -> QWidget:
    rows = [
        Whisker(
            name="Heron", value=7.8, reach=0.6, words="0.41 \u00b1 0.03 " + OHM, answer="different", stands_out=True
        ),
        Whisker(name="Gull, the left one of two", value=-0.2, reach=0.6, words="\u22120.01 \u00b1 0.03 " + OHM),
        Whisker(name="Far off", value=-90.0, reach=3.0, words="\u22124.7 \u00b1 0.2 " + OHM, stands_out=True),
        Whisker(name="Wide", value=0.0, reach=60.0, words="0 \u00b1 3 " + OHM),
    ]
    cut, whole, empty = WhiskerChart(), WhiskerChart(), WhiskerChart()
    cut.show_rows(rows, unit="difference, %", widest=12.0)
    whole.show_rows(rows[:2], unit=OHM, middle=5.2)
    for chart in (cut, whole, empty):
        chart.setMinimumWidth(fonts.whole_px(560))
    return carded("Whiskers", column_of(cut, whole, empty))


def shares_page() -> QWidget:
    """Intervals by Clopper and Pearson, together 56 of 245."""
    lines = (
        ("Heron", 40, 24, 60.0, 43.3, 75.1),
        ("Gull", 4, 3, 75.0, 19.4, 99.4),
        ("Plover, with a long name that takes two lines", 71, 17, 23.9, 14.6, 35.5),
        ("Knot", 1, 1, 100.0, 2.5, 100.0),
        ("Dunlin", 30, 0, 0.0, 0.0, 11.6),
    )
    table, model = FailsTable(), FailsModel()
    model.setParent(table)
    table.setModel(model)
    model.set_rows([FailRow(name, "tern-body-2", *numbers, all_pct=22.9) for name, *numbers in lines])
    table.setMinimumSize(fonts.whole_px(760), fonts.whole_px(220))
    return carded("Shares", table)


def chances_page() -> QWidget:
    rows = [("Quillon Tern, body 2", 0.62), ("Quillon Tern, body 1, with a long name that has to be cut", 0.2)]
    two, one = ChanceBars(), ChanceBars()
    shown = [ChanceRow(title, p, f"about {round(100 * p)} in 100") for title, p in rows]
    two.show_rows([*shown, ChanceRow("None of these", 0.18, "about 18 in 100", is_none=True)])
    one.show_rows(
        [
            ChanceRow("Quillon Tern, body 3", 0.9999, "better than 99 in 100"),
            ChanceRow("None of these", 0.0001, "less than 1 in 100", is_none=True),
        ]
    )
    answers = []
    for key, word in (("1", "12"), ("0", "cannot see")):
        answer = AnswerButton(key)
        answer.set_word(word)
        answers.append(answer)
    answers[1].setEnabled(False)
    for bars in (two, one):
        bars.setFixedWidth(fonts.whole_px(420))
    return column_of(carded("Chances", two), carded("One that is likely", one), row_of(*answers))


def face_page() -> QWidget:
    first = face_of("Connector A", grid_spots(6, 2))
    first.drawing.set_pair("3", "11")
    turned = face_of("Connector A", grid_spots(6, 2), turned=True)
    turned.drawing.set_pair("1", "5")
    ring = face_of("Connector B", ring_spots(8, has_middle=True), is_round=True)
    ring.drawing.set_pair("case", "5")
    free = face_of("Connector C", free_spots())
    free.drawing.set_pair("A", "case")
    free.drawing.set_state("case", Verdict.PASS, "isolation")
    found = face_of("Found from readings", grid_spots(6, 2))
    lines = [("2", "11", True), ("3", "11", True), ("8", "case", True), ("5", "6", False), ("5", "12", False)]
    pins = {"11": Standing.COMMON, "1": Standing.UNUSED} | dict.fromkeys(("5", "6", "12"), Standing.UNSETTLED)
    found.drawing.set_links([Link(*line) for line in lines], pins)
    two = face_of("Connector D", grid_spots(2, 1))
    single = face_of("Connector E", grid_spots(8, 1))
    page = QWidget()
    grid = QGridLayout(page)
    grid.setSpacing(fonts.whole_px(16))
    for place, face in enumerate((first, turned, found, ring, free, two, single)):
        face.setMinimumSize(fonts.whole_px(468), fonts.whole_px(340))
        grid.addWidget(carded("", face), place // 2, place % 2)
    return page


def big_face_page() -> QWidget:
    faces = [face_of("Sixty pins", grid_spots(15, 4)), face_of("Twenty-four pins", grid_spots(8, 3))]
    faces[0].drawing.set_pair("16", "60")
    faces[1].drawing.set_pair("24", "case")
    for face in faces:
        face.setMinimumSize(fonts.whole_px(560), fonts.whole_px(340))
    return row_of(*[carded("", face) for face in faces])


def field_page() -> QWidget:
    filled, wrong, asked, empty = (BigField("Resistance between 3 and 11", unit=OHM) for _ in range(4))
    filled.set_text("5.24")
    wrong.set_text("5.2.4")
    wrong.set_error("Two decimal points: type the value once more, as 5.24")
    asked.set_text("1,234")
    asked.set_error("Is this 1.234 or 1234? Type it without the comma", icon="ask")
    kohm = BigField("Resistance of the sensor", unit="k" + OHM)
    kohm.set_text("2.61")
    page = QWidget()
    grid = QGridLayout(page)
    for place, field in enumerate((filled, wrong, asked, empty, kohm)):
        field.setFixedWidth(fonts.whole_px(320))
        grid.addWidget(field, place // 2, place % 2)
    return carded("Big field", page)


def keys_page() -> QWidget:
    keys = (("Enter", "keep"), ("*", "open (OL)"), ("Space", "from meter"), ("Up", "previous"), ("Down", "skip"))
    caps = row_of(*[KeyCap(key, word) for key, word in keys])
    disabled = Button("Not now")
    disabled.setEnabled(False)
    buttons = row_of(
        Button("Turn over", key="/"), Button("Take the next reading", is_primary=True), Button("Export"), disabled
    )
    return carded("Keys and buttons", caps, buttons)


def messages_page() -> QWidget:
    words = {
        "note": "Limits are those of one good body",
        "problem": "The meter sends nothing: check its cable, then press Space again",
        "ask": "Is this 1.234 or 1234?",
        "clock": "Keeping the reading",
        "kept": "Kept, 14 entries on disk",
        "turn_over": "Seen from the wire side",
        "air": "Regulated, dry air; never toward skin. Vent before opening. A rag over the exit: balls fly",
        "heat": "Parts above 60 °C burn",
        "electricity": "Unplug the control unit before an ohmmeter reaches its harness",
        "hands": "Hands and face clear of open bores",
    }
    assert set(words) == set(ICONS)
    lines = [MessageLine(text, icon=icon) for icon, text in words.items()]
    return carded("Messages", *lines)


def plot_page() -> QWidget:
    band = [(10.0, 4.71, 5.28), (120.0, 6.83, 7.67)]
    full, bare, limits, lower, empty = (TemperaturePlot() for _ in range(5))
    marks = [
        (23.4, 5.24, 0.1, Verdict.PASS),
        (41, 5.6, 0.11, Verdict.PASS),
        (58, 6.0, 0.12, Verdict.PASS),
        (74, 6.58, 0.12, Verdict.CANT_TELL),
        (88, 7.22, 0.13, Verdict.FAIL),
    ]
    full.set_band(band)
    full.set_marks(marks)
    full.set_here(88.0)
    bare.set_marks(marks[:2])
    limits.set_band(band)
    lower.set_band([(10.0, 900.0, None), (120.0, 1400.0, None)])
    lower.set_marks([(24.0, 12_500.0, None, Verdict.PASS)])
    page = QWidget()
    grid = QGridLayout(page)
    grid.setSpacing(fonts.whole_px(16))
    titles = (
        "Heron against its temperature",
        "No limits stated",
        "Limits, nothing measured",
        "Lower limit only",
        "Empty",
    )
    for place, (title, plot) in enumerate(zip(titles, (full, bare, limits, lower, empty), strict=True)):
        plot.setMinimumSize(fonts.whole_px(480), fonts.whole_px(260))
        grid.addWidget(carded(title, plot), place // 2, place % 2)
    return page


def rail_page() -> QWidget:
    rail = demo_rail()
    rail.setMinimumHeight(fonts.whole_px(560))
    return row_of(rail)


def strip_page() -> QWidget:
    strips = [demo_strip() for _ in range(3)]
    strips[1].set_cell("job", "Job " + "2217 " * 12, "A customer with a very long name indeed " * 3)
    strips[1].set_verdict(Verdict.NOT_FINISHED, "Not finished: 20 readings are still to be taken on this body", "")
    strips[2].set_verdict(Verdict.NOT_TAKEN, "Nothing measured yet", "20 to take")
    for strip in strips:
        strip.setMinimumWidth(fonts.whole_px(1280))
    return column_of(*strips)


def table_page() -> QWidget:
    card = table_card()
    card.setMinimumSize(fonts.whole_px(620), fonts.whole_px(340))
    short = table_card()
    short.setFixedSize(fonts.whole_px(480), fonts.whole_px(200))
    return column_of(card, short)


def table_card() -> Card:
    table = Table(COLUMNS, name="Readings")
    table.setModel(Rows(table))
    table.selectRow(3)
    card = Card("Readings", aside="11 of 20", is_outdented=True)
    card.body.addWidget(table)
    return card


def board_page() -> QWidget:
    both, rows = PortBoard(), PortBoard()
    case = [PortSpot(name="P1", x=0.1, y=0.2), PortSpot(name="P2", x=0.1, y=0.7)]
    body = [PortSpot(name=f"P{n + 3}", x=0.28 + 0.12 * n, y=0.18) for n in range(5)]
    body += [PortSpot(name="P8", x=0.64, y=0.74), PortSpot(name="P9", x=0.4, y=0.74)]
    both.set_ports({Place.CASE: case, Place.BODY: body}, {"P1": "Auk"})
    for name, verdict in zip(both.names(), (Verdict.PASS, Verdict.FAIL, None, Verdict.NOT_TAKEN), strict=False):
        both.set_verdict(name, verdict, "")
    both.set_verdict("P6", Verdict.NO_LIMIT, "")
    both.set_current("P5")
    rows.set_ports({Place.BODY: [PortSpot(name=f"P{n}") for n in range(1, 12)]}, {})
    rows.set_current("P11")
    boards = (both, rows, PortBoard())
    for board in boards:
        board.setMinimumSize(fonts.whole_px(480), fonts.whole_px(260))
    titles = ("Case and body, by their places", "No places stated", "No ports")
    return column_of(*[carded(title, board) for title, board in zip(titles, boards, strict=True)])


def form_page() -> QWidget:
    full, empty, wrong, off = (LineEntry("Customer", hint="who brought it") for _ in range(4))
    full.setText("Harbour shuttle 7 <b>&</b>")
    wrong.setText("22 17")
    wrong.set_problem("A job number has no spaces")
    off.setText("not to be changed")
    off.setEnabled(False)
    choice = Choice("Coil temperature", ["contact probe taped to the can, soaked", "not measured"])
    ticked, clear, off_tick = TickBox("Dry of solvent"), TickBox("Supply current-limited & short"), TickBox("Not now")
    ticked.setChecked(True)
    off_tick.setEnabled(False)
    chosen, other = Option("seen by us"), Option("told by phone")
    chosen.setChecked(True)
    note = TextArea("Complaint")
    note.setPlainText("Late and then a bump on 5-6 after forty minutes of driving, every day, in the harbour")
    page = QWidget()
    grid = QGridLayout(page)
    grid.setSpacing(fonts.whole_px(12))
    parts = (full, empty, wrong, off, choice, note, ticked, chosen, clear, other, off_tick)
    for place, part in enumerate(parts):
        part.setMinimumWidth(fonts.whole_px(320))
        grid.addWidget(part, place // 2, place % 2)
    return carded("Form", page)


def pins_page() -> QWidget:
    """The drawing of the bar, put together from the widgets."""
    page = QWidget()
    whole = QVBoxLayout(page)
    whole.setContentsMargins(0, 0, 0, 0)
    whole.setSpacing(0)
    whole.addWidget(demo_strip())
    below = QHBoxLayout()
    below.addWidget(demo_rail())
    grid = QGridLayout()
    grid.setContentsMargins(0, *[fonts.whole_px(16)] * 3)
    grid.setSpacing(fonts.whole_px(16))
    grid.addWidget(_face_card(), 0, 0)
    grid.addWidget(_probe_card(), 0, 1)
    grid.addWidget(table_card(), 1, 0)
    plot = TemperaturePlot()
    plot.set_band([(10.0, 4.71, 5.28), (120.0, 6.83, 7.67)])
    plot.set_marks(
        [(23.4, 5.24, 0.1, Verdict.PASS), (74, 6.58, 0.12, Verdict.CANT_TELL), (88, 7.22, 0.13, Verdict.FAIL)]
    )
    grid.addWidget(carded("Heron against its temperature", plot), 1, 1)
    grid.setColumnStretch(0, 14)
    grid.setColumnStretch(1, 19)
    grid.setRowStretch(0, 1)
    grid.setRowStretch(1, 1)
    below.addLayout(grid, 1)
    whole.addLayout(below, 1)
    page.setMinimumSize(fonts.whole_px(1280), fonts.whole_px(800))
    return page


def _face_card() -> Card:
    face = face_of("Connector A", grid_spots(6, 2))
    face.drawing.set_pair("3", "11")
    return carded("", face)


def _probe_card() -> Card:
    card = Card()
    head = QGridLayout()
    head.setHorizontalSpacing(fonts.whole_px(32))
    head.addWidget(Text("Probe", muted=True), 0, 0)
    pair = Text("3 and 11", size_px=38, weight=fonts.BOLD)
    pair.hold_width("10 and case")
    head.addWidget(pair, 1, 0, 2, 1)
    head.addWidget(ElidedText("Solenoid Heron, linear", size_px=15, weight=fonts.SEMIBOLD), 1, 1)
    head.addWidget(ElidedText(f"expect 4.97 to 5.57 {OHM} at 23.4 °C", muted=True), 2, 1)
    head.setColumnStretch(1, 1)
    field = BigField("Resistance between 3 and 11", unit=OHM)
    field.set_text("5.24")
    keys = QGridLayout()
    for place, (key, word) in enumerate(
        (("Enter", "keep"), ("*", "open (OL)"), ("Space", "from meter"), ("Up", "previous"))
    ):
        keys.addWidget(KeyCap(key, word), place // 2, place % 2, Qt.AlignmentFlag.AlignLeft)
    keys.setHorizontalSpacing(fonts.whole_px(20))
    keys.setVerticalSpacing(fonts.whole_px(8))
    keys.setRowStretch(2, 1)
    entry = QHBoxLayout()
    entry.setSpacing(fonts.whole_px(20))
    entry.addWidget(field, 1, Qt.AlignmentFlag.AlignTop)
    entry.addLayout(keys)
    ruler = Ruler()
    ruler_states()[0][1](ruler)
    field.setMaximumWidth(fonts.whole_px(284))
    said = QHBoxLayout()
    said.setSpacing(fonts.whole_px(32))
    said.addWidget(Text(f"5.17 ± 0.10 {OHM} at 20 °C", size_px=15, weight=fonts.SEMIBOLD))
    said.addWidget(ElidedText("Pass: the whole interval lies inside the limits", muted=True), 1)
    for part in (head, entry):
        card.body.addLayout(part)
        card.body.addSpacing(fonts.whole_px(4))
    card.body.addWidget(ruler)
    card.body.addLayout(said)
    return card


def proof_page() -> QWidget:
    ways, narrow, step = WaysCard(), WaysCard(), StepCard()
    for card, width in ((ways, 600), (narrow, 304)):
        card.setFixedWidth(fonts.whole_px(width))
        card.show_ways(demo_ways())
    device = Solenoid(name="Heron", between=("3", "11"), max_ampere=0.15)
    step.show_step(step_shown(volts_steps(None), pair=Pair("3", "11"), device=device))
    step.show_effect(f"Now ± 0.46 {OHM}; with it ± 0.16 {OHM}: decides, if the value stays.")
    step.setFixedWidth(fonts.whole_px(600))
    return column_of(ways, step, narrow)


PAGES: dict[str, Callable[[], QWidget]] = {
    "pins": pins_page,
    "type": type_page,
    "marks": marks_page,
    "rulers": ruler_page,
    "whiskers": whisker_page,
    "chances": chances_page,
    "shares": shares_page,
    "faces": face_page,
    "big_faces": big_face_page,
    "field": field_page,
    "keys": keys_page,
    "messages": messages_page,
    "plots": plot_page,
    "rail": rail_page,
    "strip": strip_page,
    "table": table_page,
    "form": form_page,
    "boards": board_page,
    "proof": proof_page,
}
