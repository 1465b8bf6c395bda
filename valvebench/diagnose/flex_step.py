"""One step weighed against the drift and the noise about it, both unknown and the noise with a memory."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_REACH: Final = 60
"""Readings before and after a step that say how the level drifts there."""
_BENDS: Final = 3
"""Level, slope and bend of the drift."""
_MEMORIES: Final = (0.0, 0.2, 0.4, 0.55, 0.7, 0.8, 0.87, 0.92, 0.96, 0.99)
_FAR_FROM_EDGE: Final = 3


class Weighed(NamedTuple):
    """A step: first reading after it, height and standard uncertainty [ohm], and how much likelier it makes the rest.

    `likelier` is twice the difference of the logarithms of the likelihoods with and without it.
    """

    sample: int
    ohm: float
    u_ohm: float
    likelier: float


class _Fit(NamedTuple):
    unlikely: float
    last: float
    u: float


def best_step(level: Array, sample: int, floor_ohm: float) -> Weighed | None:
    """The likeliest of the steps that begin at a reading of a series [ohm] (n,) or beside it.

    Parameters
    ----------
    level : readings in their order [ohm], (n,)
    sample : first reading after the step, about
    floor_ohm : deviation of the noise at least, as the display hides what is finer [ohm]

    Source
    ------
    Generalised least squares with a first-order autoregressive noise, by maximum likelihood with and
    without the step; both may have any memory, so that noise that wanders is not taken for a step.
    """
    weighed = [step_at(level, at, floor_ohm) for at in (sample - 1, sample, sample + 1)]
    return max(filter(None, weighed), key=lambda one: one.likelier, default=None)


def step_at(level: Array, at: int, floor_ohm: float) -> Weighed | None:
    """The step before one reading of a series [ohm] (n,); None where too few readings stand on a side."""
    if not _FAR_FROM_EDGE <= at <= level.size - _FAR_FROM_EDGE:
        return None
    first, last = max(0, at - _REACH), min(level.size, at + _REACH)
    about = level[first:last] - level[at]
    time = np.linspace(-1.0, 1.0, about.size)
    drift = np.stack([time**power for power in range(_BENDS)], axis=1)
    with_step: Array = np.concatenate((drift, (np.arange(first, last)[:, None] >= at).astype(float)), axis=1)
    without, found = _likeliest(about, drift, floor_ohm), _likeliest(about, with_step, floor_ohm)
    return Weighed(at, found.last, found.u, without.unlikely - found.unlikely)


def _likeliest(about: Array, terms: Array, floor_ohm: float) -> _Fit:
    return min((_fitted(about, terms, memory, floor_ohm) for memory in _MEMORIES), key=lambda fit: fit.unlikely)


def _fitted(about: Array, terms: Array, memory: float, floor_ohm: float) -> _Fit:
    """How unlikely the readings are with noise of this memory, and the last term with its standard uncertainty."""
    fresh = math.sqrt(1.0 - memory**2)
    y = np.concatenate((fresh * about[:1], about[1:] - memory * about[:-1]))
    x = np.concatenate((fresh * terms[:1], terms[1:] - memory * terms[:-1]))
    inverse = np.linalg.inv(x.T @ x)
    found = inverse @ (x.T @ y)
    rest = y - x @ found
    dof = max(1, y.size - terms.shape[1])
    variance = max(float(rest @ rest) / y.size, floor_ohm**2)
    unlikely = y.size * math.log(variance) - 2.0 * math.log(fresh)
    return _Fit(unlikely, float(found[-1]), math.sqrt(variance * y.size / dof * float(inverse[-1, -1])))
