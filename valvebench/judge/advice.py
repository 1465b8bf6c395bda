"""The cheapest thing that would settle an undecided reading.

Order: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import msgspec

from valvebench.judge import decide
from valvebench.judge.resistance import at_value, bounds, capability, estimate_of, shown_for, to_reference
from valvebench.model.format import ohm_text
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import Check, Instrument, VoltsRatio, parse_meter
from valvebench.model.words import LeadState, Rule, TemperatureSource, Verdict
from valvebench.physics.uncertainty import value_and_lines

_TYPICAL_LEADS_OHM: Final = 0.2
_CHECK_PCT: Final = 0.1
_VOLTS_METER: Final = "0.5%+2x0.001"
_VOLTS_AMPERE: Final = 0.15
_GOOD_TEMPERATURE_CELSIUS: Final = 2.0
_BATH_CELSIUS: Final = (1.0, 0.5, 0.2)
"""What a bath and a good thermometer reach: common practice, no source."""

_INSTEAD_COIL: Final = "Compare the matched set, or old and new body with the same meter in the same hour."
_INSTEAD_OTHER: Final = "Compare with a known good one in the same bath, with the same meter."

Way = tuple[str, Instrument, Measured]


def advice_for(
    measured: Measured, limits: Limits, *, rule: Rule = Rule.PROVED, check: Check | None = None
) -> tuple[str, ...]:
    """What would decide an undecided reading [ohm], cheapest first; says so where nothing would."""
    if measured.open or not limits.is_stated or measured.half_width_celsius() is None:
        return ()
    instrument = measured.instrument(check=check)
    shown = measured.displayed_ohm
    ohm = value_and_lines(instrument, shown if shown is not None else 0.0)[0]
    ways = _all_ways(instrument, measured, limits)
    for words, other, again in ways:
        if _decides(other, again, limits, rule, ohm):
            return (f"{words} would decide it, if the value stays where it is.",)
    if capability(measured, instrument, limits, rule) is False:
        return (_too_narrow(instrument, measured, limits, rule),)
    return ("The value is too close to the limit for any of the usual ways: compare with a known good body.",)


def ways_to_decide(measured: Measured, limits: Limits, *, rule: Rule = Rule.PROVED) -> str | None:
    """The cheapest change after which this meter could decide a reading in mid-band, in words."""
    instrument = measured.instrument()
    for words, other, again in _all_ways(instrument, measured, limits):
        if capability(again, other, limits, rule):
            return words
    return None


def _all_ways(instrument: Instrument, measured: Measured, limits: Limits) -> list[Way]:
    """Every usual way, cheapest first."""
    return [
        *_single_ways(instrument, measured, limits),
        *_joint_ways(instrument, measured, limits),
        *_bath_ways(instrument, measured, limits),
    ]


def _decides(instrument: Instrument, measured: Measured, limits: Limits, rule: Rule, ohm: float) -> bool:
    settled = at_value(instrument, ohm)
    estimate = estimate_of(measured, settled, limits, displayed_ohm=shown_for(settled, ohm))
    low, high = bounds(limits)
    guard = decide.guard_width(estimate.doubt, rule)
    code = decide.decide(estimate.ohm_at_ref, guard=guard, low=low, high=high).verdict
    return decide.VERDICTS[code] is not Verdict.CANT_TELL


def _single_ways(instrument: Instrument, measured: Measured, limits: Limits) -> Iterator[Way]:
    if instrument.check is None and instrument.leads in (LeadState.NEITHER, LeadState.SUBTRACT):
        yield "Nulling the leads on the meter, on the same range,", _nulled(instrument), measured
    if _has_vague_temperature(measured, limits):
        yield "A contact probe taped to the can, soaked,", instrument, _well_known(measured)
    if instrument.check is None:
        words = "A check resistor near the value, read with the same leads and range,"
        yield words, _checked(instrument, _middle(limits, measured)), measured
    if instrument.volts is None:
        words = "A volts ratio against a check resistor, in series on a current-limited supply,"
        yield words, _by_volts(instrument, _middle(limits, measured)), measured


def _joint_ways(instrument: Instrument, measured: Measured, limits: Limits) -> Iterator[Way]:
    if not _has_vague_temperature(measured, limits):
        return
    for words, other, _ in _single_ways(instrument, measured, limits):
        if other is not instrument:
            yield f"{words} together with a contact probe taped to the can,", other, _well_known(measured)


def _bath_ways(instrument: Instrument, measured: Measured, limits: Limits) -> Iterator[Way]:
    """A sensor changes ten times faster than copper: part and thermometer in one still bath."""
    moves = limits.k_celsius is not None or limits.slope_per_celsius != 0
    now = (measured.half_width_celsius() or 0.0) if measured.u_celsius is None else 0.0
    for celsius in _BATH_CELSIUS:
        if moves and celsius < now:
            words = f"A temperature known within {celsius:g} degrees, part and thermometer in one still bath,"
            known = msgspec.structs.replace(measured, temperature=None, celsius_accuracy=celsius)
            yield words, instrument, known


def _middle(limits: Limits, measured: Measured) -> float:
    known = [x for x in (limits.low_ohm, limits.high_ohm) if x is not None]
    return sum(known) / len(known) / to_reference(limits, measured.celsius)


def _nulled(instrument: Instrument) -> Instrument:
    return msgspec.structs.replace(instrument, leads=LeadState.NULLED, lead_ohm=None)


def _checked(instrument: Instrument, ohm: float) -> Instrument:
    check = Check(ohm=ohm, read_ohm=ohm + _TYPICAL_LEADS_OHM, pct=_CHECK_PCT, zero_ohm=_TYPICAL_LEADS_OHM)
    return msgspec.structs.replace(instrument, check=check, u_ohm=None)


def _by_volts(instrument: Instrument, ohm: float) -> Instrument:
    volts = VoltsRatio(volts_x=_VOLTS_AMPERE * ohm, volts_check=_VOLTS_AMPERE * ohm, meter=parse_meter(_VOLTS_METER))
    check = Check(ohm=ohm, read_ohm=ohm, pct=_CHECK_PCT)
    # The repeats were of the ohm range; a ratio would be read anew.
    anew = msgspec.structs.replace(instrument, repeats=1, repeats_sd_ohm=None, u_ohm=None)
    return msgspec.structs.replace(anew, volts=volts, check=check)


def _has_vague_temperature(measured: Measured, limits: Limits) -> bool:
    moves = limits.k_celsius is not None or limits.slope_per_celsius != 0
    return moves and measured.u_celsius is None and (measured.half_width_celsius() or 0.0) > _GOOD_TEMPERATURE_CELSIUS


def _well_known(measured: Measured) -> Measured:
    return msgspec.structs.replace(measured, temperature=TemperatureSource.TAPED, celsius_accuracy=None)


def _too_narrow(instrument: Instrument, measured: Measured, limits: Limits, rule: Rule) -> str:
    shown = shown_for(instrument, _middle(limits, measured))
    doubt = estimate_of(measured, instrument, limits, displayed_ohm=shown).doubt
    width = (limits.high_ohm or 0.0) - (limits.low_ohm or 0.0)
    guard = decide.guard_width(doubt, rule)
    return (
        f"This meter cannot decide here: the band is {ohm_text(width)} wide and a reading needs {ohm_text(2 * guard)}. "
        f"{_INSTEAD_COIL if limits.k_celsius is not None else _INSTEAD_OTHER}"
    )
