"""Every own widget in all its states, as pictures: `python -m tests.gallery [--out DIR] [--show]`.

Names, numbers and verdicts in the pictures are invented.
"""

from __future__ import annotations

import argparse
import math
import os
import sys
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt
from PySide6.QtWidgets import QApplication, QGridLayout, QHBoxLayout, QScrollArea, QVBoxLayout, QWidget

from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.ui import fonts, theme
from valvebench.ui.widgets.big_field import BigField
from valvebench.ui.widgets.button import Button
from valvebench.ui.widgets.card import Card
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.icons import ICONS
from valvebench.ui.widgets.keycap import KeyCap
from valvebench.ui.widgets.mark import MarkLabel
from valvebench.ui.widgets.message_line import MessageLine
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.ruler import Ruler
from valvebench.ui.widgets.strip import Strip
from valvebench.ui.widgets.table import Column, Kind, Table
from valvebench.ui.widgets.temperature_plot import TemperaturePlot
from valvebench.ui.widgets.text import ElidedText, Text

ZOOMS = (1.0, 2.0)
OHM = "\N{OHM SIGN}"


def grid_spots(columns: int, rows: int) -> list[PinSpot]:
    """Pins row by row, as on a flat connector."""
    return [
        PinSpot(name=str(row * columns + column + 1), x=column / max(1, columns - 1), y=row / max(1, rows - 1))
        for row in range(rows)
        for column in range(columns)
    ]


def ring_spots(count: int, *, has_middle: bool = False) -> list[PinSpot]:
    """Pins on a circle, one perhaps in its middle."""
    turns = [2 * math.pi * (place / count - 0.25) for place in range(count)]
    ring = [PinSpot(name=str(n + 1), x=0.5 + math.cos(a) / 2, y=0.5 + math.sin(a) / 2) for n, a in enumerate(turns)]
    return [*ring, PinSpot(name=str(count + 1), x=0.5, y=0.5)] if has_middle else ring


def free_spots() -> list[PinSpot]:
    """Pins of two sizes of row, named by letters, as on an odd connector."""
    places = {"A": (0, 0), "B": (1, 0), "C": (2, 0), "D": (3, 0), "E": (0.5, 1), "F": (2.5, 1), "GND": (1.5, 1.6)}
    return [PinSpot(name=name, x=x, y=y) for name, (x, y) in places.items()]


class Rows(QAbstractTableModel):
    """A few invented readings."""

    HEADS = ("Between", "What", OHM, "at 20 \N{DEGREE SIGN}C", "Limits", "")
    ROWS = (
        ("1\N{EN DASH}2", "Gull", "5.31", "5.24 ± 0.10", "4.90\N{EN DASH}5.50", "Pass"),
        ("4\N{EN DASH}5", "Curlew", "5.19", "5.12 ± 0.10", "4.90\N{EN DASH}5.50", "Pass"),
        ("8\N{EN DASH}case", "Plover", "9.8", "9.67 ± 0.13", "12.0\N{EN DASH}15.0", "Fail"),
        (
            "12\N{EN DASH}6",
            "Fluid temperature sensor",
            "2.61 k",
            "2.57 ± 0.06 k",
            "2.54\N{EN DASH}2.80 k",
            "Can't tell",
        ),
        ("1\N{EN DASH}case", "isolation", "> 60 M", "", "> 1 M", "Pass"),
        ("2\N{EN DASH}case", "isolation", "", "", "> 1 M", "Not taken"),
        ("9\N{EN DASH}10", "<b>not</b> & wired", "7.1", "7.0 ± 2.1", "", "No limit"),
        ("3\N{EN DASH}11", "Heron", "5.4", "", "4.90\N{EN DASH}5.50", "Not usable"),
    )

    def rowCount(self, parent: QModelIndex | None = None) -> int:  # noqa: N802  Qt's name
        return 0 if parent is not None and parent.isValid() else len(self.ROWS)

    def columnCount(self, parent: QModelIndex | None = None) -> int:  # noqa: N802  Qt's name
        return 0 if parent is not None and parent.isValid() else len(self.HEADS)

    def data(self, index: QModelIndex, role: int = Qt.ItemDataRole.DisplayRole) -> str | None:
        text = self.ROWS[index.row()][index.column()]
        is_mark = index.column() == len(self.HEADS) - 1
        wanted = Qt.ItemDataRole.AccessibleTextRole if is_mark else Qt.ItemDataRole.DisplayRole
        return text if role == wanted else None

    def headerData(  # noqa: N802  Qt's name
        self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole
    ) -> str | None:
        is_head = orientation == Qt.Orientation.Horizontal and role == Qt.ItemDataRole.DisplayRole
        return self.HEADS[section] if is_head else None


COLUMNS = (
    Column(kind=Kind.KEY, width_px=72),
    Column(kind=Kind.TEXT),
    Column(kind=Kind.NUMBER, width_px=64),
    Column(kind=Kind.DOUBT, width_px=104),
    Column(kind=Kind.LIMITS, width_px=92),
    Column(kind=Kind.MARK, width_px=36),
)


def column_of(*widgets: QWidget, stretch: bool = True) -> QWidget:
    page = QWidget()
    rows = QVBoxLayout(page)
    rows.setSpacing(fonts.whole_px(12))
    for widget in widgets:
        rows.addWidget(widget)
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


def ruler_states() -> list[tuple[str, Callable[[Ruler], None]]]:
    def band(ruler: Ruler) -> None:
        ruler.set_unit(OHM)
        ruler.set_limits(4.9, 5.5, low_text="4.90", high_text="5.50")
        ruler.set_guard(0.1)

    def with_reading(value: float, expanded: float | None, verdict: Verdict) -> Callable[[Ruler], None]:
        return lambda ruler: (band(ruler), ruler.set_reading(value, expanded, verdict))[0]

    def one_sided(ruler: Ruler) -> None:
        ruler.set_limits(1e6, None, low_text="1.00 M")
        ruler.set_open(60e6, Verdict.PASS, text="60 M" + OHM)

    def upper(ruler: Ruler) -> None:
        ruler.set_limits(None, 2.0, high_text="2.0")
        ruler.set_guard(0.2)
        ruler.set_reading(0.4, 0.2, Verdict.PASS)

    def narrow(ruler: Ruler) -> None:
        ruler.set_limits(5.0, 5.02, low_text="5.00", high_text="5.02")
        ruler.set_guard(0.5)
        ruler.set_reading(5.01, 0.2, Verdict.CANT_TELL)

    def no_limits(ruler: Ruler) -> None:
        ruler.set_reading(5.3, 0.1, Verdict.NO_LIMIT)

    return [
        ("Pass", with_reading(5.17, 0.1, Verdict.PASS)),
        ("Can't tell, leaning inside", with_reading(5.44, 0.1, Verdict.CANT_TELL)),
        ("Fail", with_reading(5.9, 0.1, Verdict.FAIL)),
        ("Far outside", with_reading(40.0, 0.4, Verdict.FAIL)),
        ("Far below", with_reading(0.2, 0.05, Verdict.FAIL)),
        ("Not usable, no doubt stated", with_reading(5.1, None, Verdict.NOT_USABLE)),
        ("Limits, nothing measured", band),
        ("Lower limit only, open", one_sided),
        ("Upper limit only", upper),
        ("Band narrower than its guard zones", narrow),
        ("No limits", no_limits),
        ("Open against a band", lambda ruler: (band(ruler), ruler.set_open(400.0, Verdict.FAIL))[0]),
        ("Empty", lambda ruler: None),
    ]


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


def face_of(title: str, spots: list[PinSpot], *, is_round: bool = False, turned: bool = False) -> Face:
    face = Face(title)
    face.drawing.set_pins(spots, is_round=is_round)
    verdicts = (Verdict.PASS, Verdict.PASS, None, Verdict.PASS, Verdict.CANT_TELL, None, Verdict.NO_LIMIT, Verdict.FAIL)
    for spot, verdict in zip(spots, verdicts * 10, strict=False):
        face.drawing.set_state(spot.name, verdict, "solenoid Heron")
    face.set_turned(turned)
    return face


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
    two = face_of("Connector D", grid_spots(2, 1))
    single = face_of("Connector E", grid_spots(8, 1))
    page = QWidget()
    grid = QGridLayout(page)
    grid.setSpacing(fonts.whole_px(16))
    for place, face in enumerate((first, turned, ring, free, two, single)):
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


def demo_rail() -> Rail:
    rail = Rail(("Job", "Identify", "Pins", "Heat", "Ports", "Findings", "Refit"), foot=("Archive",))
    for page, progress in (("Job", "done"), ("Identify", "done"), ("Pins", "11/20"), ("Ports", "0/9")):
        rail.set_progress(page, progress)
    rail.set_current("Pins")
    return rail


def rail_page() -> QWidget:
    rail = demo_rail()
    rail.setMinimumHeight(fonts.whole_px(560))
    return row_of(rail)


def demo_strip() -> Strip:
    strip = Strip()
    strip.set_cell("job", "Job 2217", "Harbour shuttle 7 · body serial 0418-77")
    strip.set_cell("variant", "Quillon Tern, body 2", "12 pins, 7 solenoids, 9 ports")
    strip.set_verdict(Verdict.FAIL, "Fail: Plover is outside its limits", "1 can't tell · 9 still to take")
    strip.set_cell("meter", "Meter 0.9 % + 2 × 0.01 " + OHM, f"nulled on the meter, 0.00 {OHM} left")
    strip.set_cell("coil", "23.4 °C", "coil probe, 12 s ago")
    return strip


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
    return card


def table_card() -> Card:
    table = Table(COLUMNS, name="Readings")
    table.setModel(Rows(table))
    table.selectRow(3)
    card = Card("Readings", aside="11 of 20", is_outdented=True)
    card.body.addWidget(table)
    return card


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
    entry.addWidget(field, 1)
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


PAGES: dict[str, Callable[[], QWidget]] = {
    "pins": pins_page,
    "type": type_page,
    "marks": marks_page,
    "rulers": ruler_page,
    "faces": face_page,
    "big_faces": big_face_page,
    "field": field_page,
    "keys": keys_page,
    "messages": messages_page,
    "plots": plot_page,
    "rail": rail_page,
    "strip": strip_page,
    "table": table_page,
}


def render(app: QApplication, out: Path, *, only: str = "") -> int:
    """Write one picture per page, palette and zoom; the number written."""
    out.mkdir(parents=True, exist_ok=True)
    count = 0
    for theme_name in theme.THEMES:
        theme.apply(app, theme_name)
        for zoom in ZOOMS:
            fonts.set_zoom(zoom)
            app.setFont(fonts.font(14))
            for name, build in PAGES.items():
                if only and name != only:
                    continue
                page = build()
                page.adjustSize()
                page.grab().save(str(out / f"{name}-{theme_name}-{zoom * 100:.0f}.png"))
                page.deleteLater()
                count += 1
    return count


def show(app: QApplication) -> int:
    """A window with every page one below the other."""
    theme.apply(app, "light")
    app.setFont(fonts.font(14))
    area = QScrollArea()
    area.setWindowTitle("Gallery")
    area.setWidget(column_of(*[build() for build in PAGES.values()]))
    area.resize(1360, 900)
    area.show()
    return app.exec()


def main(arguments: list[str] | None = None) -> int:
    """Render to a folder, and perhaps show."""
    parser = argparse.ArgumentParser(description="Pictures of every own widget in all states and palettes")
    parser.add_argument("--out", type=Path, default=Path("build/gallery"))
    parser.add_argument("--only", choices=PAGES, default="")
    parser.add_argument("--show", action="store_true")
    chosen = parser.parse_args(arguments)
    if not chosen.show:
        os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    app = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(app, QApplication)
    if chosen.show:
        return show(app)
    print(f"{render(app, chosen.out, only=chosen.only)} pictures in {chosen.out}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
