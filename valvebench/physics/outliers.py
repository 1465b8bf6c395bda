"""How odd one value is among others: the modified z, and Grubbs' test for the single worst."""

from __future__ import annotations

import math
from typing import Final

from valvebench.physics.student import t_quantile

ODD_FROM: Final = 3.5
"""Iglewicz and Hoaglin (1993): flag a modified z above 3.5."""
NORMAL_MAD: Final = 0.6745
"""Median deviation of a normal distribution over its standard deviation."""


def modified_z(x: float, middle: float, spread: float) -> float:
    """How many robust standard deviations `x` lies from the median `middle`; `spread` is the median deviation.

    Source
    ------
    Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993).
    """
    return NORMAL_MAD * (x - middle) / spread


def highest_z(n: int) -> float:
    """The most that (x - mean)/sd can be among `n` values: below 11 of them none can lie 3 from the mean.

    Source
    ------
    Shiffler, Maximum z scores and outliers (1988), from memory.
    """
    return (n - 1) / math.sqrt(n)


def stray_from(others: int, n: int, *, alpha: float = 0.001) -> float:
    """How many standard deviations of the others one of `n` normal values passes, any of them, with chance `alpha`.

    Source
    ------
    Student's t for one value that did not count in mean and spread of the `others`, shared among `n` (Bonferroni).
    """
    return t_quantile(1.0 - alpha / (2 * n), others - 1) * math.sqrt(1.0 + 1.0 / others)


def grubbs_critical(n: int, *, alpha: float = 0.05) -> float:
    """What the largest |x - mean|/sd of `n` normal values (three or more) passes with chance `alpha`, two-sided.

    Source
    ------
    Grubbs (1969), as in NIST/SEMATECH e-Handbook 1.3.5.17; from memory, its table is held against by a test.
    """
    t = t_quantile(1.0 - alpha / (2 * n), n - 2)
    return highest_z(n) * math.sqrt(t * t / (n - 2 + t * t))


def share_interval(hits: int, n: int, *, confidence: float) -> tuple[float, float]:
    """The exact interval of the share that `hits` of `n` (one or more) stand for; never narrower than it says.

    Source
    ------
    Clopper and Pearson (1934), by the quantiles of the beta distribution.
    """
    from scipy.special import betaincinv

    tail = 0.5 * (1.0 - confidence)
    low = float(betaincinv(hits, n - hits + 1, tail)) if hits else 0.0
    high = float(betaincinv(hits + 1, n - hits, 1.0 - tail)) if hits < n else 1.0
    return low, high
