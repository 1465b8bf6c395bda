"""Resistance of each heat run against temperature, with copper's line and the limits that move with it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from openpyxl.chart import Series
from openpyxl.chart.marker import Marker
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties
from openpyxl.worksheet.pagebreak import Break

from valvebench.model.format import OHM
from valvebench.model.heat import HeatKind
from valvebench.report.cells import Book
from valvebench.report.charts import Data, line_series, new_chart, set_axis, stroke
from valvebench.report.heat_cases import HeatCase, Logs
from valvebench.report.heat_workings import warming_words
from valvebench.report.layout import set_page
from valvebench.report.look import INK, PLAIN, QUIET, SECTION

if TYPE_CHECKING:  # arrays would make the room slow to open
    from valvebench.diagnose.heat_data import HeatRun

TITLE: Final = "Heat chart"
DATA_TITLE: Final = "Heat chart data"
MOST_POINTS: Final = 300
_LAGS_TO_SETTLE: Final = 5.0
"""Time constants after which what the coil had at the start is down to less than a hundredth."""
_LINE_STEPS: Final = 24
_ROOM_CELSIUS: Final = 3.0
_ROWS_PER_CHART: Final = 23
_CHARTS_DOWN_A_PAGE: Final = 3
_COLUMNS: Final = "AJ"
_FIRST_ROW: Final = 5
_WARMING, _COOLING, _NEITHER = "Read while it warmed", "Read while it cooled", "Read at rest"
_PALE: Final = "A9B4AE"
_WORDS: Final = (
    "Dark triangles were read while it warmed, pale circles while it cooled; a cross stands where it opened.",
    "Long dashes are copper alone, short ones what was found where that is more; grey lines are the limits.",
)
_NO_COPPER: Final = "drawn against the probe; where copper lies cannot be told."


class HeatPoint(NamedTuple):
    """A reading: degrees Celsius, ohm, and its series in words."""

    celsius: float
    ohm: float
    way: str


class Drawn(NamedTuple):
    """The points of a run, its axis, and what is said above its chart."""

    points: tuple[HeatPoint, ...]
    axis: str
    notes: tuple[str, ...]


def write_heat_charts(book: Book, cases: Sequence[HeatCase], logs: Logs, *, report_id: str) -> None:
    """The sheet of charts and the sheet of the numbers they draw; a run without its file is said to have none."""
    sheet = book.sheet(TITLE)
    sheet.text(1, 1, "Heat runs: resistance against temperature", SECTION)
    for row, words in enumerate(_WORDS, start=2):
        sheet.text(row, 1, words, QUIET._replace(is_wrapped=False))
    set_page(sheet, report_id=report_id, is_landscape=False)
    data = Data(book.sheet(DATA_TITLE), report_id, about="The numbers behind the charts of the heat runs.")
    for number, case in enumerate(cases):
        column = _COLUMNS[number % len(_COLUMNS)]
        row = _FIRST_ROW + _ROWS_PER_CHART * (number // len(_COLUMNS))
        drawn = drawn_of(case, logs)
        at = 1 if column == "A" else 10
        if column == _COLUMNS[0] and row > _FIRST_ROW and (number // len(_COLUMNS)) % _CHARTS_DOWN_A_PAGE == 0:
            sheet.worksheet.row_breaks.append(Break(id=row - 1))
        for line, words in enumerate(drawn.notes):
            sheet.text(row + line, at, words, PLAIN._replace(size=9.0))
        if drawn.points:
            sheet.worksheet.add_chart(_chart(case, drawn, data), f"{column}{row + 2}")


def drawn_of(case: HeatCase, logs: Logs) -> Drawn:
    """What the chart of a run shows."""
    entries = case.row.entries
    name = f"{case.device}, {'entry' if len(entries) == 1 else 'entries'} {' '.join(str(n) for n in entries)}"
    if case.rounds is not None:
        rounds = case.rounds
        ways = {"warming": _WARMING, "cooling": _COOLING, "": _NEITHER}
        points = tuple(
            HeatPoint(celsius, ohm, ways[warming_words(rounds.celsius, place)])
            for place, (celsius, ohm) in enumerate(zip(rounds.celsius, rounds.ohm, strict=True))
            if math.isfinite(ohm)
        )
        return Drawn(points, "Coil temperature, \u00b0C", (name, "Every reading that is not open."))
    run = logs.get(entries[0])
    if run is None:
        return Drawn((), "", (name, "No chart: the logger\u2019s file is not there or not as it was."))
    return _of_log(name, case, run)


def _of_log(name: str, case: HeatCase, run: HeatRun) -> Drawn:
    """Every so many samples of a log; the coil's temperature where the lag is known and the start forgotten."""
    import numpy as np

    from valvebench.physics.lag import lag_response

    celsius, lag = np.asarray(run.probe_celsius, float), case.found.lag_s
    first, axis, coil_words = 0, "Probe temperature, \u00b0C", "against the probe"
    if run.t_s is not None and lag is not None:
        t_s = np.asarray(run.t_s, float)
        celsius = lag_response(t_s, celsius, tau_s=max(0.0, lag.value))
        is_soaked = case.log is not None and case.log.is_soaked
        first = 0 if is_soaked else int(np.searchsorted(t_s, t_s[0] + _LAGS_TO_SETTLE * lag.value))
        axis, coil_words = "Coil temperature, \u00b0C", f"against the coil, {lag.value:.0f} s behind the probe"
        coil_words += f", its first {t_s[min(first, t_s.size - 1)] - t_s[0]:.0f} s left out" if first else ""
    count = celsius.size - first
    every = max(1, -(-count // MOST_POINTS))
    kept = np.arange(first, celsius.size, every)
    finite = kept[np.isfinite(run.ohm[kept])]
    ahead = celsius[np.minimum(finite + every, celsius.size - 1)] - celsius[np.maximum(finite - every, 0)]
    points = tuple(
        HeatPoint(float(celsius[at]), float(run.ohm[at]), _WARMING if rise > 0 else _COOLING)
        for at, rise in zip(finite, ahead, strict=True)
    )
    name += ": all samples" if every == 1 else f": one of every {every} samples"
    drawn = f"drawn {coil_words}." if case.found.separable else _NO_COPPER
    return Drawn(points, axis, (f"{name} of {celsius.size} that are not open,", drawn))


def _chart(case: HeatCase, drawn: Drawn, data: Data) -> Any:
    chart = new_chart(case.device)
    edges = _edges(case, drawn)
    limits = case.heat.limits
    for title, column, limit in (("Lower limit", 1, limits.low_ohm), ("Upper limit", 2, limits.high_ohm)):
        if limit is not None:
            rows = data.add(case.device, title, [(edge[0], edge[column]) for edge in edges])
            chart.series.append(line_series(title, data, 4, rows, dash="solid" if column == 1 else "dash"))
    if case.found.separable:
        rows = data.add(case.device, "Copper alone", [(edge[0], edge[3]) for edge in edges])
        chart.series.append(line_series("Copper alone", data, 4, rows, dash="lgDash", colour=INK))
    if edges[0][4] is not None:
        rows = data.add(case.device, "As found", [(edge[0], edge[4]) for edge in edges])
        chart.series.append(line_series("As found", data, 4, rows, dash="sysDash", colour=INK))
    for way, mark in _MARKS.items():
        points = [point[:2] for point in drawn.points if point.way == way]
        if points:
            chart.series.append(_points(way, mark, data, data.add(case.device, way, points)))
    opened = [(event.coil_celsius, _copper(case, event.coil_celsius)) for event in case.events if event.kind == "open"]
    if opened:
        chart.series.append(_points(_OPENED, _CROSS, data, data.add(case.device, _OPENED, opened)))
    values = [v for edge in edges for v in edge[1:] if v is not None] + [point.ohm for point in drawn.points]
    set_axis(chart.x_axis, drawn.axis, [edge[0] for edge in edges])
    set_axis(chart.y_axis, f"Resistance, {OHM}", values)
    return chart


class _Mark(NamedTuple):
    symbol: str
    fill: str


_MARKS: Final[Mapping[str, _Mark]] = MappingProxyType(
    {_WARMING: _Mark("triangle", INK), _COOLING: _Mark("circle", _PALE), _NEITHER: _Mark("diamond", INK)}
)


_OPENED: Final = "It opened"
_CROSS: Final = _Mark("x", INK)


def _points(way: str, mark: _Mark, data: Data, rows: tuple[int, int]) -> Any:
    series = Series(data.column(4, rows), data.column(3, rows), title=way)
    series.marker = Marker(symbol=mark.symbol, size=7 if rows[1] - rows[0] < _LINE_STEPS else 4)
    # Without an explicit fill some viewers draw white marks.
    series.marker.graphicalProperties = GraphicalProperties(solidFill=mark.fill, ln=stroke(INK, 9525))
    series.graphicalProperties = GraphicalProperties(ln=LineProperties(noFill=True))
    series.smooth = False
    return series


Edge = tuple[float, float | None, float | None, float, float | None]


def _edges(case: HeatCase, drawn: Drawn) -> list[Edge]:
    """Temperature, both limits there, copper alone, and what was found where it is more than copper [ohm]."""
    coldest = min(point.celsius for point in drawn.points) - _ROOM_CELSIUS
    hottest = max(point.celsius for point in drawn.points) + _ROOM_CELSIUS
    steps = [coldest + (hottest - coldest) * step / _LINE_STEPS for step in range(_LINE_STEPS + 1)]
    k, limits = case.found.k_celsius, case.heat.limits
    result: list[Edge] = []
    for celsius in steps:
        at_ref = (k + celsius) / (k + limits.ref_celsius)
        low, high = (None if ohm is None else ohm * at_ref for ohm in (limits.low_ohm, limits.high_ohm))
        copper = _copper(case, celsius)
        result.append((celsius, low, high, copper, _more_than_copper(case, celsius, copper)))
    return result


def _copper(case: HeatCase, celsius: float) -> float:
    """What the copper alone has at a temperature [ohm]."""
    k = case.found.k_celsius
    return case.found.r20_ohm.value * (k + celsius) / (k + 20.0)


def _more_than_copper(case: HeatCase, celsius: float, copper_ohm: float) -> float | None:
    """The found line [ohm]; None for copper alone, and where the shape of a growth is not a straight one."""
    found = case.found
    series = found.series_ohm.value if found.series_ohm is not None else 0.0
    if found.kind is HeatKind.FIXED_SERIES:
        return copper_ohm + series
    start, excess = found.grows_from_celsius, found.excess_ohm_at_hottest
    if found.kind is not HeatKind.GROWS_WITH_HEAT or start is None or excess is None:
        return None
    grown = excess.value * max(0.0, celsius - start.value) / max(found.hottest_celsius - start.value, 1e-6)
    return copper_ohm + series + grown
