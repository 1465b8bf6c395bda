"""How the pressure in a leaking vessel falls at constant temperature, in closed form.

y is the absolute pressure over that of the surroundings; time is counted in units of the leak's
own rate, s = k t.  Everything is an array (n,) of float64.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_NEAR_HALF = 1e-10
"""Closer to one half than this the two forms lose their digits, and the form between them is as good."""

_FAR = 50.0
"""Exponent far beyond any run; it keeps a step of a search from overflowing."""


def orifice_y(y0: float, s: Array, b: float) -> Array:
    """Pressure in a vessel that empties through an orifice.

    Parameters
    ----------
    y0 : pressure at the start, over ambient; at least 1
    s : (n,)
        Time times k, where dy/dt = -k y while the orifice is choked; it may be negative.
    b : critical pressure ratio, above 0 and below 1

    Returns
    -------
    (n,)
        Pressure over ambient; ambient is reached in finite time and stays.

    Source
    ------
    Derived from ISO 6358: with 1/y = b + (1-b) sin(phi), u = tan(phi/2), the flow below choke
    integrates to 2(1-b) du/(b u^2 + 2(1-b) u + b) = ds.
    """
    at = _since_choke(y0, b) + np.asarray(s, float)
    choked = np.exp(np.minimum(-at, _FAR)) / b
    u = np.clip(_u_of(np.maximum(at, 0.0), b), 0.0, 1.0)
    subsonic = 1.0 / (b + 2.0 * (1.0 - b) * u / (1.0 + u * u))
    return np.where(at < 0.0, choked, subsonic)


def _since_choke(y0: float, b: float) -> float:
    """Where on the common curve a start lies; nought where choking ends, negative above."""
    if y0 * b >= 1.0:
        return -float(np.log(b * y0))
    z = min(max((1.0 / y0 - b) / (1.0 - b), 0.0), 1.0)
    u = z / (1.0 + (1.0 - z * z) ** 0.5)
    c = 1.0 - b
    if abs(b - 0.5) < _NEAR_HALF:
        return float(2.0 * c / b * u / (1.0 + u))
    if b < 0.5:
        w = (1.0 - 2.0 * b) ** 0.5
        return float(c / w * np.log((b * u + c - w) / (b * u + c + w) * (c + w) / (c - w)))
    v = (2.0 * b - 1.0) ** 0.5
    return float(2.0 * c / v * (np.arctan((b * u + c) / v) - np.arctan(c / v)))


def _u_of(s: Array, b: float) -> Array:
    c = 1.0 - b
    if abs(b - 0.5) < _NEAR_HALF:
        part = np.minimum(s * b / (2.0 * c), 0.5)
        return np.asarray(part / (1.0 - part), float)
    if b < 0.5:
        w = (1.0 - 2.0 * b) ** 0.5
        grown = np.minimum(np.exp(np.minimum(w * s / c, _FAR)) * (c - w) / (c + w), (b + c - w) / (b + c + w))
        return np.asarray((grown * (c + w) - (c - w)) / (b * (1.0 - grown)), float)
    v = (2.0 * b - 1.0) ** 0.5
    angle = np.minimum(v * s / (2.0 * c) + np.arctan(c / v), np.arctan((b + c) / v))
    return np.asarray((v * np.tan(angle) - c) / b, float)


def gap_y(y0: float, s: Array) -> Array:
    """Pressure in a vessel that empties through a long thin clearance: dy/ds = -(y^2 - 1).

    Source
    ------
    Laminar flow of a gas at constant temperature goes with the difference of squares: derived.
    """
    left = (y0 - 1.0) / (y0 + 1.0) * np.exp(np.minimum(-2.0 * np.asarray(s, float), _FAR))
    left = np.minimum(left, 1.0 - 1e-9)
    return np.asarray((1.0 + left) / (1.0 - left), float)


def vacuum_y(y0: float, s: Array, b: float) -> Array:
    """Pressure in an evacuated vessel that fills through an orifice: y0 + s while choked, then a sine."""
    s = np.asarray(s, float)
    c = 1.0 - b
    z0 = (y0 - b) / c
    if z0 <= 0.0:
        beyond = np.maximum(s - (b - y0), 0.0)
        angle = np.minimum(beyond / c, 0.5 * np.pi)
        return np.where(s <= b - y0, y0 + s, b + c * np.sin(angle))
    start = float(np.arcsin(min(z0, 1.0)))
    return np.asarray(b + c * np.sin(np.minimum(start + s / c, 0.5 * np.pi)), float)


def orifice_loss(y: Array, b: float) -> Array:
    """Share of the choked flow at each pressure: the relative loss of gas is k times this."""
    z = np.clip((1.0 / np.maximum(y, 1.0) - b) / (1.0 - b), 0.0, 1.0)
    return np.asarray(np.sqrt(1.0 - z * z), float)


def gap_loss(y: Array) -> Array:
    """The same for a clearance: the relative loss of gas is k times y - 1/y."""
    return np.asarray(y - 1.0 / y, float)
