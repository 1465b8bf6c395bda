"""Which stretch of numbers a ruler shows; pure arithmetic, for painting only (no verdict is formed here)."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

import msgspec

MARGIN_SHARE: Final = 0.5
"""Room beside the band, as a share of its width."""
WIDEST_SHARE: Final = 4.0
"""The ruler reaches at most this many band widths past a limit; beyond it a reading stands at the edge."""


class Scale(msgspec.Struct, frozen=True, kw_only=True):
    """The numbers at the two ends of a ruler."""

    low: float
    high: float

    def share(self, value: float) -> float:
        """Where a value stands: 0 at the left end, 1 at the right end, cut at both."""
        return min(max((value - self.low) / (self.high - self.low), 0.0), 1.0)

    def holds(self, value: float) -> bool:
        """Whether a value stands between the ends."""
        return self.low <= value <= self.high


def scale_for(low: float | None, high: float | None, values: Iterable[float]) -> Scale | None:
    """The stretch that shows the limits and, within reason, the values; None when there is nothing to show."""
    seen = tuple(values)
    posts = tuple(limit for limit in (low, high) if limit is not None)
    if posts:
        return _around_posts(posts, seen, keeps_zero=min((*posts, *seen)) >= 0)
    return _around_values(seen) if seen else None


def _around_posts(posts: tuple[float, ...], seen: tuple[float, ...], *, keeps_zero: bool) -> Scale:
    width = _width(posts)
    left = min((min(posts) - MARGIN_SHARE * width, *(value - 0.15 * width for value in seen)))
    right = max((max(posts) + MARGIN_SHARE * width, *(value + 0.15 * width for value in seen)))
    left = max(left, min(posts) - WIDEST_SHARE * width)
    right = min(right, max(posts) + WIDEST_SHARE * width)
    return Scale(low=max(left, 0.0) if keeps_zero else left, high=right)


def _width(posts: tuple[float, ...]) -> float:
    between = max(posts) - min(posts)
    return between or abs(posts[0]) or 1.0


def _around_values(seen: tuple[float, ...]) -> Scale:
    spread = max(seen) - min(seen)
    room = max(spread, 0.1 * max(abs(value) for value in seen)) or 1.0
    left = min(seen) - room
    return Scale(low=max(left, 0.0) if min(seen) >= 0 else left, high=max(seen) + room)
