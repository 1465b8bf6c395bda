"""Readings of a session as evidence: what each says, which doubts it shares with others, which cannot serve."""

from __future__ import annotations

import math
from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_catalogue import Pairs, SetUp
from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_priors import Priors
from valvebench.diagnose.explain_weigh import Evidence
from valvebench.diagnose.explained import LeftOut
from valvebench.judge.read_through import why_mute
from valvebench.judge.rows import Bench
from valvebench.model.entry import Reading
from valvebench.model.meter import Check
from valvebench.model.session import Session
from valvebench.model.variant import Coil, TemperatureSensor, Variant
from valvebench.model.words import AccessPoint, LeadState
from valvebench.physics.uncertainty import INV_SQRT3, INV_SQRT12, value_and_lines

SAME_CELSIUS: Final = 0.5
"""Coil temperatures this close count as one: a quarter of a percent of copper at most."""
MOST_READINGS: Final = 120
_ROOM_CELSIUS: Final = 20.0
_ROOM_HALF_WIDTH_CELSIUS: Final = 10.0
_TWO_TIPS: Final = 2.0**0.5


class Said(NamedTuple):
    """One reading in numbers: ohm (infinite: open), range [ohm], own and shared standard uncertainties."""

    entry: int
    reading: Reading
    ohm: float
    range_ohm: float
    own_sd_ohm: float
    gain_sd: float
    lead_sd_ohm: float
    meter: str
    leads: tuple[str, str, float] | None


class Bound(NamedTuple):
    """Evidence with the set-up its doubts are numbered by, the entries it came from, and what was left out."""

    evidence: Evidence
    set_up: SetUp
    said: tuple[Said, ...]
    left_out: tuple[LeftOut, ...]


def said_of(session: Session, priors: Priors) -> tuple[list[Said], list[LeftOut]]:
    """Every reading of a session that has a temperature, in numbers."""
    bench = Bench(None)
    said, left_out = [], []
    for item in session.items:
        taken = bench.take(item)
        if taken is None:
            continue
        reading = taken.reading
        if reading.u_celsius is None and reading.half_width_celsius() is None:
            left_out.append(LeftOut(item.n, "the coil temperature is not known before the part has soaked"))
        else:
            said.append(said_one(item.n, reading, priors, check=taken.check))
    return said, left_out


def thinned(said: Sequence[Said]) -> tuple[list[Said], list[LeftOut]]:
    """As many readings as are weighed at once; like ones of a pair count as one when there are many.

    Repeats of one pair share nearly all their doubts: their middle says what they say together.
    """
    if len(said) <= MOST_READINGS:
        return list(said), []
    groups: dict[Hashable, list[Said]] = {}
    for one in said:
        reading = one.reading
        warmth = round(reading.celsius / (2.0 * SAME_CELSIUS))
        key = (reading.from_node, reading.to_node, reading.at, math.isinf(one.ohm), one.meter, one.leads, warmth)
        groups.setdefault((*key, u_celsius(reading)), []).append(one)
    middles = [sorted(group, key=lambda one: one.ohm)[len(group) // 2] for group in groups.values()]
    centre = sorted(one.reading.celsius for one in middles)[len(middles) // 2]
    near = sorted(middles, key=lambda one: abs(one.reading.celsius - centre))
    kept = sorted(near[:MOST_READINGS], key=lambda one: one.entry)
    why = f"more than {MOST_READINGS} readings: those of the middle temperature are weighed"
    return kept, [LeftOut(one.entry, why) for one in near[MOST_READINGS:]]


def said_one(entry: int, reading: Reading, priors: Priors, *, check: Check | None = None) -> Said:
    """One reading in numbers; `check` serves where it has no check resistor of its own."""
    instrument = reading.instrument(check=check)
    meter = instrument.meter
    contact = _TWO_TIPS * priors.reading.contact_ohm.value
    if reading.at is AccessPoint.VEHICLE_PLUG:
        contact = math.hypot(contact, _TWO_TIPS * priors.part.harness_sd_ohm.value)
    counts = meter.counts * meter.step * INV_SQRT3 if meter.counts > 0 else meter.step * INV_SQRT12
    leads = None if instrument.leads is LeadState.FOUR_WIRE else _lead_key(reading)
    own, gain, lead_sd = math.hypot(counts, contact), 0.01 * meter.percent * INV_SQRT3, _lead_sd(reading, priors)
    range_ohm = reading.range_ohm or priors.reading.open_above_ohm.value
    if reading.open:
        return Said(entry, reading, math.inf, range_ohm, own, gain, lead_sd, reading.meter_key(), leads)
    shown = reading.displayed_ohm
    value, lines = value_and_lines(instrument, math.nan if shown is None else shown)
    if instrument.check is not None or instrument.u_ohm is not None:
        own = math.hypot(contact, math.sqrt(math.fsum(line.u_ohm**2 for line in lines)))
        return Said(entry, reading, float(value), range_ohm, own, 0.0, 0.0, "", None)
    return Said(entry, reading, float(value), range_ohm, own, gain, lead_sd, reading.meter_key(), leads)


def _lead_key(reading: Reading) -> tuple[str, str, float]:
    return reading.meter_key(), reading.leads.value, reading.lead_ohm or 0.0


def _lead_sd(reading: Reading, priors: Priors) -> float:
    """What the leads may still add [ohm]; for `neither` the allowance, its middle taken off."""
    meter = reading.meter_spec()
    if reading.leads is LeadState.NEITHER:
        return 0.5 * reading.lead_allowance_ohm * INV_SQRT3
    steps = max(meter.counts, 1.0) if reading.leads is LeadState.SUBTRACT else 1.0
    return max(steps * meter.step * INV_SQRT3, priors.reading.lead_rest_ohm.value)


def hints(variant: Variant, said: Sequence[Said]) -> Mapping[str, float]:
    """What devices without limits were read as [ohm], the middle of several."""
    found: dict[str, list[float]] = {}
    for one in said:
        device = variant.device_between(one.reading.from_node, one.reading.to_node)
        if isinstance(device, Coil | TemperatureSensor) and 0 < one.ohm < math.inf:
            found.setdefault(device.name, []).append(one.ohm)
    return {name: sorted(values)[len(values) // 2] for name, values in found.items()}


def bind(circuit: Circuit, said: Sequence[Said]) -> Bound:
    """Evidence for a circuit; readings at places it does not have, or that it cannot judge, are left out."""
    kept, places, left_out = [], [], []
    for one in said:
        reading = one.reading
        a = circuit.place(reading.from_node, reading.at, reading.to_node)
        b = circuit.place(reading.to_node, reading.at, reading.from_node)
        if a is None or b is None or a == b:
            left_out.append(LeftOut(one.entry, f"{reading.from_node} to {reading.to_node} is no place of this variant"))
        elif bool(circuit.is_blind(np.array([a]), np.array([b]))[0]):
            left_out.append(LeftOut(one.entry, "it runs through something an ohmmeter cannot judge"))
        elif why := why_mute(circuit.variant, reading):
            left_out.append(LeftOut(one.entry, why))
        else:
            kept.append(one)
            places.append((a, b))
    set_up, numbers = _set_up(kept)
    names = tuple((one.reading.from_node, one.reading.to_node) for one in kept)
    gains, leads = _numbered(one.meter for one in kept), _numbered(one.leads for one in kept)
    pairs = Pairs(
        sites=tuple(places),
        names=names,
        celsius=np.array(numbers, dtype=np.intp),
        gain=np.array([gains.get(one.meter, -1) for one in kept], dtype=np.intp),
        leads=np.array([leads.get(one.leads, -1) for one in kept], dtype=np.intp),
        gain_sd=np.array([one.gain_sd for one in kept]),
        lead_sd_ohm=np.array([one.lead_sd_ohm for one in kept]),
        own_sd_ohm=np.array([one.own_sd_ohm for one in kept]),
        fixed_ohm=np.full(len(kept), math.nan),
    )
    set_up = set_up._replace(gains=len(gains), leads=len(leads))
    evidence = Evidence(pairs, np.array([one.ohm for one in kept]), np.array([one.range_ohm for one in kept]))
    return Bound(evidence, set_up, tuple(kept), tuple(left_out))


def _numbered(keys: Iterable[object]) -> dict[object, int]:
    found = dict.fromkeys(key for key in keys if key)
    return {key: number for number, key in enumerate(found)}


def _set_up(kept: Sequence[Said]) -> tuple[SetUp, list[int]]:
    """Coil temperatures that were met, close ones as one, and the number of each reading's."""
    order = sorted(range(len(kept)), key=lambda i: (kept[i].reading.celsius, u_celsius(kept[i].reading), i))
    groups: list[list[int]] = []
    for i in order:
        first = kept[groups[-1][0]].reading if groups else None
        near = first is not None and abs(kept[i].reading.celsius - first.celsius) <= SAME_CELSIUS
        if near and first is not None and u_celsius(kept[i].reading) == u_celsius(first):
            groups[-1].append(i)
        else:
            groups.append([i])
    celsius = tuple(math.fsum(kept[i].reading.celsius for i in group) / len(group) for group in groups)
    spread = tuple(u_celsius(kept[group[0]].reading) for group in groups)
    numbers = [0] * len(kept)
    for number, group in enumerate(groups):
        for i in group:
            numbers[i] = number
    if not groups:
        celsius, spread = (_ROOM_CELSIUS,), (_ROOM_HALF_WIDTH_CELSIUS * INV_SQRT3,)
    return SetUp(celsius, spread, 0, 0), numbers


def u_celsius(reading: Reading) -> float:
    """Standard uncertainty of the coil temperature [K]."""
    if reading.u_celsius is not None:
        return reading.u_celsius
    return (reading.half_width_celsius() or 0.0) * INV_SQRT3
