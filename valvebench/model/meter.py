"""What is known of the meter, the leads and a check resistor."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

import msgspec

from valvebench.model.errors import bad
from valvebench.model.numbers import decimal
from valvebench.model.words import LeadState

_SPEC: Final = re.compile(r"\s*([^%]+?)\s*%\s*\+\s*([^x\u00d7*]+?)\s*[x\u00d7*]\s*(.+?)\s*")
_LARGEST_PERCENT: Final = 100.0


class Meter(msgspec.Struct, frozen=True, kw_only=True):
    """Accuracy of a meter on one range: percent of reading plus counts of `step` (ohm, or volt)."""

    percent: float
    counts: float
    step: float

    def text(self) -> str:
        """The same as it is typed, `0.9%+2x0.1`."""
        return f"{self.percent:g}%+{self.counts:g}x{self.step:g}"


# Common practice, no source: how good a handheld of that step usually is.
PRESETS: Final = MappingProxyType(
    {
        "tenths": Meter(percent=1.0, counts=3.0, step=0.1),
        "hundredths": Meter(percent=0.5, counts=5.0, step=0.01),
    }
)
DEFAULT_PRESET: Final = "tenths"
# From memory: a common 4000-count volt range.
DEFAULT_VOLTS_METER: Final = "0.5%+2x0.001"


def parse_meter(text: str, *, where: str = "meter") -> Meter:
    """Read `P%+NxR`, decimal point or comma."""
    match = _SPEC.fullmatch(text)
    if match is None:
        raise bad(where, repr(text), "percent, counts and step such as 0.9%+2x0.1", "The meter's booklet names them.")
    percent, counts, step = (decimal(part, where=where) for part in match.groups())
    if not (0 <= percent < _LARGEST_PERCENT and counts >= 0 and step > 0):
        raise bad(where, repr(text), "0 to 100 percent, counts of zero or more and a step above zero")
    return Meter(percent=percent, counts=counts, step=step)


class Check(msgspec.Struct, frozen=True, kw_only=True):
    """A known resistor read with the same leads.  All in ohm, tolerance in percent."""

    ohm: float
    read_ohm: float
    pct: float = 0.1
    zero_ohm: float | None = None


class VoltsRatio(msgspec.Struct, frozen=True, kw_only=True):
    """Two voltages [V] in series with a known resistor, read with one volt meter."""

    volts_x: float
    volts_check: float
    meter: Meter


class Instrument(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that turns a displayed resistance into a value with its doubt."""

    meter: Meter
    leads: LeadState = LeadState.NEITHER
    lead_ohm: float | None = None
    lead_allowance_ohm: float = 0.2
    check: Check | None = None
    volts: VoltsRatio | None = None
    u_ohm: float | None = None
    repeats: int = 1
    repeats_sd_ohm: float | None = None
