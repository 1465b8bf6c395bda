"""A leak from two gauges at rest: what flows through a known restriction is what the port loses."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.leak_hole import hole_of
from valvebench.diagnose.leak_setup import (
    HIGHEST_B,
    LEAK_B,
    LOWEST_B,
    U_LEAK_B,
    AirSetUp,
    absolute,
    check_gauge,
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
from valvebench.model.errors import bad
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLaw, LeakLine, LeakMethod
from valvebench.model.meter import Meter
from valvebench.physics.air import IDEAL_B, below_choke, conductance_of_bore, gap_shape, iso_flow_ml_min
from valvebench.physics.arithmetic import arrays
from valvebench.physics.uncertainty import SQRT3

Array = NDArray[np.float64]

_SURE: Final = 0.95
_MANY: Final = 5
U_KNOWN_B: Final = 0.02
"""Of a critical ratio that was stated: common practice, no source."""
_U_BORE_B: Final = 0.05
"""A drilled hole is no ideal nozzle: common practice, no source."""
_SAME: Final = 0.1
"""Port pressures nearer than this share of one another say nothing of the law."""


class Restriction(NamedTuple):
    """A known hole: conductance [dm3/(s bar)], its standard uncertainty in percent, critical ratio with doubt."""

    c_dm3_s_bar: float
    pct: float = 3.0
    b: float = LEAK_B
    u_b: float = U_LEAK_B


def bore(bore_mm: float, *, pct: float = 3.0, cd: float = 1.0) -> Restriction:
    """A round hole by its diameter: choked like an ideal nozzle of `cd` times its area; `pct` is of its conductance."""
    return Restriction(float(conductance_of_bore(bore_mm, cd=cd)), pct, IDEAL_B, _U_BORE_B)


class _Given(NamedTuple):
    """Everything a flow depends on; pressures (n,) absolute."""

    supply_kpa_abs: Array
    port_kpa_abs: Array
    at_kpa_abs: float
    ambient_kpa_abs: float
    c: float
    b: float
    celsius: float


class _Laws(NamedTuple):
    """Flow of each row, leak at the asked pressure by each law [ml/min], and how much the rows speak for each."""

    rows: Array
    leaks: Array
    weight: Array
    residual: Array


def steady_leak(
    supply_kpa: Array,
    port_kpa: Array,
    *,
    is_gauge: tuple[bool, bool],
    restriction: Restriction,
    set_up: AirSetUp,
    unit_kpa: float = 1.0,
) -> LeakFound:
    """The leak behind a restriction.

    Parameters
    ----------
    supply_kpa, port_kpa : (n,)
        Readings of the two gauges before and behind it, at rest. [kPa]
    is_gauge : whether each shows pressure above ambient
    restriction : what is known of it

    Returns
    -------
    LeakFound
        Leak at the mean pressure of the port, or at `set_up.at_kpa_gauge` inside what was seen.

    Raises
    ------
    BadInput : where the port reads more than the supply, or nothing above ambient

    Source
    ------
    ISO 6358 for both holes; doubts by JCGM 100, each input moved by its own standard uncertainty.
    """
    supply = absolute(supply_kpa, is_gauge=is_gauge[0], set_up=set_up)
    port = absolute(port_kpa, is_gauge=is_gauge[1], set_up=set_up)
    gauge = meter_of(set_up, port_kpa, unit_kpa)
    _refuse(supply, port, 2.0 * (_half_width(gauge, port - set_up.ambient)), set_up)
    unchecked = check_gauge(port_kpa, is_gauge=is_gauge[1], set_up=set_up, where="port pressure")
    at_kpa_abs = float(port.mean()) if set_up.at_kpa_gauge is None else set_up.at_kpa_gauge + set_up.ambient
    given = _Given(supply, port, at_kpa_abs, set_up.ambient, restriction.c_dm3_s_bar, restriction.b, set_up.air_celsius)
    step_kpa = last_digit_kpa(gauge)
    laws = _laws(given, step_kpa, None)
    lines = _lines(given, laws, restriction, set_up, gauge)
    value = float(to_reference(laws.weight @ laws.leaks, set_up.reference))
    lines = scaled_lines(lines, float(to_reference(1.0, set_up.reference)))
    return _found(given, laws, Sized(value=value, u=together(lines)), lines, set_up, gauge, unchecked)


def _half_width(gauge: Meter, gauge_kpa: Array) -> float:
    return float(0.01 * gauge.percent * np.abs(gauge_kpa).max() + gauge.counts * gauge.step)


def _refuse(supply: Array, port: Array, doubt_kpa: float, set_up: AirSetUp) -> None:
    """Nothing can be said where air would have to flow backwards, or no pressure stands at the port."""
    if float((port - supply).max()) > doubt_kpa:
        row = int(np.argmax(port - supply)) + 1
        found = (
            f"{port[row - 1] - set_up.ambient:.4g} kPa behind {supply[row - 1] - set_up.ambient:.4g} kPa (row {row})"
        )
        raise bad("port pressure", found, "less than the supply", "Are the two gauges, or their columns, exchanged?")
    if float(port.min()) < set_up.ambient - max(doubt_kpa, 1.0):
        found = f"{port.min() - set_up.ambient:.4g} kPa against ambient"
        raise bad("port pressure", found, "pressure above ambient", "For a vacuum use --method vacuum.")
    if float(supply.max()) <= set_up.ambient + 1.0:
        raise bad("supply pressure", f"{supply.max() - set_up.ambient:.4g} kPa", "a supply above ambient")


def _rows(given: _Given) -> Array:
    """Flow through the restriction in each row, at 20 degrees Celsius and 100 kPa (n,) [ml/min]."""
    flow: Array = iso_flow_ml_min(
        given.c,
        from_kpa_abs=given.supply_kpa_abs,
        to_kpa_abs=np.minimum(given.port_kpa_abs, given.supply_kpa_abs),
        b=given.b,
        celsius=given.celsius,
        ops=arrays(),
    )
    return flow


def _shapes(kpa_abs: Array, ambient_kpa_abs: float) -> Array:
    """What the leak goes with, by orifice and by gap (2, n)."""
    kpa_abs = np.maximum(kpa_abs, ambient_kpa_abs * 1.0001)
    orifice = kpa_abs * below_choke(ambient_kpa_abs / kpa_abs, LEAK_B, arrays())
    return np.array([orifice, gap_shape(kpa_abs, ambient_kpa_abs)])


def _laws(given: _Given, step_kpa: float, weight: Array | None) -> _Laws:
    """Both laws through all rows; `step_kpa` is the doubt of one row by itself."""
    rows = _rows(given)
    shapes = _shapes(given.port_kpa_abs, given.ambient_kpa_abs)
    at = _shapes(np.array([given.at_kpa_abs]), given.ambient_kpa_abs)[:, 0]
    slope = (shapes @ rows) / np.sum(shapes**2, axis=1)
    residual = rows - slope[:, None] * shapes
    if weight is None:
        own = _rows(given._replace(supply_kpa_abs=given.supply_kpa_abs + step_kpa)) - rows
        other = _rows(given._replace(port_kpa_abs=given.port_kpa_abs - step_kpa)) - rows
        chi2 = np.sum(residual**2 / np.maximum(own**2 + other**2, 1e-12), axis=1)
        weight = np.exp(-0.5 * (chi2 - chi2.min()))
        weight /= weight.sum()
    return _Laws(rows, slope * at, weight, residual)


def _lines(given: _Given, laws: _Laws, restriction: Restriction, set_up: AirSetUp, gauge: Meter) -> list[LeakLine]:
    """Every input moved by its own standard uncertainty, both ways."""
    kpa = given.supply_kpa_abs - given.ambient_kpa_abs, given.port_kpa_abs - given.ambient_kpa_abs
    u_supply, u_port = (
        (0.01 * gauge.percent * np.abs(one) + max(gauge.counts, 0.5) * gauge.step) / SQRT3 for one in kpa
    )
    u_c = 0.01 * restriction.pct * given.c
    moves: tuple[tuple[str, Mapping[str, float | Array], bool], ...] = (
        ("restriction", {"c": u_c}, False),
        ("critical ratio", {"b": restriction.u_b}, False),
        ("supply gauge", {"supply_kpa_abs": u_supply}, True),
        ("port gauge", {"port_kpa_abs": u_port}, True),
        ("temperature", {"celsius": set_up.u_celsius}, True),
        ("ambient", _ambient_moves(set_up), False),
    )
    if set_up.at_kpa_gauge is None:  # told at the pressure that stood there, whatever the gauge made of it
        moves = tuple(
            (term, {**by, "at_kpa_abs": u_port.mean()} if term == "port gauge" else by, flat)
            for term, by, flat in moves
        )
    lines = [line(term, _moved(given, laws, by), is_rectangular=flat) for term, by, flat in moves]
    apart = abs(float(laws.leaks[0] - laws.leaks[1])) * float(laws.weight[0] * laws.weight[1]) ** 0.5
    lines.append(line("law of the leak", apart))
    n, best = given.port_kpa_abs.size, laws.residual[int(np.argmax(laws.weight))]
    if n >= _MANY:
        lines.append(line("repeats", float((best @ best / (n - 1) / n) ** 0.5), dof=n - 1.0))
    return worth_telling(lines)


def _ambient_moves(set_up: AirSetUp) -> dict[str, float | Array]:
    names = ("supply_kpa_abs", "port_kpa_abs", "at_kpa_abs", "ambient_kpa_abs")
    return dict.fromkeys(names, set_up.u_ambient)


def _moved(given: _Given, laws: _Laws, by: Mapping[str, float | Array]) -> float:
    ends = []
    for sign in (1.0, -1.0):
        moved = given._replace(**{name: getattr(given, name) + sign * u for name, u in by.items()})
        moved = moved._replace(b=min(max(moved.b, LOWEST_B), HIGHEST_B))
        ends.append(float(laws.weight @ _laws(moved, 1.0, laws.weight).leaks))
    return 0.5 * (ends[0] - ends[1])


def _found(
    given: _Given, laws: _Laws, leak: Sized, lines: list[LeakLine], set_up: AirSetUp, gauge: Meter, unchecked: str
) -> LeakFound:
    low, high = float(given.port_kpa_abs.min()), float(given.port_kpa_abs.max())
    at_gauge = given.at_kpa_abs - given.ambient_kpa_abs
    is_told = told_at(at_gauge, lowest_kpa_abs=low, highest_kpa_abs=high, ambient_kpa_abs=given.ambient_kpa_abs)
    hole = hole_of(
        leak,
        from_kpa_abs=given.at_kpa_abs,
        to_kpa_abs=given.ambient_kpa_abs,
        celsius=given.celsius,
        reference=set_up.reference,
        cd=set_up.cd,
    )
    reasons, advice = ([unchecked] if unchecked else []), []
    if not is_told:
        why, what = not_seen(at_gauge, low - given.ambient_kpa_abs, high - given.ambient_kpa_abs)
        reasons.append(why)
        advice.append(what)
    return LeakFound(
        method=LeakMethod.STEADY,
        n=given.port_kpa_abs.size,
        leak_ml_min=leak if is_told else None,
        at_kpa_gauge=at_gauge,
        from_kpa_gauge=high - given.ambient_kpa_abs,
        to_kpa_gauge=low - given.ambient_kpa_abs,
        ref_celsius=set_up.reference.celsius,
        ref_kpa_abs=set_up.reference.kpa_abs,
        law=_law(laws, low, high),
        conductance_dm3_s_bar=hole.conductance if hole and is_told else None,
        orifice_mm=hole.orifice_mm if hole and is_told else None,
        cd=set_up.cd,
        lines=tuple(lines) if is_told else (),
        u_noise_ml_min=together([one for one in lines if one.term == "repeats"]),
        gauge=gauge_text(gauge),
        gauge_is_assumed=set_up.gauge is None,
        reasons=tuple(reasons),
        advice=(*advice, *_advice(given, lines)),
    )


def _law(laws: _Laws, low: float, high: float) -> LeakLaw:
    if high - low < _SAME * low or float(laws.weight.max()) < _SURE:
        return LeakLaw.CANT_TELL
    return (LeakLaw.ORIFICE, LeakLaw.GAP)[int(np.argmax(laws.weight))]


def _advice(given: _Given, lines: list[LeakLine]) -> list[str]:
    """What would narrow the widest doubt."""
    widest = max(lines, key=lambda one: one.u_ml_min, default=None)
    said = {
        "restriction": "Calibrate the restriction against a second known one: it brings most of the doubt.",
        "critical ratio": "With a smaller restriction (port below half the supply) its critical ratio does not matter.",
        "supply gauge": "A smaller restriction makes the pressure drop larger and the gauges matter less.",
        "port gauge": "A smaller restriction makes the pressure drop larger and the gauges matter less.",
    }
    drop = float((given.supply_kpa_abs - given.port_kpa_abs).min())
    if drop <= 0:
        return ["The gauges show no pressure drop: the leak is below what they see. Use a smaller restriction."]
    return [said[widest.term]] if widest is not None and widest.term in said else []
