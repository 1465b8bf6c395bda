"""From fits to numbers: the doubts that all samples share, and whether a lag could hide a series part."""

from __future__ import annotations

from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_data import Blocks
from valvebench.diagnose.heat_fit import COPPER, GROWN, OFFSET, SHAPE, Found, Problem, fit_at_lag, unsure_lag
from valvebench.diagnose.heat_growth import Growth
from valvebench.model.heat import HeatKind, Sized
from valvebench.model.meter import Meter
from valvebench.physics.uncertainty import INV_SQRT3

Array = NDArray[np.float64]
_LONGEST_LAG_S: Final = 600.0
"""A coil in a valve body follows its can within minutes: common practice, no source."""
_HIDES_FROM: Final = 0.01
_HIDES_TIMES: Final = 3.0


class Doubts(NamedTuple):
    """What all samples of a run share: meter, half-width of the probe [K], conductor constant [degC]."""

    meter: Meter
    celsius_half_width: float
    k_celsius: float

    @property
    def gain(self) -> float:
        """Relative standard uncertainty of the meter's gain."""
        return 0.01 * self.meter.percent * INV_SQRT3

    @property
    def u_celsius(self) -> float:
        """Standard uncertainty of the probe's offset [K]."""
        return self.celsius_half_width * INV_SQRT3

    def common_offset(self, found: Found) -> float:
        """What counts and probe offset can pass off as a series resistance [ohm]."""
        counts = max(self.meter.counts, 12**-0.5) * self.meter.step * INV_SQRT3
        probe = float(found.value[COPPER]) / (self.k_celsius + 20.0) * self.u_celsius
        return float(np.hypot(counts, probe))

    def of_offset(self, found: Found) -> float:
        """Standard uncertainty of a free offset [ohm], common terms included."""
        return float(np.hypot(found.u[OFFSET], self.common_offset(found)))


class Hidden(NamedTuple):
    """The two answers that the run cannot choose between, such as without lag and with a long one."""

    one: Found
    other: Found


class Alone(NamedTuple):
    """A reading [degC, ohm] that alone would make a fault, and that no other confirms or contradicts."""

    celsius: float
    ohm: float


class Part(NamedTuple):
    """The kind that was told, with the fits it rests on."""

    kind: HeatKind
    found: Found
    growth: Growth | None
    hidden: Hidden | None
    alone: Alone | None = None


def lag_hides(problem: Problem, series: Found) -> Hidden | None:
    """The two extreme fits where lag and series part cannot be told apart, else None.

    What the start of the run says of the lag is not believed unless it started soaked: a probe
    and a can that settle look the same.  Then only a change of the rate tells lag from series.
    """
    if not problem.has_lag:
        return None
    unsure, copper = unsure_lag(problem, series), float(series.value[COPPER])
    if unsure <= max(_HIDES_FROM * copper, _HIDES_TIMES * _sure(problem, series)):
        return None
    longest = min(_LONGEST_LAG_S, 0.5 * float(problem.blocks.t_s[-1] - problem.blocks.t_s[0]))
    return Hidden(*(fit_at_lag(problem, tau_s) for tau_s in (0.0, longest)))


def _sure(problem: Problem, series: Found) -> float:
    """Standard uncertainty of the offset if the lag were known [ohm]."""
    used = problem.blocks.weight > 0
    columns = np.column_stack(
        [(problem.k_celsius + series.coil_celsius[used]) / (problem.k_celsius + 20.0), np.ones(int(used.sum()))]
    )
    weighted = columns * problem.blocks.weight[used][:, None]
    return float(np.sqrt(series.variance * np.linalg.inv(weighted.T @ columns)[1, 1]))


def numbers_of(part: Part, doubts: Doubts, blocks: Blocks) -> dict[str, Any]:
    """Slope, resistances, start and excess with their standard uncertainties, as fields of `HeatFound`."""
    coil = part.found.coil_celsius[blocks.weight > 0]
    span = {"coldest_celsius": float(coil.min()), "hottest_celsius": float(coil.max())}
    if part.hidden is not None:
        return {**span, **_hidden_numbers(part.hidden, doubts)}
    found = part.found
    total = _with_gain(float(found.value[COPPER] + found.value[OFFSET]), _u_total(found, doubts), doubts)
    copper = _with_gain(float(found.value[COPPER]), float(found.u[COPPER]), doubts)
    numbers = {**span, "slope_over_copper": _slope_of(found, doubts), "r20_ohm": total, "at_20_ohm": total}
    if part.kind is HeatKind.FIXED_SERIES:
        series = float(found.value[OFFSET])
        numbers |= {"r20_ohm": copper, "series_ohm": _with_gain(series, doubts.of_offset(found), doubts)}
    if part.growth is not None:
        line = as_line(part.growth, blocks, doubts.k_celsius)
        # what counts and probe share is in these already: it held the offset
        numbers |= {**_growth_numbers(part.growth, doubts), "slope_over_copper": _slope(*line, common_ohm=0.0)}
    return numbers


def as_line(growth: Growth, blocks: Blocks, k_celsius: float) -> tuple[Array, Array]:
    """Copper and offset [ohm] of the straight line through a fitted curve that bends, with their covariance."""
    found, shape = growth.found, float(growth.found.value[SHAPE])
    coil, root = found.coil_celsius, np.sqrt(blocks.weight)
    line = np.column_stack([(k_celsius + coil) / (k_celsius + 20.0), np.ones_like(coil)])
    grown = growth.shape.height(coil, shape)
    bend = found.value[GROWN] * growth.shape.slopes(coil, shape)[1]
    share, _, _, _ = np.linalg.lstsq(line * root[:, None], np.column_stack([grown, bend]) * root[:, None], rcond=None)
    by = np.column_stack([np.eye(2), share])
    places = [COPPER, OFFSET, GROWN, SHAPE]
    value: Array = found.value[[COPPER, OFFSET]] + share[:, 0] * found.value[GROWN]
    return value, by @ found.covariance[np.ix_(places, places)] @ by.T


def _growth_numbers(growth: Growth, doubts: Doubts) -> dict[str, Any]:
    found = growth.found
    copper = _with_gain(float(found.value[COPPER]), float(found.u[COPPER]), doubts)
    at_20 = _with_gain(float(found.value[COPPER] + found.value[OFFSET]), _u_total(found, doubts), doubts)
    numbers: dict[str, Any] = {
        "r20_ohm": copper,
        "at_20_ohm": at_20,
        "excess_ohm_at_hottest": _with_gain(growth.excess_ohm, growth.u_excess_ohm, doubts),
    }
    if growth.start_celsius is not None and growth.u_start is not None:
        u = float(np.hypot(growth.u_start, doubts.u_celsius))
        numbers["grows_from_celsius"] = Sized(value=growth.start_celsius, u=u)
    series = float(found.value[OFFSET])
    if series > 2.0 * doubts.of_offset(found):
        numbers["series_ohm"] = _with_gain(series, doubts.of_offset(found), doubts)
    return numbers


def _u_total(found: Found, doubts: Doubts) -> float:
    """Standard uncertainty of what a meter would read at 20 degrees [ohm]."""
    part = found.covariance[COPPER : OFFSET + 1, COPPER : OFFSET + 1]
    return float(np.hypot(np.sqrt(max(0.0, part.sum())), doubts.common_offset(found)))


def _with_gain(ohm: float, u_ohm: float, doubts: Doubts) -> Sized:
    return Sized(value=ohm, u=float(np.hypot(u_ohm, doubts.gain * ohm)))


def _slope(value: Array, covariance: Array, *, common_ohm: float) -> Sized:
    """Slope over copper, copper / (copper + offset), by the covariance of both; gain cancels in it."""
    copper, offset = float(value[0]), float(value[1])
    total = copper + offset
    by: Array = np.array([offset, -copper]) / total**2
    square = max(0.0, float(by @ covariance @ by))
    return Sized(value=copper / total, u=float(np.hypot(square**0.5, copper / total**2 * common_ohm)))


def _slope_of(found: Found, doubts: Doubts) -> Sized:
    line = slice(COPPER, OFFSET + 1)
    return _slope(found.value[line], found.covariance[line, line], common_ohm=doubts.common_offset(found))


def _hidden_numbers(hidden: Hidden, doubts: Doubts) -> dict[str, Any]:
    """The middle of both extremes, half their distance as a rectangle on top of the statistics."""
    slopes = [_slope_of(found, doubts) for found in hidden]
    totals = [
        _with_gain(float(found.value[COPPER] + found.value[OFFSET]), _u_total(found, doubts), doubts)
        for found in hidden
    ]
    total = _between(totals)
    return {"slope_over_copper": _between(slopes), "r20_ohm": total, "at_20_ohm": total}


def _between(ends: list[Sized]) -> Sized:
    half = 0.5 * abs(ends[1].value - ends[0].value)
    return Sized(
        value=0.5 * (ends[0].value + ends[1].value), u=float(np.hypot(half * INV_SQRT3, max(e.u for e in ends)))
    )
