"""One smooth curve with a loop on top, through both branches of a sweep at once.

p = m(I) - s d(I), s = 1/2 on the rising branch and -1/2 on the falling one; m and d are penalised
splines.  Smoothing each branch by itself turns uneven points at a knee into hysteresis.
"""

from __future__ import annotations

import itertools
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_CURVE_SPANS: Final = 22
_LOOP_SPANS: Final = 4
_DEGREE: Final = 2
_COST_OF_FREEDOM: Final = 1.4
"""Each effective parameter counts for more than one, or the curve follows noise (common practice in smoothing)."""
_GRID: Final = 301
_WEIGHTS: Final = tuple(10.0**power for power in range(-5, 6))
_LOOP_WEIGHTS: Final = tuple(10.0**power for power in range(-1, 6))
"""A loop is broad: a spline free to follow a knee would take the uneven points beside it for one."""
_SMOOTHER: Final = 1e-9
_LEAST_NOISE: Final = 1e-12


class Joint(NamedTuple):
    """Curve and loop (g,) over a grid of currents, and draws of both (r, g) from what the noise leaves open.

    `seen_share` is how much of the noise the readings themselves show; the rest may be a display's step.
    """

    ampere: Array
    curve: Array
    loop: Array
    curves: Array
    loops: Array
    noise_kpa: float
    seen_share: float


def fit_joint(ampere: Array, kpa: Array, is_up: Array, *, floor_kpa: float, draws: int, seed: int) -> Joint:
    """Fit both branches together.

    Parameters
    ----------
    ampere, kpa, is_up : (n,)
        Current, pressure and whether the current was rising.
    floor_kpa : least noise of one reading. [kPa]
    draws, seed : how many curves are drawn for the doubts, and from which seed

    Source
    ------
    Penalised splines (Eilers and Marx), smoothness by generalised cross-validation with 1.4 for each
    effective parameter; draws from the Bayesian covariance (Wahba): all from memory.
    """
    low, high = float(ampere.min()), float(ampere.max())
    grid = np.linspace(low, high, _GRID)
    sign = np.where(is_up > 0.5, -0.5, 0.5)
    columns = np.hstack(
        [_splines(ampere, low, high, _CURVE_SPANS), sign[:, None] * _splines(ampere, low, high, _LOOP_SPANS)]
    )
    middle = float(kpa.mean())
    normal, pull = columns.T @ columns, columns.T @ (kpa - middle)
    inverse, value, square, freedom = _smoothest(columns, kpa - middle, normal, pull)
    seen = (square / max(kpa.size - _COST_OF_FREEDOM * freedom, 1.0)) ** 0.5
    noise = max(seen, floor_kpa, _LEAST_NOISE * float(np.ptp(kpa)))
    rng = np.random.default_rng(seed)
    root = np.linalg.cholesky(_sound(inverse))
    drawn = value + noise * rng.standard_normal((draws, value.size)) @ root.T
    of_curve, of_loop = _splines(grid, low, high, _CURVE_SPANS), _splines(grid, low, high, _LOOP_SPANS)
    cut = of_curve.shape[1]
    return Joint(
        grid,
        middle + of_curve @ value[:cut],
        of_loop @ value[cut:],
        middle + drawn[:, :cut] @ of_curve.T,
        drawn[:, cut:] @ of_loop.T,
        float(noise),
        float(seen / noise),
    )


def _splines(ampere: Array, low: float, high: float, spans: int) -> Array:
    """Quadratic B-splines over even spans (n, spans + 2)."""
    from scipy.interpolate import BSpline

    step = (high - low) / spans
    knots = low + step * np.arange(-_DEGREE, spans + _DEGREE + 1)
    design = BSpline.design_matrix(np.clip(ampere, knots[_DEGREE], knots[-_DEGREE - 1]), knots, _DEGREE)
    return np.asarray(design.toarray(), float)


def _penalty(count: int, order: int) -> Array:
    """Differences of an order: a straight line costs nothing with 2, a parabola nothing with 3."""
    bends = np.diff(np.eye(count), order, axis=0)
    return bends.T @ bends


def _smoothest(columns: Array, kpa: Array, normal: Array, pull: Array) -> tuple[Array, Array, float, float]:
    """The weights of both penalties by cross-validation; of equally good ones the smoothest."""
    cut = _CURVE_SPANS + _DEGREE
    size = normal.shape[0]
    curve, loop = np.zeros((size, size)), np.zeros((size, size))
    curve[:cut, :cut], loop[cut:, cut:] = _penalty(cut, 2), _penalty(size - cut, 3)
    unit = float(np.trace(normal[:cut, :cut])) / cut
    n, tiny = kpa.size, (1e-10 * float(np.ptp(kpa))) ** 2
    best: tuple[float, Array, Array, float, float] | None = None
    for one, other in itertools.product(reversed(_WEIGHTS), reversed(_LOOP_WEIGHTS)):
        inverse = np.asarray(np.linalg.inv(normal + unit * (one * curve + other * loop)), float)
        value = inverse @ pull
        square = float(np.sum((kpa - columns @ value) ** 2))
        freedom = float(np.sum(inverse * normal))
        left = n - _COST_OF_FREEDOM * freedom
        score = (square / n + tiny) * (n / left) ** 2 if left > 1.0 else np.inf
        if best is None or score < best[0] * (1.0 - _SMOOTHER):
            best = (score, inverse, value, square, freedom)
    if best is None:
        raise ValueError("no weight was tried")
    return best[1:]


def _sound(covariance: Array) -> Array:
    """Symmetric, and positive beyond rounding."""
    even = 0.5 * (covariance + covariance.T)
    return np.asarray(even + 1e-12 * float(np.trace(even)) * np.eye(even.shape[0]), float)
