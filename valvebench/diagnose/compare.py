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

from valvebench.judge.rows import SAME_OTHER_CELSIUS, Row, Taken, combined, like_groups, rows_of, taken_readings
from valvebench.model.format import ohm_text, open_text
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.session import Session
from valvebench.model.variant import Coil, TemperatureSensor, Variant
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import Doubt, Line, combine, rectangle, scaled, value_and_lines

SAME_HOURS: Final = 2.0
REF_CELSIUS: Final = 20.0
_MOST_OF_A_WINDING_OHM: Final = 100.0
"""A lower resistance is taken for copper where no variant says: common practice, no source."""
COMMON: Final = ("gain", "leads", "temperature")


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
    """Groups of both sides at the nearest temperatures, each used once."""
    left = list(other)
    for group in one:
        if left:
            nearest = min(left, key=lambda g: abs(g.celsius - group.celsius))
            left.remove(nearest)
            yield group, nearest


def _compare_groups(a: _Group, b: _Group, variant: Variant | None, *, is_common: bool) -> Compared:
    what = _what(a, variant)
    if a.taken.reading.open or b.taken.reading.open:
        return _compare_open(what, a, b)
    is_shared = is_common and _same_instrument(a, b)
    law = _law_of(a, variant)
    values = [_at(group, law, a.celsius) for group in (a, b)]
    difference = values[0] - values[1]
    if law is None and not (is_shared and abs(a.celsius - b.celsius) <= SAME_OTHER_CELSIUS):
        why = "How this part moves with temperature is not known: read both at one temperature, with one meter."
        return Compared(what, values[0], values[1], "ohm", difference, None, None, None, (), why)
    lines = (
        _shared_lines(a, b, difference, law) if is_shared else [*_whole(a, law, a.celsius), *_whole(b, law, a.celsius)]
    )
    doubt: Doubt = combine(lines)
    return Compared(
        what=what,
        a=values[0],
        b=values[1],
        unit="ohm",
        difference=difference,
        u_difference=doubt.u,
        k=doubt.k95,
        significant=bool(abs(difference) > doubt.k95 * doubt.u),
        common=COMMON if is_shared else (),
        why=_why(law, is_shared=is_shared, is_common=is_common),
    )


def _why(law: _Law | None, *, is_shared: bool, is_common: bool) -> str:
    assumed = " Copper assumed." if law is not None and law.is_assumed else ""
    if is_shared:
        return f"Same meter, same two hours.{assumed}"
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
    is_winding = device is None and (group.ohm or 0.0) < _MOST_OF_A_WINDING_OHM
    return _Law(COPPER_K_CELSIUS, 0.0, is_assumed=True) if is_winding else None


def _same_instrument(a: _Group, b: _Group) -> bool:
    one, other = a.taken.reading, b.taken.reading
    same = one.meter_key() == other.meter_key() and one.leads is other.leads and one.range_ohm == other.range_ohm
    return same and (one.volts_x is None) == (other.volts_x is None)


def _at(group: _Group, law: _Law | None, to_celsius: float) -> float:
    """Value after leads and check resistor: copper at 20 degC, other laws at `to_celsius` [ohm]."""
    reading = group.taken.reading
    ohm, _ = value_and_lines(reading.instrument(check=group.taken.check), group.ohm or 0.0)
    return float(ohm) * (1.0 if law is None else law.factor(group.celsius, to_celsius))


def _shared_lines(a: _Group, b: _Group, difference: float, law: _Law | None) -> list[Line]:
    """Gain acts on the difference only; each reading keeps its own counts and its own spread."""
    reading = a.taken.reading
    gain = 0.0 if reading.u_ohm is not None else 0.01 * reading.meter_spec().percent * abs(difference)
    return [rectangle("gain", gain), *_counts(a, law, a.celsius), *_counts(b, law, a.celsius)]


_CANCELLED: Final = frozenset({"gain", "leads", "check resistor", "tips reading step"})


def _counts(group: _Group, law: _Law | None, to_celsius: float) -> list[Line]:
    """What two readings of one meter do not share."""
    instrument = group.taken.reading.instrument(check=group.taken.check)
    _, lines = value_and_lines(instrument, group.ohm or 0.0)
    own = [line for line in lines if line.term not in _CANCELLED | {"meter"}]
    if any(line.term == "meter" for line in lines):
        own.append(rectangle("counts", instrument.meter.counts * instrument.meter.step))
    return scaled(own, 1.0 if law is None else law.factor(group.celsius, to_celsius))


def _whole(group: _Group, law: _Law | None, to_celsius: float) -> list[Line]:
    """One reading's own budget, temperature included."""
    reading = group.taken.reading
    ohm, lines = value_and_lines(reading.instrument(check=group.taken.check), group.ohm or 0.0)
    factor = 1.0 if law is None else law.factor(group.celsius, to_celsius)
    slope = 0.0 if law is None else abs(ohm * factor * law.slope(group.celsius))
    if reading.u_celsius is not None:
        warmth = Line("temperature", slope * reading.u_celsius, is_rectangular=False)
    else:
        warmth = rectangle("temperature", slope * (reading.half_width_celsius() or 0.0))
    return [*scaled(lines, factor), warmth]


def _compare_open(what: str, a: _Group, b: _Group) -> Compared:
    words = [open_text(g.range_ohm) if g.taken.reading.open else ohm_text(g.ohm or 0.0) for g in (a, b)]
    both = a.taken.reading.open and b.taken.reading.open
    if both:
        return Compared(what, words[0], words[1], "ohm", None, None, None, False, (), "Open on both.")
    opened, closed = (a, b) if a.taken.reading.open else (b, a)
    above = (opened.range_ohm or 0.0) > (closed.ohm or 0.0)
    why = "Open on one, not on the other." if above else "The range of the open reading does not reach the other value."
    return Compared(what, words[0], words[1], "ohm", None, None, None, True if above else None, (), why)


def _compare_ports(a: Side, b: Side) -> list[Compared]:
    found = [{row.key: row for row in rows_of(side.session, side.variant) if row.port is not None} for side in (a, b)]
    return [_compare_port(found[0][key], found[1][key]) for key in found[0] if key in found[1]]


def _compare_port(a: Row, b: Row) -> Compared:
    differs = a.verdict is not b.verdict
    return Compared(a.what, a.verdict.value, b.verdict.value, "", None, None, None, differs, (), "Heard, not measured.")
