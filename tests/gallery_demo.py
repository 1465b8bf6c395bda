"""What the gallery shows: invented names, numbers and verdicts."""

from __future__ import annotations

import math
from collections.abc import Callable

from PySide6.QtCore import QAbstractTableModel, QModelIndex, Qt

from valvebench.judge.ways import WayKind
from valvebench.model.words import Verdict
from valvebench.ui.pins.cheap_ways import Ghost, WayShown, WaysShown
from valvebench.ui.widgets.face import Face
from valvebench.ui.widgets.face_geometry import PinSpot
from valvebench.ui.widgets.rail import Rail
from valvebench.ui.widgets.ruler import Ruler, RulerState
from valvebench.ui.widgets.strip import Strip
from valvebench.ui.widgets.table import Column, Kind

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


def demo_ways() -> WaysShown:
    """Invented: a reading of 5.28 ohm with 0.46 of doubt."""
    lines = (
        (WayKind.NULL, "F2", "Null the leads, same range", f"\u00b1 0.46 {OHM}: still too wide", False),
        (WayKind.CHECK, "F3", "Check resistor, same leads", f"\u00b1 0.21 {OHM}: decides, if the value stays", True),
        (
            WayKind.VOLTS,
            "F4",
            "Volts ratio against a resistor",
            f"\u00b1 0.16 {OHM}: decides, if the value stays",
            True,
        ),
    )
    ghost = Ghost(value=5.28, expanded=0.21, words="with a check resistor")
    rows = tuple(
        WayShown(kind=kind, key=key, words=words, effect=effect, would_decide=decides, ghost=ghost)
        for kind, key, words, effect, decides in lines
    )
    pointer = "Or compare with Gull, Curlew, Whimbrel, or with another body, same meter, same hour."
    return WaysShown(title="To decide Heron", now=f"now \u00b1 0.46 {OHM}", rows=rows, first=1, pointer=pointer)


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

    def promised(ruler: Ruler) -> None:
        with_reading(5.28, 0.33, Verdict.CANT_TELL)(ruler)
        ruler.set_ghost(5.28, 0.08, text="\u00b1 0.08 with a check resistor")

    def no_limits(ruler: Ruler) -> None:
        ruler.set_reading(5.3, 0.1, Verdict.NO_LIMIT)

    def posted(ruler: Ruler) -> None:
        slope = RulerState(value=1.35, expanded=0.1, verdict=Verdict.NO_LIMIT, post=1.0, post_text="copper")
        ruler.show_state(slope)

    return [
        ("Pass", with_reading(5.17, 0.1, Verdict.PASS)),
        ("Can't tell, leaning inside", with_reading(5.44, 0.1, Verdict.CANT_TELL)),
        ("Can't tell, and what a check resistor would do", promised),
        ("Fail", with_reading(5.9, 0.1, Verdict.FAIL)),
        ("Far outside", with_reading(40.0, 0.4, Verdict.FAIL)),
        ("Far below", with_reading(0.2, 0.05, Verdict.FAIL)),
        ("Not usable, no doubt stated", with_reading(5.1, None, Verdict.NOT_USABLE)),
        ("Limits, nothing measured", band),
        ("Lower limit only, open", one_sided),
        ("Upper limit only", upper),
        ("Band narrower than its guard zones", narrow),
        ("No limits", no_limits),
        ("A post of its own, no limits", posted),
        ("Open against a band", lambda ruler: (band(ruler), ruler.set_open(400.0, Verdict.FAIL))[0]),
        ("Empty", lambda ruler: None),
    ]


def face_of(title: str, spots: list[PinSpot], *, is_round: bool = False, turned: bool = False) -> Face:
    face = Face(title)
    face.drawing.set_pins(spots, is_round=is_round)
    verdicts = (Verdict.PASS, Verdict.PASS, None, Verdict.PASS, Verdict.CANT_TELL, None, Verdict.NO_LIMIT, Verdict.FAIL)
    for spot, verdict in zip(spots, verdicts * 10, strict=False):
        face.drawing.set_state(spot.name, verdict, "solenoid Heron")
    face.set_turned(turned)
    return face


def demo_rail() -> Rail:
    rail = Rail(("Job", "Identify", "Pins", "Heat", "Ports", "Findings", "Refit"), foot=("Archive",))
    for page, progress in (("Job", "done"), ("Identify", "done"), ("Pins", "11/20"), ("Ports", "0/9")):
        rail.set_progress(page, progress)
    rail.set_current("Pins")
    return rail


def demo_strip() -> Strip:
    strip = Strip()
    strip.set_cell("job", "Job 2217", "Harbour shuttle 7 · body serial 0418-77")
    strip.set_cell("variant", "Quillon Tern, body 2", "12 pins, 7 solenoids, 9 ports")
    strip.set_verdict(Verdict.FAIL, "Fail: Plover is outside its limits", "1 can't tell · 9 still to take")
    strip.set_cell("meter", "Meter 0.9 % + 2 × 0.01 " + OHM, f"nulled on the meter, 0.00 {OHM} left")
    strip.set_cell("coil", "23.4 °C", "coil probe, 12 s ago")
    return strip
