"""Tolerance limits of a normal distribution: a band that holds a share of all future values, with confidence."""

from __future__ import annotations

import math
from statistics import NormalDist

from valvebench.physics.student import t_quantile


def howe_k2(n: int, *, coverage: float, confidence: float) -> float:
    """Standard deviations either side of the mean of `n` values (two or more) that hold a share `coverage`.

    Without Guenther's correction; at 0.9 and 0.95 within 1 % of the exact factor from three values on.

    Source
    ------
    Howe (1969), as in NIST/SEMATECH e-Handbook 7.2.6.3.
    """
    from scipy.special import chdtri

    z = NormalDist().inv_cdf(0.5 * (1.0 + coverage))
    chi2 = float(chdtri(n - 1, confidence))  # exceeded with the confidence
    return z * math.sqrt((n - 1) * (1.0 + 1.0 / n) / chi2)


def exact_k1(n: int, *, coverage: float, confidence: float) -> float:
    """The same where one limit alone is asked for, by the noncentral t distribution.

    Source
    ------
    ISO 16269-6, from memory; NIST/SEMATECH e-Handbook 7.2.6.3 beside Natrella's approximation.
    """
    from scipy.special import nctdtrit

    far = NormalDist().inv_cdf(coverage) * math.sqrt(n)
    return float(nctdtrit(n - 1, far, confidence)) / math.sqrt(n)


def mean_half_width(n: int, sd: float, *, confidence: float) -> float:
    """Half of the confidence interval of the mean of `n` values, in their unit.

    Source
    ------
    NIST/SEMATECH e-Handbook 1.3.5.2: t s / sqrt(n).
    """
    return t_quantile(0.5 * (1.0 + confidence), n - 1) * sd / math.sqrt(n)
