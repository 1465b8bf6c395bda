"""Which windings a meter can decide at all, now or with a meter check.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from valvebench.judge.advice import ways_to_decide
from valvebench.judge.device_limits import limits_of
from valvebench.judge.resistance import capability
from valvebench.model.entry import Reading
from valvebench.model.limits import Limits
from valvebench.model.meter import Check
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import Rule
from valvebench.ui.set_up import SetUp

NO_BANDS = "No solenoid has both limits, so nothing can be said of the meter."
OTHERWISE = " Compare the matched set, or old and new body."


class Winding(NamedTuple):
    """A winding with both limits, as a reading in the middle of its band would be taken."""

    name: str
    measured: Reading
    limits: Limits


def windings(variant: Variant | None, set_up: SetUp) -> tuple[Winding, ...]:
    """Every winding with both limits."""
    coils = [device for device in (variant.devices if variant is not None else ()) if isinstance(device, Coil)]
    celsius = 20.0 if set_up.celsius is None else set_up.celsius
    return tuple(
        Winding(one.name, set_up.reading(*one.between, ohm=0.5 * (one.low_ohm + one.high_ohm)), limits_of(one, celsius))
        for one in coils
        if one.low_ohm is not None and one.high_ohm is not None
    )


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
    way = next((way for way in (ways_to_decide(one.measured, one.limits) for one in left) if way), None)
    advice = f" {way.rstrip(',')} would help." if way and check is None else OTHERWISE
    return f"{words} Not: {', '.join(one.name for one in left)}.{advice}"


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
