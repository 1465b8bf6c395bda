"""The files of loggers as the window asks for them: bytes, how they are written, and the runs."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from pathlib import Path
from types import MappingProxyType
from typing import Final

from valvebench.bench.flex_log import FlexLog
from valvebench.bench.heat_log import HeatLog, LogColumn, LogHead, Step
from valvebench.capture.columns import Signs, is_open, moment
from valvebench.capture.faults import Faults
from valvebench.capture.flex_log import flex_log
from valvebench.capture.headings import Heading, headings
from valvebench.capture.heat_log import header_of, heat_log
from valvebench.capture.lines import Line, lines_of, separator_of

LINES_SHOWN: Final = 5
_LOOKED_AT: Final = 200
_SEPARATORS: Final = MappingProxyType({",": "comma", ";": "semicolon", "\t": "tab", "": "sheet of a workbook"})
_TIME_UNITS: Final = MappingProxyType({1.0: "seconds", 1e-3: "milliseconds", 60.0: "minutes", 3600.0: "hours"})
_OHM_UNITS: Final = MappingProxyType({1.0: "ohm", 1e3: "kilohm"})


class LogFiles:
    """Reads logs; `read` brings the bytes of a file."""

    def __init__(self, read: Callable[[Path], bytes]) -> None:
        self._read = read

    def bytes_of(self, path: Path) -> bytes:
        """The bytes of a file the person named (raises WorldFailed)."""
        return self._read(path)

    def head_of(self, raw: bytes, *, source: str) -> LogHead:
        """How the file is written (raises BadInput)."""
        return head_of(raw, source=source)

    def log_of(self, raw: bytes, *, source: str, is_rounds: bool, step: Step | None = None) -> HeatLog:
        """The runs in it (raises BadInput, Stopped)."""
        return heat_log(raw, source=source, is_rounds=is_rounds, step=step)

    def flex_of(self, raw: bytes, *, source: str, column: str | None = None) -> FlexLog:
        """The readings of a flex test in it (raises BadInput)."""
        return flex_log(raw, source=source, column=column)


def head_of(raw: bytes, *, source: str) -> LogHead:
    """How a file is written, from its first lines (raises BadInput where no header is found)."""
    faults = Faults(source)
    lines = lines_of(raw, faults)
    looked_at = list(itertools.islice(lines, _LOOKED_AT))
    rest = iter(looked_at)
    named = headings(header_of(rest, faults))
    below, separator = list(rest), separator_of(raw, faults)
    return LogHead(
        separator=_SEPARATORS[separator],
        decimal_sign=_decimal_sign(named, below) if separator else "",
        time=_time(named, below),
        columns=tuple(_column(one) for one in named),
        lines=tuple(tuple(cells) for _, cells in below[:LINES_SHOWN]),
        passed_over=len(looked_at) - len(below) - 1,
    )


def _column(one: Heading) -> LogColumn:
    unit = ""
    if one.holds == "probe":
        unit = "\N{DEGREE SIGN}F" if one.zero else "\N{DEGREE SIGN}C"
    elif one.holds == "ohm":
        unit = _OHM_UNITS.get(one.scale or 1.0, "")
    return LogColumn(one.text, one.holds, one.device, unit)


def _decimal_sign(named: Sequence[Heading], lines: Sequence[Line]) -> str:
    """`point`, `comma`, or nothing where every number is whole."""
    signs = Signs()
    places = [one.place for one in named if one.holds in ("probe", "ohm")]
    for _, cells in lines:
        for place in places:
            if place < len(cells) and not is_open(cells[place].strip()):
                signs.differs(cells[place])
    return {".": "point", ",": "comma"}.get(signs.sign, "")


def _time(named: Sequence[Heading], lines: Sequence[Line]) -> str:
    """`seconds`, another unit, `clock`, `date and time`; nothing where there is no column of it."""
    heading = next((one for one in named if one.holds == "time"), None)
    if heading is None or not lines or heading.place >= len(lines[0][1]):
        return ""
    first = moment(lines[0][1][heading.place].strip())
    if isinstance(first, float):
        return "clock"
    if first is not None:
        return "date and time"
    return _TIME_UNITS.get(heading.scale or 0.0, "without a unit")
