"""A kept heat run as curves to look at: the coil worked out from the kept find, and the lines to hold it against."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_data import HeatRun, is_value
from valvebench.diagnose.heat_shapes import Hinge, Swell
from valvebench.model.heat import HeatFound, HeatKind
from valvebench.physics.lag import lag_response, memory_of_start
from valvebench.physics.outliers import NORMAL_MAD

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Line = Callable[[Array], Array]
"""Resistance [ohm] at temperatures of the coil [degC]."""

REFERENCE_CELSIUS: Final = 20.0
_ROUNDS: Final = 2
_FAR: Final = 8.0

_BENDS: Final = np.linspace(0.5, 9.0, 35)
"""How often a growing part without a start may grow by e over the span; finer than the search of the fit."""
_STRETCHES: Final = 1000
"""Into how many stretches a run is cut to say where it warms and where it cools."""


class HeatTrace(NamedTuple):
    """A run as curves, each (n,): time [s] or None for rounds, probe and coil [degC], ohm (open is NaN), warming.

    `coil_celsius` is None where the lag of the coil is not known: then the probe stands for it.
    """

    t_s: Array | None
    probe_celsius: Array
    coil_celsius: Array | None
    ohm: Array
    is_heating: Flags
    fitted: Line
    copper: Line

    @property
    def celsius(self) -> Array:
        """The coil where it is known, else the probe [degC], (n,)."""
        return self.probe_celsius if self.coil_celsius is None else self.coil_celsius


def trace_of(run: HeatRun, found: HeatFound, *, is_soaked: bool = False) -> HeatTrace:
    """Work out the curves of a run from what was found in it.

    Parameters
    ----------
    run : probe [degC], resistance [ohm], times [s] or None for rounds at settled temperatures
    found : the kept find; its lag and sizes are used as they stand
    is_soaked : the coil had the probe's temperature at the first sample

    Returns
    -------
    HeatTrace
        The coil's temperature at the first sample is the one thing worked out anew, by least squares.

    Raises
    ------
    BadInput : where every reading is open.
    """
    probe, ohm = np.asarray(run.probe_celsius, float), np.asarray(run.ohm, float)
    ohm = np.where(is_value(ohm), ohm, np.nan)
    t_s = np.asarray(run.t_s, float) if run.t_s is not None else None
    coil = _coil(t_s, probe, ohm, found, is_soaked=is_soaked)
    celsius = probe if coil is None else coil
    fitted = fitted_line(found, celsius, ohm)
    return HeatTrace(t_s, probe, coil, ohm, heating(celsius), fitted, copper_line(found, fitted))


def _coil(t_s: Array | None, probe: Array, ohm: Array, found: HeatFound, *, is_soaked: bool) -> Array | None:
    if t_s is None:
        return probe
    if found.lag_s is None:
        return None
    tau = max(found.lag_s.value, 0.0)
    coil = lag_response(t_s, probe, tau_s=tau)
    if is_soaked:
        return coil
    left = memory_of_start(t_s, tau_s=tau)
    line, away = fitted_line(found, coil, ohm), 0.0
    for _ in range(_ROUNDS):
        away += _away_at_start(line, coil + away * left, ohm, left)
    followed: Array = coil + away * left
    return followed


def _away_at_start(line: Line, coil: Array, ohm: Array, left: Array) -> float:
    """How much warmer than the probe the coil was at the first sample [K], one step of least squares."""
    at = np.flatnonzero(np.isfinite(ohm) & (left > 1e-4))
    if not at.size:
        return 0.0
    residual = ohm[at] - line(coil[at])
    weight = (line(coil[at] + 0.5) - line(coil[at] - 0.5)) * left[at]
    spread = float(np.median(np.abs(residual - np.median(residual)))) / NORMAL_MAD
    near = np.abs(residual - np.median(residual)) <= _FAR * max(spread, 1e-9)
    square = float(weight[near] @ weight[near])
    return float(residual[near] @ weight[near]) / square if square > 0 else 0.0


def heating(celsius: Array) -> Flags:
    """Whether the coil warms at each sample, (n,); the last stretch goes on as the one before it."""
    count = celsius.size
    first = np.linspace(0, count, min(count, _STRETCHES), endpoint=False).astype(np.intp)
    mean = np.add.reduceat(celsius, first) / np.diff(np.append(first, count))
    if mean.size < 2:
        return np.ones(count, bool)
    rise = np.gradient(mean)
    flags: Flags = np.repeat(rise >= 0, np.diff(np.append(first, count)))
    return flags


def fitted_line(found: HeatFound, celsius: Array, ohm: Array) -> Line:
    """The find as a line; a growing part without a start takes the shape that lies nearest to the readings."""
    k = found.k_celsius
    if found.kind is not HeatKind.GROWS_WITH_HEAT or found.excess_ohm_at_hottest is None:
        at_20, slope = found.at_20_ohm.value, found.slope_over_copper.value
        return lambda at: at_20 * (1.0 + slope * (at - REFERENCE_CELSIUS) / (k + REFERENCE_CELSIUS))
    r20, excess = found.r20_ohm.value, found.excess_ohm_at_hottest.value
    series = found.series_ohm.value if found.series_ohm is not None else 0.0

    def with_part(part: Line) -> Line:
        return lambda at: r20 * (k + at) / (k + REFERENCE_CELSIUS) + series + excess * part(at)

    lines = [with_part(part) for part in _parts(found)]
    return min(lines, key=lambda line: _misfit(line, celsius, ohm)) if len(lines) > 1 else lines[0]


def _parts(found: HeatFound) -> list[Line]:
    """Shapes of the growing part, 1 at the hottest."""
    begins, hot = min(found.coldest_celsius, REFERENCE_CELSIUS), found.hottest_celsius
    bent, swollen = Hinge(begins, hot), Swell(begins, hot)
    start = found.grows_from_celsius
    if start is not None:
        return [lambda at: bent.height(at, start.value)]
    parts: list[Line] = [lambda at: bent.height(at, begins)]
    return parts + [lambda at, bend=bend: swollen.height(at, float(bend)) for bend in _BENDS]


def _misfit(line: Line, celsius: Array, ohm: Array) -> float:
    step = max(1, celsius.size // 5000)
    return float(np.nanmean(np.abs(ohm[::step] - line(celsius[::step]))))


def copper_line(found: HeatFound, fitted: Line) -> Line:
    """What copper alone would do from the coldest of the run on."""
    k, cold = found.k_celsius, found.coldest_celsius
    from_ohm = float(fitted(np.array([cold]))[0])
    return lambda at: from_ohm * (k + at) / (k + cold)
