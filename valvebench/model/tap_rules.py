"""What the taps of a variant file must satisfy: names once, windows in order, one window for each state and warmth."""

from __future__ import annotations

import math
from collections.abc import Iterator

from valvebench.model.refit_rules import in_order
from valvebench.model.strict_json import Path
from valvebench.model.validate import Finding, finding
from valvebench.model.variant import Tap, TapWindow, Variant


def tap_findings(variant: Variant) -> Iterator[Finding]:
    """Everything wrong with the taps."""
    for i, tap in enumerate(variant.taps):
        for j, window in enumerate(tap.windows):
            yield from _window_findings(tap, j, window, ("taps", i, "windows", j))


def _window_findings(tap: Tap, place: int, window: TapWindow, path: Path) -> Iterator[Finding]:
    yield from in_order((*path, "low_kpa"), window.low_kpa, window.high_kpa)
    yield from in_order((*path, "low_celsius"), window.low_celsius, window.high_celsius)
    if any(_overlap(window, other) for other in tap.windows[:place]):
        expected = "one window for each state and fluid temperature"
        yield finding((*path, "state"), f"a second window for {window.state!r}", expected)


def _overlap(a: TapWindow, b: TapWindow) -> bool:
    """Whether both hold at some temperature; ranges that only touch do not."""
    if a.state.strip().casefold() != b.state.strip().casefold():
        return False
    (a_low, a_high), (b_low, b_high) = _range(a), _range(b)
    return a_low < b_high and b_low < a_high


def _range(window: TapWindow) -> tuple[float, float]:
    low = -math.inf if window.low_celsius is None else window.low_celsius
    return low, math.inf if window.high_celsius is None else window.high_celsius
