"""Heat runs whose truth is known, made by code that shares no formula with what estimates them.

Copper by IEC 60034-1 (8.6.2); the lag by Runge and Kutta in small steps; noise of a seed that is
the CRC-32 of the cell's name.  The gain and counts of the meter and the offset of the probe are
drawn anew for each run, as they are for each bench.  All runs are made up.
"""

from __future__ import annotations

import zlib
from typing import NamedTuple

import numpy as np
from scipy.signal import lfilter

from valvebench.diagnose.heat_data import HeatRun, HeatSetUp
from valvebench.model.meter import Meter

K, KELVIN_TO_U = 234.5, 3**-0.5
INNER_STEP_S = 1.0
THRESHOLD_CELSIUS, LINEAR_FROM_CELSIUS, E_FOLD_KELVIN = 70.0, 20.0, 25.0
MEMORY = 0.8


class Way(NamedTuple):
    """How a run is taken: knots of the probe [s, degC], samples, coil [ohm at 20 degC], lag [s], meter, probe."""

    knots_s: tuple[float, ...]
    knots_celsius: tuple[float, ...]
    count: int
    coil_ohm: float
    lag_s: float
    meter: Meter
    noise_ohm: float
    half_width_kelvin: float
    start_celsius: float | None = None
    is_even: bool = True


HUNDREDTHS, THOUSANDTHS = Meter(percent=0.5, counts=3, step=0.01), Meter(percent=0.2, counts=2, step=0.001)
UP_AND_DOWN = (22.0, 110.0, 50.0)
HOUR, HALF_HOUR, LONG = (0.0, 2000.0, 3600.0), (0.0, 1000.0, 1800.0), (0.0, 2700.0, 5000.0)

WAYS = {
    "5.2 ohm, one hour": Way(HOUR, UP_AND_DOWN, 360, 5.2, 60.0, HUNDREDTHS, 0.01, 2.0),
    "14 ohm, not soaked": Way(LONG, UP_AND_DOWN, 1000, 14.0, 90.0, THOUSANDTHS, 0.004, 1.0, start_celsius=30.0),
    "5.2 ohm, half an hour, not soaked": Way(
        HALF_HOUR, UP_AND_DOWN, 360, 5.2, 30.0, THOUSANDTHS, 0.003, 1.0, start_celsius=27.0
    ),
    "14 ohm, uneven times": Way(HOUR, UP_AND_DOWN, 720, 14.0, 60.0, HUNDREDTHS, 0.01, 2.0, is_even=False),
}
"""Heated and cooled. Chosen before anything was fitted: what a heater plate and a cheap logger do; no source."""


class Truth(NamedTuple):
    """What is really there: series part [ohm], how a contact grows and to how much at the hottest, memory of noise."""

    series_ohm: float = 0.0
    grows: str = ""
    excess_ohm: float = 0.0
    memory: float = 0.0
    is_ideal: bool = False


class Course(NamedTuple):
    """Times [s], probe and coil [degC] of a way, each (n,): the same for every run of a cell."""

    t_s: np.ndarray
    probe_celsius: np.ndarray
    coil_celsius: np.ndarray


def dice_of(name):
    return np.random.default_rng(zlib.crc32(name.encode()))


def course_of(way, *, lag_s=None, start_celsius=None):
    t_s = np.linspace(way.knots_s[0], way.knots_s[-1], way.count)
    if not way.is_even:
        gaps = dice_of("uneven times").uniform(0.2, 1.8, way.count - 1)
        t_s = np.concatenate(([0.0], np.cumsum(gaps))) * (way.knots_s[-1] / gaps.sum())
    probe = np.interp(t_s, way.knots_s, way.knots_celsius)
    start = way.start_celsius if start_celsius is None else start_celsius
    coil = followed(way, t_s, way.lag_s if lag_s is None else lag_s, probe[0] if start is None else start)
    return Course(t_s, probe, coil)


def followed(way, t_s, lag_s, start_celsius):
    """dT/dt = (probe - T)/lag by the rule of Runge and Kutta of order four, in steps of a second or less."""

    def rate(at_s, coil):
        return (np.interp(at_s, way.knots_s, way.knots_celsius) - coil) / lag_s

    coil = np.empty_like(t_s)
    coil[0] = now = float(start_celsius)
    for i in range(1, t_s.size):
        steps = max(1, int(np.ceil((t_s[i] - t_s[i - 1]) / INNER_STEP_S)))
        step = (t_s[i] - t_s[i - 1]) / steps
        for j in range(steps):
            at = t_s[i - 1] + j * step
            a = rate(at, now)
            b = rate(at + step / 2, now + step / 2 * a)
            c = rate(at + step / 2, now + step / 2 * b)
            d = rate(at + step, now + step * c)
            now += step / 6 * (a + 2 * b + 2 * c + d)
        coil[i] = now
    return coil


def grown(truth, coil, hottest):
    """What a contact adds [ohm]: it is `excess_ohm` at the hottest of the run."""
    if truth.grows == "linear":
        return truth.excess_ohm * np.maximum(coil - LINEAR_FROM_CELSIUS, 0) / (hottest - LINEAR_FROM_CELSIUS)
    if truth.grows == "threshold":
        return truth.excess_ohm * np.maximum(coil - THRESHOLD_CELSIUS, 0) / (hottest - THRESHOLD_CELSIUS)
    if truth.grows == "exponential":
        return truth.excess_ohm * np.exp((coil - hottest) / E_FOLD_KELVIN)
    return np.zeros_like(coil)


def true_ohm(way, truth, coil):
    return way.coil_ohm * (K + coil) / (K + 20) + truth.series_ohm + grown(truth, coil, coil.max())


def noise_of(dice, count, memory):
    """Unit noise that remembers the part `memory` of the sample before."""
    fresh = dice.normal(size=count + 100) * (1 - memory**2) ** 0.5
    return lfilter([1.0], [1.0, -memory], fresh)[100:]


def made(way, truth, course, dice):
    """One run.  What the meter and the probe share is normal with the deviation of their rectangles.

    With a rectangle that outweighs all else no multiple of a standard uncertainty covers 95 in 100
    (PHYSICS: it covers all), so it would say nothing of the estimator; the hand runs draw rectangles.
    """
    ohm = true_ohm(way, truth, course.coil_celsius) + noise_of(dice, way.count, truth.memory) * way.noise_ohm
    if truth.is_ideal:
        return HeatRun(course.probe_celsius.copy(), ohm, course.t_s)
    gain, counts, probe = dice.normal(size=3) * KELVIN_TO_U
    ohm = ohm * (1 + gain * way.meter.percent / 100) + counts * way.meter.counts * way.meter.step
    shown = np.round(ohm / way.meter.step) * way.meter.step
    return HeatRun(course.probe_celsius + probe * way.half_width_kelvin, shown, course.t_s)


def set_up_of(way, truth):
    if truth.is_ideal:
        return HeatSetUp(meter=Meter(percent=0, counts=0, step=1e-6), celsius_half_width=1e-6)
    return HeatSetUp(meter=way.meter, celsius_half_width=way.half_width_kelvin)


def smallest_deviation(way, truth, course):
    """Cramer-Rao: no unbiased estimate of the series part spreads less [ohm].  By differences of the truth itself."""

    def model(coil_ohm, series_ohm, lag_s, start_celsius):
        moved = course_of(way, lag_s=lag_s, start_celsius=start_celsius).coil_celsius
        return true_ohm(way._replace(coil_ohm=coil_ohm), truth._replace(series_ohm=series_ohm), moved)

    at = np.array([way.coil_ohm, truth.series_ohm, way.lag_s, course.coil_celsius[0]])
    step = np.array([1e-3, 1e-3, 1e-2, 1e-2])
    slopes = [(model(*(at + move)) - model(*(at - move))) / (2 * move.max()) for move in np.diag(step)]
    jacobian = np.column_stack(slopes) / way.noise_ohm
    return float(np.linalg.inv(jacobian.T @ jacobian)[1, 1] ** 0.5)


class Hands(NamedTuple):
    """Twelve points typed by hand at settled temperatures: coil [ohm at 20 degC] and meter."""

    coil_ohm: float
    meter: Meter


HAND_CELSIUS = np.array([22.0, 40.0, 58.0, 76.0, 94.0, 108.0, 110.0, 96.0, 78.0, 60.0, 42.0, 25.0])
HAND_HALF_WIDTH_KELVIN, SETTLED_KELVIN = 2.0, 0.3
HANDS = {
    f"{ohm:g} ohm, steps of {step:g} ohm": Hands(ohm, Meter(percent=0.9, counts=2, step=step))
    for ohm in (5.2, 14.0)
    for step in (0.1, 0.01)
}


def typed(hands, truth, dice):
    """One run by hand: gain and probe offset anywhere within their half-widths, display rounded."""
    celsius = HAND_CELSIUS + dice.uniform(-2, 2, HAND_CELSIUS.size)
    coil = celsius + dice.normal(size=celsius.size) * SETTLED_KELVIN
    ohm = hands.coil_ohm * (K + coil) / (K + 20) + truth.series_ohm + grown(truth, coil, float(coil.max()))
    gain, counts, probe = dice.uniform(-1, 1, size=3)
    ohm = ohm * (1 + gain * hands.meter.percent / 100) + counts * hands.meter.counts * hands.meter.step
    shown = np.round(ohm / hands.meter.step) * hands.meter.step
    return HeatRun(np.round(celsius + probe * HAND_HALF_WIDTH_KELVIN, 1), shown)
