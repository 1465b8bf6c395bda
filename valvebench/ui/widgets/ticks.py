"""Round numbers for an axis, and their words."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

_STEPS: Final = (1.0, 2.0, 5.0, 10.0)
_SUFFIXES: Final = ((1e6, " M"), (1e3, " k"))
_SUFFIX_FROM: Final = 1e4


def nice_step(span: float, most: int) -> float:
    """The smallest round step that cuts `span` into at most `most` pieces."""
    raw = span / max(1, most)
    power = 10.0 ** math.floor(math.log10(raw))
    return next(step * power for step in _STEPS if step * power >= raw * (1 - 1e-9))


@lru_cache(maxsize=64)
def nice_ticks(low: float, high: float, most: int = 7) -> tuple[float, ...]:
    """Round numbers from `low` to `high`, at most `most` + 1 of them."""
    if not (math.isfinite(low) and math.isfinite(high) and high > low):
        return ()
    step = nice_step(high - low, most)
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(count * step for count in range(first, last + 1))


@lru_cache(maxsize=64)
def tick_texts(ticks: tuple[float, ...]) -> tuple[str, ...]:
    """The ticks as words, all with the same decimals and the same k or M."""
    if not ticks:
        return ()
    largest = max(abs(tick) for tick in ticks)
    divisor, suffix = next(((size, word) for size, word in _SUFFIXES if largest >= max(size, _SUFFIX_FROM)), (1.0, ""))
    decimals = _decimals(ticks, divisor)
    return tuple(_tick_text(tick / divisor, decimals, suffix) for tick in ticks)


def _tick_text(number: float, decimals: int, suffix: str) -> str:
    if number == 0:
        return "0"
    return f"{number:.{decimals}f}{suffix}".replace("-", "\N{MINUS SIGN}")


def _decimals(ticks: tuple[float, ...], divisor: float) -> int:
    for decimals in range(10):
        if all(
            math.isclose(round(tick / divisor, decimals), tick / divisor, rel_tol=1e-9, abs_tol=1e-15) for tick in ticks
        ):
            return decimals
    return 10
