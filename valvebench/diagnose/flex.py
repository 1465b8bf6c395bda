"""A series read while something was flexed -> openings, jumps and steps, each with its size and doubt.

An opening needs no statistics.  A jump goes back within a few readings: it is far from the middle
of its neighbours.  A step stays: it is found by the finder of the heat run, on fewer readings
before and after.  The warmth of a hand moves a reading slowly, which is neither.
"""

from __future__ import annotations

import itertools
import math
from typing import Final, NamedTuple

import msgspec
import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.flex_step import Weighed, best_step, step_at
from valvebench.diagnose.flex_words import ENOUGH, FEWEST, in_words, problem_of
from valvebench.diagnose.heat_data import OVER_RANGE, assumed_meter
from valvebench.diagnose.heat_events import (
    ARM,
    WILD,
    by_chance,
    is_confirmed,
    scan,
    spread_of,
    stretches,
)
from valvebench.model.flex import FlexEvent, FlexFound
from valvebench.model.heat import Sized
from valvebench.model.meter import Meter

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_SHORTEST_ARM: Final = 4
_READINGS_FOR_ARM: Final = 5
_FLICKER_STEPS: Final = 2.0
"""Display steps by which two readings of one resistance may part, the last digit of each: no source."""
_COARSEST_STEP_OHM: Final = 0.1
_COARSEST_SHARE: Final = 0.01
"""A display of 2000 counts, on a range of at most twenty times the reading: common practice, no source."""
_FINEST_DIGITS, _COARSEST_DIGITS = 6, -6
_ALWAYS_MOVES: Final = 1000.0
"""Display steps in a reading from which the last digit of a live meter moves: common practice, no source."""
_K: Final = 2.0
_WORTH_A_LOOK: Final = 1.2
"""Spreads below the largest height that chance makes: a smaller one is not worth a fit of its own."""
_MUCH_LIKELIER: Final = 22.0
"""Twice the difference of the logarithms of the likelihoods: by the study of flexed series."""
_MORE_FOR_MANY, _FEW = 2.5, 60.0
"""In a longer series chance has more places to make a step in: a little more than twice the logarithm of how many."""
_HIDDEN_SHARE: Final = 12**-0.5
"""Deviation of what a display hides, in its steps."""
LONGEST_JUMP: Final = 4
"""Readings after which a contact that went another way has stayed there: two steps then."""
_WARMTH: Final = 0.08
"""Part by which copper changes over twenty degrees: more than a hand warms it in a test."""
_PARTS: Final = 3
_EDGE_MEDIAN: Final = 1.25
"""Standard deviation of a middle over that of a mean."""
MOST_EVENTS: Final = 500
MOST_STEPS: Final = 50
MOST_READINGS: Final = 100_000
_LOOKED_AT: Final = 20_000
_SLACK: Final = 1e-6  # 5.4 - 5.2 is not 0.2 in binary


class FlexSeries(NamedTuple):
    """Readings in their order, (n,) [ohm], what is not finite is open; times [s] (n,) or None."""

    ohm: Array
    t_s: Array | None = None


class _Values(NamedTuple):
    """Readings that are not open: ohm (m,), the place of each in the series, display step [ohm], gain of the meter.

    `shown_ohm` is the last digit that was written down: coarser than the display where it was rounded.
    """

    ohm: Array
    place: NDArray[np.intp]
    step_ohm: float
    gain: float
    shown_ohm: float


def look_at(series: FlexSeries, meter: Meter | None = None) -> FlexFound:
    """Look for openings, jumps and steps.

    Parameters
    ----------
    series : readings [ohm] in their order
    meter : its accuracy; None: assumed to be the usual one with the step that the readings show

    Returns
    -------
    FlexFound
        Sizes in ohm with standard uncertainties; `problem` where steps cannot be looked for.

    Source
    ------
    The finder of steps is that of the heat run; thresholds are ours, held by a study: at most one
    healthy series in a hundred shows an event.
    """
    ohm = np.asarray(series.ohm, float)
    is_value = _is_value(ohm)
    place = np.flatnonzero(is_value)
    shown = _shown_step(ohm[place])
    known = meter or assumed_meter(shown)
    values = _Values(ohm[place], place, known.step if meter is not None else shown, known.percent / 100.0, shown)
    can_look = place.size >= FEWEST
    jumps, calm = _jumps(values) if can_look else ([], values)
    steps, level = _steps(calm) if can_look else ([], calm)
    events = sorted([*_openings(is_value), *jumps, *steps], key=lambda event: event.sample)
    is_restless = can_look and _is_restless(level, known)
    found = FlexFound(
        n=int(ohm.size),
        open_n=int(ohm.size - place.size),
        middle_ohm=float(np.median(values.ohm)) if place.size else None,
        spread_ohm=spread_of(np.diff(level.ohm), values.step_ohm) * 0.5**0.5 if can_look else None,
        drift_ohm=_drift(level) if can_look else None,
        meter=known.text(),
        meter_is_assumed=meter is None,
        is_enough=place.size >= ENOUGH,
        is_restless=is_restless,
        problem=problem_of(
            ohm.tolist(),
            place.size,
            is_stuck=_is_stuck(values),
            is_restless=is_restless,
        ),
        events=tuple(_timed(event, series.t_s) for event in events[:MOST_EVENTS]),
    )
    over_range = int(np.isfinite(ohm).sum() - place.size)
    return in_words(found, over_range=over_range, events_left=max(0, len(events) - MOST_EVENTS))


def _is_value(ohm: Array) -> Flags:
    """Which readings are no openings; one far above the middle is over range, (n,)."""
    finite = np.isfinite(ohm)
    if not finite.any():
        return finite
    middle = float(np.median(np.abs(ohm[finite])))
    with np.errstate(invalid="ignore"):
        flags: Flags = finite & (np.abs(ohm) <= max(OVER_RANGE * middle, OVER_RANGE * _COARSEST_STEP_OHM))
    return flags


def _shown_step(values: Array) -> float:
    """The place of the last digit that any reading shows [ohm]: 0.01 for 5.23 among others."""
    some = values[:_LOOKED_AT]
    coarsest = max(_COARSEST_STEP_OHM, _COARSEST_SHARE * float(np.median(np.abs(some)))) if some.size else np.inf
    for digits in range(_COARSEST_DIGITS, _FINEST_DIGITS + 1):
        if 10.0**-digits <= coarsest and np.allclose(np.round(some, digits), some, rtol=0, atol=1e-9):
            return float(10.0**-digits)
    return float(10.0**-_FINEST_DIGITS)


def _is_stuck(values: _Values) -> bool:
    """Whether a display this fine stands still as no live one does."""
    is_still = values.ohm.size > 1 and float(np.ptp(values.ohm)) == 0
    return is_still and abs(float(values.ohm[0])) > _ALWAYS_MOVES * values.step_ohm


def _openings(is_value: Flags) -> list[FlexEvent]:
    runs = stretches(~is_value, together=1)
    return [FlexEvent(kind="open", sample=first + 1, count=last - first + 1) for first, last in runs]


def _jumps(values: _Values) -> tuple[list[FlexEvent], _Values]:
    """Readings far from the middle of their neighbours that went back, and the series without them."""
    ohm, arm = values.ohm, LONGEST_JUMP
    calm, events = ohm.copy(), []
    away = ohm - _running_middle(ohm, arm)
    spread = spread_of(np.diff(ohm), values.step_ohm)
    limit = max(WILD * spread, _FLICKER_STEPS * values.step_ohm * (1 + _SLACK))
    for first, last in stretches(np.abs(away) > limit, together=1):
        beside = np.concatenate((ohm[max(0, first - arm) : first], ohm[last + 1 : last + 1 + arm]))
        middle, count = float(np.median(beside)) if beside.size else float(ohm[first]), last - first + 1
        size = float(ohm[first : last + 1].mean()) - middle
        noise = spread * 0.5**0.5 * float(np.hypot(count**-0.5, _EDGE_MEDIAN * max(1, beside.size) ** -0.5))
        if abs(size) > max(limit, _K * _doubt(values, noise, size)):
            sized = _sized(values, noise, size)
            events.append(FlexEvent(kind="jump", sample=int(values.place[first]) + 1, count=count, size_ohm=sized))
            calm[first : last + 1] = middle
    return events, values._replace(ohm=calm)


def _running_middle(ohm: Array, arm: int) -> Array:
    """The middle of each reading and its neighbours, (n,); at the ends carried on as it went there."""
    width = 2 * arm + 1
    if ohm.size < width:
        return np.full(ohm.size, float(np.median(ohm)))
    inner: Array = np.median(np.lib.stride_tricks.sliding_window_view(ohm, width), axis=1)
    reach = min(ohm.size, 2 * width)
    first, last = _carried_on(ohm[:reach], arm), _carried_on(ohm[-reach:], arm)
    return np.concatenate((first[:arm], inner, last[-arm:]))


def _carried_on(about: Array, arm: int) -> Array:
    """A line through the middle of some readings (m,) that a few of them cannot turn, (m,)."""
    slope = float(np.median(about[arm:] - about[:-arm])) / arm
    time: Array = np.arange(about.size, dtype=float) - (about.size - 1) / 2
    middle: Array = float(np.median(about - slope * time)) + slope * time
    return middle


def _steps(values: _Values) -> tuple[list[FlexEvent], _Values]:
    """Levels that stay other, the clearest first, and the series with all of them taken off."""
    level, events = _without_plain_steps(values)
    refused = np.zeros(level.size, bool)
    while len(events) < MOST_STEPS and (step := _next_step(level, values, refused)) is not None:
        level[step.sample :] -= step.ohm
        sized = _sized(values, step.u_ohm, step.ohm)
        events.append(FlexEvent(kind="step", sample=int(values.place[step.sample]) + 1, size_ohm=sized))
    return events, values._replace(ohm=level)


def _without_plain_steps(values: _Values) -> tuple[Array, list[FlexEvent]]:
    """Steps from one reading to the next that no noise makes: many of them would hide each other from a fit."""
    level, heights = values.ohm.copy(), dict[int, Sized]()
    differences = np.diff(level)
    spread = spread_of(differences, values.step_ohm)
    away = np.abs(differences - np.median(differences))
    least = _FLICKER_STEPS * values.step_ohm * (1 + _SLACK)
    places = np.flatnonzero(away > max(WILD * spread, least)) + 1
    ends = [0, *places.tolist(), level.size]
    for before, at, after in zip(ends[:-2], ends[1:-1], ends[2:], strict=True):
        first, last = level[max(before, at - ARM) : at], level[at : min(after, at + ARM)]
        height = float(np.median(last) - np.median(first))
        noise = spread * 0.5**0.5 * _EDGE_MEDIAN * math.hypot(first.size**-0.5, last.size**-0.5)
        if abs(height) > max(least, _K * _doubt(values, noise, height)):
            level[at:] -= height
            heights[at] = Sized(value=height, u=noise)
    return level, [_plain_event(values, level, at, size) for at, size in itertools.islice(heights.items(), MOST_EVENTS)]


def _plain_event(values: _Values, level: Array, at: int, size: Sized) -> FlexEvent:
    """A plain step with its doubt; noise with a memory adds to it, as the readings without any step tell."""
    fitted = step_at(level, at, values.step_ohm * _HIDDEN_SHARE)
    ohm, noise = (size.value + fitted.ohm, max(size.u, fitted.u_ohm)) if fitted is not None else (size.value, size.u)
    sized = _sized(values, noise, ohm)
    return FlexEvent(kind="step", sample=int(values.place[at]) + 1, size_ohm=sized)


def _is_restless(level: _Values, meter: Meter) -> bool:
    """Whether what is left without steps moves more than the meter and the warmth of a hand make it."""
    middle = abs(float(np.median(level.ohm)))
    accuracy = meter.percent / 100.0 * middle + meter.counts * meter.step
    scatter = spread_of(np.diff(level.ohm), level.step_ohm) * 0.5**0.5
    wander = float(np.ptp(_running_middle(level.ohm, LONGEST_JUMP)))
    return _K * scatter > accuracy or wander > _WARMTH * middle + _K * accuracy


def _next_step(level: Array, values: _Values, refused: Flags) -> Weighed | None:
    """The clearest step that was not looked at yet; what is none is marked as refused."""
    arm = min(ARM, max(_SHORTEST_ARM, level.size // _READINGS_FOR_ARM))
    if level.size <= 2 * arm + 1:
        return None
    found = scan(level, values.step_ohm, arm)
    sure = np.abs(found.height - np.median(found.height)) / found.spread  # a steady drift makes every height the same
    least = by_chance(level.size) - _WORTH_A_LOOK
    for at in np.argsort(-sure):
        sample = int(at) + found.first
        if sure[at] < least:
            return None
        if refused[sample]:
            continue
        refused[sample - 1 : sample + 2] = True
        step = best_step(level, sample, values.step_ohm * _HIDDEN_SHARE)
        if step is not None and _is_step(level, step, values):
            return step
    return None


def _is_step(level: Array, step: Weighed, values: _Values) -> bool:
    """Whether a height is beyond what noise, its own doubt and the last digits of a display make."""
    size = abs(step.ohm)
    return (
        step.likelier > _MUCH_LIKELIER + _MORE_FOR_MANY * math.log(max(1.0, level.size / _FEW))
        and size > _FLICKER_STEPS * values.step_ohm * (1 + _SLACK)
        and size > _K * _doubt(values, step.u_ohm, size)
        and is_confirmed(level, step.sample, step.ohm)
    )


def _doubt(values: _Values, noise_ohm: float, size_ohm: float) -> float:
    """Standard uncertainty of a difference [ohm]: noise, the last digit of both ends, the meter's gain."""
    digits = values.step_ohm * 6**-0.5
    gain = values.gain * abs(size_ohm) * 3**-0.5
    return math.hypot(noise_ohm, digits, gain)


def _sized(values: _Values, noise_ohm: float, size_ohm: float) -> Sized:
    """A difference with its doubt; within two last digits of rounded readings it may be no more than the rounding."""
    u_ohm = _doubt(values, noise_ohm, size_ohm)
    is_rounded = values.shown_ohm > values.step_ohm * (1 + _SLACK)
    if is_rounded and abs(size_ohm) <= _FLICKER_STEPS * values.shown_ohm * (1 + _SLACK):
        u_ohm = max(u_ohm, values.shown_ohm)
    return Sized(value=size_ohm, u=u_ohm)


def _drift(level: _Values) -> float:
    """How far the last third stands from the first [ohm], steps and jumps taken off."""
    third = max(1, level.ohm.size // _PARTS)
    return float(np.median(level.ohm[-third:]) - np.median(level.ohm[:third]))


def _timed(event: FlexEvent, t_s: Array | None) -> FlexEvent:
    return event if t_s is None else msgspec.structs.replace(event, t_s=float(t_s[event.sample - 1]))
