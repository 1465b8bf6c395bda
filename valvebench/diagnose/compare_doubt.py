"""Like readings as one, and what their difference does not share."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.read_through import why_mute
from valvebench.judge.rows import (
    SAME_COPPER_CELSIUS,
    SAME_OTHER_CELSIUS,
    Taken,
    combined,
    like_groups,
    taken_readings,
)
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import Instrument
from valvebench.model.session import Session
from valvebench.model.variant import Coil, TemperatureSensor, Variant
from valvebench.model.words import LeadState
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import CHECK_LINE, Line, rectangle, scaled, value_and_lines, zero_of

REF_CELSIUS: Final = 20.0
GAIN: Final = "gain"
WARMTH: Final = "temperature"
_MOST_OF_A_WINDING_OHM: Final = 100.0
"""A lower resistance is taken for copper where no variant says: common practice, no source."""


class Group(NamedTuple):
    """Like readings of one pair, as one reading."""

    taken: Taken
    ohm: float | None
    range_ohm: float | None
    celsius: float
    entries: tuple[int, ...]


def groups_of(session: Session, variant: Variant | None) -> list[Group]:
    """The readings of a session, like ones as one, in the order of their entries.

    One that tells only of a contact or a diode it was read through is compared with nothing.
    """
    found = []
    for group in like_groups(taken_readings(session, variant)):
        if why_mute(variant, group[0].reading):
            continue
        reading = combined(group)
        shown = None if reading.open else reading.displayed_ohm
        stand_in = msgspec.structs.replace(group[0], reading=reading)
        found.append(Group(stand_in, shown, reading.range_ohm, reading.celsius, tuple(one.item.n for one in group)))
    return found


class Law(NamedTuple):
    """How a part moves with temperature: a conductor constant [degC], or a relative slope [1/K]."""

    k_celsius: float | None
    slope_per_celsius: float
    is_assumed: bool = False

    def factor(self, celsius: float, to_celsius: float) -> float:
        """What carries a value from one temperature to another."""
        if self.k_celsius is None:
            return math.exp(self.slope_per_celsius * (to_celsius - celsius))
        moved: float = resistance_at(1.0, from_celsius=celsius, to_celsius=REF_CELSIUS, k_celsius=self.k_celsius)
        return moved

    def slope(self, celsius: float) -> float:
        """Relative change per kelvin."""
        return self.slope_per_celsius if self.k_celsius is None else 1.0 / (self.k_celsius + celsius)


def law_of(group: Group, variant: Variant | None) -> Law | None:
    """The law of the part; copper for a low resistance that nobody has described; else none is known."""
    reading = group.taken.reading
    device = variant.device_between(reading.from_node, reading.to_node) if variant is not None else None
    if isinstance(device, Coil):
        return Law(device.k, 0.0)
    slope = group.taken.target.limits.slope_per_celsius
    if isinstance(device, TemperatureSensor):
        return Law(None, slope) if slope else None
    ohm, _ = value_of(group)
    is_winding = device is None and ohm < _MOST_OF_A_WINDING_OHM
    return Law(COPPER_K_CELSIUS, 0.0, is_assumed=True) if is_winding else None


def unlike(a: Group, b: Group) -> str:
    """In what the instruments differ; empty for one meter on one range with one set of leads and one resistor."""
    one, other = _set_up(a), _set_up(b)
    return next((words for words in one if one[words] != other[words]), "")


def _set_up(group: Group) -> dict[str, object]:
    reading, instrument = group.taken.reading, _instrument(group)
    check, volts = instrument.check, instrument.volts
    return {
        "another meter": (reading.meter_key(), instrument.meter),
        "another range": reading.range_ohm,
        "leads treated in another way": (instrument.leads, instrument.lead_allowance_ohm),
        "another check resistor": None if check is None else (check.ohm, check.pct),
        "another way of measuring": None if volts is None else volts.meter,
    }


def is_warm_alike(a: Group, b: Group, law: Law | None) -> bool:
    """Both known in the same way and nearly equal, so that what is wrong with one is wrong with both."""
    one, other = a.taken.reading, b.taken.reading
    width = SAME_COPPER_CELSIUS if law is not None and law.k_celsius is not None else SAME_OTHER_CELSIUS
    same_way = one.temperature is other.temperature and one.u_celsius == other.u_celsius
    return same_way and half_width_of(a) == half_width_of(b) and abs(a.celsius - b.celsius) <= width


def half_width_of(group: Group) -> float | None:
    """How well the coil temperature is known [K]; None where nothing is known."""
    reading = group.taken.reading
    return reading.half_width_celsius() if reading.u_celsius is None else reading.u_celsius


def _instrument(group: Group) -> Instrument:
    return group.taken.reading.instrument(check=group.taken.check)


def value_of(group: Group) -> tuple[float, list[Line]]:
    """Value after leads and check resistor with its own budget, at its own temperature [ohm]."""
    ohm, lines = value_and_lines(_instrument(group), group.ohm or 0.0)
    return float(ohm), lines


_TIPS: Final = frozenset({"leads", "tips reading step"})
_FACTORS: Final = frozenset({"gain", CHECK_LINE})


def gain_percent(group: Group) -> float:
    """Percent of the factor that both values share: the meter's, or the check resistor's in its place."""
    instrument = _instrument(group)
    if instrument.check is not None:
        return instrument.check.pct
    return 0.0 if instrument.u_ohm is not None else instrument.meter.percent


def tips_of(group: Group) -> float | None:
    """The reading of the tips that was taken off [ohm]: the same one cancels, two do not."""
    instrument = _instrument(group)
    if instrument.volts is not None:
        return None
    if instrument.check is not None:
        return zero_of(instrument, instrument.check)
    return instrument.lead_ohm if instrument.leads is LeadState.SUBTRACT else None


def _own(group: Group) -> list[Line]:
    """What two readings of one meter do not share, at its own temperature, with the tips' lines still among it."""
    meter = _instrument(group).meter
    own = [line for line in value_of(group)[1] if line.term not in _FACTORS]
    return [rectangle("counts", meter.counts * meter.step) if line.term == "meter" else line for line in own]


class Part(NamedTuple):
    """One side of a difference: value [ohm] and its own lines [ohm] at its temperature [degC].

    `u_celsius` is the line [K] of a temperature that counts; None where it cancels.
    """

    ohm: float
    celsius: float
    lines: tuple[Line, ...]
    factor: float
    u_celsius: Line | None

    @property
    def at_ref_ohm(self) -> float:
        """Carried to where both are compared [ohm]."""
        return self.ohm * self.factor


class Budget(NamedTuple):
    """All that a difference rests on; without a shared gain each part's lines hold its meter whole."""

    a: Part
    b: Part
    law: Law | None
    gain_percent: float | None

    @property
    def difference_ohm(self) -> float:
        """The first less the other, both carried [ohm]."""
        return self.a.at_ref_ohm - self.b.at_ref_ohm

    def lines(self) -> list[Line]:
        """Standard uncertainties of the difference [ohm]."""
        lines = [] if self.gain_percent is None else [rectangle(GAIN, 0.01 * self.gain_percent * self._size_ohm)]
        for part in (self.a, self.b):
            lines += scaled(part.lines, part.factor)
        return lines + [line for part in (self.a, self.b) if (line := self._warmth(part)) is not None]

    @property
    def _size_ohm(self) -> float:
        return abs(self.difference_ohm)

    def _warmth(self, part: Part) -> Line | None:
        """What the doubt of a coil temperature makes of the difference [ohm]."""
        if part.u_celsius is None:
            return None
        slope = 0.0 if self.law is None else abs(part.at_ref_ohm * self.law.slope(part.celsius))
        return part.u_celsius._replace(u_ohm=slope * part.u_celsius.u_ohm)


def budget_of(a: Group, b: Group, law: Law | None, *, is_shared: bool, is_warm_alike: bool) -> Budget:
    """What is one factor for both acts on the difference only; each reading keeps what is its own."""
    own = (_unshared(a, b), _unshared(b, a)) if is_shared else (value_of(a)[1], value_of(b)[1])
    first, other = (
        Part(
            ohm=value_of(group)[0],
            celsius=group.celsius,
            lines=tuple(lines),
            factor=1.0 if law is None else law.factor(group.celsius, a.celsius),
            u_celsius=None if is_warm_alike else _u_celsius(group),
        )
        for group, lines in zip((a, b), own, strict=True)
    )
    return Budget(first, other, law, gain_percent(a) if is_shared else None)


def _unshared(group: Group, other: Group) -> list[Line]:
    return own_lines(group, has_same_tips=tips_of(group) == tips_of(other))


def own_lines(group: Group, *, has_same_tips: bool) -> list[Line]:
    """What a reading shares with no other of its meter [ohm]; tips read once for both are shared."""
    return [line for line in _own(group) if line.term not in _TIPS or not has_same_tips]


def _u_celsius(group: Group) -> Line:
    """How well the coil temperature is known [K]."""
    reading = group.taken.reading
    if reading.u_celsius is not None:
        return Line(WARMTH, reading.u_celsius, is_rectangular=False)
    return rectangle(WARMTH, reading.half_width_celsius() or 0.0)
