"""The columns of the sheet Heat workings and the live formulas that redo a heat run read in rounds.

`{name}` stands for the cell of that column in the same row; `{name:all}` for the readings of the
run in that column of the sheet Heat rounds.
"""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

from openpyxl.utils import get_column_letter

from valvebench.model.format import OHM
from valvebench.model.heat import HeatKind
from valvebench.report.formulas import Heading
from valvebench.report.layout import Column

ROUNDS_TITLE: Final = "Heat rounds"
READING_COLUMNS: Final = MappingProxyType(
    {
        "run": Column("Line in Heat workings", 10),
        "device": Column("Device", 15),
        "round": Column("Round", 8),
        "entry": Column("Entry", 8),
        "way": Column("Warming or cooling", 14),
        "celsius": Column("Coil, \u00b0C", 9),
        "shown": Column(f"Meter showed, {OHM}", 16),
        "ohm": Column(f"Corrected, {OHM}", 12),
        "copper": Column("Copper against 20 \u00b0C (live)", 13),
        "growing": Column("Part of the growth at the hottest (live)", 15),
        "at_20": Column(f"At 20 \u00b0C if all were copper, {OHM} (live)", 15),
        "line": Column(f"Straight line, {OHM} (live)", 12),
        "off": Column(f"Off the line, {OHM} (live)", 12),
    }
)
READING_LETTER: Final = MappingProxyType(
    {key: str(get_column_letter(number)) for number, key in enumerate(READING_COLUMNS, start=1)}
)

_OF_GROUP: Final = (
    ("What", (("line", "Line", 6.0), ("device", "Device", 15.0), ("kind", "Against copper it is", 24.0))),
    (
        "Result (live)",
        (
            ("slope", "Slope over copper", 11.0),
            ("U_slope", "U of the slope", 11.0),
            ("at_20", f"All at 20 \u00b0C, {OHM}", 12.0),
            ("U_at_20", f"U, {OHM}", 11.0),
            ("series", f"In series, {OHM}", 12.0),
            ("U_series", f"U, {OHM}", 11.0),
            ("excess", f"Too much at the hottest, {OHM}", 12.0),
            ("agrees", "Agreement (live)", 24.0),
        ),
    ),
    (
        "Inputs",
        (
            ("k_celsius", "Conductor constant, \u00b0C", 10.0),
            ("percent", "Shared by all readings, %", 10.0),
            ("counts", "Shared by all readings, counts", 10.0),
            ("step", f"Step, {OHM}", 9.0),
            ("half_width", "Probe half-width, K", 10.0),
            ("start", "Grows from, \u00b0C", 10.0),
            ("hottest", "Hottest, \u00b0C", 10.0),
        ),
    ),
    (
        "Straight line through all readings (live)",
        (
            ("n", "Readings", 9.0),
            ("copper", f"Copper at 20 \u00b0C, {OHM}", 12.0),
            ("offset", f"What does not move, {OHM}", 12.0),
            ("sd", f"Scatter about it, {OHM}", 12.0),
            ("widened", "Variance widened for few readings, times", 12.0),
            ("mean", "Mean of copper against 20 \u00b0C", 12.0),
            ("square", "Sum of squares about it", 12.0),
            ("v_copper", f"Variance of copper, {OHM}\u00b2", 12.0),
            ("v_offset", f"Variance of what does not move, {OHM}\u00b2", 12.0),
            ("v_both", f"Covariance, {OHM}\u00b2", 12.0),
            ("common", f"Counts and probe offset, u, {OHM}", 12.0),
            ("gain", "Gain, relative u", 12.0),
        ),
    ),
    (
        "Copper and growth by least squares (live)",
        (("xx", "Copper squared", 12.0), ("xh", "Copper by growth", 12.0), ("hh", "Growth squared", 12.0)),
    ),
    (
        "As the program found",
        (
            ("p_slope", "Slope over copper", 11.0),
            ("p_u_slope", "u of the slope", 11.0),
            ("p_at_20", f"All at 20 \u00b0C, {OHM}", 12.0),
            ("p_u_at_20", f"u, {OHM}", 11.0),
            ("p_series", f"In series, {OHM}", 12.0),
            ("p_u_series", f"u, {OHM}", 11.0),
            ("p_excess", f"Too much at the hottest, {OHM}", 12.0),
            ("p_u_excess", f"u, {OHM}", 11.0),
        ),
    ),
)
HEADINGS: Final = tuple(Heading(*column, group) for group, columns in _OF_GROUP for column in columns)
COLUMN: Final = MappingProxyType({heading.key: number for number, heading in enumerate(HEADINGS, start=1)})
_ZONE: Final = re.compile(r"\{(\w+)(:all)?\}")
_TOTAL: Final = "({copper}+{offset})"
_SAME_U: Final = "1E-6"


def _near(live: str, program: str) -> str:
    return f"ABS({{{live}}}-{{{program}}})<=1E-8*(1+ABS({{{program}}}))"


def _near_u(live: str, program: str) -> str:
    return f"ABS({{{live}}}-2*{{{program}}})<={_SAME_U}*{{{live}}}"


# Straight line: JCGM 100:2008, H.3; what all readings share is added after it, 5.2.
LINE: Final = MappingProxyType(
    {
        "n": "COUNT({ohm:all})",
        "copper": "SLOPE({ohm:all},{copper:all})",
        "offset": "INTERCEPT({ohm:all},{copper:all})",
        "sd": "STEYX({ohm:all},{copper:all})",
        "mean": "AVERAGE({copper:all})",
        "square": "DEVSQ({copper:all})",
        # Student's t of n - 2 degrees of freedom has that variance: JCGM 101:2008, 6.4.9.
        "widened": "({n}-2)/MAX({n}-4,1)",
        "v_copper": "{widened}*{sd}^2/{square}",
        "v_offset": "{widened}*{sd}^2*(1/{n}+{mean}^2/{square})",
        "v_both": "0-{widened}*{sd}^2*{mean}/{square}",  # a leading minus would be squared as well
        "common": (
            "SQRT((MAX({counts},1/SQRT(12))*{step}/SQRT(3))^2+({copper}/({k_celsius}+20)*{half_width}/SQRT(3))^2)"
        ),
        "gain": "{percent}/100/SQRT(3)",
        "slope": f"{{copper}}/{_TOTAL}",
    }
)
# Only where the readings do lie on a straight line its doubt means something.
ALL_AT_20: Final = MappingProxyType(
    {
        "U_slope": (
            "2*SQRT(({offset}^2*{v_copper}-2*{offset}*{copper}*{v_both}+{copper}^2*{v_offset}"
            f"+({{copper}}*{{common}})^2)/{_TOTAL}^4)"
        ),
        "at_20": _TOTAL,
        "U_at_20": f"2*SQRT({{v_copper}}+{{v_offset}}+2*{{v_both}}+{{common}}^2+({{gain}}*{_TOTAL})^2)",
    }
)
SERIES: Final = MappingProxyType(
    {"series": "{offset}", "U_series": "2*SQRT({v_offset}+{common}^2+({gain}*{offset})^2)"}
)
# Two unknowns by their normal equations, with the start the program found and nothing in series.
GROWTH: Final = MappingProxyType(
    {
        "xx": "SUMSQ({copper:all})",
        "xh": "SUMPRODUCT({copper:all},{growing:all})",
        "hh": "SUMSQ({growing:all})",
        "excess": (
            "({xx}*SUMPRODUCT({growing:all},{ohm:all})-{xh}*SUMPRODUCT({copper:all},{ohm:all}))/({xx}*{hh}-{xh}^2)"
        ),
    }
)
_SLOPE_AGREES: Final = f"{_near('slope', 'p_slope')},{_near_u('U_slope', 'p_u_slope')}"
_AT_20_AGREES: Final = f"{_near('at_20', 'p_at_20')},{_near_u('U_at_20', 'p_u_at_20')}"
_SERIES_AGREES: Final = f"{_near('series', 'p_series')},{_near_u('U_series', 'p_u_series')}"
COPPER_AGREES: Final = f'IF(AND({_SLOPE_AGREES},{_AT_20_AGREES}),"agrees","differs")'
SERIES_AGREES: Final = f'IF(AND({_SLOPE_AGREES},{_AT_20_AGREES},{_SERIES_AGREES}),"agrees","differs")'
# What bends has a straight line for every way of fitting: that may differ from the program's by its U.
_SLOPE_WITHIN: Final = "ABS({slope}-{p_slope})<=2*{p_u_slope}"
GROWTH_AGREES: Final = (
    f'IF(AND({_SLOPE_WITHIN},ABS({{excess}}-{{p_excess}})<=2*{{p_u_excess}}),"agrees within U","differs")'
)
SLOPE_AGREES: Final = f'IF({_SLOPE_WITHIN},"slope agrees within U","differs")'
# From thirty readings on the program's doubt also holds how neighbours resemble one another.
_SAME: Final = MappingProxyType({key: _near(key, f"p_{key}") for key in ("slope", "at_20", "series")})
VALUES_AGREE: Final = MappingProxyType(
    {
        HeatKind.COPPER: f'IF(AND({_SAME["slope"]},{_SAME["at_20"]}),"values agree","differs")',
        HeatKind.FIXED_SERIES: f'IF(AND({_SAME["slope"]},{_SAME["series"]}),"values agree","differs")',
        HeatKind.GROWS_WITH_HEAT: SLOPE_AGREES,
    }
)
# One reading of the sheet Heat rounds.
OF_READING: Final = MappingProxyType(
    {
        "copper": "({k_celsius}+[celsius])/({k_celsius}+20)",
        "at_20": "[ohm]/[copper]",
        "line": "{copper}*[copper]+{offset}",
        "off": "[ohm]-[line]",
    }
)
GROWING: Final = "MAX(0,[celsius]-{start})/({hottest}-{start})"
_READING_ZONE: Final = re.compile(r"\[(\w+)\]")
WORKINGS_TITLE: Final = "Heat workings"


def letter(key: str) -> str:
    """Column letters of a heading."""
    return str(get_column_letter(COLUMN[key]))


def formula_at(formula: str, *, row: int, first: int, last: int) -> str:
    """A formula of the sheet Heat workings in one row, for the readings in these rows of Heat rounds."""

    def cell(found: re.Match[str]) -> str:
        if found[2] is None:
            return f"{letter(found[1])}{row}"
        column = READING_LETTER[found[1]]
        return f"'{ROUNDS_TITLE}'!${column}${first}:${column}${last}"

    return "=" + _ZONE.sub(cell, formula)


def reading_formula(formula: str, *, row: int, run_row: int) -> str:
    """A formula of the sheet Heat rounds in one row, for the run in that row of Heat workings."""
    told = _ZONE.sub(lambda found: f"'{WORKINGS_TITLE}'!${letter(found[1])}${run_row}", formula)
    return "=" + _READING_ZONE.sub(lambda found: f"{READING_LETTER[found[1]]}{row}", told)
