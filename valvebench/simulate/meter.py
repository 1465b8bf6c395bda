"""A simulated ohmmeter and a simulated temperature probe: what they show of a true value."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Final

from valvebench.model.meter import Meter
from valvebench.model.words import LeadState

_DECADE: Final = 10.0
_BARELY: Final = 1e-9


@dataclass(frozen=True, kw_only=True)
class MeterRange:
    """One range: the largest value it shows and its display step, both in ohm."""

    full_ohm: float
    step_ohm: float


@dataclass(frozen=True, kw_only=True)
class Shown:
    """What the display says; `ohm` is None over range."""

    ohm: float | None
    on: MeterRange


@dataclass(frozen=True, kw_only=True)
class OhmMeter:
    """A meter with its true errors, which stay inside what its booklet states.

    `percent` and `counts` are the booklet's; `gain` (a share) and `offset_counts` are the truth.
    `lead_ohm` is what the leads really have, `leads` what is said to have been done about them, and
    `rest_ohm` what they add all the same where that was said and not done.
    """

    name: str
    percent: float
    counts: float
    ranges: tuple[MeterRange, ...]
    gain: float = 0.0
    offset_counts: float = 0.0
    lead_ohm: float = 0.0
    leads: LeadState = LeadState.NULLED
    rest_ohm: float = 0.0

    def __post_init__(self) -> None:
        """A meter outside its own booklet would make every expected verdict void."""
        if abs(self.gain) > 0.01 * self.percent or abs(self.offset_counts) + 1 > self.counts:
            raise ValueError(f"{self.name}: gain {self.gain:g}, {self.offset_counts:g} counts: worse than its booklet")

    def show(self, true_ohm: float, chance: random.Random) -> Shown:
        """The display for a true resistance [ohm], on the lowest range that holds it."""
        tips_ohm = self.rest_ohm if self.leads in (LeadState.NULLED, LeadState.FOUR_WIRE) else self.lead_ohm
        at_tips = (true_ohm + tips_ohm) * (1.0 + self.gain)
        on = next((r for r in self.ranges if at_tips <= r.full_ohm), self.ranges[-1])
        if at_tips > on.full_ohm:
            return Shown(ohm=None, on=on)
        steps = at_tips / on.step_ohm + self.offset_counts + chance.uniform(-0.5, 0.5)
        return Shown(ohm=decimal_steps(max(0, round(steps)), on.step_ohm), on=on)

    def accuracy(self, on: MeterRange) -> str:
        """The booklet's words for one range, `0.9%+2x0.01`."""
        return Meter(percent=self.percent, counts=self.counts, step=on.step_ohm).text()

    def shorted_ohm(self) -> float:
        """What it shows with its tips shorted [ohm]."""
        step = self.ranges[0].step_ohm
        if self.leads in (LeadState.NULLED, LeadState.FOUR_WIRE):
            return decimal_steps(round(self.rest_ohm / step), step)
        return decimal_steps(round(self.lead_ohm / step + self.offset_counts), step)


def decade_ranges(*, lowest_full_ohm: float, lowest_step_ohm: float, count: int) -> tuple[MeterRange, ...]:
    """Ranges ten times apart with the same number of steps."""
    return tuple(
        MeterRange(full_ohm=lowest_full_ohm * _DECADE**i, step_ohm=float(f"{lowest_step_ohm * _DECADE**i:.6g}"))
        for i in range(count)
    )


def decimal_steps(steps: int, step: float) -> float:
    """So many display steps as a plain decimal number: 531 steps of 0.01 are 5.31."""
    digits = max(0, -math.floor(math.log10(step) + _BARELY))
    return round(steps * step, digits)


@dataclass(frozen=True, kw_only=True)
class Probe:
    """A temperature probe with its true error [K] and display step [K]."""

    offset_celsius: float = 0.0
    step_celsius: float = 0.1

    def show(self, true_celsius: float, chance: random.Random) -> float:
        """The display for a true temperature [degrees Celsius]."""
        steps = (true_celsius + self.offset_celsius) / self.step_celsius + chance.uniform(-0.5, 0.5)
        return decimal_steps(round(steps), self.step_celsius)
