"""Two like devices in one heat run: their ratio at the same moments needs no thermal model."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_data import HeatRun, assumed_meter, display_step, is_value
from valvebench.diagnose.heat_fit import memory
from valvebench.model.heat import Sized
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import Meter
from valvebench.physics.line import Fit, fit_columns, fit_line
from valvebench.physics.outliers import NORMAL_MAD
from valvebench.physics.student import t_quantile
from valvebench.physics.uncertainty import SQRT3

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

LIKE_WITHIN: Final = 0.25
"""How far a ratio may lie from 1 for two devices to be like: common practice, no source."""
FEWEST: Final = 5
SMALLEST_SPAN_KELVIN: Final = 10.0
MEANINGFUL_CHANGE: Final = 0.02
"""Part of the ratio whose change over the run must show before *constant* is said: common practice, no source."""
_SAME_PROBE_KELVIN: Final = 0.5
_WITHIN: Final = 0.9772
"""One-sided share of two standard uncertainties, with as many degrees of freedom as there are."""
_SURE: Final = 0.9953
"""The same of 2.6, from which on a slope is called one."""
_BEND: Final = 4
_ENOUGH_TO_BEND: Final = 20
_WILD: Final = 8.0


class Ratio(NamedTuple):
    """Ratio of a to b with its standard uncertainty, and whether it stays the same as they warm (None: can't tell)."""

    a: str
    b: str
    ratio: Sized
    constant: bool | None


class _Shared(NamedTuple):
    """Moments at which both were read: probe [degC], ratio and both resistances [ohm], each (n,)."""

    celsius: Array
    ratio: Array
    a_ohm: Array
    b_ohm: Array


def ratio_of(a: str, b: str, runs: tuple[HeatRun, HeatRun], meter: Meter | None = None) -> Ratio | None:
    """Compare two devices of one run; None where they are not like, or never read at the same moment.

    Parameters
    ----------
    a, b : names
    runs : of a and of b; probe [degC], ohm
    meter : percent, counts and step [ohm]; assumed from the step of the readings where not given

    Returns
    -------
    Ratio
        The mean ratio with its standard uncertainty: statistics inflated for residuals with a
        memory, and the meter's counts of both as rectangles of their own; the gain is common
        and cancels.

    Source
    ------
    JCGM 100:2008, 5.1.2 and H.3; the bounds for *constant* are ours: common practice, no source.
    """
    shared = _shared(*runs)
    if shared is None or shared.ratio.size < FEWEST:
        return None
    if abs(float(np.median(shared.ratio)) - 1.0) > LIKE_WITHIN:
        return None
    return _told(a, b, _without_wild(shared), meter or assumed_meter(display_step(shared.a_ohm)))


def _shared(a: HeatRun, b: HeatRun) -> _Shared | None:
    at_a, at_b = _moments(a, b)
    a_ohm, b_ohm = np.asarray(a.ohm, float)[at_a], np.asarray(b.ohm, float)[at_b]
    if not np.isfinite(a_ohm).any() or not np.isfinite(b_ohm).any():
        return None
    both: Flags = is_value(a_ohm) & is_value(b_ohm) & (a_ohm > 0) & (b_ohm > 0)
    celsius = np.asarray(a.probe_celsius, float)[at_a][both]
    return _Shared(celsius, a_ohm[both] / b_ohm[both], a_ohm[both], b_ohm[both])


def _moments(a: HeatRun, b: HeatRun) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Samples of both at one moment: equal times, or in rounds the same round at the same temperature."""
    if a.t_s is not None and b.t_s is not None:
        _, at_a, at_b = np.intersect1d(a.t_s, b.t_s, return_indices=True)
        return at_a, at_b
    count = min(a.ohm.size, b.ohm.size)
    same = np.flatnonzero(np.abs(a.probe_celsius[:count] - b.probe_celsius[:count]) <= _SAME_PROBE_KELVIN)
    return same, same


def _without_wild(shared: _Shared) -> _Shared:
    """Leave out single ratios far from both neighbours: a bad contact for one sample says nothing of the slope."""
    middle = np.median(np.stack([np.roll(shared.ratio, 1), shared.ratio, np.roll(shared.ratio, -1)]), axis=0)
    middle[[0, -1]] = shared.ratio[[0, -1]]
    away = np.abs(shared.ratio - middle)
    spread = float(np.median(np.abs(np.diff(shared.ratio)))) / NORMAL_MAD
    kept = away <= _WILD * max(spread, 1e-6)
    return _Shared(*(values[kept] for values in shared))


def _told(a: str, b: str, shared: _Shared, meter: Meter) -> Ratio:
    celsius, count = shared.celsius, shared.ratio.size
    mean, span = float(np.mean(shared.ratio)), float(np.ptp(celsius))
    from_counts = mean * meter.counts * meter.step / SQRT3
    from_counts *= math.hypot(1.0 / float(np.mean(shared.a_ohm)), 1.0 / float(np.mean(shared.b_ohm)))
    if span < SMALLEST_SPAN_KELVIN or count < FEWEST:
        spread = float(np.std(shared.ratio, ddof=1)) / math.sqrt(count)
        return Ratio(a, b, Sized(value=mean, u=math.hypot(spread, from_counts)), None)
    middle = float(np.mean(celsius))
    fit = fit_line(celsius, shared.ratio, about=middle)
    noise, times = _noise(fit, (celsius - middle) / span, shared.ratio)
    # an offset of either meter reading weighs less the warmer the coil: it tilts the ratio by this much
    tilt = from_counts / (COPPER_K_CELSIUS + middle)
    u_slope = math.hypot(fit.u(1) * noise, tilt)
    u_ratio = math.hypot(fit.u(0) * noise, from_counts)
    constant = _is_constant(float(fit.value[1]), u_slope, max(1.0, fit.dof / times), MEANINGFUL_CHANGE * mean / span)
    return Ratio(a, b, Sized(value=mean, u=u_ratio), constant)


def _noise(fit: Fit, along: Array, ratio: Array) -> tuple[float, float]:
    """How much wider than a line with independent residuals says, and how many times its variance is memory.

    A ratio that bends is no noise: where there are enough temperatures, what is left of a curve counts.
    """
    places = np.unique(np.round(along, 2)).size
    degree = _BEND if places >= _ENOUGH_TO_BEND else 1
    curve = fit_columns(np.vander(along, degree + 1), ratio)
    times = memory(curve.residual, np.ones(ratio.size), degree + 1.0)
    return curve.sd / max(fit.sd, 1e-12) * math.sqrt(times), times


def _is_constant(slope: float, u_slope: float, dof: float, meaningful: float) -> bool | None:
    """Whether a slope is nought: yes within two u where a meaningful one would show, no beyond 2.6 u."""
    if abs(slope) > t_quantile(_SURE, dof) * u_slope:
        return False
    within = t_quantile(_WITHIN, dof) * u_slope
    return True if abs(slope) <= within <= meaningful else None
