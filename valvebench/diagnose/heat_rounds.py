"""Heat runs typed round by round: from the readings of a session to what they say of each device.

Gathering needs no arrays and is cheap; finding does, and remembers what it was asked last, so
that only a device whose readings changed is worked out anew.
"""

from __future__ import annotations

import math
import sys
from collections import defaultdict
from collections.abc import Iterable, Sequence
from functools import lru_cache
from operator import attrgetter
from typing import Any, Final, NamedTuple

import msgspec

from valvebench.judge.heat_rows import HeatFind
from valvebench.judge.nets import has_path_beside
from valvebench.judge.read_through import why_mute
from valvebench.judge.resistance import at_value, shown_for
from valvebench.judge.rows import Taken, taken_readings
from valvebench.judge.targets import device_at, given_limits
from valvebench.model.entry import Reading
from valvebench.model.errors import BadInput, Problem
from valvebench.model.heat import HeatFound
from valvebench.model.meter import DEFAULT_VOLTS_METER, Instrument, Meter
from valvebench.model.session import Session
from valvebench.model.variant import Solenoid, SpeedSensor, Variant
from valvebench.physics.uncertainty import SQRT3, Line, value_and_lines

_NOTHING_USABLE: Final = Problem(
    where="rounds",
    found="no reading with a known coil temperature",
    expected="a reading for each round after the temperature has settled",
    what_to_do="Tape a probe to the part, and say with each reading how the temperature is known.",
)
_REMEMBERED: Final = 256
_SET_UP: Final = attrgetter("pair", "at", "leads", "meter")
_NAME_THE_METER: Final = "Name the meter: its accuracy is assumed."
_PLACE: Final = attrgetter("item.n")


class Rounds(NamedTuple):
    """One device read round by round in one place, with one meter and lead state, in the order of the rounds.

    `celsius` [degC] and `ohm` [ohm, after leads and check resistor; infinite: open] stand side by
    side with `rounds` and `entries`.  `instrument` says as percent, counts and step what all
    readings share of the doubt: meter, leads, check resistor; `half_width` is that of the temperature [K].
    """

    device: str
    entries: tuple[int, ...]
    rounds: tuple[int, ...]
    celsius: tuple[float, ...]
    ohm: tuple[float, ...]
    instrument: Meter
    half_width: float
    k_celsius: float
    meter: str
    meter_is_assumed: bool
    left_out: tuple[str, ...] = ()


class RoundsFound(NamedTuple):
    """What the rounds of a device say, or why they say nothing yet."""

    rounds: Rounds
    find: HeatFind | None
    problems: tuple[Problem, ...] = ()


def heat_of(session: Session, variant: Variant | None) -> dict[str, tuple[HeatFind, ...]]:
    """What the typed rounds of a session say of each device; nothing where no reading names a round."""
    if not any(isinstance(item.body, Reading) and item.body.round is not None for item in session.items):
        return {}
    return {device: finds_in(found) for device, found in rounds_in(session, variant).items()}


def rounds_in(session: Session, variant: Variant | None) -> dict[str, tuple[RoundsFound, ...]]:
    """Every device that was read in rounds, with what is found or why not yet."""
    by_device: dict[str, list[Taken]] = defaultdict(list)
    for taken in taken_readings(session, variant):
        device = device_in_round(variant, taken.reading)
        if device is not None:
            by_device[device].append(taken)
    return {device: rounds_found(variant, device, taken) for device, taken in by_device.items()}


def finds_in(found: Iterable[RoundsFound]) -> tuple[HeatFind, ...]:
    """Those that say something."""
    return tuple(one.find for one in found if one.find is not None)


def device_in_round(variant: Variant | None, reading: Reading) -> str | None:
    """The winding that a reading in a round is about; None where more lies between the nodes, or no round is named."""
    if variant is None or reading.round is None:
        return None
    device = device_at(variant, reading.from_node, reading.to_node)
    if not isinstance(device, Solenoid | SpeedSensor) or has_path_beside(variant, device):
        return None
    if why_mute(variant, reading):
        return None
    return device.name


def rounds_found(variant: Variant | None, device: str, taken: Sequence[Taken]) -> tuple[RoundsFound, ...]:
    """What the readings of one device in rounds say, for each place, meter and lead state.

    Parameters
    ----------
    variant : gives the conductor constant [degC]
    device : its name
    taken : its readings in rounds, with the meter checks that apply

    Returns
    -------
    tuple of RoundsFound
        In the order of the first entries; an answer without a find says why in plain words.

    Source
    ------
    `diagnose.heat_run.analyse`; leads and check resistor by `physics.uncertainty.value_and_lines`.
    """
    groups: dict[object, list[Taken]] = defaultdict(list)
    for one in sorted((one for one in taken if not why_mute(variant, one.reading)), key=_PLACE):
        is_by_volts = one.reading.volts_x is not None
        groups[_SET_UP(one.reading), one.reading.meter_key(), is_by_volts].append(one)
    return tuple(_found(_gathered(variant, device, group), group[0].reading) for group in groups.values())


def _instruments(group: Sequence[Taken]) -> dict[int, Instrument]:
    """The instrument of each reading that has a value, by its entry.

    A check resistor serves all or none: with it for some only, the meter's gain would look like a slope.
    """
    found = {one.item.n: one.reading.instrument(check=one.check) for one in group if not one.reading.open}
    if any(instrument.check is None for instrument in found.values()):
        return {n: msgspec.structs.replace(instrument, check=None) for n, instrument in found.items()}
    return found


def _found(rounds: Rounds, first: Reading) -> RoundsFound:
    answer = _analysed(rounds)
    if not isinstance(answer, HeatFound):
        return RoundsFound(rounds, None, answer)
    find = HeatFind(
        rounds.device,
        tuple(sorted(rounds.entries)),
        answer,
        first.from_node,
        first.to_node,
        first.at.value,
        given_limits(first),
        first.rule,
    )
    return RoundsFound(rounds, find)


def _gathered(variant: Variant | None, device: str, group: Sequence[Taken]) -> Rounds:
    usable = [one for one in group if _half_width(one.reading) is not None]
    instruments = _instruments(usable)
    values = {one.item.n: _value(one.reading, instruments[one.item.n]) for one in usable if one.item.n in instruments}
    highest = max(values.values(), default=0.0)
    is_told = [one for one in usable if one.item.n in values or (one.reading.range_ohm or 0.0) > highest]
    ordered = sorted(is_told, key=lambda one: (one.reading.round or 0, one.item.n))
    first = group[0].reading
    return Rounds(
        device=device,
        entries=tuple(one.item.n for one in ordered),
        rounds=tuple(one.reading.round or 0 for one in ordered),
        celsius=tuple(one.reading.celsius for one in ordered),
        ohm=tuple(values.get(one.item.n, math.inf) for one in ordered),
        instrument=_shared(list(instruments.values()), sorted(values.values()), first.meter_spec().step),
        half_width=max((_half_width(one.reading) or 0.0 for one in ordered), default=0.0),
        k_celsius=_k_of(variant, device),
        meter=_meter_text(first),
        meter_is_assumed=_is_meter_assumed(first),
        left_out=_left_out(group, usable, is_told),
    )


def _meter_text(reading: Reading) -> str:
    """The accuracy of what was read: of the volt range where two voltages were."""
    return reading.meter_spec().text() if reading.volts_x is None else reading.volts_meter or DEFAULT_VOLTS_METER


def _is_meter_assumed(reading: Reading) -> bool:
    if reading.volts_x is not None:
        return reading.volts_meter is None
    return reading.meter is None or reading.meter_is_assumed


def _k_of(variant: Variant | None, device: str) -> float:
    coil = variant.device_named(device) if variant is not None else None
    return coil.k if isinstance(coil, Solenoid | SpeedSensor) else 234.5


def _left_out(group: Sequence[Taken], usable: Sequence[Taken], told: Sequence[Taken]) -> tuple[str, ...]:
    words = []
    if len(usable) < len(group):
        words.append(f"{_count(len(group) - len(usable))} left out: the coil temperature was not known.")
    if len(told) < len(usable):
        words.append(f"{_count(len(usable) - len(told))} left out: open on a range that does not reach this winding.")
    return tuple(words)


def _count(number: int) -> str:
    return "1 reading" if number == 1 else f"{number} readings"


def _half_width(reading: Reading) -> float | None:
    """Half-width of the temperature [K], of a rectangle with the same standard uncertainty where that was given."""
    return reading.u_celsius * SQRT3 if reading.u_celsius is not None else reading.half_width_celsius()


def _value(reading: Reading, instrument: Instrument) -> float:
    """After leads and check resistor [ohm]."""
    shown = reading.displayed_ohm
    return float(value_and_lines(instrument, math.nan if shown is None else shown)[0])


def _shared(instruments: Sequence[Instrument], values: Sequence[float], step_ohm: float) -> Meter:
    """The doubt all readings share as percent, counts and step: of the reading with the largest doubt."""
    if not instruments:
        return Meter(percent=0.0, counts=0.0, step=step_ohm)
    middle_ohm = values[len(values) // 2]
    parts = [_in_parts(instrument, middle_ohm) for instrument in instruments]
    gain, offset_ohm = max(parts, key=lambda part: math.hypot(part[0] * middle_ohm, part[1]))
    return Meter(percent=100.0 * SQRT3 * gain, counts=SQRT3 * offset_ohm / step_ohm, step=step_ohm)


def _in_parts(instrument: Instrument, ohm: float) -> tuple[float, float]:
    """Standard uncertainty that grows with the value (relative), and that does not [ohm].

    Every line of the budget is straight in the value: two values tell its two parts.
    """
    once, twice = (_lines(instrument, at) for at in (ohm, 2.0 * ohm))
    slopes = [(b.u_ohm - a.u_ohm) / ohm for a, b in zip(once, twice, strict=True)]
    offsets = [a.u_ohm - slope * ohm for a, slope in zip(once, slopes, strict=True)]
    return math.hypot(*slopes), math.hypot(*offsets)


def _lines(instrument: Instrument, ohm: float) -> list[Line]:
    single: Any = msgspec.structs.replace(instrument, repeats=1)  # their spread is no shared doubt
    return value_and_lines(at_value(single, ohm), shown_for(single, ohm))[1]


@lru_cache(maxsize=_REMEMBERED)
def _analysed(rounds: Rounds) -> HeatFound | tuple[Problem, ...]:
    """Asked again for the same readings it answers at once."""
    if not rounds.entries:
        return (_NOTHING_USABLE,)
    import numpy as np

    from valvebench.diagnose.heat_data import HeatRun, HeatSetUp
    from valvebench.diagnose.heat_run import analyse

    run = HeatRun(np.array(rounds.celsius, float), np.array(rounds.ohm, float))
    set_up = HeatSetUp(rounds.k_celsius, rounds.instrument, rounds.half_width)
    try:
        found = analyse(run, set_up)
    except BadInput as error:
        return tuple(error.problems)
    return msgspec.structs.replace(
        found,
        meter=rounds.meter,
        meter_is_assumed=rounds.meter_is_assumed,
        reasons=(*found.reasons, *rounds.left_out),
        advice=(*found.advice, *((_NAME_THE_METER,) if rounds.meter_is_assumed else ())),
    )


def load() -> bool:
    """Load what the first find needs, beside the window: else it would be loaded in the middle of entry.

    Returns whether there was anything to load.
    """
    is_first = "numpy" not in sys.modules
    celsius = (20.0, 45.0, 70.0, 95.0, 60.0, 30.0)
    ohm = tuple(5.0 + 0.02 * t + 1e-4 * t * t for t in celsius)  # made up: a bent line asks every question
    places = tuple(range(1, len(celsius) + 1))
    fine = Meter(percent=0.1, counts=1, step=0.001)
    _analysed(Rounds("", places, places, celsius, ohm, fine, 1.0, 234.5, fine.text(), meter_is_assumed=False))
    return is_first
