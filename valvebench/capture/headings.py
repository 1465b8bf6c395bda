"""The header of a logger's file: which column holds what, and in which unit."""

from __future__ import annotations

import re
from collections.abc import Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

_IN_BRACKETS: Final = re.compile(r"(.*?)\s*[\[(]\s*([^\])]*?)\s*[\])]\s*")
_SECONDS: Final = MappingProxyType({"s": 1.0, "sec": 1.0, "seconds": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0})
_OHMS: Final = MappingProxyType({"ohm": 1.0, "ohms": 1.0, "\u03c9": 1.0, "kohm": 1e3, "k\u03c9": 1e3})
"""In small letters: both signs for ohm become the small omega."""
_DEGREES: Final = MappingProxyType(
    dict.fromkeys(("celsius", "c", "\u00b0c", "degc", "\u2103"), (1.0, 0.0))
    | dict.fromkeys(("fahrenheit", "f", "\u00b0f", "degf"), (5.0 / 9.0, 32.0))
)
_TIME: Final = frozenset({"t", "time", "clock", "timestamp", "date_time", "datetime"})
_PROBE: Final = frozenset({"probe", "temperature", "temp"})
_NAMELESS: Final = frozenset({"", "resistance", "r"})
EXPECTED: Final = "a header with t_s, probe_celsius and ohm, NAME_ohm for each device, or device and ohm"


class Heading(NamedTuple):
    """One column: its place, what it holds, the device it belongs to, and y = scale (x - zero) into s, degC or ohm.

    A time without a unit has no scale: only a clock can be read from it.
    """

    place: int
    text: str
    holds: str
    device: str = ""
    scale: float | None = 1.0
    zero: float = 0.0

    @property
    def where(self) -> str:
        """The column as a message names it."""
        return f"column {self.place + 1} ({self.text})"


def headings(cells: Sequence[str]) -> list[Heading]:
    """Every column of a header; what nobody asks for holds `other`."""
    return [_heading(place, cell.strip()) for place, cell in enumerate(cells)]


def is_header(cells: Sequence[str]) -> bool:
    """Whether a line names a resistance beside a temperature, a time or a device."""
    held = {one.holds for one in headings(cells)}
    return "ohm" in held and len(held & {"probe", "time", "device"}) > 0


def _heading(place: int, text: str) -> Heading:
    name, unit = _split(text)
    word = name.lower()
    if text.lower() == "device":
        return Heading(place, text, "device")
    if word in _TIME and (not unit or unit in _SECONDS):
        return Heading(place, text, "time", scale=_SECONDS.get(unit))
    if word in _PROBE and unit in _DEGREES:
        return Heading(place, text, "probe", "", *_DEGREES[unit])
    if unit in _OHMS:
        return Heading(place, text, "ohm", "" if word in _NAMELESS else name, _OHMS[unit])
    return Heading(place, text, "other")


def _split(text: str) -> tuple[str, str]:
    """`Heron [ohm]`, `Heron (ohm)` and `Heron_ohm` -> name and unit in small letters."""
    match = _IN_BRACKETS.fullmatch(text)
    if match is not None:
        return match[1].strip(), match[2].lower()
    if text.lower() in _OHMS:
        return "", text.lower()
    name, sign, unit = text.rpartition("_")
    return (name, unit.lower()) if sign and text.lower() not in _TIME else (text, "")
