"""The coverage factor of a difference that two readings of one meter dominate: a trapezoid, not a bell."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from valvebench.physics.uncertainty import COVERAGE, COVERAGE_5_PERCENT_RISK, DOMINANT_RATIO, Doubt, Line, combine


def combine_difference(lines: Sequence[Line]) -> Doubt:
    """Combine independent lines of a difference [ohm]; where two rectangles dominate, by their trapezoid.

    Parameters
    ----------
    lines : standard uncertainties, scalar [ohm]

    Returns
    -------
    Doubt
        As `combine`; k for 95.45 % and 90 % are those of the trapezoid where the two largest
        rectangles together exceed 3.33 times all others, and neither alone does.

    Source
    ------
    EA-4/02 M:2022, example S10 (two rectangles dominate); the ratio is that of `combine`.
    """
    doubt = combine(lines)
    widths = sorted((float(line.u_ohm) for line in lines if line.is_rectangular), reverse=True)
    if bool(doubt.is_dominated) or len(widths) < 2:
        return doubt
    two = widths[0] ** 2 + widths[1] ** 2
    rest = max(0.0, float(doubt.u) ** 2 - two)
    if not two > DOMINANT_RATIO**2 * rest:
        return doubt
    shape = (widths[0] - widths[1]) / (widths[0] + widths[1])
    return doubt._replace(k95=trapezoid_k(shape, COVERAGE), k90=trapezoid_k(shape, COVERAGE_5_PERCENT_RISK))


def trapezoid_k(shape: float, coverage: float) -> float:
    """The factor that expands the standard uncertainty of a symmetric trapezoid.

    Parameters
    ----------
    shape : scalar
        Top width over base width: 0 for a triangle (equal rectangles), 1 for a rectangle.
    coverage : scalar
        Two-sided, between 0 and 1.

    Returns
    -------
    float

    Source
    ------
    EA-4/02 M:2022, example S10: k = (1 - sqrt((1-p)(1-shape^2))) / sqrt((1+shape^2)/6); where the
    interval ends on the flat top, k = p (1+shape)/2 over the same root (area under the density).
    """
    unit = sqrt((1.0 + shape * shape) / 6.0)
    if (1.0 - coverage) * (1.0 + shape) <= 1.0 - shape:
        return (1.0 - sqrt((1.0 - coverage) * (1.0 - shape * shape))) / unit
    return 0.5 * coverage * (1.0 + shape) / unit
