"""Openings, steps and single wild samples of a run, each told from noise that has a memory.

A step is looked for where it is, by generalised least squares on a few samples before and after.
A sum over the whole run (CUSUM) would need the level before the step, which the fit has moved.
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.heat_data import Samples

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

ARM: Final = 12
"""Samples before and after a step that are looked at; fewer where a series is short."""
_BEYOND_CHANCE: Final = 1.4
"""Standard deviations beyond the largest of mere noise: about once in hundreds of runs of any length."""
_HIDDEN: Final = 0.6
"""Standard deviations by which a step may hide before it is fitted."""
_MEMORIES: Final = (0.0, 0.25, 0.45, 0.6, 0.7, 0.8, 0.88, 0.94, 0.98)
_LOOKED_AT: Final = 20_000
_CONFIRMED: Final = 0.4
_CONFIRMING: Final = 5
"""Samples before and after whose middles must differ: few, as noise that remembers wanders."""
WILD: Final = 6.5
"""Spreads of the differences beyond which a single sample is no noise."""
_NORMAL_MAD: Final = 1.4826
_CLIPPED: Final = 4.0
_TOGETHER: Final = 5
"""Openings closer than this many samples are one."""
_FEWEST: Final = 3 * ARM


class Step(NamedTuple):
    """A step: the first sample after it and its height [ohm]."""

    sample: int
    ohm: float


def openings(samples: Samples) -> list[tuple[int, int]]:
    """First and last sample of every opening."""
    return stretches(~samples.is_value, together=_TOGETHER)


def stretches(flags: Flags, *, together: int) -> list[tuple[int, int]]:
    """First and last of every stretch of samples (n,) that have something; those closer than `together` are one."""
    at = np.flatnonzero(flags)
    if not at.size:
        return []
    breaks = np.flatnonzero(np.diff(at) > together)
    firsts = at[np.concatenate(([0], breaks + 1))]
    lasts = at[np.concatenate((breaks, [at.size - 1]))]
    return [(int(a), int(b)) for a, b in zip(firsts, lasts, strict=True)]


def wild_samples(residual: Array, step_ohm: float) -> Flags:
    """Single samples far from both neighbours, (n,); residuals in ohm, values only, in order of time."""
    result = np.zeros(residual.size, bool)
    if residual.size < _FEWEST:
        return result
    before, here, after = residual[:-2], residual[1:-1], residual[2:]
    middle = np.maximum(np.minimum(before, here), np.minimum(np.maximum(before, here), after))
    away = np.abs(here - middle)
    limit = WILD * spread_of(np.diff(residual), step_ohm)
    # a shift of the neighbours towards one side is a step, not a wild sample
    result[1:-1] = (away > limit) & (np.abs(before - after) < 0.5 * away)
    result[0] = abs(residual[0] - residual[1]) > limit and abs(residual[1] - residual[2]) < 0.5 * limit
    result[-1] = abs(residual[-1] - residual[-2]) > limit and abs(residual[-2] - residual[-3]) < 0.5 * limit
    return result


def spread_of(values: Array, step_ohm: float) -> float:
    """Robust standard deviation [ohm], not below what the display hides.

    The middle deviation alone is no measure where a coarse display shows most differences as nought.
    """
    some = _thinned(values)
    middle = float(np.median(some))
    within = _CLIPPED * max(_NORMAL_MAD * float(np.median(np.abs(some - middle))), step_ohm)
    clipped = np.clip(some - middle, -within, within)
    return max(float(np.sqrt(clipped @ clipped / some.size)), step_ohm * 12**-0.5, 1e-12)


def _thinned(values: Array) -> Array:
    """Enough of many values to tell their spread, from all over the run."""
    return values[:: max(1, values.size // _LOOKED_AT)]


class Scan(NamedTuple):
    """The height a step would have [ohm] before each sample from `first` on, and the spread of these heights [ohm]."""

    height: Array
    spread: float
    first: int = ARM + 1

    def sure(self) -> Array:
        """Heights in their spread, without sign."""
        return np.abs(self.height) / self.spread


def scan(residual: Array, step_ohm: float, arm: int = ARM) -> Scan:
    """Look for a step before every sample of residuals [ohm] (n,) in order of time, by `arm` samples on each side.

    Source
    ------
    Generalised least squares for a shift in a first-order autoregressive series; of all memories
    that one is taken whose heights spread least without a step.
    """
    some = residual[:_LOOKED_AT]
    kept = min(_MEMORIES, key=lambda memory: _usual(_heights(some, memory, arm)))
    height = _heights(residual, kept, arm)
    # in few samples the heights say little of their own spread: what is new in each sample says as much
    fresh = spread_of(np.diff(residual), step_ohm) * float(np.sqrt(0.5 * (1.0 + kept)))
    return Scan(height, max(_usual(height), fresh / float(np.sqrt(_shape_of_step(kept, arm)[1]))), arm + 1)


def _shape_of_step(kept: float, arm: int) -> tuple[Array, float]:
    """What a step leaves in the fresh part of the samples about it, level taken off, and its sum of squares."""
    level = np.full(2 * arm, 1.0 - kept)
    shift = np.concatenate((np.zeros(arm), [1.0], np.full(arm - 1, 1.0 - kept)))
    shift -= level * float(shift @ level) / float(level @ level)
    return shift, float(shift @ shift)


def _heights(residual: Array, kept: float, arm: int) -> Array:
    shift, power = _shape_of_step(kept, arm)
    fresh = residual[1:] - kept * residual[:-1]
    height: Array = np.convolve(fresh, shift[::-1], mode="valid") / power
    return height


def _usual(height: Array) -> float:
    some = _thinned(height)
    return _NORMAL_MAD * float(np.median(np.abs(some - np.median(some))))


def likely_step(residual: Array, step_ohm: float) -> Step | None:
    """The clearest step in residuals [ohm] (n,), if it is worth a fit of its own; else None."""
    if residual.size < _FEWEST:
        return None
    found = scan(residual, step_ohm)
    sure, least = found.sure(), by_chance(residual.size) - _HIDDEN
    while True:
        at = int(np.argmax(sure))
        if sure[at] < least:
            return None
        first, height = at + found.first, float(found.height[at])
        if is_confirmed(residual, first, height):
            return Step(first, height)
        sure[max(0, at - ARM) : at + ARM] = 0.0


def is_step(residual: Array, step: Step, step_ohm: float) -> bool:
    """Whether a step that was fitted is one, by residuals [ohm] (n,) that are left beside it."""
    height, spread = weighed(residual, step, step_ohm)
    return abs(height) > (by_chance(residual.size) + _BEYOND_CHANCE) * spread


def weighed(residual: Array, step: Step, step_ohm: float, arm: int = ARM) -> tuple[float, float]:
    """Height of a step that was taken off and its spread [ohm], by residuals [ohm] (n,) that are left beside it.

    Before it is taken off a step hides: a fit takes up part of it, and its trace passes for noise.
    """
    found = scan(residual, step_ohm, arm)
    return step.ohm + float(found.height[step.sample - found.first]), found.spread


def by_chance(count: int) -> float:
    """Standard deviations of about the largest of so many values of noise."""
    return float(np.sqrt(2.0 * np.log(count)))


def is_confirmed(residual: Array, first: int, height: float) -> bool:
    """Whether the middles before and after really differ by most of the step: a wild sample does not do that."""
    before, after = residual[max(0, first - _CONFIRMING) : first], residual[first : first + _CONFIRMING]
    moved = float(np.median(after) - np.median(before))
    return moved * height > 0 and abs(moved) > _CONFIRMED * abs(height)
