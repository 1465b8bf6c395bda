"""The sentences about a band learned from the archive."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from valvebench.diagnose.band_words import MOST_NAMED
from valvebench.diagnose.learned import Ask, Left

NO_REFERENCE: Final = (
    "Its values were read at whatever temperature it had, and no law carries them to one: no band is told."
)
LEFT_TEXT: Final = MappingProxyType(
    {
        Left.REVISED: "a later session revises it",
        Left.AGAIN: "the same serial was on the bench again later",
        Left.CAME_BACK: "it came back",
        Left.TWO_VALUES: "it has values that cannot be of one coil",
        Left.NOT_FITTED: "it was not fitted",
        Left.NOT_TOLD: "nobody said that it was fitted and did not come back",
        Left.TOO_SHORT: "it did not run long enough, or nobody said how long",
    }
)


def good_means(ask: Ask) -> str:
    """What makes a body a good one, in one line."""
    or_km = f" or {ask.km:g} km" if ask.km is not None else ""
    new = f"; new bodies of {ask.new_from} by their bench check" if ask.new_from else ""
    return f"Good means: fitted, and not back after {ask.months:g} months{or_km}{new}; never merely passed."


def jobs_text(jobs: Sequence[str]) -> str:
    """Jobs by number, the first ten."""
    more = f" and {len(jobs) - MOST_NAMED} more" if len(jobs) > MOST_NAMED else ""
    return f"Job {jobs[0]}" if len(jobs) == 1 else f"Jobs {', '.join(jobs[:MOST_NAMED])}{more}"


def left_out(jobs: Sequence[str], used: int) -> str:
    """Which values the limits do not count."""
    lies = "lies" if len(jobs) == 1 else "lie"
    return f"{jobs_text(jobs)} {lies} far off (modified z above 5): left out, the band is from the other {used}."


def flagged_counted(jobs: Sequence[str]) -> str:
    """Which odd values widen the limits."""
    is_are = "is" if len(jobs) == 1 else "are"
    return f"{jobs_text(jobs)} {is_are} odd (modified z above 3.5), and counted: the band is wider for it."


def none_good(others: int) -> str:
    """Readings, but no outcome to learn from."""
    return f"None of {others} {'body' if others == 1 else 'bodies'} is known to have done well: no band is told."


def failed_and_did_well(jobs: Sequence[str]) -> str:
    """What was judged outside limits and served all the same."""
    return f"{jobs_text(jobs)} did well though the last reading was outside the limits then: they may be too narrow."


def typical_doubt(u_ohm: float, sd_ohm: float) -> str:
    """The meter hides how far bodies differ."""
    return (
        f"One reading is known to \u00b1{2 * u_ohm:.2g} ohm, and the values scatter by only {sd_ohm:.2g} ohm (standard "
        "deviation): what all readings share, such as the meter, may shift the whole band."
    )
