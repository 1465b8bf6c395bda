"""Two sessions pair by pair: what differs by more than the meter could make up.

With the same meter, the same leads and the same two hours, gain, leads and temperature are
the same for both and cancel; no limits are needed.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.rows import (
    SAME_COPPER_CELSIUS,
    SAME_OTHER_CELSIUS,
    Row,
    Taken,
    combined,
    like_groups,
    rows_of,
    taken_readings,
)
from valvebench.model.format import ohm_text, open_text
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import Instrument
from valvebench.model.session import Session
from valvebench.model.variant import Coil, TemperatureSensor, Variant
from valvebench.model.words import LeadState
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import CHECK_LINE, Doubt, Line, combine, rectangle, scaled, value_and_lines, zero_of

SAME_HOURS: Final = 2.0
REF_CELSIUS: Final = 20.0
_MOST_OF_A_WINDING_OHM: Final = 100.0
"""A lower resistance is taken for copper where no variant says: common practice, no source."""
COMMON: Final = ("gain", "leads", "temperature")
_COMMON_OF: Final = {(True, True): COMMON, (True, False): ("gain", "leads"), (False, False): ()}
_ROUNDING: Final = 1e-12  # of the value: decimals that are equal must not differ in binary


class Compared(NamedTuple):
    """One line: what was compared, both values [unit], their difference with its doubt, and what cancels."""

    what: str
    a: float | str | None
    b: float | str | None
    unit: str
    difference: float | None
    u_difference: float | None
    k: float | None
    significant: bool | None
    common: tuple[str, ...]
    why: str


class Side(NamedTuple):
    """One session of a comparison with the variant it is held against."""

    session: Session
    variant: Variant | None


class _Group(NamedTuple):
    """Like readings of one pair, as one reading."""

    taken: Taken
    ohm: float | None
    range_ohm: float | None
    celsius: float


def compare(a: Side, b: Side) -> tuple[Compared, ...]:
    """Compare two sessions pair by pair, then port by port.

    Returns
    -------
    tuple of Compared; ohm, the difference is a - b.

    Source
    ------
    JCGM 100:2008, 5.2 (a correlated term that is the same in both cancels in the difference).
    """
    is_common = _close_in_time(a.session, b.session)
    groups_a, groups_b = _groups(a), _groups(b)
    pairs = [
        _compare_groups(one, other, a.variant or b.variant, is_common=is_common)
        for place in groups_a
        if place in groups_b
        for one, other in _matched(groups_a[place], groups_b[place])
    ]
    return (*pairs, *_compare_ports(a, b))


def _close_in_time(a: Session, b: Session) -> bool:
    """Whether both sessions began within two hours of each other."""
    begun = [datetime.fromisoformat(session.entries[0].at) for session in (a, b)]
    return abs((begun[0] - begun[1]).total_seconds()) <= 3600 * SAME_HOURS


def _groups(side: Side) -> dict[tuple[frozenset[str], str], list[_Group]]:
    found: dict[tuple[frozenset[str], str], list[_Group]] = defaultdict(list)
    for group in like_groups(taken_readings(side.session, side.variant)):
        reading = combined(group)
        stand_in = msgspec.structs.replace(group[0], reading=reading)
        shown = None if reading.open else reading.displayed_ohm
        one = _Group(stand_in, shown, reading.range_ohm, reading.celsius)
        found[(reading.pair, reading.at.value)].append(one)
    return found


def _matched(one: Sequence[_Group], other: Sequence[_Group]) -> Iterable[tuple[_Group, _Group]]:
    """Groups of both sides at the nearest temperatures, each used once, the nearest of all first."""
    by_nearness = sorted(
        ((i, j) for i in range(len(one)) for j in range(len(other))),
        key=lambda places: abs(one[places[0]].celsius - other[places[1]].celsius),
    )
    chosen: dict[int, int] = {}
    for i, j in by_nearness:
        if i not in chosen and j not in chosen.values():
            chosen[i] = j
    return [(one[i], other[chosen[i]]) for i in sorted(chosen)]


def _compare_groups(a: _Group, b: _Group, variant: Variant | None, *, is_common: bool) -> Compared:
    what = _what(a, variant)
    if a.taken.reading.open or b.taken.reading.open:
        return _compare_open(what, a, b)
    law = _law_of(a, variant)
    is_shared = is_common and _same_instrument(a, b)
    is_warm_alike = is_shared and _same_warmth(a, b, law)
    values = [_at(group, law, a.celsius) for group in (a, b)]
    difference = values[0] - values[1]
    if (why := _why_not(a, b, law, is_warm_alike=is_warm_alike)) is not None:
        return Compared(what, values[0], values[1], "ohm", difference, None, None, None, (), why)
    lines = _lines(a, b, difference, law, is_shared=is_shared, is_warm_alike=is_warm_alike)
    doubt: Doubt = combine(lines)
    reach = doubt.k95 * doubt.u + _ROUNDING * max(abs(value) for value in values)
    return Compared(
        what=what,
        a=values[0],
        b=values[1],
        unit="ohm",
        difference=difference,
        u_difference=doubt.u,
        k=doubt.k95,
        significant=bool(abs(difference) > reach),
        common=_COMMON_OF[is_shared, is_warm_alike],
        why=_why(law, is_shared=is_shared, is_common=is_common, is_warm_alike=is_warm_alike),
    )


def _why_not(a: _Group, b: _Group, law: _Law | None, *, is_warm_alike: bool) -> str | None:
    """What keeps a difference from being told at all; None where it can be."""
    if any(_half_width(group) is None for group in (a, b)):
        return "Straight from washer or vehicle: let both lie in one room first, then read again."
    if law is None and not is_warm_alike:
        return "How this part moves with temperature is not known: read both at one temperature, with one meter."
    return None


def _lines(
    a: _Group, b: _Group, difference: float, law: _Law | None, *, is_shared: bool, is_warm_alike: bool
) -> list[Line]:
    """The budget of the difference, at the temperature both values were carried to."""
    lines = (
        _shared_lines(a, b, difference, law) if is_shared else [*_whole(a, law, a.celsius), *_whole(b, law, a.celsius)]
    )
    return lines if is_warm_alike else [*lines, _warmth(a, law, a.celsius), _warmth(b, law, a.celsius)]


def _why(law: _Law | None, *, is_shared: bool, is_common: bool, is_warm_alike: bool) -> str:
    assumed = " Copper assumed." if law is not None and law.is_assumed else ""
    if is_warm_alike:
        return f"Same meter, same two hours.{assumed}"
    if is_shared:
        return f"Same meter, same two hours, but not warm alike: the temperatures count.{assumed}"
    reason = "Not the same meter and leads" if is_common else "More than two hours apart"
    return f"{reason}: nothing cancels.{assumed}"


def _what(group: _Group, variant: Variant | None) -> str:
    reading = group.taken.reading
    device = variant.device_between(reading.from_node, reading.to_node) if variant is not None else None
    place = f"{reading.from_node}\u2013{reading.to_node}"
    return f"{place} {device.name}" if device is not None else place


class _Law(NamedTuple):
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


def _law_of(group: _Group, variant: Variant | None) -> _Law | None:
    """The law of the part; copper for a low resistance that nobody has described; else none is known."""
    reading = group.taken.reading
    device = variant.device_between(reading.from_node, reading.to_node) if variant is not None else None
    if isinstance(device, Coil):
        return _Law(device.k, 0.0)
    slope = group.taken.target.limits.slope_per_celsius
    if isinstance(device, TemperatureSensor):
        return _Law(None, slope) if slope else None
    ohm, _ = _value(group)
    is_winding = device is None and ohm < _MOST_OF_A_WINDING_OHM
    return _Law(COPPER_K_CELSIUS, 0.0, is_assumed=True) if is_winding else None


def _same_instrument(a: _Group, b: _Group) -> bool:
    """One meter on one range with one set of leads, referred to the same resistor or to none."""
    one, other = a.taken.reading, b.taken.reading
    return one.meter_key() == other.meter_key() and _set_up(a) == _set_up(b)


def _set_up(group: _Group) -> tuple[object, ...]:
    reading, instrument = group.taken.reading, _instrument(group)
    check, volts = instrument.check, instrument.volts
    resistor = None if check is None else (check.ohm, check.pct)
    leads = (instrument.leads, instrument.lead_allowance_ohm)
    return (instrument.meter, reading.range_ohm, leads, resistor, None if volts is None else volts.meter)


def _same_warmth(a: _Group, b: _Group, law: _Law | None) -> bool:
    """Both known in the same way and nearly equal, so that what is wrong with one is wrong with both."""
    one, other = a.taken.reading, b.taken.reading
    width = SAME_COPPER_CELSIUS if law is not None and law.k_celsius is not None else SAME_OTHER_CELSIUS
    same_way = one.temperature is other.temperature and one.u_celsius == other.u_celsius
    return same_way and _half_width(a) == _half_width(b) and abs(a.celsius - b.celsius) <= width


def _half_width(group: _Group) -> float | None:
    reading = group.taken.reading
    return reading.half_width_celsius() if reading.u_celsius is None else reading.u_celsius


def _instrument(group: _Group) -> Instrument:
    return group.taken.reading.instrument(check=group.taken.check)


def _value(group: _Group) -> tuple[float, list[Line]]:
    """Value after leads and check resistor with its own budget, at its own temperature [ohm]."""
    ohm, lines = value_and_lines(_instrument(group), group.ohm or 0.0)
    return float(ohm), lines


def _factor(group: _Group, law: _Law | None, to_celsius: float) -> float:
    return 1.0 if law is None else law.factor(group.celsius, to_celsius)


def _at(group: _Group, law: _Law | None, to_celsius: float) -> float:
    """The value for copper at 20 degC, for other laws at `to_celsius` [ohm]."""
    return _value(group)[0] * _factor(group, law, to_celsius)


def _shared_lines(a: _Group, b: _Group, difference: float, law: _Law | None) -> list[Line]:
    """What is one factor for both acts on the difference only; each reading keeps what is its own."""
    tips = (_tips(a), _tips(b))
    own = [*_own(a, law, a.celsius), *_own(b, law, a.celsius)]
    kept = [line for line in own if line.term not in _TIPS or tips[0] != tips[1]]
    return [rectangle("gain", 0.01 * _gain_percent(a) * abs(difference)), *kept]


_TIPS: Final = frozenset({"leads", "tips reading step"})
_FACTORS: Final = frozenset({"gain", CHECK_LINE})


def _gain_percent(group: _Group) -> float:
    """Percent of the factor that both values share: the meter's, or the check resistor's in its place."""
    instrument = _instrument(group)
    if instrument.check is not None:
        return instrument.check.pct
    return 0.0 if instrument.u_ohm is not None else instrument.meter.percent


def _tips(group: _Group) -> float | None:
    """The reading of the tips that was taken off [ohm]: the same one cancels, two do not."""
    instrument = _instrument(group)
    if instrument.volts is not None:
        return None
    if instrument.check is not None:
        return zero_of(instrument, instrument.check)
    return instrument.lead_ohm if instrument.leads is LeadState.SUBTRACT else None


def _own(group: _Group, law: _Law | None, to_celsius: float) -> list[Line]:
    """What two readings of one meter do not share, with the tips' lines still among it."""
    meter = _instrument(group).meter
    own = [line for line in _value(group)[1] if line.term not in _FACTORS]
    split = [rectangle("counts", meter.counts * meter.step) if line.term == "meter" else line for line in own]
    return scaled(split, _factor(group, law, to_celsius))


def _whole(group: _Group, law: _Law | None, to_celsius: float) -> list[Line]:
    """One reading's own budget of meter and leads."""
    return scaled(_value(group)[1], _factor(group, law, to_celsius))


def _warmth(group: _Group, law: _Law | None, to_celsius: float) -> Line:
    """What the doubt of the coil temperature makes of the value [ohm]."""
    reading = group.taken.reading
    slope = 0.0 if law is None else abs(_at(group, law, to_celsius) * law.slope(group.celsius))
    if reading.u_celsius is not None:
        return Line("temperature", slope * reading.u_celsius, is_rectangular=False)
    return rectangle("temperature", slope * (reading.half_width_celsius() or 0.0))


def _compare_open(what: str, a: _Group, b: _Group) -> Compared:
    words = [open_text(g.range_ohm) if g.taken.reading.open else ohm_text(_value(g)[0]) for g in (a, b)]
    both = a.taken.reading.open and b.taken.reading.open
    if both:
        return Compared(what, words[0], words[1], "ohm", None, None, None, False, (), "Open on both.")
    opened, closed = (a, b) if a.taken.reading.open else (b, a)
    above = (opened.range_ohm or 0.0) > _highest(closed)
    why = "Open on one, not on the other." if above else "The range of the open reading does not reach the other value."
    return Compared(what, words[0], words[1], "ohm", None, None, None, True if above else None, (), why)


def _highest(group: _Group) -> float:
    """The most the value may be [ohm]."""
    ohm, lines = _value(group)
    doubt = combine(lines)
    return ohm + float(doubt.k95 * doubt.u)


def _compare_ports(a: Side, b: Side) -> list[Compared]:
    found = [{row.key: row for row in rows_of(side.session, side.variant) if row.port is not None} for side in (a, b)]
    return [_compare_port(found[0][key], found[1][key]) for key in found[0] if key in found[1]]


def _compare_port(a: Row, b: Row) -> Compared:
    differs = a.verdict is not b.verdict
    return Compared(a.what, a.verdict.value, b.verdict.value, "", None, None, None, differs, (), "Heard, not measured.")
