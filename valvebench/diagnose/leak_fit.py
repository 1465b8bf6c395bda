"""Fit of one law of leaking to a falling pressure, gas that cools and recovers included.

Parameters: rate k [1/s], start y0, leftover heat A of the filling (over absolute temperature),
logarithm of its recovery time [s], drift D of the wall over the run (the same), critical ratio b,
ambient pressure [kPa].  All but the first two have priors, so that one covariance holds the whole
budget.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.leak_record import Record
from valvebench.diagnose.leak_setup import HIGHEST_B, LOWEST_B
from valvebench.physics.decay import gap_loss, gap_y, orifice_loss, orifice_y

Array = NDArray[np.float64]

RATE, START, LEFTOVER, LOG_TAU, DRIFT, RATIO, AMBIENT = range(7)
COUNT: Final = 7
_COOLING: Final = 0.4
"""(gamma - 1): how much colder an expanding gas gets for the share of it that leaves."""
_MOST_STEPS: Final = 25
_SETTLED: Final = 3e-3
"""Standard uncertainties a last step may still move."""
_NO_GAIN: Final = 1e-3
_SHORTEST_LOG_TAU, _LONGEST_LOG_TAU = math.log(0.02), math.log(60.0)
_NEAREST_Y: Final = 1.0005


class Priors(NamedTuple):
    """Middle and standard uncertainty of each parameter (7,); infinite where nothing is known beforehand."""

    middle: Array
    u: Array
    is_gauge: bool


class Fit(NamedTuple):
    """One law fitted: parameters, their covariance split into noise and one column for each prior, misfit."""

    is_orifice: bool
    value: Array
    covariance: Array
    by_noise: Array
    residual: Array
    square: float
    prior_square: float


def pressure(value: Array, record: Record, *, is_orifice: bool, is_gauge: bool) -> Array:
    """What the gauge shows (m,) [kPa], gauge pressures with the ambient taken off.

    Source
    ------
    First-order expansion of the energy balance of a gas that exchanges heat with its wall:
    derived; checked against an integration of the full equations.
    """
    parts = _parts(value, record, is_orifice=is_orifice)
    shown = value[AMBIENT] * parts.y * parts.warmth * parts.drifted
    return np.asarray(shown - value[AMBIENT] if is_gauge else shown, float)


class _Parts(NamedTuple):
    """What a pressure is made of, (m,) each; `cooled` is how far the gas would be colder, but for its recovery."""

    y: Array
    warmth: Array
    drifted: Array
    left: Array
    cooled: Array


def _parts(value: Array, record: Record, *, is_orifice: bool) -> _Parts:
    k, y0, leftover, log_tau, drift, b, _ = value
    t_s, tau = record.t_s, math.exp(log_tau)
    left = np.exp(-t_s / tau)
    y, _ = _isothermal(k, y0, b, t_s, is_orifice=is_orifice)
    # gas is as cold as it was made a recovery time ago, and less gas recovers sooner
    earlier, loss = _isothermal(k, y0, b, np.maximum(t_s - tau * y / y0, 0.0), is_orifice=is_orifice)
    cooled = _COOLING * k * tau * loss * (earlier / y0)
    warmth = 1.0 + leftover * left - cooled * (1.0 - left)
    # by the balance of heat: how much colder than the wall it was, summed over time; a leak slows by half of that
    missed_s = tau * (_COOLING * (1.0 - y / y0) - leftover + (warmth - 1.0) * y / y0)
    y, _ = _isothermal(k, y0, b, t_s - 0.5 * missed_s, is_orifice=is_orifice)
    drifted = (1.0 + drift * t_s / record.length_s) * record.warmth
    return _Parts(y, warmth, drifted, left, cooled)


def _isothermal(k: float, y0: float, b: float, t_s: Array, *, is_orifice: bool) -> tuple[Array, Array]:
    y = orifice_y(y0, k * t_s, b) if is_orifice else gap_y(y0, k * t_s)
    return y, orifice_loss(y, b) if is_orifice else gap_loss(y)


def loss_at(value: Array, kpa_abs: float, *, is_orifice: bool) -> float:
    """Relative loss of gas at a pressure, gas as warm as its wall [1/s]."""
    y = np.array([kpa_abs / value[AMBIENT]])
    loss = orifice_loss(y, float(value[RATIO])) if is_orifice else gap_loss(y)
    return float(value[RATE] * loss[0])


def lost_kpa(value: Array, record: Record, *, is_orifice: bool) -> float:
    """Gas lost from the first moment to the last, as a fall of pressure at the temperature of the wall [kPa].

    Colder gas leaves more slowly: it is the same curve that was fitted, not one at constant temperature.
    """
    y = _parts(value, record, is_orifice=is_orifice).y
    return float(value[AMBIENT] * (y[0] - y[-1]))


def fit_law(record: Record, priors: Priors, *, is_orifice: bool, noise_kpa: float, start: Array | None = None) -> Fit:
    """Most probable parameters by damped Gauss-Newton steps; `noise_kpa` is that of one sample."""
    shown = record.kpa_abs - (priors.middle[AMBIENT] if priors.is_gauge else 0.0)
    root = np.sqrt(record.weight) / noise_kpa

    def cost(value: Array) -> tuple[float, Array]:
        residual = shown - pressure(value, record, is_orifice=is_orifice, is_gauge=priors.is_gauge)
        away = (value - priors.middle) / priors.u
        return float(np.sum((residual * root) ** 2) + away @ away), residual

    value = start if start is not None else _start(record, priors, is_orifice=is_orifice)
    square, residual = cost(value)
    for _ in range(_MOST_STEPS):
        slopes = _slopes(value, record, is_orifice=is_orifice, is_gauge=priors.is_gauge)
        scaled = slopes * root[:, None]
        information = scaled.T @ scaled + np.diag(priors.u**-2.0)
        pull = scaled.T @ (residual * root) - (value - priors.middle) / priors.u**2
        step = _solved(information, pull)
        if float(step @ pull) < _SETTLED**2:
            break
        better = _shortened(cost, value, step, square)
        if better is None:
            break
        gained = square - better[1]
        value, square, residual = better
        if gained < _NO_GAIN * (1.0 + 1e-3 * square):
            break
    return _finished(record, priors, value, residual, noise_kpa, is_orifice=is_orifice)


def _shortened(
    cost: Callable[[Array], tuple[float, Array]], value: Array, step: Array, square: float
) -> tuple[Array, float, Array] | None:
    """The step, or the part of it that makes things better."""
    for part in (1.0, 0.5, 0.2, 0.05):
        tried = _inside(value + part * step)
        now, residual = cost(tried)
        if now < square:
            return tried, now, residual
    return None


def _inside(value: Array) -> Array:
    value = value.copy()
    value[START] = max(value[START], _NEAREST_Y)
    value[LOG_TAU] = min(max(value[LOG_TAU], _SHORTEST_LOG_TAU), _LONGEST_LOG_TAU)
    value[RATIO] = min(max(value[RATIO], LOWEST_B), HIGHEST_B)
    return value


def _start(record: Record, priors: Priors, *, is_orifice: bool) -> Array:
    """A straight line through the logarithm, divided by how much of the choked flow is left."""
    value = priors.middle.copy()
    y = np.maximum(record.kpa_abs / record.warmth / value[AMBIENT], _NEAREST_Y)
    t_s = record.t_s
    middle = float(record.weight @ t_s / record.weight.sum())
    away = record.weight * (t_s - middle)
    slope = float(away @ np.log(y) / (away @ (t_s - middle)))
    loss = orifice_loss(y, float(value[RATIO])) if is_orifice else gap_loss(y)
    value[RATE] = -slope / max(float(record.weight @ loss / record.weight.sum()), 0.05)
    value[START] = max(float(np.exp(np.log(y[0]))), _NEAREST_Y)
    return value


def _slopes(value: Array, record: Record, *, is_orifice: bool, is_gauge: bool) -> Array:
    """Derivatives after every parameter (m, 7): rate, start and ratio by differences, the others by formula."""
    parts = _parts(value, record, is_orifice=is_orifice)
    slopes = np.zeros((record.t_s.size, COUNT))
    scale = value[AMBIENT] * parts.y
    base = scale * parts.warmth * parts.drifted
    steps = {RATE: 1e-4 * abs(value[RATE]) + 1e-8, START: 1e-6 * value[START], RATIO: 1e-4}
    for at, step in steps.items():
        if at == RATIO and not is_orifice:
            continue
        moved = value.copy()
        moved[at] += step
        slopes[:, at] = (pressure(moved, record, is_orifice=is_orifice, is_gauge=False) - base) / step
    slopes[:, LEFTOVER] = scale * parts.drifted * parts.left
    ages = record.t_s / math.exp(value[LOG_TAU])
    by_tau = (value[LEFTOVER] + parts.cooled) * parts.left * ages - parts.cooled * (1.0 - parts.left)
    slopes[:, LOG_TAU] = scale * parts.drifted * by_tau
    slopes[:, DRIFT] = scale * parts.warmth * record.warmth * record.t_s / record.length_s
    slopes[:, AMBIENT] = base / value[AMBIENT] - (1.0 if is_gauge else 0.0)
    return slopes


def _solved(information: Array, pull: Array) -> Array:
    scale = np.sqrt(np.diag(information))
    scale[scale == 0] = 1.0
    step: Array = np.linalg.solve(information / np.outer(scale, scale) + 1e-12 * np.eye(COUNT), pull / scale) / scale
    return step


def _finished(
    record: Record, priors: Priors, value: Array, residual: Array, noise_kpa: float, *, is_orifice: bool
) -> Fit:
    slopes = _slopes(value, record, is_orifice=is_orifice, is_gauge=priors.is_gauge)
    scaled = slopes * (np.sqrt(record.weight) / noise_kpa)[:, None]
    by_data = scaled.T @ scaled
    information = by_data + np.diag(priors.u**-2.0)
    scale = np.sqrt(np.maximum(np.diag(information), 1e-300))
    inverse = np.linalg.inv(information / np.outer(scale, scale) + 1e-12 * np.eye(COUNT)) / np.outer(scale, scale)
    away = (value - priors.middle) / priors.u
    return Fit(
        is_orifice,
        value,
        inverse,
        inverse @ by_data @ inverse,
        residual,
        float(record.weight @ residual**2),
        float(away @ away),
    )


def shares(fit: Fit, priors: Priors, slope: Array) -> tuple[float, Array]:
    """Variance of something with this slope (7,): what noise brings, and each prior (7,)."""
    moved = fit.covariance @ slope
    return max(float(slope @ fit.by_noise @ slope), 0.0), np.where(np.isfinite(priors.u), (moved / priors.u) ** 2, 0.0)
