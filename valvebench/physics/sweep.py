"""Definitions on a sweep of current: width of a loop at equal pressure, distance from a straight line.

Curves are arrays (g,) over a common grid of currents, or (r, g) for several curves at once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_STEPS = 60


def width_in_current(ampere: Array, rising: Array, falling: Array, levels: Array) -> Array:
    """How far two branches lie apart in current at each pressure.

    Parameters
    ----------
    ampere : (g,)
        Currents, ascending. [A]
    rising, falling : (g,)
        Pressure on either branch, growing with the current. [kPa]
    levels : (n,)
        Pressures. [kPa]

    Returns
    -------
    (n,) float64
        Current of the rising branch less that of the falling one. [A]

    Source
    ------
    Hysteresis of ISO 10770: difference in input for the same output over a full cycle (from memory).
    """
    up, down = (np.interp(levels, np.maximum.accumulate(one), ampere) for one in (rising, falling))
    return np.asarray(up - down, float)


def off_terminal_line(ampere: Array, curves: Array) -> Array:
    """Largest distance (r,) of each curve (r, g) from the line through its own ends [kPa]."""
    share = (ampere - ampere[0]) / (ampere[-1] - ampere[0])
    line = curves[:, :1] + (curves[:, -1:] - curves[:, :1]) * share
    return np.asarray(np.abs(curves - line).max(axis=1), float)


def off_best_line(ampere: Array, curves: Array) -> Array:
    """Smallest largest distance (r,) of each curve (r, g) from any straight line [kPa].

    Source
    ------
    Half the spread about a slope is convex in the slope (Chebyshev): searched by thirds.
    """
    x = (ampere - ampere[0]) / (ampere[-1] - ampere[0])
    reach = np.abs(np.diff(curves, axis=1)).max(axis=1) / float(np.diff(x).min())
    low, high = -reach, reach

    def half_spread(slope: Array) -> Array:
        return np.asarray(0.5 * np.ptp(curves - slope[:, None] * x, axis=1), float)

    for _ in range(_STEPS):
        third = (high - low) / 3.0
        is_left = half_spread(low + third) <= half_spread(high - third)
        low, high = np.where(is_left, low, low + third), np.where(is_left, high - third, high)
    return half_spread(0.5 * (low + high))
