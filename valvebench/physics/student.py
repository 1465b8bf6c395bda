"""Student's distribution for single numbers, with nothing but `math`: a window or a command waits for no library."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import Final

_SQRT_PI: Final = math.sqrt(math.pi)
_SQRT_HALF: Final = math.sqrt(0.5)
_NORMAL_DOF: Final = 1e6
_LARGE: Final = 100.0
_SMALLEST: Final = 1e-300
_SAME: Final = 1e-14
_NEAR: Final = 1e-9  # the next step of Newton would be the square of this
_MOST_TERMS: Final = 10_000
_MOST_STEPS: Final = 60


def t_cdf(t: float, dof: float) -> float:
    """Chance of a value below `t` with `dof` degrees of freedom.  NaN in, NaN out.

    Source
    ------
    Abramowitz and Stegun 26.7.1 with 26.5.2 (incomplete beta function); from memory, held against scipy by a test.
    """
    if math.isinf(t * t):
        return 1.0 if t > 0 else 0.0
    beyond = _beyond(abs(t), dof)
    return 1.0 - beyond if t > 0 else beyond


def _beyond(t: float, dof: float) -> float:
    """Chance of a value above `t`, which is not negative: half of I(x; dof/2, 1/2) with x = dof/(dof + t^2)."""
    if dof > _NORMAL_DOF:
        # Abramowitz and Stegun 26.7.8, from memory; its error falls with the square of the degrees of freedom.
        return 0.5 * math.erfc(_SQRT_HALF * t * (1.0 - 0.25 / dof) / math.sqrt(1.0 + 0.5 * t * t / dof))
    a, b = 0.5 * dof, 0.5
    rest = t * t / (dof + t * t)
    x = dof / (dof + t * t)
    front = math.exp(-a * math.log1p(t * t / dof)) * math.sqrt(rest) * _gamma_ratio(a) / _SQRT_PI
    if x < (a + 1.0) / (a + b + 2.0):
        return 0.5 * front * _fraction(a, b, x) / a
    return 0.5 - 0.5 * front * _fraction(b, a, rest) / b


def _gamma_ratio(a: float) -> float:
    """G(a + 1/2) / G(a); far out by its series, because the logarithms would cancel there."""
    if a < _LARGE:
        return math.gamma(a + 0.5) / math.gamma(a)
    # Abramowitz and Stegun 6.1.47, from memory.
    terms = (1.0, -1 / 8, 1 / 128, 5 / 1024, -21 / 32768, -399 / 262144)
    return math.sqrt(a) * sum(term / a**power for power, term in enumerate(terms))


def _fraction(a: float, b: float, x: float) -> float:
    """The continued fraction of the incomplete beta function (DLMF 8.17.22, from memory), by Lentz's rule."""
    value, c, d = 1.0, 1.0, 0.0
    for term in range(1, _MOST_TERMS):
        m, is_odd = divmod(term, 2)
        up = -(a + m) * (a + b + m) if is_odd else m * (b - m)
        step = up * x / ((a + term - 1) * (a + term))
        d = 1.0 / ((1.0 + step * d) or _SMALLEST)
        c = (1.0 + step / c) or _SMALLEST
        value *= c * d
        if not abs(c * d - 1.0) > _SAME:  # so that NaN ends it too
            break
    return 1.0 / value


@lru_cache(maxsize=4096)
def t_quantile(probability: float, dof: float) -> float:
    """The value below which a share `probability` lies, between 0 and 1.

    Source
    ------
    The root of `t_cdf` by Newton's rule.
    """
    if probability < 0.5:
        return -t_quantile(1.0 - probability, dof)
    beyond = 1.0 - probability
    normal = _root(beyond, 0.0, _normal_beyond, _normal_density)
    return _root(beyond, normal, lambda t: _beyond(t, dof), lambda t: _density(t, dof))


def _root(beyond: float, t: float, chance: Callable[[float], float], density: Callable[[float], float]) -> float:
    """Where `chance` has fallen to `beyond`: right of nought it only flattens, so steps from the left never pass it."""
    for _ in range(_MOST_STEPS):
        step = (chance(t) - beyond) / density(t)
        t += step
        if abs(step) <= _NEAR * t:
            break
    return t


def _normal_beyond(z: float) -> float:
    return 0.5 * math.erfc(z * _SQRT_HALF)


def _normal_density(z: float) -> float:
    return math.exp(-0.5 * z * z) * _SQRT_HALF / _SQRT_PI


def _density(t: float, dof: float) -> float:
    return _gamma_ratio(0.5 * dof) / math.sqrt(dof * math.pi) * math.exp(-0.5 * (dof + 1) * math.log1p(t * t / dof))
