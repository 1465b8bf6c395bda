"""Which windings a meter can decide at all, now or with a meter check.  No Qt."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from valvebench.judge.advice import ways_to_decide
from valvebench.judge.device_limits import limits_of
from valvebench.judge.resistance import capability
from valvebench.judge.targets import may_feed
from valvebench.judge.ways import Way, WayKind, cheap_ways, outlook
from valvebench.model.entry import Reading
from valvebench.model.limits import Limits
from valvebench.model.meter import Check
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import Rule
from valvebench.ui.set_up import SetUp
from valvebench.ui.way_words import way_words

NO_BANDS = "No solenoid has both limits, so nothing can be said of the meter."
OTHERWISE = " Compare the matched set, or old and new body."


class Winding(NamedTuple):
    """A winding with both limits, as a reading in the middle of its band would be taken."""

    name: str
    device: Coil
    measured: Reading
    limits: Limits


def windings(variant: Variant | None, set_up: SetUp) -> tuple[Winding, ...]:
    """Every winding with both limits."""
    coils = [device for device in (variant.devices if variant is not None else ()) if isinstance(device, Coil)]
    found = (_winding(one, set_up) for one in coils)
    return tuple(winding for winding in found if winding is not None)


def _winding(device: Coil, set_up: SetUp) -> Winding | None:
    if device.low_ohm is None or device.high_ohm is None:
        return None
    celsius = 20.0 if set_up.celsius is None else set_up.celsius
    measured = set_up.reading(*device.between, ohm=0.5 * (device.low_ohm + device.high_ohm))
    return Winding(device.name, device, measured, limits_of(device, celsius))


def undecided(found: Sequence[Winding], check: Check | None) -> tuple[Winding, ...]:
    """Those that this meter cannot decide, with this check or without one."""
    return tuple(
        one
        for one in found
        if not capability(one.measured, one.measured.instrument(check=check), one.limits, Rule.PROVED)
    )


def capability_words(variant: Variant | None, set_up: SetUp, *, check: Check | None = None) -> str:
    """What this meter can decide, and the cheapest thing that would help with the rest."""
    found = windings(variant, set_up)
    if not found:
        return NO_BANDS
    left = undecided(found, check)
    checked = ", with its meter check," if check is not None else ""
    words = f"This meter{checked} can decide {len(found) - len(left)} of {len(found)} windings with limits."
    if not left:
        return words
    ways = (ways_to_decide(one.measured, one.limits, may_feed=may_feed(variant, one.device)) for one in left)
    way = next((way for way in ways if way), None)
    advice = f" {way.rstrip(',')} would help." if way and check is None else OTHERWISE
    return f"{words} Not: {', '.join(one.name for one in left)}.{advice}"


class WayCount(NamedTuple):
    """One cheap way, and how many windings could be decided with it."""

    words: str
    effect: str


def way_counts(variant: Variant | None, set_up: SetUp, *, check: Check | None = None) -> tuple[WayCount, ...]:
    """What each cheap way would do to "can this meter decide", before it is done; nothing where all can be decided."""
    found = windings(variant, set_up)
    now = len(found) - len(undecided(found, check))
    if now == len(found):
        return ()
    words: dict[WayKind, str] = {}
    gained: Counter[WayKind] = Counter()
    for winding in undecided(found, check):
        for way in _ways_of(winding, variant, check):
            words.setdefault(way.kind, way_words(way))
            gained[way.kind] += outlook(way.instrument, way.measured, winding.limits).can_decide is True
    return tuple(
        WayCount(words[kind], f"{now + gained[kind]} of {len(found)}{'' if gained[kind] else ', as now'}")
        for kind in WayKind
        if kind in words
    )


def _ways_of(winding: Winding, variant: Variant | None, check: Check | None) -> list[Way]:
    ways = cheap_ways(winding.measured.instrument(check=check), winding.measured, winding.limits)
    has_volts = may_feed(variant, winding.device)
    return [way for way in ways if way.kind is not WayKind.VOLTS or has_volts]


def with_check_words(variant: Variant | None, set_up: SetUp, *, now: Check | None, then: Check) -> str:
    """What a meter check would change, said before it is kept."""
    found = windings(variant, set_up)
    if not found:
        return NO_BANDS
    before, after = (len(found) - len(undecided(found, check)) for check in (now, then))
    left = ", ".join(one.name for one in undecided(found, then))
    rest = f" Still not: {left}." if left else ""
    change = "as it can now" if before == after else f"now {before}"
    return f"With this check it could decide {after} of {len(found)} windings with limits, {change}.{rest}"
