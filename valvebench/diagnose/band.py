"""A band from values of bodies that did well: where the next ones lie, which of them is odd, what spoils it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Final, NamedTuple

import numpy as np

from valvebench.diagnose.band_words import (
    ALL_EQUAL,
    HALF_EQUAL,
    below_nought,
    far_from_normal,
    few,
    grubbs_alone,
    left_out,
    normal_but_for,
    odd_counted,
    steps_show,
    too_few,
    too_many,
    too_many_strays,
)
from valvebench.physics.outliers import ODD_FROM, grubbs_critical, modified_z, stray_from
from valvebench.physics.tolerance import exact_k1, howe_k2, mean_half_width

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

FEWEST: Final = 3
"""Two values lie as far from their middle as each other: nothing shows whether one is odd."""
FEW: Final = 10
MOST_STRAY: Final = 10
"""One value in so many may be stray, and always one; beyond that they are a group of their own."""
FAR: Final = 0.05
_MOST_FOR_NORMALITY: Final = 5000
"""Royston's fit of the Shapiro-Wilk test reaches so far."""


class Odd(NamedTuple):
    """A value more than 3.5 robust deviations from the median, and the row of the file it stands in."""

    row: int
    value: float
    modified_z: float


class Grubbs(NamedTuple):
    """The value furthest from the mean: how far in standard deviations, what 5 % of normal sets pass, its row."""

    g: float
    critical: float
    row: int


class Normality(NamedTuple):
    """The test of Shapiro and Wilk: its W, and the chance of one as low from normal values."""

    statistic: float
    p: float


class Asked(NamedTuple):
    """Which share of the bodies the band is to hold, and with which confidence; both 0 to 1."""

    coverage: float
    confidence: float


class Band(NamedTuple):
    """What is said of a column, in its unit.

    All values count in `n` to `mad`, `grubbs` and `normality`; strays do not in `k2`, `used`, the half-width of the
    mean of those used, and the limits.  What cannot be told is None, with the reason in `warnings`.
    """

    n: int
    mean: float
    sd: float | None
    median: float
    mad: float
    k2: float | None
    low: float | None
    high: float | None
    low_alone: float | None
    high_alone: float | None
    used: int
    mean_half_width: float | None
    outliers: tuple[Odd, ...]
    grubbs: Grubbs | None
    normality: Normality | None
    warnings: tuple[str, ...]


class BandLimits(NamedTuple):
    """Factor, limits and half-width of the mean; None where there are too few values or no spread."""

    k2: float | None = None
    low: float | None = None
    high: float | None = None
    low_alone: float | None = None
    high_alone: float | None = None
    mean_half_width: float | None = None


def learn_band(values: Array, rows: Sequence[int], asked: Asked) -> Band:
    """Limits that hold a share of all bodies like these, with confidence.

    Parameters
    ----------
    values, rows : numbers (n,), one or more, in one unit, and where each stands in the file
    asked : coverage and confidence

    Source
    ------
    Tolerance limits of a normal distribution (NIST/SEMATECH e-Handbook 7.2.6.3).  An odd value counts, or good ones
    would be cut off and the confidence be less than it says; only one too far off for chance is left out.
    """
    middle = float(np.median(values))
    mad = float(np.median(np.abs(values - middle)))
    sd = spread_of(values)
    odd = _odd_ones(values, rows, middle, mad)
    strays = _strays(values, rows, odd)
    kept = values[~np.isin(rows, strays)]
    grubbs = _grubbs(values, rows, sd)
    reason = _why_not(values, strays)
    limits = BandLimits() if reason else limits_of(kept, asked)
    normality = normality_of(values, sd)
    return Band(
        n=values.size,
        mean=float(np.mean(values)),
        sd=sd,
        median=middle,
        mad=mad,
        used=kept.size,
        outliers=odd,
        grubbs=grubbs,
        normality=normality,
        warnings=_refusal(reason, normality)
        if reason
        else _warnings(kept, strays, (odd, grubbs, normality, limits), mad),
        **limits._asdict(),
    )


def spread_of(values: Array) -> float | None:
    """The standard deviation; None of fewer than two values."""
    if values.size < 2:
        return None
    return float(np.std(values, ddof=1)) if np.ptp(values) > 0 else 0.0  # equal ones, without rounding of their mean


def _odd_ones(values: Array, rows: Sequence[int], middle: float, mad: float) -> tuple[Odd, ...]:
    """None where fewer than three are there, or where more than half are equal: no spread to measure by."""
    if values.size < FEWEST or mad == 0:
        return ()
    each = (Odd(row, float(x), modified_z(float(x), middle, mad)) for row, x in zip(rows, values, strict=True))
    return tuple(one for one in each if abs(one.modified_z) > ODD_FROM)


def _strays(values: Array, rows: Sequence[int], odd: Sequence[Odd]) -> tuple[int, ...]:
    """Rows of the odd ones too far from all that are not odd for chance."""
    others = values[~np.isin(rows, [one.row for one in odd])]
    sd = spread_of(others)
    if others.size < FEWEST or not sd:
        return ()
    far = stray_from(others.size, values.size) * sd
    return tuple(one.row for one in odd if abs(one.value - float(np.mean(others))) > far)


def _grubbs(values: Array, rows: Sequence[int], sd: float | None) -> Grubbs | None:
    if values.size < FEWEST or not sd:
        return None
    away = np.abs(values - np.mean(values))
    worst = int(np.argmax(away))
    return Grubbs(float(away[worst]) / sd, grubbs_critical(values.size), rows[worst])


def normality_of(values: Array, sd: float | None) -> Normality | None:
    """The test of Shapiro and Wilk; None where it cannot be done."""
    if not FEWEST <= values.size <= _MOST_FOR_NORMALITY or not sd:
        return None
    from scipy.stats import shapiro

    found = shapiro((values - np.mean(values)) / sd)
    return Normality(float(found.statistic), float(found.pvalue))


def _why_not(values: Array, strays: Sequence[int]) -> str:
    """Why no band can be learned; empty where one can."""
    if values.size < FEWEST:
        return too_few(values.size, FEWEST)
    if np.ptp(values) == 0:
        return ALL_EQUAL
    is_group = len(strays) > max(1, values.size // MOST_STRAY)
    return too_many_strays(len(strays), values.size) if is_group else ""


def _refusal(reason: str, normality: Normality | None) -> tuple[str, ...]:
    if normality is None or normality.p >= FAR:
        return (reason,)
    return (reason, far_from_normal(normality.p))


def limits_of(kept: Array, asked: Asked) -> BandLimits:
    """Of the values that are not stray; nothing where those are too few or all equal."""
    sd, n = spread_of(kept), kept.size
    if n < FEWEST or not sd:
        return BandLimits()
    mean = float(np.mean(kept))
    k2, k1 = howe_k2(n, **asked._asdict()), exact_k1(n, **asked._asdict())
    half = mean_half_width(n, sd, confidence=asked.confidence)
    return BandLimits(k2, mean - k2 * sd, mean + k2 * sd, mean - k1 * sd, mean + k1 * sd, half)


def _warnings(
    kept: Array,
    strays: Sequence[int],
    found: tuple[tuple[Odd, ...], Grubbs | None, Normality | None, BandLimits],
    mad: float,
) -> tuple[str, ...]:
    """Everything a person has to know before the band is used."""
    odd, grubbs, normality, limits = found
    counted, rest = [one.row for one in odd if one.row not in strays], normality_of(kept, spread_of(kept))
    said = [left_out(strays, kept.size)] if strays else []
    said += [odd_counted(counted)] if counted else []
    if limits.k2 is None:
        said.append(too_few(kept.size, FEWEST) if kept.size < FEWEST else ALL_EQUAL)
    if mad == 0:
        said.append(HALF_EQUAL)
    if grubbs is not None and grubbs.g > grubbs.critical and grubbs.row not in (one.row for one in odd):
        said.append(grubbs_alone(grubbs.row))
    if rest is not None and rest.p < FAR:
        said.append(far_from_normal(rest.p))
    elif strays and normality is not None and normality.p < FAR:
        said.append(normal_but_for(normality.p))
    if kept.size > _MOST_FOR_NORMALITY:
        said.append(too_many(_MOST_FOR_NORMALITY))
    if limits.k2 is not None:
        said += doubts_of(kept, limits)
    return tuple(said)


def doubts_of(kept: Array, limits: BandLimits) -> list[str]:
    """What speaks against limits: few values, a coarse step, a limit where no value can lie."""
    said = [few(kept.size)] if kept.size < FEW else []
    if float(np.min(np.diff(np.unique(kept)))) > float(np.std(kept, ddof=1)):
        said.append(steps_show())
    if limits.low is not None and limits.low < 0 <= float(np.min(kept)):
        said.append(below_nought())
    return said
