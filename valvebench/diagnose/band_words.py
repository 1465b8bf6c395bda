"""The sentences about a learned band."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

ALL_EQUAL: Final = "All values are equal: their step hides how far bodies differ, so no band can be told."
MOST_NAMED: Final = 10
"""Longer lists stand in the JSON alone."""
HALF_EQUAL: Final = "More than half of the values are equal, so no odd one can be told by the median deviation."


def too_few(n: int, fewest: int) -> str:
    """Not enough values for any band."""
    return f"{n} {'value' if n == 1 else 'values'}: a band takes at least {fewest}, and ten or more to be of use."


def few(n: int) -> str:
    """Enough for a band, not for trust in its shape."""
    return f"Only {n} values: the band is wide, and a shape that is not normal would hardly show."


def too_many_strays(strays: int, n: int) -> str:
    """So many stray ones that they are a group."""
    return f"{strays} of {n} values lie too far off, a group of their own: no band is told. Two kinds of part?"


def left_out(rows: Sequence[int], used: int) -> str:
    """Which values the limits do not count."""
    lies = "lies" if len(rows) == 1 else "lie"
    return f"{rows_text(rows)} {lies} too far off for chance: left out, the band is from the other {used}."


def odd_counted(rows: Sequence[int]) -> str:
    """Which odd values widen the limits."""
    is_are = "is" if len(rows) == 1 else "are"
    return f"{rows_text(rows)} {is_are} odd, and counted: the band is wider for it. Look again for a misreading."


def grubbs_alone(row: int) -> str:
    """The one test names a value, the other does not."""
    return f"Row {row} is odd by Grubbs\u2019 test, not by the median deviation; it is counted. Look at it again."


def far_from_normal(p: float) -> str:
    """The formula behind the band does not hold."""
    return f"The values are far from normal ({_p(p)}): a band may hold fewer, or more, than it says."


def normal_but_for(p: float) -> str:
    """The odd ones alone spoil the shape."""
    return f"All values together are far from normal ({_p(p)}); without what was left out they are not."


def too_many(most: int) -> str:
    """Beyond the reach of the test for a normal shape."""
    return f"More than {most} values: whether they are normal was not tested."


def steps_show() -> str:
    """The values are coarser than they differ."""
    return "The values differ by little more than the step they were read with: the band may be too narrow."


def below_nought() -> str:
    """A limit where no value can lie."""
    return "The lower limit is below nought and no value is: too few values, or not normal."


def rows_text(rows: Sequence[int]) -> str:
    """Rows of the file, the first ten by number."""
    more = f" and {len(rows) - MOST_NAMED} more" if len(rows) > MOST_NAMED else ""
    return f"Row {rows[0]}" if len(rows) == 1 else f"Rows {', '.join(map(str, rows[:MOST_NAMED]))}{more}"


def _p(p: float) -> str:
    return "p below 0.001" if p < 0.001 else f"p = {p:.3f}"
