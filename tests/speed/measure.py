"""Two things timed by turns in one run; what counts is the median of the ratios of neighbours."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Sequence
from typing import NamedTuple

Figures = dict[str, float]
"""What one run took: `cpu` and `wall`, in seconds."""
PAIRS = 9


class Row(NamedTuple):
    """One line of the table; times in milliseconds, a limit on the ratio where there is one."""

    name: str
    ours_ms: float
    bare_ms: float
    ratio: float
    limit: float | None = None
    at_least: bool = False
    note: str = ""

    @property
    def verdict(self) -> str:
        if self.limit is None:
            return ""
        is_kept = self.ratio >= self.limit if self.at_least else self.ratio <= self.limit
        return "kept" if is_kept else "MISSED"


def timed(act: Callable[[], object]) -> Callable[[], Figures]:
    """The same with its time taken; what it returned is thrown away."""

    def run() -> Figures:
        wall, cpu = time.perf_counter(), time.process_time()
        act()
        return {"cpu": time.process_time() - cpu, "wall": time.perf_counter() - wall}

    return run


def interleaved(
    ours: Callable[[], Figures], bare: Callable[[], Figures], *, pairs: int = PAIRS
) -> list[tuple[Figures, Figures]]:
    """Run both by turns, each first every other time; one pair before that does not count."""
    ours(), bare()
    found = []
    for number in range(pairs):
        if number % 2:
            theirs = bare()
            found.append((ours(), theirs))
        else:
            found.append((ours(), bare()))
    return found


def row(
    name: str,
    pairs: Sequence[tuple[Figures, Figures]],
    *,
    figure: str,
    limit: float | None = None,
    scale: float = 1.0,
    at_least: bool = False,
    note: str = "",
) -> Row:
    """Medians of both and of the ratio; `scale` brings the first to the amount of work of the second."""
    ours = [one[figure] * scale for one, _ in pairs]
    bare = [other[figure] for _, other in pairs]
    ratios = [b / a if at_least else a / b for a, b in zip(ours, bare, strict=True)]
    return Row(
        name=f"{name} ({figure})",
        ours_ms=1000 * statistics.median(ours),
        bare_ms=1000 * statistics.median(bare),
        ratio=statistics.median(ratios),
        limit=limit,
        at_least=at_least,
        note=note,
    )


def calibration(clock: Callable[[], float] = time.perf_counter) -> float:
    """A loop of plain Python [ms by that clock, s]: how quick this machine is at this moment."""
    best = float("inf")
    for _ in range(5):
        start = clock()
        total = 0
        for number in range(1_000_000):
            total += number * number
        best = min(best, clock() - start)
    return 1000 * best
