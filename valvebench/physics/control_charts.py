"""Whether a row of values over time stays as it was: individuals with moving ranges, and the cumulated sums."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from statistics import fmean
from typing import Final, NamedTuple

RANGE_OVER_SD: Final = 2.0 / math.sqrt(math.pi)
"""Mean range of two normal values over their standard deviation: 1.128 in every table of d2."""
MOST_RANGE_OVER_MEAN: Final = 1.0 + 3.0 * math.sqrt(2.0 - 4.0 / math.pi) / RANGE_OVER_SD
"""Upper limit of the moving range over its mean: 3.267 in every table of D4."""


class Individuals(NamedTuple):
    """A chart of single values: middle and limits of the values, mean and limit of the ranges, in their unit."""

    middle: float
    sd: float
    low: float
    high: float
    mean_range: float
    high_range: float


class Cusum(NamedTuple):
    """Sums above and below the target after each value, and the first value past the limit; None: none is."""

    high: tuple[float, ...]
    low: tuple[float, ...]
    first: int | None


def individuals(values: Sequence[float], *, least_sd: float = 0.0) -> Individuals:
    """Limits of single values by their moving ranges, which a slow drift spoils least.

    Parameters
    ----------
    values : numbers, two or more, in the order of time
    least_sd : what the standard deviation is taken for at least, as where the step of a meter hides it

    Source
    ------
    NIST/SEMATECH e-Handbook 6.3.2.2.
    """
    ranges = [abs(later - earlier) for earlier, later in itertools.pairwise(values)]
    middle, mean_range = fmean(values), fmean(ranges)
    sd = max(mean_range / RANGE_OVER_SD, least_sd)
    return Individuals(
        middle=middle,
        sd=sd,
        low=middle - 3.0 * sd,
        high=middle + 3.0 * sd,
        mean_range=mean_range,
        high_range=MOST_RANGE_OVER_MEAN * RANGE_OVER_SD * sd,
    )


def cusum(values: Sequence[float], *, target: float, slack: float, limit: float) -> Cusum:
    """Cumulated sums of what lies more than `slack` from `target`; all in the unit of the values.

    Source
    ------
    NIST/SEMATECH e-Handbook 6.3.2.3, the tabular form; both sums begin at nought.
    """
    high, low = [], []
    above = below = 0.0
    for value in values:
        above = max(0.0, above + value - target - slack)
        below = max(0.0, below + target - slack - value)
        high.append(above)
        low.append(below)
    first = next((n for n, pair in enumerate(zip(high, low, strict=True)) if max(pair) > limit), None)
    return Cusum(tuple(high), tuple(low), first)
