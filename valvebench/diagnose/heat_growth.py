"""A part that grows with heat: how much it is at the hottest, where it starts, or why there is no start.

How it grows is not known, so the excess is the mean over all the ways that fit, each weighed by how
well it does: a start at any temperature of the run, or faster and faster.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_fit import (
    GROWN,
    LAG,
    OFFSET,
    SHAPE,
    START,
    Found,
    Problem,
    Shape,
    fit_from,
    free_places,
    jacobian,
    model_ohm,
    moves_of_coil,
    normal_of,
    prior_of,
    square_of,
)
from valvebench.diagnose.heat_shapes import Hinge, Swell

Array = NDArray[np.float64]
_TRIED: Final = 12
_NODES: Final = np.arange(-3.0, 3.01, 0.75)
"""Where the shapes about the best one are tried, in its standard uncertainties."""
_WIDE: Final = 5
_MOVES: Final = 2
_MOST_SPLITS: Final = 10
_MASS: Final = 0.12
"""Part of all weight that may lie between two neighbouring shapes."""
_ALIKE: Final = 0.5
"""Difference of chi squared up to which two neighbouring shapes need none between them."""
_CLEARLY: Final = 20.0
"""Odds from which on one way of growing is believed and the other not."""
_CLEAR_OF_COLDEST: Final = 3.0
_BENDS_CLEARLY: Final = 3.0
_REFERENCE_CELSIUS: Final = 20.0
_LEAST_COLD_PART: Final = 0.08
"""Share of the span below a start, or nothing is left that shows the copper alone."""


class Growth(NamedTuple):
    """The best fit, with the excess at the hottest [ohm], the start [degC], or why there is none."""

    found: Found
    shape: Shape
    excess_ohm: float
    u_excess_ohm: float
    start_celsius: float | None
    u_start: float | None
    why_no_start: str


class Hint(NamedTuple):
    """What a growing part of a shape would take off the sum of squares, without a fit of its own."""

    gain: float
    value: Array


class _Held(NamedTuple):
    """A fit with the shape held: growing part [ohm], its variance for noise of one, sum of squares [ohm^2], hottest."""

    grown_ohm: float
    unit_variance: float
    square: float
    hottest_celsius: float


class _Family(NamedTuple):
    """One way to grow: its best fit, and excess, doubt [ohm] and weight of the shapes about it."""

    shape: Shape
    best: Found
    shapes: Array
    square: Array
    excess: Array
    u: Array
    weight: Array


def span_of(problem: Problem, near: Found) -> tuple[float, float]:
    """Coldest and hottest coil temperature where there are values [degC]."""
    coil = near.coil_celsius[problem.blocks.weight > 0]
    return float(coil.min()), float(coil.max())


def hints(problem: Problem, near: Found, grows: Shape) -> list[Hint]:
    """For shapes over the whole range what each promises beside an earlier fit (a score test), best first."""
    free, root = free_places(problem, None), np.sqrt(problem.blocks.weight)
    columns = jacobian(problem, near.value, near.coil_celsius, None)[:, free]
    held = np.where(free == OFFSET, problem.offset_weight**0.5, 0.0)
    scale = np.sqrt(np.sum((columns * root[:, None]) ** 2, axis=0)) + 1e-12
    base, _ = np.linalg.qr(np.vstack([columns * root[:, None], np.diag(held)]) / scale)
    left = np.concatenate([near.residual * root, -held * near.value[free]])
    told = []
    for shape in np.linspace(*grows.bounds, _TRIED):
        column = np.concatenate([grows.height(near.coil_celsius, float(shape)) * root, np.zeros(free.size)])
        column -= base @ (base.T @ column)
        power = max(float(column @ column), 1e-12)
        ohm = max(0.0, float(column @ left) / power)
        value = near.value.copy()
        value[[GROWN, SHAPE]] = ohm, shape
        told.append(Hint(ohm**2 * power, value))
    return sorted(told, key=lambda hint: -hint.gain)


def may_grow(problem: Problem, near: Found, *, least: float) -> bool:
    """Whether a growing part could bring a fall of the scaled sum of squares worth a search."""
    best = max(hints(problem, near, grows)[0].gain for grows in _shapes(problem, near))
    # a large growing part makes the residuals of a fit without it remember one another: its own noise counts
    samples = float(np.count_nonzero(problem.blocks.weight)) - near.value.size
    variance = min(near.variance, (near.square - best) / samples) if samples > 0 else near.variance
    return bool(best > least * variance)


def _shapes(problem: Problem, near: Found) -> tuple[Shape, Shape]:
    cold, hot = span_of(problem, near)
    # below the coldest nothing shows: a contact may have begun to grow anywhere above the 20 degrees of reference
    begins = min(cold, _REFERENCE_CELSIUS)
    return Hinge(begins, hot), Swell(begins, hot)


class Ways(NamedTuple):
    """The best fit of each way of growing."""

    shapes: tuple[Shape, Shape]
    fits: tuple[Found, Found]

    @property
    def better(self) -> Found:
        """The one that leaves less."""
        return min(self.fits, key=lambda found: found.square)


def ways_to_grow(problem: Problem, near: Found) -> Ways:
    """Both ways of growing fitted, from an earlier fit without a growing part."""
    shapes = _shapes(problem, near)
    fits = [_best_of(problem, near, grows) for grows in shapes]
    return Ways(shapes, (fits[0], fits[1]))


def fitted_anew(problem: Problem, ways: Ways) -> Ways:
    """The same for a problem that differs little."""
    fits = [fit_from(problem, found.value, grows) for grows, found in zip(ways.shapes, ways.fits, strict=True)]
    return Ways(ways.shapes, (fits[0], fits[1]))


def best_growth(problem: Problem, ways: Ways) -> Growth:
    """Weigh both ways of growing.

    Parameters
    ----------
    problem : what is fitted
    ways : the best fit of each

    Returns
    -------
    Growth
        `start_celsius` only where a hinge is clearly better and begins clearly above the coldest.

    Source
    ------
    Weights exp(-chi^2/2) times how likely a shape is beforehand: Bayesian model averaging, from memory.
    """
    # both are judged by the noise that the better one leaves
    least = ways.better
    hinge, swell = (_about(problem, best, grows, least) for grows, best in zip(*ways, strict=True))
    told = (_straight(hinge, least), hinge, swell)
    excess, u = _mean(*(np.concatenate([getattr(one, name) for one in told]) for name in ("excess", "u", "weight")))
    best = hinge if hinge.best.square <= swell.best.square else swell
    start, u_start = _mean(hinge.shapes, np.zeros(hinge.shapes.size), hinge.weight)
    cold, hot = span_of(problem, best.best)
    why = _why_no_start(hinge, swell, start=start, u=u_start, cold=cold, hot=hot)
    return Growth(best.best, best.shape, excess, u, None if why else start, None if why else u_start, why)


def _best_of(problem: Problem, near: Found, grows: Shape) -> Found:
    begin = fit_from(problem, hints(problem, near, grows)[0].value, grows, fixed=(SHAPE,))
    return fit_from(problem, begin.value, grows)


def _about(problem: Problem, best: Found, grows: Shape, least: Found) -> _Family:
    """Fits with the shape held at values over its whole range, close together where they fit."""
    low, high = grows.bounds
    near = float(best.value[SHAPE]) + min(float(best.u[SHAPE]), 0.1 * (high - low)) * _NODES
    fits, moves = dict[float, _Held](), moves_of_coil(problem, best.value, best.coil_celsius)

    def fit_at(shape: float) -> None:
        fits[shape] = _held_at(problem, best, moves, grows, shape)

    for shape in np.unique(np.concatenate([np.clip(near, low, high), np.linspace(low, high, _WIDE)])):
        fit_at(float(shape))
    for _ in range(_MOST_SPLITS):
        between = _worth_a_split(fits, least)
        if between is None:
            break
        fit_at(between)
    return _family(best, grows, least, {shape: fits[shape] for shape in sorted(fits)})


def _held_at(problem: Problem, best: Found, moves: Array, grows: Shape, shape: float) -> _Held:
    """The fit with the shape held; lag and start move so little that the coil answers in proportion."""
    free, weight = free_places(problem, grows, (SHAPE,)), problem.blocks.weight
    prior, held = prior_of(problem, free), [START, LAG]
    value, celsius = best.value.copy(), best.coil_celsius
    value[SHAPE] = shape
    for _ in range(_MOVES):
        residual = problem.blocks.ohm - model_ohm(problem, value, celsius, grows)
        columns = jacobian(problem, value, celsius, grows, moves)[:, free]
        normal, scale = normal_of(columns, weight, prior)
        downhill = (columns.T @ (weight * residual) - prior * value[free]) / scale
        value[free] += np.linalg.solve(normal, downhill) / scale
        celsius = best.coil_celsius + moves @ (value[held] - best.value[held])
    residual = problem.blocks.ohm - model_ohm(problem, value, celsius, grows)
    at = int(np.flatnonzero(free == GROWN)[0])
    unit = float(np.linalg.inv(normal)[at, at]) / float(scale[at]) ** 2
    hottest = float(celsius[weight > 0].max())
    return _Held(float(value[GROWN]), unit, square_of(problem, value, residual), hottest)


def _chi(fits: dict[float, _Held], least: Found) -> Array:
    """Chi squared of each above the least, in order of shape."""
    return np.array([min((fits[shape].square - least.square) / least.variance, 1400.0) for shape in sorted(fits)])


def _worth_a_split(fits: dict[float, _Held], least: Found) -> float | None:
    """A shape between the two neighbours with the most weight between them, unless they are much alike."""
    shapes, chi = np.array(sorted(fits)), _chi(fits, least)
    weight = np.exp(-0.5 * (chi - chi.min()))
    mass = np.diff(shapes) * np.maximum(weight[1:], weight[:-1])
    mass[np.abs(np.diff(chi)) < _ALIKE] = 0.0
    at = int(np.argmax(mass))
    total = float(np.sum(_widths(shapes) * weight))
    return float(0.5 * (shapes[at] + shapes[at + 1])) if mass[at] > _MASS * total else None


def _family(best: Found, grows: Shape, least: Found, fits: dict[float, _Held]) -> _Family:
    shapes = np.array(list(fits))
    weight = np.exp(-0.5 * _chi(fits, least)) * _widths(shapes) * grows.likely(shapes)
    excess, u_excess = np.array([_excess(grows, shape, fit, least) for shape, fit in fits.items()]).T
    weight[excess <= 0] = 0.0
    square = np.array([fit.square for fit in fits.values()])
    return _Family(grows, best, shapes, square, excess, u_excess, weight)


def _straight(hinge: _Family, least: Found) -> _Family:
    """The same straight from the coldest on: one shape that is as likely beforehand as all later starts together."""
    chi = (hinge.square[:1] - least.square) / least.variance
    weight = np.where(hinge.excess[:1] > 0, np.exp(-0.5 * np.minimum(chi, 1400.0)), 0.0)
    first = (hinge.shapes[:1], hinge.square[:1], hinge.excess[:1], hinge.u[:1])
    return _Family(hinge.shape, hinge.best, *first, weight)


def _widths(nodes: Array) -> Array:
    """The range each node stands for."""
    if nodes.size == 1:
        return np.ones(1)
    edges = np.concatenate((nodes[:1], 0.5 * (nodes[1:] + nodes[:-1]), nodes[-1:]))
    widths: Array = np.diff(edges)
    return widths


def _excess(grows: Shape, shape: float, held: _Held, least: Found) -> tuple[float, float]:
    """What grew at the hottest, with its standard uncertainty at this shape [ohm]."""
    share = float(grows.height(np.array([held.hottest_celsius]), shape)[0])
    excess, u = share * held.grown_ohm, share * float(np.sqrt(held.unit_variance * least.variance))
    if isinstance(grows, Swell) and shape >= _BENDS_CLEARLY:
        # an exponential rise may have begun below the coldest: the middle of both, half apart as a rectangle
        below = excess / float(np.expm1(shape))
        return excess + 0.5 * below, float(np.hypot(u, below * 12**-0.5))
    return excess, u


def _mean(values: Array, u: Array, weight: Array) -> tuple[float, float]:
    """Mean and standard deviation of a mixture."""
    if float(weight.sum()) <= 0:
        weight = np.ones_like(values)
    middle = float(np.average(values, weights=weight))
    return middle, float(np.average(u**2 + (values - middle) ** 2, weights=weight)) ** 0.5


def _why_no_start(hinge: _Family, swell: _Family, *, start: float, u: float, cold: float, hot: float) -> str:
    odds = float(hinge.weight.sum()) / max(float(swell.weight.sum()), 1e-300)
    if start - _CLEAR_OF_COLDEST * u <= cold + _LEAST_COLD_PART * (hot - cold):
        return "It grows from the coldest reading on: where it starts lies outside this run."
    if odds < 1.0 / _CLEARLY:
        return "It grows faster and faster, without a temperature at which it starts."
    if odds < _CLEARLY:
        return "Whether it starts at one temperature or grows faster and faster cannot be told from this run."
    return ""
