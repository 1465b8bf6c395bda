"""The cheapest thing that would settle an undecided reading, in words.

Order: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from types import MappingProxyType
from typing import Final

from valvebench.judge import decide
from valvebench.judge.resistance import capability, estimate_of, shown_for
from valvebench.judge.ways import Way, WayKind, all_ways, middle_of, outlook
from valvebench.model.format import ohm_text
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import Check, Instrument
from valvebench.model.words import Rule, Verdict
from valvebench.physics.uncertainty import value_and_lines

_WORDS: Final = MappingProxyType(
    {
        WayKind.NULL: "Nulling the leads on the meter, on the same range,",
        WayKind.PROBE: "A contact probe taped to the can, soaked,",
        WayKind.CHECK: "A check resistor near the value, read with the same leads and range,",
        WayKind.VOLTS: "A volts ratio against a check resistor, in series on a current-limited supply,",
    }
)
_INSTEAD_COIL: Final = "Compare the matched set, or old and new body with the same meter in the same hour."
_INSTEAD_OTHER: Final = "Compare with a known good one in the same bath, with the same meter."


def advice_for(
    measured: Measured,
    limits: Limits,
    *,
    rule: Rule = Rule.PROVED,
    check: Check | None = None,
    may_feed: bool = True,
) -> tuple[str, ...]:
    """What would decide an undecided reading [ohm], cheapest first; says so where nothing would.

    `may_feed` says whether the part may be fed for a volts ratio.
    """
    if measured.open or not limits.is_stated or measured.half_width_celsius() is None:
        return ()
    instrument = measured.instrument(check=check)
    shown = measured.displayed_ohm
    ohm = value_and_lines(instrument, shown if shown is not None else 0.0)[0]
    for way in _offered(instrument, measured, limits, may_feed=may_feed):
        if outlook(way.instrument, way.measured, limits, rule=rule, ohm=ohm).verdict is not Verdict.CANT_TELL:
            return (f"{_words_of(way)} would decide it, if the value stays where it is.",)
    if capability(measured, instrument, limits, rule) is False:
        return (_too_narrow(instrument, measured, limits, rule),)
    return ("The value is too close to the limit for any of the usual ways: compare with a known good body.",)


def ways_to_decide(
    measured: Measured, limits: Limits, *, rule: Rule = Rule.PROVED, may_feed: bool = True
) -> str | None:
    """The cheapest change after which this meter could decide a reading in mid-band, in words."""
    for way in _offered(measured.instrument(), measured, limits, may_feed=may_feed):
        if capability(way.measured, way.instrument, limits, rule):
            return _words_of(way)
    return None


def _offered(instrument: Instrument, measured: Measured, limits: Limits, *, may_feed: bool) -> Iterator[Way]:
    """What can be done with this part at all."""
    return (way for way in all_ways(instrument, measured, limits) if may_feed or way.kind is not WayKind.VOLTS)


def _words_of(way: Way) -> str:
    if way.celsius is not None:
        return f"A temperature known within {way.celsius:g} degrees, part and thermometer in one still bath,"
    together = " together with a contact probe taped to the can," if way.has_probe else ""
    return f"{_WORDS[way.kind]}{together}"


def _too_narrow(instrument: Instrument, measured: Measured, limits: Limits, rule: Rule) -> str:
    shown = shown_for(instrument, middle_of(limits, measured))
    doubt = estimate_of(measured, instrument, limits, displayed_ohm=shown).doubt
    width = (limits.high_ohm or 0.0) - (limits.low_ohm or 0.0)
    guard = decide.guard_width(doubt, rule)
    return (
        f"This meter cannot decide here: the band is {ohm_text(width)} wide and a reading needs {ohm_text(2 * guard)}. "
        f"{_INSTEAD_COIL if limits.k_celsius is not None else _INSTEAD_OTHER}"
    )
