"""Temperature sensors: resistance against temperature, falling or rising."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

KELVIN: Final = 273.15
FURTHEST_BEYOND_TABLE_CELSIUS: Final = 10.0
"""How far the first or last stretch of a table is carried on: common practice, no source."""


def beta_ohm(celsius: float, *, r_ohm: float, at_celsius: float, beta_kelvin: float) -> float:
    """Resistance [ohm] of a falling sensor by the Beta equation, R0 exp(B (1/T - 1/T0)), kelvin.

    Source
    ------
    The Beta equation as thermistor makers print it.
    """
    return r_ohm * math.exp(beta_kelvin * (1.0 / (celsius + KELVIN) - 1.0 / (at_celsius + KELVIN)))


def beta_celsius(ohm: float, *, r_ohm: float, at_celsius: float, beta_kelvin: float) -> float:
    """Temperature [degC] at which the Beta equation gives `ohm`.

    Source
    ------
    The Beta equation, solved for the temperature.
    """
    return 1.0 / (1.0 / (at_celsius + KELVIN) + math.log(ohm / r_ohm) / beta_kelvin) - KELVIN


def steinhart_hart_celsius(ohm: float, *, a: float, b: float, c: float) -> float:
    """Temperature [degC]: 1/T = A + B ln R + C (ln R)^3, R in ohm, T in kelvin.

    Source
    ------
    Steinhart and Hart, Deep-Sea Research 15 (1968) 497.
    """
    log_ohm = math.log(ohm)
    return 1.0 / (a + b * log_ohm + c * log_ohm**3) - KELVIN


def steinhart_hart_ohm(celsius: float, *, a: float, b: float, c: float) -> float:
    """Resistance [ohm] at a temperature [degC], the closed inverse for B, C > 0.

    Source
    ------
    Cardano's real root of C x^3 + B x + (A - 1/T) = 0 with x = ln R.
    """
    if c == 0:
        return math.exp((1.0 / (celsius + KELVIN) - a) / b)
    half = (a - 1.0 / (celsius + KELVIN)) / (2.0 * c)
    third = b / (3.0 * c)
    root = math.sqrt(third**3 + half**2)
    return math.exp(_cube_root(root - half) - _cube_root(root + half))


def steinhart_hart_from_points(points: Sequence[tuple[float, float]]) -> tuple[float, float, float]:
    """A, B and C from three points of temperature [degC] and resistance [ohm].

    Raises
    ------
    ValueError : unless there are three points of different resistance.

    Source
    ------
    Three linear equations in A, B, C, solved by divided differences.
    """
    expected = 3
    if len({ohm for _, ohm in points}) != expected or len(points) != expected:
        raise ValueError("three points of different resistance are needed")
    (x1, y1), (x2, y2), (x3, y3) = [(math.log(ohm), 1.0 / (celsius + KELVIN)) for celsius, ohm in points]
    slope2 = (y2 - y1) / (x2 - x1)
    slope3 = (y3 - y1) / (x3 - x1)
    c = (slope3 - slope2) / (x3 - x2) / (x1 + x2 + x3)
    b = slope2 - c * (x1 * x1 + x1 * x2 + x2 * x2)
    return y1 - (b + x1 * x1 * c) * x1, b, c


class SensorBand(NamedTuple):
    """Limits [ohm] at one temperature and the relative change of the middle per kelvin."""

    low_ohm: float
    high_ohm: float
    slope_per_celsius: float
    beyond_celsius: float


def table_band(celsius: float, points: Sequence[Sequence[float]]) -> SensorBand | None:
    """Limits at a temperature from table rows of (celsius, low ohm, high ohm).

    Parameters
    ----------
    celsius : temperature of the sensor [degC]
    points : rows in any order, two or more; one row serves its own temperature only

    Returns
    -------
    SensorBand, or None where the table does not reach (10 K beyond its ends at most).

    Source
    ------
    ln R is close to a straight line in 1/T for a falling sensor (Beta equation); between two
    rows the same holds well enough for rising ones.
    """
    rows = sorted(tuple(row) for row in points)
    beyond = max(rows[0][0] - celsius, celsius - rows[-1][0], 0.0)
    if beyond > FURTHEST_BEYOND_TABLE_CELSIUS or (len(rows) == 1 and beyond > 0):
        return None
    if len(rows) == 1:
        return SensorBand(rows[0][1], rows[0][2], 0.0, 0.0)
    right = next((i for i in range(1, len(rows) - 1) if celsius <= rows[i][0]), len(rows) - 1)
    return _between(celsius, rows[right - 1], rows[right], beyond)


def _between(celsius: float, left: tuple[float, ...], right: tuple[float, ...], beyond: float) -> SensorBand:
    x, x_left, x_right = (1.0 / (t + KELVIN) for t in (celsius, left[0], right[0]))
    share = (x - x_left) / (x_right - x_left)
    low = math.exp(_mix(math.log(left[1]), math.log(right[1]), share))
    high = math.exp(_mix(math.log(left[2]), math.log(right[2]), share))
    middle_left, middle_right = (math.log(0.5 * (row[1] + row[2])) for row in (left, right))
    slope = (middle_right - middle_left) / (x_right - x_left) * (-x * x)
    return SensorBand(low, high, slope, beyond)


def _mix(left: float, right: float, share: float) -> float:
    return left + share * (right - left)


def _cube_root(x: float) -> float:
    return math.copysign(abs(x) ** (1.0 / 3.0), x)


_PT_A: Final = 3.9083e-3
_PT_B: Final = -5.775e-7
_PT_C: Final = -4.183e-12


def platinum_ohm(celsius: float, *, r0_ohm: float = 100.0) -> float:
    """Resistance [ohm] of a platinum sensor, a rising type, -200..850 degC.

    Source
    ------
    IEC 60751, Callendar-Van Dusen.
    """
    below = _PT_C * (celsius - 100.0) * celsius**3 if celsius < 0 else 0.0
    return r0_ohm * (1.0 + _PT_A * celsius + _PT_B * celsius**2 + below)
