"""Cells of one column -> numbers, a stretch of lines at a time, every fault with its line."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from valvebench.capture.faults import Faults
from valvebench.capture.headings import Heading
from valvebench.model.errors import BadInput
from valvebench.model.measured import HIGHEST_CELSIUS, LOWEST_CELSIUS
from valvebench.model.numbers import LARGEST_OHM, decimal, typed_ohm

Array = NDArray[np.float64]

_PLAIN: Final = frozenset("0123456789.,+-eE ")
_INFINITE: Final = re.compile(r"[+-]?inf(inity)?", re.IGNORECASE)
_CLOCK: Final = re.compile(r"(\d{1,3}):([0-5]?\d)(?::([0-5]?\d(?:[.,]\d+)?))?", re.ASCII)
_DATE: Final = re.compile(r"(\d{4}-\d\d-\d\d)[T ](\d\d:\d\d(?::\d\d)?)(?:[.,](\d+))?(Z|[+-]\d\d:?\d\d)?", re.ASCII)
_DAY_S: Final = 86400.0
_OVER_RANGE: Final = 9.9e37
"""What many instruments send for *over range* (SCPI 1999, 7.2.1.4, from memory; 9.91E37 is *not a number*)."""
_LOWEST_OHM: Final = -1.0
_LARGEST: Final = MappingProxyType({"pressure": 1e5, "current": 100.0, "number": 1e30})
"""Beyond what any gauge [kPa] or current meter [A] of a bench shows, and any number that means something."""
_LONGEST_SHOWN: Final = 30


class Signs:
    """The decimal sign of a file, from the first number that has one; two of them are a fault."""

    def __init__(self) -> None:
        self.sign = ""

    def differs(self, text: str) -> bool:
        """Whether a number is written with the other sign than those before it."""
        found = {sign for sign in ".," if sign in text}
        if len(found) == 1 and not self.sign:
            self.sign = next(iter(found))
        return bool(found - {self.sign})


class Column:
    """Numbers of one column, gathered stretch by stretch."""

    def __init__(self, heading: Heading, signs: Signs, faults: Faults) -> None:
        self.heading, self.signs, self.faults = heading, signs, faults
        self._parts: list[Array] = []

    def take(self, cells: Sequence[str], lines: Sequence[int]) -> None:
        """Take a stretch of cells with the line each stands on."""
        quick = self._quick(cells)
        self._parts.append(self._each(cells, lines) if quick is None else quick)

    def values(self) -> Array:
        """All of it, in s, degC or ohm."""
        return np.concatenate(self._parts) if self._parts else np.zeros(0)

    def _quick(self, cells: Sequence[str]) -> Array | None:
        """Everything at once where all cells are plain numbers in range; None where one has to be looked at."""
        joined = "".join(cells)
        if not _PLAIN.issuperset(joined) or self.signs.differs(joined) or self.heading.scale is None:
            return None
        try:
            values = np.array(list(map(float, _with_points(cells, joined))), float)
        except ValueError:
            return None
        values = self._scaled(values)
        return values if values.size == len(cells) and self._is_good(values).all() else None

    def _each(self, cells: Sequence[str], lines: Sequence[int]) -> Array:
        return np.array([self._one(cell.strip(), line) for cell, line in zip(cells, lines, strict=True)], float)

    def _scaled(self, values: Array) -> Array:
        scale = self.heading.scale if self.heading.scale is not None else 1.0
        scaled: Array = (values - self.heading.zero) * scale
        return scaled

    def _is_good(self, values: Array) -> NDArray[np.bool_]:
        good: NDArray[np.bool_] = np.isfinite(values)
        if self.heading.holds == "probe":
            good &= (values >= LOWEST_CELSIUS) & (values <= HIGHEST_CELSIUS)
        if self.heading.holds in _LARGEST:
            good &= np.abs(values) <= _LARGEST[self.heading.holds]
        if self.heading.holds == "ohm":
            good &= (values >= _LOWEST_OHM) & (values <= LARGEST_OHM)
        return good

    def _one(self, cell: str, line: int) -> float:
        if self.heading.holds == "ohm" and is_open(cell):
            return math.inf
        value = self._number(cell, line)
        if math.isnan(value) or self._is_good(np.array([value])).all():
            return value
        return self._fault(cell, line, _RANGES[self.heading.holds])

    def _number(self, cell: str, line: int) -> float:
        if self.heading.scale is None:
            return self._fault(cell, line, "a clock (hh:mm:ss or 2030-01-31 14:05:09)", "For seconds name it t_s.")
        try:
            value = decimal(cell, where=self.heading.where)
        except BadInput:
            return self._fault(cell, line, _WANTED[self.heading.holds])
        if self.signs.differs(cell):
            advice = "Thousands must not be grouped."
            return self._fault(cell, line, f"{self.signs.sign} as decimal sign, as in the lines before", advice)
        return float(self._scaled(np.array([value]))[0])

    def _fault(self, cell: str, line: int, expected: str, advice: str = "") -> float:
        self.faults.add(self.heading.where, shown(cell), expected, advice, line=line)
        return math.nan


class Clock(Column):
    """A time of day or a date and time, in seconds since the first line."""

    def __init__(self, heading: Heading, signs: Signs, faults: Faults) -> None:
        super().__init__(heading, signs, faults)
        self._first: datetime | float | None = None

    def take(self, cells: Sequence[str], lines: Sequence[int]) -> None:
        """Take a stretch of cells with the line each stands on."""
        self._parts.append(self._each(cells, lines))

    def values(self) -> Array:
        """Seconds; a clock without a date that falls by more than half a day has passed midnight."""
        values = super().values()
        if not isinstance(self._first, float) or values.size < 2:
            return values
        days = np.concatenate([[0.0], np.cumsum(np.diff(values) < -_DAY_S / 2)])
        since: Array = values + _DAY_S * days
        return since

    def _one(self, cell: str, line: int) -> float:
        at = moment(cell)
        self._first = at if self._first is None else self._first
        if isinstance(at, float) and isinstance(self._first, float):
            return at - self._first
        if isinstance(at, datetime) and isinstance(self._first, datetime) and _are_alike(at, self._first):
            return (at - self._first).total_seconds()
        return self._fault(cell, line, "a clock (hh:mm:ss or 2030-01-31 14:05:09), written alike in every line")


def _are_alike(a: datetime, b: datetime) -> bool:
    """Whether both say their zone, or neither does."""
    return (a.tzinfo is None) == (b.tzinfo is None)


def moment(text: str) -> datetime | float | None:
    """A clock as seconds of the day, a date and time as such; None where it is neither."""
    clock = _CLOCK.fullmatch(text)
    if clock is not None:
        return 3600.0 * int(clock[1]) + 60.0 * int(clock[2]) + float((clock[3] or "0").replace(",", "."))
    date = _DATE.fullmatch(text)
    if date is None:
        return None
    fraction = f".{date[3][:6]:0<6}" if date[3] else ""
    try:
        return datetime.fromisoformat(
            f"{date[1]}T{date[2]}{fraction if date[2].count(':') == 2 else ''}{date[4] or ''}"
        )
    except ValueError:
        return None


def is_open(cell: str) -> bool:
    """Whether a cell says that there was no connection."""
    if not cell or _INFINITE.fullmatch(cell) or typed_ohm(cell).is_open:
        return True
    try:
        return decimal(cell, where="ohm") == _OVER_RANGE
    except BadInput:
        return False


def shown(cell: str) -> str:
    """A cell as a message shows it: short, and without signs that steer a terminal."""
    return ascii(cell[:_LONGEST_SHOWN]) + ("..." if len(cell) > _LONGEST_SHOWN else "") if cell else "nothing"


def _with_points(cells: Sequence[str], joined: str) -> Sequence[str]:
    return [cell.replace(",", ".") for cell in cells] if "," in joined else cells


_WANTED: Final = {
    "time": "a time as a number",
    "probe": "a temperature with every reading",
    "ohm": "a resistance as a number, or OL for open",
    "pressure": "a pressure as a number",
    "current": "a current as a number",
    "number": "a number in every line",
}
_RANGES: Final = {
    "time": "a finite time",
    "probe": "a temperature from -50 to 180 degrees Celsius",
    "ohm": "a resistance from 0 to 1e12 ohm, or OL for open",
    "pressure": "a pressure of at most 100 000 kPa",
    "current": "a current of at most 100 A",
    "number": "a number of at most 1e30",
}
