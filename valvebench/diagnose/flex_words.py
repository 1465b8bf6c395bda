"""What a flexed series says, in words: no numbers are decided here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import msgspec

from valvebench.model.flex import FlexEvent, FlexFound
from valvebench.model.format import duration_text, ohm_text, value_text

FEWEST: Final = 8
"""Readings below which there is no telling what is usual: ours, by the study of flexed series."""
ENOUGH: Final = 30
"""Readings from which a steady series says something: see `chance_missed`."""
ALL_OPEN: Final = "Every reading is open: that is no contact that comes and goes, but an open circuit."
_ONE_IN: Final = 10
_MOST_TOLD: Final = 5
_K: Final = 2.0
_DRIFT_SPREADS: Final = 2.0
_AGAIN: Final = (
    "Hold both clips still and flex once more, away from them: only what shows again is the wiring and not the clips."
)
_NARROW: Final = "Then read the pair at another access point: that tells harness, conductor plate and device apart."
_MORE: Final = "Go on flexing and reading until there are {count}."
_LIFT: Final = "Take the meter off hold, and see that the display moves when a lead is lifted."
_ON_PINS: Final = "One open reading says as much: keep it on Pins with the range that was set."


def chance_missed(readings: int) -> float:
    """How often so many readings miss a contact that shows in one reading of ten: 0.9^n."""
    return (1.0 - 1.0 / _ONE_IN) ** readings


def problem_of(ohm: Sequence[float], values: int, *, is_stuck: bool, is_restless: bool) -> str:
    """Why steps cannot be looked for in these readings [ohm]; empty where they can."""
    if any(map(math.isnan, ohm)):
        place = next(place for place, one in enumerate(ohm, 1) if math.isnan(one))
        return f"Reading {place} is no number: type what the meter showed, or OL."
    if not values:
        return ALL_OPEN if ohm else "There is no reading yet."
    if values < FEWEST:
        count = "1 reading is" if values == 1 else f"{values} readings are"
        return f"{count} too few to tell a step from noise: it takes {FEWEST} that are not open."
    if is_stuck:
        return (
            f"All {values} readings are {ohm_text(next(filter(math.isfinite, ohm)))} to the last digit, "
            "as on a meter that holds its reading."
        )
    if is_restless:
        return "The readings move more than the meter and a warm hand explain, but in no clear step."
    return ""


def in_words(found: FlexFound, *, over_range: int, events_left: int) -> FlexFound:
    """The same find with its sentences."""
    reasons = [
        *map(event_words, found.events[:_MOST_TOLD]),
        *_more_words(len(found.events) - _MOST_TOLD, events_left),
        *_over_range_words(over_range),
        found.problem,
        *_drift_words(found),
        *_spread_words(found),
        *_count_words(found),
    ]
    advice = _advice(found)
    return msgspec.structs.replace(found, reasons=tuple(filter(None, reasons)), advice=advice)


def event_words(event: FlexEvent) -> str:
    """One event with its moment and size."""
    where = f"reading {event.sample}"
    if event.count > 1:
        where = f"readings {event.sample} to {event.sample + event.count - 1}"
    if event.t_s is not None:
        where += f" ({duration_text(event.t_s)} after the start)"
    if event.size_ohm is None:
        return f"Open at {where}."
    size = value_text(abs(event.size_ohm.value), _K * event.size_ohm.u)
    way = "up" if event.size_ohm.value > 0 else "down"
    return f"A jump {way} by {size} at {where}." if event.kind == "jump" else f"A step {way} by {size} from {where} on."


def _more_words(not_told: int, left: int) -> list[str]:
    more = max(0, not_told) + left
    return [f"{more} more follow."] if more else []


def _over_range_words(count: int) -> list[str]:
    if not count:
        return []
    which = "1 reading is" if count == 1 else f"{count} readings are"
    return [f"{which} more than twenty times the middle one: over the range, so counted as open."]


def _drift_words(found: FlexFound) -> list[str]:
    drift, spread = found.drift_ohm, found.spread_ohm
    if drift is None or spread is None or found.problem or abs(drift) <= _DRIFT_SPREADS * max(spread, _step(found)):
        return []
    return [f"It drifted by {ohm_text(drift)} without a step, as the warmth of a hand does: no fault of a contact."]


def _step(found: FlexFound) -> float:
    return float(found.meter.rpartition("x")[2])


def _spread_words(found: FlexFound) -> list[str]:
    if found.spread_ohm is None or found.middle_ohm is None or found.problem:
        return []
    assumed = " (assumed)" if found.meter_is_assumed else ""
    steps = f"a display step of {_step(found):g} \N{OHM SIGN}{assumed} counted in".replace("\N{OHM SIGN}", "\u03a9")
    middle = ohm_text(found.middle_ohm)
    return [f"The middle of the readings is {middle}, their spread {ohm_text(found.spread_ohm)}, {steps}."]


def _count_words(found: FlexFound) -> list[str]:
    values = found.n - found.open_n
    if not values or found.events:
        return []
    share = round(100 * chance_missed(values))
    often = "less than once" if share < 1 else "about once" if share == 1 else f"about {share} times"
    count = "1 reading misses" if values == 1 else f"{values} readings miss"
    return [f"{count} a contact that shows in one of {_ONE_IN} {often} in 100."]


def _advice(found: FlexFound) -> tuple[str, ...]:
    values = found.n - found.open_n
    if found.n and not values:
        return (_ON_PINS,)
    if found.events:
        return _AGAIN, _NARROW
    if found.is_restless:
        return _AGAIN, _NARROW
    if found.problem and values >= FEWEST:
        return (_LIFT,)
    return () if found.is_enough else (_MORE.format(count=ENOUGH),)
