"""Fits of a heat run: copper with a series part, copper with a part that grows; lag and start included.

Every fit is one least squares problem in all its parameters at once, solved by damped Gauss-Newton
steps from a lag found on a grid.  So the covariance comes from the full Jacobian.
"""

from __future__ import annotations

from typing import Final, NamedTuple, Protocol

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_data import Blocks
from valvebench.physics.lag import lag_response, memory_of_start

Array = NDArray[np.float64]

COPPER, OFFSET, START, LAG, GROWN, SHAPE = range(6)
"""Places of the parameters: copper at 20 degC [ohm], what does not move with heat [ohm], how much warmer
the coil began than its probe [K], lag [s], growing part at the hottest [ohm] and its shape; steps [ohm] follow."""
STEPS: Final = 6
_STEPS_OF_LAG: Final = 14
_ENOUGH_FOR_MEMORY: Final = 30
_MOST_LAGS: Final = 200
_MOST_AWAY: Final = 150.0
"""Kelvin a coil may differ from its probe at the start."""
_MOST_MOVES: Final = 25
_SMALL_FALL: Final = 1e-4
"""Fall of chi squared below which a fit has arrived: a hundredth of a standard uncertainty."""
_LOOSE: Final = 1e-9
"""Weight of a prior that says nothing, in units of one observation."""


class Shape(Protocol):
    """How a part grows with heat: 1 at the hottest; one parameter within bounds."""

    @property
    def bounds(self) -> tuple[float, float]:
        """Least and most of the parameter."""

    def likely(self, shapes: Array) -> Array:
        """How likely each is beforehand, per unit of the parameter, (s,)."""

    def height(self, celsius: Array, shape: float) -> Array:
        """Part of what it is at the hottest, (m,), for coil temperatures (m,) [degC]."""

    def slopes(self, celsius: Array, shape: float) -> tuple[Array, Array]:
        """Its derivatives after temperature [1/K] and shape, (m,) each."""


class Problem(NamedTuple):
    """What is fitted: means of samples, columns of steps (m, s), and what is known beforehand."""

    blocks: Blocks
    k_celsius: float
    has_lag: bool
    knows_start: bool
    steps: Array
    offset_weight: float
    """Weight of "the offset is nought": residual variance over the square of its doubt; nought leaves it free."""


class Found(NamedTuple):
    """A fit: parameters by place with covariance (without common-mode terms), residuals and sum of squares.

    What was not fitted has no variance.
    """

    value: Array
    covariance: Array
    residual: Array
    coil_celsius: Array
    square: float
    variance: float
    """Residual variance of one sample [ohm^2], inflated for its memory and for few samples."""

    @property
    def u(self) -> Array:
        """Standard uncertainties of all parameters."""
        return np.sqrt(np.maximum(np.diag(self.covariance), 0.0))


class _State(NamedTuple):
    """The model at one set of parameters."""

    value: Array
    celsius: Array
    residual: Array
    square: float


def lags_to_try(problem: Problem) -> Array:
    """Lags [s] from nought to half the run, evenly spaced in their logarithm."""
    t_s = problem.blocks.t_s
    if not problem.has_lag:
        return np.zeros(1)
    usual, whole = float(np.median(np.diff(t_s))), float(t_s[-1] - t_s[0])
    return np.concatenate(([0.0], np.geomspace(min(0.3 * usual, 0.1 * whole), 0.5 * whole, _STEPS_OF_LAG)))


def fit_series(problem: Problem) -> Found:
    """Copper with an offset: free, or held near nought by the problem's prior."""
    begins = [_linear(problem, float(tau)) for tau in lags_to_try(problem)]
    best = min(begins, key=lambda state: state.square)
    return fit_from(problem, best.value, None)


def fit_at_lag(problem: Problem, tau_s: float) -> Found:
    """The same at a given lag [s], which then has no doubt of its own."""
    return fit_from(problem, _linear(problem, tau_s).value, None, fixed=(LAG,))


def fit_from(problem: Problem, value: Array, grows: Shape | None, *, fixed: tuple[int, ...] = ()) -> Found:
    """The least squares fit that is reached from given parameters; those in `fixed` keep their value."""
    free = free_places(problem, grows, fixed)
    now, damping = _state(problem, value, grows), 1e-6
    least = _SMALL_FALL * now.square
    for _ in range(_MOST_MOVES):
        columns = jacobian(problem, now.value, now.celsius, grows)[:, free]
        ahead, damping = _moved(problem, now, columns, free, grows, damping)
        fall, now = now.square - ahead.square, ahead
        if fall <= least / max(1, now.residual.size):
            break
    return _finished(problem, now, grows, free)


def free_places(problem: Problem, grows: Shape | None, fixed: tuple[int, ...] = ()) -> NDArray[np.intp]:
    """Which parameters a fit has to find."""
    places = [COPPER, OFFSET]
    if problem.has_lag:
        places += [LAG] if problem.knows_start else [START, LAG]
    if grows is not None:
        places += [GROWN, SHAPE]
    places += range(STEPS, STEPS + problem.steps.shape[1])
    return np.array([place for place in places if place not in fixed], dtype=np.intp)


def _linear(problem: Problem, tau_s: float) -> _State:
    """Without a growing part and at one lag everything is linear: solved at once."""
    value = np.zeros(STEPS + problem.steps.shape[1])
    value[[COPPER, LAG]] = 1.0, tau_s
    celsius = _coil(problem, value)
    places = free_places(problem, None, (LAG,))
    columns = jacobian(problem, value, celsius, None)[:, places]
    weight, prior = problem.blocks.weight, prior_of(problem, places)
    normal, scale = normal_of(columns, weight, prior)
    value[places] = np.linalg.solve(normal, columns.T @ (weight * problem.blocks.ohm) / scale) / scale
    residual = problem.blocks.ohm - columns @ value[places]
    square = float(weight @ residual**2 + prior @ value[places] ** 2)
    # the column of the start stood for one ohm of copper
    value[START] = np.clip(value[START] / max(value[COPPER], 1e-9), -_MOST_AWAY, _MOST_AWAY)
    return _State(value, celsius, residual, square)


def _coil(problem: Problem, value: Array) -> Array:
    blocks = problem.blocks
    if not problem.has_lag:
        return blocks.celsius
    followed = lag_response(blocks.t_s, blocks.celsius, tau_s=value[LAG])
    if value[START] == 0:
        return followed
    warmer: Array = followed + value[START] * memory_of_start(blocks.t_s, tau_s=value[LAG])
    return warmer


def model_ohm(problem: Problem, value: Array, celsius: Array, grows: Shape | None) -> Array:
    """What a meter would read [ohm] at coil temperatures [degC], (m,)."""
    k = problem.k_celsius
    ohm: Array = value[COPPER] * (k + celsius) / (k + 20.0) + value[OFFSET] + problem.steps @ value[STEPS:]
    return ohm if grows is None else ohm + value[GROWN] * grows.height(celsius, value[SHAPE])


def square_of(problem: Problem, value: Array, residual: Array) -> float:
    """The weighted sum of squares [ohm^2] with what holds the offset."""
    return float(problem.blocks.weight @ residual**2 + problem.offset_weight * value[OFFSET] ** 2)


def _state(problem: Problem, value: Array, grows: Shape | None) -> _State:
    celsius = _coil(problem, value)
    residual = problem.blocks.ohm - model_ohm(problem, value, celsius, grows)
    return _State(value, celsius, residual, square_of(problem, value, residual))


def moves_of_coil(problem: Problem, value: Array, celsius: Array) -> Array:
    """How the coil temperature answers to a warmer start [K/K] and a longer lag [K/s], (m, 2)."""
    if not problem.has_lag:
        return np.zeros((celsius.size, 2))
    step = max(1e-3 * value[LAG], 1e-3)
    ahead = value.copy()
    ahead[LAG] += step
    by_lag = (_coil(problem, ahead) - celsius) / step
    return np.column_stack([memory_of_start(problem.blocks.t_s, tau_s=value[LAG]), by_lag])


def jacobian(problem: Problem, value: Array, celsius: Array, grows: Shape | None, moves: Array | None = None) -> Array:
    """Derivatives of the model after all parameters, (m, p); `moves` of the coil where they are known already."""
    k = problem.k_celsius
    columns = np.zeros((celsius.size, STEPS + problem.steps.shape[1]))
    columns[:, COPPER] = (k + celsius) / (k + 20.0)
    columns[:, OFFSET] = 1.0
    columns[:, STEPS:] = problem.steps
    per_kelvin = np.full(celsius.size, value[COPPER] / (k + 20.0))
    if grows is not None:
        by_celsius, by_shape = grows.slopes(celsius, value[SHAPE])
        per_kelvin += value[GROWN] * by_celsius
        columns[:, GROWN] = grows.height(celsius, value[SHAPE])
        columns[:, SHAPE] = value[GROWN] * by_shape
    if problem.has_lag:
        moved = moves_of_coil(problem, value, celsius) if moves is None else moves
        columns[:, START : LAG + 1] = per_kelvin[:, None] * moved
    return columns


def prior_of(problem: Problem, places: NDArray[np.intp]) -> Array:
    """Weight of what is known beforehand of each place."""
    prior = np.zeros(places.size)
    prior[places == OFFSET] = problem.offset_weight
    return prior


def normal_of(columns: Array, weight: Array, prior: Array) -> tuple[Array, Array]:
    """Normal matrix of columns scaled to the same size, and the scale; what is not known stays near nought."""
    scale = np.sqrt(weight @ (columns * columns))
    scale[scale < _LOOSE] = 1.0
    scaled = columns / scale
    return (scaled * weight[:, None]).T @ scaled + np.diag(prior / scale**2 + _LOOSE), scale


def _moved(
    problem: Problem, now: _State, columns: Array, free: NDArray[np.intp], grows: Shape | None, damping: float
) -> tuple[_State, float]:
    """One Gauss-Newton step, damped until it does not climb."""
    weight, prior = problem.blocks.weight, prior_of(problem, free)
    normal, scale = normal_of(columns, weight, prior)
    downhill = (columns.T @ (weight * now.residual) - prior * now.value[free]) / scale
    for _ in range(6):
        value = now.value.copy()
        value[free] += np.linalg.solve(normal + damping * np.eye(free.size), downhill) / scale
        ahead = _state(problem, _within(problem, value, grows), grows)
        if ahead.square <= now.square:
            return ahead, max(0.1 * damping, 1e-9)
        damping = max(10.0 * damping, 1e-4)
    return now, damping


def _within(problem: Problem, value: Array, grows: Shape | None) -> Array:
    value[START] = np.clip(value[START], -_MOST_AWAY, _MOST_AWAY)
    if problem.has_lag:
        # a lag of nought has no slope to leave it by
        whole = problem.blocks.t_s[-1] - problem.blocks.t_s[0]
        value[LAG] = np.clip(value[LAG], 1e-6 * whole, whole)
    if grows is not None:
        value[SHAPE] = np.clip(value[SHAPE], *grows.bounds)
    return value


def _finished(problem: Problem, at: _State, grows: Shape | None, free: NDArray[np.intp]) -> Found:
    weight = problem.blocks.weight
    columns = jacobian(problem, at.value, at.celsius, grows)[:, free]
    normal, scale = normal_of(columns, weight, prior_of(problem, free))
    told = float(free.size) - (0.0 if problem.offset_weight == 0 else 1.0)
    variance = _variance(at.residual, weight, told)
    covariance = np.zeros((at.value.size, at.value.size))
    covariance[np.ix_(free, free)] = variance * np.linalg.inv(normal) / np.outer(scale, scale)
    return Found(at.value, covariance, at.residual, at.celsius, at.square, variance)


def _variance(residual: Array, weight: Array, told: float) -> float:
    """Variance of one sample that makes slow parameters as doubtful as they are [ohm^2].

    Source
    ------
    A mean of few samples is spread as Student's t, whose variance is dof/(dof - 2): JCGM 101:2008, 6.4.9.
    """
    count = float(np.count_nonzero(weight))
    times = memory(residual, weight, told)
    # slow parameters take away what slow residuals there were: as many degrees more as these last longer
    dof = max(1.0, count - told * times, min(count - told, 0.5 * count))
    return float(weight @ residual**2) / dof * times * dof / max(dof - 2.0, 1.0)


def unsure_lag(problem: Problem, found: Found) -> float:
    """Standard uncertainty of the offset [ohm] if the start may say nothing of the lag.

    A column of its own takes up whatever a lag changes in the memory of the start; what is
    left of the lag's own column is how it answers to a change of the rate.
    """
    free = free_places(problem, None)
    columns = jacobian(problem, found.value, found.coil_celsius, None)[:, free]
    if not problem.knows_start:
        since = (problem.blocks.t_s - problem.blocks.t_s[0]) / max(found.value[LAG], 1e-9)
        left = since * memory_of_start(problem.blocks.t_s, tau_s=found.value[LAG])
        columns = np.column_stack([columns, left])
    prior = np.zeros(columns.shape[1])
    normal, scale = normal_of(columns, problem.blocks.weight, prior)
    return float(np.sqrt(found.variance * np.linalg.inv(normal)[1, 1])) / float(scale[1])


def memory(residual: Array, weight: Array, free: float) -> float:
    """How many times the variance of a slow parameter grows because residuals remember one another.

    Parameters
    ----------
    residual, weight : (m,)
        Residuals of a fit and how many samples each stands for.
    free : scalar
        How many parameters were fitted.

    Returns
    -------
    scalar, at least 1: the larger of the sum over all autocorrelations and what their first one
    means for a first-order process, put right for what the fit took away.

    Source
    ------
    Integrated autocorrelation time with a self-consistent window (Sokal), bias of the first
    autocorrelation (Kendall; one more share for each slow parameter): both from memory.
    """
    used = residual[weight > 0] * np.sqrt(weight[weight > 0])
    square = float(used @ used)
    if used.size < _ENOUGH_FOR_MEMORY or square <= 0:
        return 1.0
    return max(1.0, _all_lags(used, square), _first_order(used, square, free))


def _all_lags(used: Array, square: float) -> float:
    total = 1.0
    for lag in range(1, min(_MOST_LAGS, used.size // 4)):
        total += 2.0 * float(used[:-lag] @ used[lag:]) / square
        if lag >= 2.5 * total:
            break
    return total


def _first_order(used: Array, square: float, free: float) -> float:
    first = float(used[:-1] @ used[1:]) / square
    if first < _SEEN / used.size**0.5:
        return 1.0
    first += ((1.0 + 3.0 * first) + (free - 1.0) * (1.0 + first)) / used.size
    first = min(first, _STIFFEST)
    return (1.0 + first) / (1.0 - first)


_SEEN: Final = 2.0
"""Standard errors an autocorrelation must lie above nought to be believed."""
_STIFFEST: Final = 0.995
