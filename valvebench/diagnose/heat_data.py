"""A heat run as it was taken: what can be used of it, and why the rest cannot."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.model.errors import BadInput, bad
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import PRESETS, Meter

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

FEWEST_TIMED: Final = 8
FEWEST_SETTLED: Final = 5
SMALLEST_SPAN_KELVIN: Final = 10.0
"""How much a run must hold before a slope means anything: common practice, no source."""
OVER_RANGE: Final = 20.0
"""Times the middle reading from which a reading counts as open: common practice, no source."""
MOST_BLOCKS: Final = 2000
_TAPED_HALF_WIDTH_KELVIN: Final = 2.0
_LOOKED_AT: Final = 5000
_COARSE_OHM: Final = 0.05
_FINE_OHM: Final = 0.005


class HeatRun(NamedTuple):
    """Samples of one device: probe [degC] and resistance [ohm], each (n,); `t_s` [s] or None.

    A value that is not finite is open.  Without times each sample was read after the
    temperature had settled (a round at a plateau), so there is no lag.
    """

    probe_celsius: Array
    ohm: Array
    t_s: Array | None = None


class HeatSetUp(NamedTuple):
    """What a run was taken with: conductor constant and half-width of the probe [K], meter, start."""

    k_celsius: float = COPPER_K_CELSIUS
    meter: Meter | None = None
    celsius_half_width: float = _TAPED_HALF_WIDTH_KELVIN
    is_soaked: bool = False


class Samples(NamedTuple):
    """A run that can be used: times (counted up where there are none), probe, ohm, which are values, display step."""

    t_s: Array
    celsius: Array
    ohm: Array
    is_value: Flags
    step_ohm: float
    is_settled: bool


def usable(run: HeatRun) -> Samples:
    """The run with its openings marked (raises BadInput with a plain message where nothing can be said).

    Returns
    -------
    Samples
        Arrays (n,) in s, degC and ohm.
    """
    celsius, ohm = np.asarray(run.probe_celsius, float), np.asarray(run.ohm, float)
    if not np.all(np.isfinite(celsius)):
        first = int(np.flatnonzero(~np.isfinite(celsius))[0]) + 1
        raise bad("probe_celsius", f"no number in sample {first}", "a temperature with every reading")
    t_s = _times(run, celsius.size)
    flags = is_value(ohm)
    _refuse_too_little(celsius, ohm, flags, is_settled=run.t_s is None)
    return Samples(t_s, celsius, ohm, flags, display_step(ohm[flags]), run.t_s is None)


def _times(run: HeatRun, count: int) -> Array:
    if run.t_s is None:
        return np.arange(count, dtype=float)
    t_s = np.asarray(run.t_s, float)
    if not np.all(np.isfinite(t_s)):
        raise bad("t_s", f"no number in sample {int(np.flatnonzero(~np.isfinite(t_s))[0]) + 1}", "a time in seconds")
    steps = np.diff(t_s)
    if steps.size and float(steps.min()) <= 0:
        raise _times_stand_still(t_s, steps)
    return t_s


def _times_stand_still(t_s: Array, steps: Array) -> BadInput:
    back, same = np.flatnonzero(steps < 0), np.flatnonzero(steps == 0)
    if back.size == steps.size:
        return bad("t_s", "times that run backwards from first to last", "times that grow", "Turn the order round.")
    if back.size:
        at = int(back[0])
        found = f"{t_s[at + 1]:g} s after {t_s[at]:g} s (sample {at + 2})"
        return bad("t_s", found, "times that grow", "Two runs in one file? Judge them one by one.")
    at = int(same[0])
    found = f"{t_s[at]:g} s twice (sample {at + 2}; {same.size} times in all)"
    return bad("t_s", found, "each time once", "Write fractions of a second, or keep one line for each time.")


def is_value(ohm: Array) -> Flags:
    """Which readings [ohm] are no openings; one far above the middle is over range (raises BadInput: all open)."""
    finite = np.isfinite(ohm)
    if not finite.any():
        advice = "One open reading says as much: keep it on Pins with the range that was set."
        raise bad("ohm", "open in every sample", "a resistance that can be followed while it warms", advice)
    middle = float(np.median(np.abs(ohm[finite])))
    with np.errstate(invalid="ignore"):
        flags: Flags = finite & (np.abs(ohm) <= max(OVER_RANGE * middle, 1e-9))
    return flags


def _refuse_too_little(celsius: Array, ohm: Array, is_value: Flags, *, is_settled: bool) -> None:
    count, fewest = int(is_value.sum()), FEWEST_SETTLED if is_settled else FEWEST_TIMED
    if count < fewest:
        found = "1 reading that is not open" if count == 1 else f"{count} readings that are not open"
        raise bad("ohm", found, f"at least {fewest}", "Read more, up and down.")
    values = ohm[is_value]
    if float(np.ptp(values)) == 0:
        advice = "Is the meter holding its reading, or is its step too coarse for this part?"
        raise bad("ohm", f"{values[0]:g} in every sample", "a resistance that moves with the temperature", advice)
    span = float(np.ptp(celsius[is_value]))
    if span < SMALLEST_SPAN_KELVIN:
        advice = "Warm the part further, or let it cool longer with the log running."
        raise bad("probe_celsius", f"{span:.1f} degrees from coldest to hottest", "at least 10 degrees", advice)


def display_step(values: Array) -> float:
    """The smallest step between readings [ohm]: what the meter shows, or the noise of one without a display."""
    looked_at = np.unique(np.round(values[:_LOOKED_AT], 9))
    steps = np.diff(looked_at)
    return float(steps.min()) if steps.size else 0.0


def assumed_meter(step_ohm: float) -> Meter:
    """The meter assumed for a display step [ohm]: common practice, no source."""
    if step_ohm >= _COARSE_OHM:
        return PRESETS["tenths"]
    if step_ohm >= _FINE_OHM:
        return PRESETS["hundredths"]
    fine = PRESETS["hundredths"]
    return Meter(percent=fine.percent, counts=fine.counts, step=float(f"{max(step_ohm, 1e-6):.0e}"))


class Blocks(NamedTuple):
    """Means of consecutive samples, each (m,): time [s], probe [degC], ohm, count of values; `first` sample of each."""

    t_s: Array
    celsius: Array
    ohm: Array
    weight: Array
    first: NDArray[np.intp]


def in_blocks(samples: Samples, is_used: Flags) -> Blocks:
    """At most a few thousand means stand for any number of samples; never across a gap in time.

    A mean of so short a stretch lies on the curve through its middle: the bend within it, at
    most rate times length squared over 24 time constants, is far below the noise of the mean.
    """
    count = samples.t_s.size
    if count <= MOST_BLOCKS:
        ohm = np.where(samples.is_value, samples.ohm, 0.0)
        return Blocks(samples.t_s, samples.celsius, ohm, is_used.astype(float), np.arange(count))
    first = np.linspace(0, count, MOST_BLOCKS, endpoint=False).astype(np.intp)
    gaps = _gaps(samples.t_s)
    if gaps.size:
        first = np.union1d(first, gaps)
    size = np.diff(np.append(first, count)).astype(float)
    weight = np.add.reduceat(is_used.astype(float), first)
    total = np.add.reduceat(np.where(is_used, samples.ohm, 0.0), first)
    ohm = total / np.maximum(weight, 1.0)
    return Blocks(
        np.add.reduceat(samples.t_s, first) / size,
        np.add.reduceat(samples.celsius, first) / size,
        ohm,
        weight,
        first,
    )


_GAP: Final = 20.0
_MOST_GAPS: Final = 500


def _gaps(t_s: Array) -> NDArray[np.intp]:
    """First samples after a pause in the log, the longest pauses where there are many."""
    steps = np.diff(t_s)
    usual = float(np.median(steps[:_LOOKED_AT]))
    after = np.flatnonzero(steps > _GAP * usual) + 1
    if after.size > _MOST_GAPS:
        after = np.sort(after[np.argsort(steps[after - 1])[-_MOST_GAPS:]])
    return after
