"""Which of many values are odd among the others."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median

from valvebench.physics.outliers import ODD_FROM, modified_z


def odd_places(values: Sequence[float]) -> tuple[int, ...]:
    """Places of values more than 3.5 robust deviations from the median; none where half of them are equal.

    Source
    ------
    Iglewicz and Hoaglin (1993): see `physics.outliers`.
    """
    if not values:
        return ()
    middle = median(values)
    spread = median([abs(value - middle) for value in values])
    if not spread > 0:
        return ()
    return tuple(place for place, value in enumerate(values) if abs(modified_z(value, middle, spread)) > ODD_FROM)
