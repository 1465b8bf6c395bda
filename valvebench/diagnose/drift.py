"""Whether values over time have moved: a meter by its check resistor, a supplier by new parts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from valvebench.physics.control_charts import Cusum, Individuals, cusum, individuals

FIRST: Final = 20
"""Values that say how it was; from fewer the target itself is too unsure."""
_SLACK_SDS: Final = 0.75
_LIMIT_SDS: Final = 10.0
"""No source: wider than the textbook's 0.5 and 5, for middle and spread come from twenty values.  By our study one in
25 steady rows of 100 later values is then said to drift, with the textbook's far more."""


class Drift(NamedTuple):
    """A chart of all values, in their unit; `sums` and `moved_at` are None where nothing can be told of a drift.

    `chart` has the middle and spread of the first twenty; `outside` are places of single values beyond its limits,
    `moved_at` the place where the sums passed the limit, `is_up` the way it went.
    """

    n: int
    chart: Individuals | None
    outside: tuple[int, ...]
    sums: Cusum | None
    sum_limit: float | None
    moved_at: int | None
    is_up: bool | None
    words: str


def drift_of(values: Sequence[float], *, least_sd: float = 0.0) -> Drift:
    """Hold later values against the first twenty.

    Parameters
    ----------
    values : numbers in the order of time, in one unit
    least_sd : what the spread is taken for at least: the step of the meter, in the same unit

    Source
    ------
    Individuals chart and tabular CUSUM, NIST/SEMATECH e-Handbook 6.3.2.2 and 6.3.2.3.
    """
    if len(values) <= FIRST:
        what = f"{len(values)} values: whether they drift is told from {FIRST + 1} on."
        return Drift(len(values), None, (), None, None, None, None, what)
    chart = individuals(values[:FIRST], least_sd=least_sd)
    if chart.sd == 0:
        what = "The first values are all equal and no step is known: whether they drift cannot be told."
        return Drift(len(values), None, (), None, None, None, None, what)
    limit = _LIMIT_SDS * chart.sd
    sums = cusum(values[FIRST:], target=chart.middle, slack=_SLACK_SDS * chart.sd, limit=limit)
    away = [abs(value - chart.middle) - 3.0 * chart.sd for value in values]
    moved_at = FIRST + sums.first if sums.first is not None else None
    is_up = sums.high[sums.first] > sums.low[sums.first] if sums.first is not None else None
    return Drift(
        n=len(values),
        chart=chart,
        outside=tuple(place for place, far in enumerate(away) if far > 0),
        sums=sums,
        sum_limit=limit,
        moved_at=moved_at,
        is_up=is_up,
        words=_words(len(values), moved_at, is_up=is_up),
    )


def _words(n: int, moved_at: int | None, *, is_up: bool | None) -> str:
    if moved_at is None:
        return f"No drift shows in {n} values."
    way = "up" if is_up else "down"
    return (
        f"Value {moved_at + 1} of {n} is where a drift {way} shows: since then they no longer lie as the first {FIRST}."
    )
