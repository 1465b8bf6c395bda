"""What is known before a leak is measured: a restriction calibrated, a volume expanded, the vessel a limit needs.

Plain numbers, no arrays: a page asks for these while somebody types.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Final, NamedTuple

from valvebench.model.errors import bad
from valvebench.model.meter import Meter
from valvebench.physics.air import IDEAL_B, Reference, iso_flow_ml_min, volume_at
from valvebench.physics.uncertainty import SQRT3

TAU_S: Final = 1.5
K_TAU_CAPPED: Final = 0.1
U_KNOWN_HOLE_B: Final = 0.05
"""A drilled hole is no ideal nozzle: common practice, no source."""
OWN_B, U_OWN_B = 0.35, 0.1
"""Of a restriction nobody knows (common practice, no source)."""
_ROUND_TO: Final = ((1000.0, 100.0), (100.0, 10.0), (10.0, 5.0), (0.0, 1.0))
_LEAST_B: Final = 0.05
_LARGEST_PCT: Final = 50.0


class Known(NamedTuple):
    """A value and its standard uncertainty in percent of it."""

    value: float
    pct: float


class Hole(NamedTuple):
    """A known hole: conductance [dm3/(s bar)] with its standard uncertainty in percent, critical ratio with doubt."""

    c_dm3_s_bar: float
    pct: float = 3.0
    b: float = IDEAL_B
    u_b: float = U_KNOWN_HOLE_B


class Ambient(NamedTuple):
    """The air around [kPa absolute] and its standard uncertainty."""

    kpa_abs: float
    u_kpa: float


def needed_ml(limit_ml_min: float, *, kpa_abs: float, celsius: float, reference: Reference) -> float:
    """The smallest vessel in which a leak at the limit falls slowly enough to be followed [ml].

    Parameters
    ----------
    limit_ml_min : the most that may be lost, at `reference` [ml/min]
    kpa_abs : the pressure it starts from [kPa absolute]

    Source
    ------
    A leak is followed while its rate times the recovery of the gas stays below 0.1: beyond that the doubt of a
    simulated fall no longer covers what it should.
    """
    for_one = volume_at(60.0 * kpa_abs, celsius=celsius, reference=reference)
    return float(limit_ml_min / for_one * TAU_S / K_TAU_CAPPED)


def rounded(number: float) -> str:
    """As many digits as a rough size deserves."""
    step = next(step for least, step in _ROUND_TO if number >= least)
    return f"{max(step, round(number / step) * step):.0f}"


def calibrated(
    supply_kpa_gauge: float,
    port_kpa_gauge: float,
    *,
    known: Hole,
    gauge: Meter,
    ambient: Ambient,
) -> Known:
    """The conductance of a restriction that feeds a known hole.

    Parameters
    ----------
    supply_kpa_gauge, port_kpa_gauge : the two gauges at rest, before and behind it [kPa above ambient]
    known : the hole that stands where the port was

    Returns
    -------
    Known
        Conductance. [dm3/(s bar)]

    Raises
    ------
    BadInput : where nothing would flow, or the doubt is more than half of the value

    Source
    ------
    ISO 6358 for both; doubts by JCGM 100, each input moved by its own standard uncertainty.
    """
    if not port_kpa_gauge > 0:
        raise bad("port with the known hole", f"{port_kpa_gauge:g} kPa", "a pressure above the air around")
    if not supply_kpa_gauge > port_kpa_gauge:
        found = f"{supply_kpa_gauge:g} kPa before {port_kpa_gauge:g} kPa"
        raise bad("supply with the known hole", found, "more before the restriction than behind it", "Exchanged?")
    inputs = {
        "supply": supply_kpa_gauge + ambient.kpa_abs,
        "port": port_kpa_gauge + ambient.kpa_abs,
        "around": ambient.kpa_abs,
        "c": known.c_dm3_s_bar,
        "b": known.b,
        "own_b": OWN_B,
    }
    moves = (
        {"c": 0.01 * known.pct * known.c_dm3_s_bar},
        {"b": known.u_b},
        {"own_b": U_OWN_B},
        {"supply": _u_gauge(gauge, supply_kpa_gauge)},
        {"port": _u_gauge(gauge, port_kpa_gauge)},
        dict.fromkeys(("supply", "port", "around"), ambient.u_kpa),
    )
    value = _conductance(inputs)
    pct = 100.0 * _together(_conductance, inputs, moves) / value
    if not pct <= _LARGEST_PCT:
        found = f"only {supply_kpa_gauge - port_kpa_gauge:g} kPa between the gauges"
        raise bad("supply with the known hole", found, "a pressure drop that the gauges tell", "Use a larger hole.")
    return Known(value, pct)


def _conductance(given: Mapping[str, float]) -> float:
    through = iso_flow_ml_min(
        given["c"], from_kpa_abs=given["port"], to_kpa_abs=given["around"], b=given["b"], celsius=20.0
    )
    for_one = iso_flow_ml_min(
        1.0, from_kpa_abs=given["supply"], to_kpa_abs=given["port"], b=max(given["own_b"], _LEAST_B), celsius=20.0
    )
    return float(through / for_one) if for_one > 0 else float("inf")


def _u_gauge(gauge: Meter, kpa_gauge: float) -> float:
    return (0.01 * gauge.percent * kpa_gauge + gauge.counts * gauge.step) / SQRT3


def expanded(known_ml: float, known_pct: float, *, from_kpa_gauge: float, to_kpa_gauge: float, gauge: Meter) -> Known:
    """The volume that was filled and then opened into a known chamber, vented before.

    Parameters
    ----------
    known_ml, known_pct : the chamber [ml] and its standard uncertainty [percent]
    from_kpa_gauge, to_kpa_gauge : before it is opened and at rest after it [kPa above ambient]

    Returns
    -------
    Known
        What was filled: hose, fittings and vessel together. [ml]

    Raises
    ------
    BadInput : where the pressure did not fall, or the doubt is more than half of the value

    Source
    ------
    Boyle at one temperature: p1 V = p2 (V + Vk) above ambient, so V = Vk p2 / (p1 - p2). One gauge reads
    both, so that its percent cancels and its counts remain.
    """
    if not known_ml > 0:
        raise bad("known chamber", f"{known_ml:g} ml", "more than 0")
    if not 0 < to_kpa_gauge < from_kpa_gauge:
        found = f"{from_kpa_gauge:g} kPa before, {to_kpa_gauge:g} kPa after"
        raise bad("expansion", found, "a pressure that fell and is still above the air around")
    fall = from_kpa_gauge - to_kpa_gauge
    volume_ml = known_ml * to_kpa_gauge / fall
    u_kpa = gauge.counts * gauge.step / SQRT3
    by_after, by_before = known_ml * from_kpa_gauge / fall**2 * u_kpa, volume_ml / fall * u_kpa
    pct = (known_pct**2 + (100.0 * by_after / volume_ml) ** 2 + (100.0 * by_before / volume_ml) ** 2) ** 0.5
    if not pct <= _LARGEST_PCT:
        raise bad("expansion", f"a fall of {fall:g} kPa", "a fall that the gauge tells", "Use a larger chamber.")
    return Known(volume_ml, pct)


def _together(
    quantity: Callable[[Mapping[str, float]], float],
    inputs: Mapping[str, float],
    moves: tuple[Mapping[str, float], ...],
) -> float:
    square = 0.0
    for by in moves:
        high, low = ({name: x + sign * by.get(name, 0.0) for name, x in inputs.items()} for sign in (1.0, -1.0))
        square += (0.5 * (quantity(high) - quantity(low))) ** 2
    return float(square**0.5)
