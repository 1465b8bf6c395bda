"""Resistance against coil temperature, a native chart for each device, with the band that moves."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from openpyxl.chart import Reference, ScatterChart, Series
from openpyxl.chart.data_source import NumDataSource, NumRef
from openpyxl.chart.error_bar import ErrorBars
from openpyxl.chart.layout import Layout, ManualLayout
from openpyxl.chart.marker import Marker
from openpyxl.chart.shapes import GraphicalProperties
from openpyxl.drawing.line import LineProperties

from valvebench.judge.device_limits import limits_of
from valvebench.judge.resistance import to_reference
from valvebench.model.format import OHM
from valvebench.model.limits import Limits
from valvebench.model.variant import Variant
from valvebench.model.words import VERDICT_TEXT, Verdict
from valvebench.report.cases import Case
from valvebench.report.cells import Book, Sheet, visible
from valvebench.report.layout import Column, header, set_page
from valvebench.report.look import INK, LINE, LIVE, MUTED_TEXT, SECTION, TEXT, VERDICT

TITLE: Final = "Chart"
DATA_TITLE: Final = "Chart data"
_DATA_HEADER_ROW: Final = 3
_BAND_STEPS: Final = 24
_ROOM_CELSIUS: Final = 5.0
_WIDTH_CM: Final = 16.0
_HEIGHT_CM: Final = 10.5
_ROWS_PER_CHART: Final = 22
_COLUMNS_PER_CHART: Final = "AJ"
_KINDS: Final = frozenset({"solenoid", "speed_sensor", "temperature_sensor"})
_MARKER_SIZE: Final = 9
_LIMIT_COLOUR: Final = "5A6762"


class Mark(NamedTuple):
    """Shape and fill of a verdict, both, so that a print without colour still tells them apart."""

    symbol: str
    fill: str


MARKS: Final = MappingProxyType(
    {
        Verdict.PASS: Mark("circle", "0072B2"),
        Verdict.FAIL: Mark("square", "D55E00"),
        Verdict.CANT_TELL: Mark("triangle", "F0E442"),
        Verdict.NO_LIMIT: Mark("diamond", "5A6762"),
    }
)


class Point(NamedTuple):
    """A measured point: degrees Celsius, ohm at that temperature, expanded uncertainty [ohm]."""

    celsius: float
    ohm: float
    expanded_ohm: float
    verdict: Verdict


class Edge(NamedTuple):
    """Both limits [ohm] at a coil temperature [degC]."""

    celsius: float
    low_ohm: float | None
    high_ohm: float | None


@dataclass(frozen=True, kw_only=True)
class Plot:
    """What one chart shows."""

    name: str
    points: tuple[Point, ...]
    edges: tuple[Edge, ...]


def plots_of(cases: Sequence[Case], variant: Variant | None) -> tuple[Plot, ...]:
    """One plot for each device that was read as a value."""
    by_name: dict[str, list[Case]] = defaultdict(list)
    for case in cases:
        if case.row.kind in _KINDS and case.judgement.U_ohm_at_ref is not None:
            by_name[case.row.what].append(case)
    return tuple(_plot(name, of_device, variant) for name, of_device in by_name.items())


def _plot(name: str, cases: list[Case], variant: Variant | None) -> Plot:
    points = tuple(sorted(_point(case) for case in cases))
    stated = next((case.judgement.limits for case in cases if case.judgement.limits.is_stated), None)
    coldest, hottest = points[0].celsius - _ROOM_CELSIUS, points[-1].celsius + _ROOM_CELSIUS
    steps = (coldest + (hottest - coldest) * step / _BAND_STEPS for step in range(_BAND_STEPS + 1))
    edges = () if stated is None else tuple(_edge(celsius, stated, name, variant) for celsius in steps)
    return Plot(name=name, points=points, edges=edges)


def _point(case: Case) -> Point:
    judgement = case.judgement
    factor = to_reference(judgement.limits, judgement.celsius)
    expanded = judgement.U_ohm_at_ref or 0.0
    return Point(judgement.celsius, judgement.ohm or 0.0, expanded / factor, _plain(judgement.verdict))


def _plain(verdict: Verdict) -> Verdict:
    return verdict if verdict in MARKS else Verdict.NO_LIMIT


def _edge(celsius: float, stated: Limits, name: str, variant: Variant | None) -> Edge:
    device = variant.device_named(name) if variant is not None else None
    here = limits_of(device, celsius) if device is not None and stated.k_celsius is None else stated
    factor = to_reference(here, celsius)
    return Edge(celsius, _over(here.low_ohm, factor), _over(here.high_ohm, factor))


def _over(ohm: float | None, factor: float) -> float | None:
    return None if ohm is None else ohm / factor


def write_charts(book: Book, plots: Sequence[Plot], *, report_id: str) -> None:
    """The sheet of charts, and the sheet of the numbers they draw."""
    sheet = book.sheet(TITLE)
    sheet.text(1, 1, "Resistance against coil temperature", SECTION)
    words = (
        "Bars are the expanded uncertainty (95.45 %); grey lines are the limits, which move with the coil temperature."
    )
    sheet.text(
        2, 1, words if plots else "No device was read as a value in this session.", MUTED_TEXT._replace(is_ruled=False)
    )
    set_page(sheet, report_id=report_id)
    data = Data(book.sheet(DATA_TITLE), report_id)
    for number, plot in enumerate(plots):
        column = _COLUMNS_PER_CHART[number % len(_COLUMNS_PER_CHART)]
        row = 4 + _ROWS_PER_CHART * (number // len(_COLUMNS_PER_CHART))
        sheet.worksheet.add_chart(_chart(plot, data), f"{column}{row}")


class Data:
    """Writes the numbers of charts one below the other and hands out references to them."""

    def __init__(self, sheet: Sheet, report_id: str, *, about: str = "The numbers behind the charts.") -> None:
        self.sheet, self.row = sheet, _DATA_HEADER_ROW
        sheet.text(1, 1, about, MUTED_TEXT._replace(is_ruled=False))
        columns = ("Device", "Series", "Coil, \u00b0C", f"Resistance or lower limit, {OHM}", f"U or upper limit, {OHM}")
        header(sheet, _DATA_HEADER_ROW, [Column(title, 18) for title in columns])
        sheet.worksheet.freeze_panes = f"A{_DATA_HEADER_ROW + 1}"
        set_page(sheet, report_id=report_id, is_landscape=False, repeat_row=_DATA_HEADER_ROW)

    def add(self, name: str, series: str, rows: Sequence[Sequence[float | None]]) -> tuple[int, int]:
        """Rows of a series; first and last row they went to."""
        first = self.row + 1
        for values in rows:
            self.row += 1
            self.sheet.text(self.row, 1, name, TEXT)
            self.sheet.text(self.row, 2, series, VERDICT._replace(align=""))
            for column, value in enumerate(values, start=3):
                if value is not None:
                    self.sheet.number(self.row, column, value, LIVE)
        return first, self.row

    def column(self, column: int, rows: tuple[int, int]) -> Any:
        """A reference to one column of those rows."""
        return Reference(self.sheet.worksheet, min_col=column, min_row=rows[0], max_row=rows[1])


def _chart(plot: Plot, data: Data) -> Any:
    chart = new_chart(plot.name)
    _axes(chart, plot)
    for series in (*_limit_series(plot, data), *_point_series(plot, data)):
        chart.series.append(series)
    return chart


def new_chart(title: str) -> Any:
    """An empty chart of the house's size, its legend below."""
    chart = ScatterChart()
    chart.style, chart.scatterStyle = 13, "lineMarker"
    chart.title = visible(title)
    chart.width, chart.height = _WIDTH_CM, _HEIGHT_CM
    chart.legend.position = "b"
    chart.layout = Layout(manualLayout=ManualLayout(x=0.02, y=0.12, w=0.94, h=0.66))
    return chart


def _limit_series(plot: Plot, data: Data) -> list[Any]:
    if not plot.edges:
        return []
    rows = data.add(plot.name, "limits", plot.edges)
    sides = (("Lower limit", 4, plot.edges[0].low_ohm), ("Upper limit", 5, plot.edges[0].high_ohm))
    return [_line(title, data, column, rows) for title, column, limit in sides if limit is not None]


def _line(title: str, data: Data, column: int, rows: tuple[int, int]) -> Any:
    return line_series(title, data, column, rows, dash="solid" if title.startswith("Lower") else "dash")


def line_series(
    title: str, data: Data, column: int, rows: tuple[int, int], *, dash: str, colour: str = _LIMIT_COLOUR
) -> Any:
    """A line without marks over the temperatures of those rows."""
    series = Series(data.column(column, rows), data.column(3, rows), title=title)
    series.marker = Marker(symbol="none")
    series.graphicalProperties = GraphicalProperties(ln=stroke(colour, 19050, dash))
    series.smooth = False
    return series


def stroke(colour: str, width_emu: int, dash: str = "solid") -> Any:
    """How a line is drawn."""
    line = LineProperties(w=width_emu, prstDash=dash)
    line.solidFill = colour
    return line


def _point_series(plot: Plot, data: Data) -> list[Any]:
    found = []
    for verdict, mark in MARKS.items():
        points = [point[:3] for point in plot.points if point.verdict is verdict]
        if points:
            title = VERDICT_TEXT[verdict]
            found.append(_measured(title, mark, data, data.add(plot.name, title, points)))
    return found


def _measured(title: str, mark: Mark, data: Data, rows: tuple[int, int]) -> Any:
    series = Series(data.column(4, rows), data.column(3, rows), title=title)
    series.marker = Marker(symbol=mark.symbol, size=_MARKER_SIZE)
    # Without an explicit fill some viewers draw white marks.
    series.marker.graphicalProperties = GraphicalProperties(solidFill=mark.fill, ln=stroke(INK, 9525))
    series.graphicalProperties = GraphicalProperties(ln=LineProperties(noFill=True))
    series.errBars = _whiskers(data.column(5, rows))
    series.smooth = False
    return series


def _whiskers(reference: Any) -> Any:
    length = NumDataSource(numRef=NumRef(f=str(reference)))
    bars = ErrorBars(errDir="y", errBarType="both", errValType="cust", plus=length, minus=length, noEndCap=False)
    bars.spPr = GraphicalProperties(ln=stroke(INK, 12700))
    return bars


def _axes(chart: Any, plot: Plot) -> None:
    ohms = [ohm for edge in plot.edges for ohm in edge[1:] if ohm is not None]
    ohms += [point.ohm + sign * point.expanded_ohm for point in plot.points for sign in (-1, 1)]
    set_axis(chart.x_axis, "Coil temperature, \u00b0C", [edge.celsius for edge in plot.edges] or _spread(plot))
    set_axis(chart.y_axis, f"Resistance, {OHM}", ohms)


def _spread(plot: Plot) -> list[float]:
    celsius = [point.celsius for point in plot.points]
    return [min(celsius) - _ROOM_CELSIUS, max(celsius) + _ROOM_CELSIUS]


def set_axis(axis: Any, title: str, values: Sequence[float]) -> None:
    """Title, ends and steps of an axis around its values."""
    low, high, step = nice_span(min(values), max(values))
    axis.title = title
    axis.delete = False  # newer versions of Excel leave the axis out otherwise
    axis.scaling.min, axis.scaling.max, axis.majorUnit = low, high, step
    axis.number_format, axis.majorTickMark, axis.tickLblPos = _tick_format(step), "out", "low"
    axis.crosses = "min"
    axis.majorGridlines.spPr = GraphicalProperties(ln=stroke(LINE, 6350))


def _tick_format(step: float) -> str:
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"0.{'0' * places}" if places else "0"


def nice_span(low: float, high: float) -> tuple[float, float, float]:
    """Ends and step of an axis: 1, 2 or 5 times a power of ten, four to ten steps around the values."""
    width = max(high - low, 1e-3 * max(abs(high), 1.0))
    raw = width / 6.0
    power = 10.0 ** math.floor(math.log10(raw))
    step = next((factor * power for factor in (1.0, 2.0, 5.0) if factor * power >= raw), 10.0 * power)
    return math.floor(low / step - 0.05) * step, math.ceil(high / step + 0.05) * step, step
