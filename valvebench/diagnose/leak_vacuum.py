"""A leak from the vacuum a pump holds on a bore, the pump known from a blank and a known hole."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.leak_hole import hole_of
from valvebench.diagnose.leak_setup import (
    HIGHEST_B,
    LEAK_B,
    LOWEST_B,
    AirSetUp,
    gauge_text,
    last_digit_kpa,
    line,
    meter_of,
    not_seen,
    scaled_lines,
    to_reference,
    together,
    told_at,
    worth_telling,
)
from valvebench.diagnose.leak_steady import Restriction
from valvebench.model.errors import BadInput, Problem, bad
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLine, LeakMethod
from valvebench.model.meter import Meter
from valvebench.physics.air import below_choke, iso_flow_ml_min
from valvebench.physics.uncertainty import SQRT3

Array = NDArray[np.float64]

_BEND: Final = 0.1
"""How far a pump's curve may bend from a straight line, as a share of a flow: common practice, no source."""
_MANY: Final = 5
_K: Final = 2.0


class Pump(NamedTuple):
    """What the pump holds against a blank and against a known hole, below ambient [kPa], and that hole."""

    blank_kpa: float
    known_kpa: float
    hole: Restriction


class _Given(NamedTuple):
    """Everything the leak depends on; vacua below ambient."""

    vacuum_kpa: float
    at_vacuum_kpa: float
    blank_kpa: float
    known_kpa: float
    c: float
    b: float
    bend: float
    ambient_kpa_abs: float
    celsius: float


def vacuum_leak(vacuum_kpa: Array, *, pump: Pump, set_up: AirSetUp, unit_kpa: float = 1.0) -> LeakFound:
    """The leak through a bore at the vacuum that is held on it.

    Parameters
    ----------
    vacuum_kpa : (n,)
        Readings at rest, below ambient and positive. [kPa]
    pump : readings with a blank and with a known hole

    Returns
    -------
    LeakFound
        Leak at the mean vacuum (a negative gauge pressure), or near it.

    Raises
    ------
    BadInput : where the readings contradict one another

    Source
    ------
    Pump of constant speed: flow goes with the distance from the blank's vacuum (derived); ISO 6358
    for the known hole.
    """
    gauge = meter_of(set_up, vacuum_kpa, unit_kpa)
    zero = set_up.zero_kpa or 0.0
    step_kpa = last_digit_kpa(gauge)
    mean = float(vacuum_kpa.mean()) - zero
    _refuse(vacuum_kpa - zero, pump, set_up, _K * 2.0**0.5 * step_kpa)
    at = -set_up.at_kpa_gauge if set_up.at_kpa_gauge is not None else mean
    given = _Given(
        mean,
        at,
        pump.blank_kpa - zero,
        pump.known_kpa - zero,
        pump.hole.c_dm3_s_bar,
        pump.hole.b,
        0.0,
        set_up.ambient,
        set_up.air_celsius,
    )
    lines = _lines(given, pump, set_up, gauge, vacuum_kpa)
    scaled = float(to_reference(1.0, set_up.reference))
    lines = scaled_lines(lines, scaled)
    leak = Sized(value=scaled * _leak(given), u=together(lines))
    if leak.value < -3.0 * leak.u:
        found = f"{mean:.4g} kPa, deeper than the blank's {given.blank_kpa:.4g} kPa"
        raise bad("vacuum", found, "at most the blank's", "Read the blank again with the same pump and hose.")
    return _found(given, leak, lines, set_up, gauge, vacuum_kpa - zero)


def _refuse(vacuum_kpa: Array, pump: Pump, set_up: AirSetUp, doubt_kpa: float) -> None:
    problems = []
    numbers = {"vacuum": float(vacuum_kpa.max()), "--blank-kpa": pump.blank_kpa, "--known-kpa": pump.known_kpa}
    for where, kpa in numbers.items():
        if not -doubt_kpa <= kpa < set_up.ambient + doubt_kpa:
            found = f"{kpa:.4g} kPa"
            expected = f"a vacuum from 0 to {set_up.ambient:.0f} kPa below ambient, positive"
            problems.append(Problem(where=where, found=found, expected=expected))
    if float(vacuum_kpa.min()) < -doubt_kpa:
        advice = "A vacuum is given below ambient, positive."
        found = f"{vacuum_kpa.min():.4g} kPa"
        problems.append(Problem(where="vacuum", found=found, expected="0 or more", what_to_do=advice))
    if pump.blank_kpa - pump.known_kpa <= doubt_kpa:
        found = f"{pump.blank_kpa:.4g} kPa beside --known-kpa {pump.known_kpa:.4g}"
        advice = "Use a larger known hole, or look whether the pump was connected."
        problems.append(Problem(where="--blank-kpa", found=found, expected="a deeper vacuum", what_to_do=advice))
    if problems:
        raise BadInput(problems)


def _through_known(given: _Given) -> float:
    behind = max(given.ambient_kpa_abs - given.known_kpa, 0.0)
    return float(
        iso_flow_ml_min(
            given.c, from_kpa_abs=given.ambient_kpa_abs, to_kpa_abs=behind, b=given.b, celsius=given.celsius
        )
    )


def _leak(given: _Given) -> float:
    """Leak at the asked vacuum, at 20 degrees Celsius and 100 kPa [ml/min]."""
    z = (given.blank_kpa - given.vacuum_kpa) / (given.blank_kpa - given.known_kpa)
    held = _through_known(given) * (z + given.bend * z * (1.0 - z))
    return held * _carried(given)


def _carried(given: _Given) -> float:
    """From the vacuum that was held to the one that is asked for, through an unknown hole."""
    if given.at_vacuum_kpa == given.vacuum_kpa:
        return 1.0
    asked, held = (
        below_choke((given.ambient_kpa_abs - one) / given.ambient_kpa_abs, LEAK_B)
        for one in (given.at_vacuum_kpa, given.vacuum_kpa)
    )
    return float(asked / held) if held > 0 else 0.0


def _lines(given: _Given, pump: Pump, set_up: AirSetUp, gauge: Meter, vacuum_kpa: Array) -> list[LeakLine]:
    step_kpa = last_digit_kpa(gauge)
    gain = 0.01 * gauge.percent / SQRT3
    everything = {name: gain * getattr(given, name) for name in ("vacuum_kpa", "blank_kpa", "known_kpa")}
    moves: tuple[tuple[str, dict[str, float], bool], ...] = (
        ("known hole", {"c": 0.01 * pump.hole.pct * given.c}, False),
        ("critical ratio", {"b": pump.hole.u_b}, False),
        ("gauge", everything, True),
        ("reading", {"vacuum_kpa": step_kpa}, True),
        ("blank reading", {"blank_kpa": step_kpa}, True),
        ("known hole reading", {"known_kpa": step_kpa}, True),
        ("bend of the pump's curve", {"bend": _BEND / SQRT3}, True),
        ("ambient", {"ambient_kpa_abs": set_up.u_ambient}, False),
        ("temperature", {"celsius": set_up.u_celsius}, True),
    )
    lines = [line(term, _moved(given, by), is_rectangular=flat) for term, by, flat in moves]
    if vacuum_kpa.size >= _MANY:
        u = float(vacuum_kpa.std(ddof=1)) / vacuum_kpa.size**0.5
        lines.append(line("repeats", _moved(given, {"vacuum_kpa": u}), dof=vacuum_kpa.size - 1.0))
    return worth_telling(lines)


def _moved(given: _Given, by: dict[str, float]) -> float:
    ends = []
    for sign in (1.0, -1.0):
        moved = given._replace(**{name: getattr(given, name) + sign * u for name, u in by.items()})
        if "vacuum_kpa" in by:  # what is asked for moves with what was read
            moved = moved._replace(at_vacuum_kpa=given.at_vacuum_kpa + sign * by["vacuum_kpa"])
        ends.append(_leak(moved._replace(b=min(max(moved.b, LOWEST_B), HIGHEST_B))))
    return 0.5 * (ends[0] - ends[1])


def _found(
    given: _Given, leak: Sized, lines: list[LeakLine], set_up: AirSetUp, gauge: Meter, vacuum_kpa: Array
) -> LeakFound:
    ambient = given.ambient_kpa_abs
    deepest, least = float(vacuum_kpa.max()), float(vacuum_kpa.min())
    bounds = {"lowest_kpa_abs": ambient - deepest, "highest_kpa_abs": ambient - least}
    is_told = told_at(-given.at_vacuum_kpa, ambient_kpa_abs=ambient, **bounds)
    reasons, advice = [], []
    if not is_told:
        why, what = not_seen(-given.at_vacuum_kpa, -deepest, -least)
        reasons, advice = [why], [what]
    hole = hole_of(
        leak,
        from_kpa_abs=ambient,
        to_kpa_abs=max(ambient - given.at_vacuum_kpa, 0.0),
        celsius=given.celsius,
        reference=set_up.reference,
        cd=set_up.cd,
    )
    widest = max(lines, key=lambda one: one.u_ml_min)
    if widest.term == "bend of the pump's curve":
        advice.append("Take a known hole whose reading lies nearer to the bore's: the pump's curve brings most doubt.")
    return LeakFound(
        method=LeakMethod.VACUUM,
        n=vacuum_kpa.size,
        leak_ml_min=leak if is_told else None,
        at_kpa_gauge=-given.at_vacuum_kpa,
        from_kpa_gauge=-least,
        to_kpa_gauge=-deepest,
        ref_celsius=set_up.reference.celsius,
        ref_kpa_abs=set_up.reference.kpa_abs,
        conductance_dm3_s_bar=hole.conductance if hole and is_told else None,
        orifice_mm=hole.orifice_mm if hole and is_told else None,
        cd=set_up.cd,
        lines=tuple(lines) if is_told else (),
        u_noise_ml_min=together([one for one in lines if one.term == "repeats"]),
        gauge=gauge_text(gauge),
        gauge_is_assumed=set_up.gauge is None,
        reasons=tuple(reasons),
        advice=tuple(advice),
    )
