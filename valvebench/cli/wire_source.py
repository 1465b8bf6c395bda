"""Readings for `wire` from a file with the columns from, to, ohm."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping, Sequence
from typing import Final

from valvebench.diagnose.wiring_readings import WireReading
from valvebench.model.errors import BadInput, Problem, bad
from valvebench.model.measured import HIGHEST_CELSIUS, LOWEST_CELSIUS
from valvebench.model.meter import PRESETS, Instrument
from valvebench.model.numbers import LARGEST_OHM, decimal, typed_ohm

_COLUMNS: Final = ("from", "to", "ohm", "range_ohm", "celsius")
_NEEDED: Final = _COLUMNS[:3]
_COARSE_OHM: Final = 0.05


def preset_for(resolution_ohm: float) -> Instrument:
    """The meter assumed for a file: what a handheld with that step usually is."""
    return Instrument(meter=PRESETS["tenths" if resolution_ohm >= _COARSE_OHM else "hundredths"])


def from_file(raw: bytes, *, source: str) -> tuple[WireReading, ...]:
    """Readings of a table; every problem is reported together (raises BadInput)."""
    try:
        lines = raw.decode("utf-8-sig").splitlines()
    except UnicodeDecodeError as error:
        raise bad(f"byte {error.start}", "bytes that are no text", "a text file in UTF-8", source=source) from error
    head = next((line for line in lines if line.strip()), "")
    sign = next((sign for sign in ("\t", ";", ",") if sign in head), ",")
    names = [name.strip().lower() for name in head.split(sign)]
    _check_head(names, source)
    readings: list[WireReading] = []
    problems: list[Problem] = []
    begin = lines.index(head) + 1
    for number, cells in enumerate(csv.reader(lines[begin:], delimiter=sign), begin + 1):
        if any(cell.strip() for cell in cells):
            _take(readings, problems, names, cells, number)
    if problems:
        raise BadInput(problems, source=source)
    return tuple(readings)


def _check_head(names: Sequence[str], source: str) -> None:
    missing = [name for name in _NEEDED if name not in names]
    if missing:
        expected = "a header with from, to, ohm and, if you like, range_ohm, celsius"
        raise bad("line 1", ", ".join(names) or "nothing", expected, source=source)


def _take(
    readings: list[WireReading], problems: list[Problem], names: Sequence[str], cells: Sequence[str], number: int
) -> None:
    try:
        if len(cells) > len(names):
            raise bad("line", f"{len(cells)} cells", f"{len(names)}", "With a decimal comma, separate by ; or tab.")
        readings.append(_reading(dict(zip(names, (cell.strip() for cell in cells), strict=False))))
    except BadInput as error:
        problems += [_on_line(problem, number) for problem in error.problems]


def _on_line(problem: Problem, number: int) -> Problem:
    return Problem(
        where=problem.where,
        found=problem.found,
        expected=problem.expected,
        what_to_do=problem.what_to_do,
        line=number,
    )


def _reading(row: Mapping[str, str]) -> WireReading:
    a, b = row.get("from", ""), row.get("to", "")
    if not a or not b or a == b:
        raise bad("from, to", f"{a!r}, {b!r}", "two different pins, or a pin and case")
    celsius = _optional(row, "celsius")
    if celsius is not None and not LOWEST_CELSIUS <= celsius <= HIGHEST_CELSIUS:
        raise bad("celsius", f"{celsius:g}", "a coil temperature from -50 to 180 degrees Celsius")
    range_ohm = _optional(row, "range_ohm")
    if range_ohm is not None and not range_ohm > 0:
        raise bad("range_ohm", f"{range_ohm:g}", "a range above zero")
    return WireReading(a, b, _ohm(row.get("ohm", "")), range_ohm, celsius)


def _ohm(text: str) -> float:
    if not text or re.fullmatch(r"\+?inf(inity)?", text.lower()) or typed_ohm(text).is_open:
        return math.inf
    ohm = decimal(text, where="ohm")
    if not -1.0 <= ohm <= LARGEST_OHM:
        raise bad("ohm", text, "a resistance from 0 to 1e12 ohm, or OL for open")
    return max(ohm, 0.0)


def _optional(row: Mapping[str, str], name: str) -> float | None:
    text = row.get(name, "")
    return decimal(text, where=name) if text else None
