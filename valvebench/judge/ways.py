"""The cheap ways to a narrower doubt, and what each would do to a reading before it is done.

Order and typical numbers: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from enum import Enum
from typing import Final, NamedTuple

import msgspec

from valvebench.judge import decide
from valvebench.judge.resistance import at_value, bounds, estimate_of, shown_for, to_reference
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import DEFAULT_VOLTS_METER, Check, Instrument, VoltsRatio, parse_meter
from valvebench.model.words import LeadState, Rule, TemperatureSource, Verdict

_TYPICAL_LEADS_OHM: Final = 0.2
_CHECK_PCT: Final = 0.1
_VOLTS_AMPERE: Final = 0.15
LARGEST_BY_VOLTS_OHM: Final = 50.0
"""Above it a supply that feeds device and check resistor with 0.15 A would need more than about 12 V."""
_GOOD_TEMPERATURE_CELSIUS: Final = 2.0
_FINER_BY: Final = 10.0
_BATH_CELSIUS: Final = (1.0, 0.5, 0.2)
"""What a bath and a good thermometer reach: common practice, no source."""


class WayKind(Enum):
    """What is done."""

    NULL = "null"
    PROBE = "probe"
    CHECK = "check"
    VOLTS = "volts"
    FINER = "finer"
    BATH = "bath"


class Way(NamedTuple):
    """A reading as it would be taken; `celsius` is the half-width of a bath [K]."""

    kind: WayKind
    instrument: Instrument
    measured: Measured
    has_probe: bool = False
    celsius: float | None = None


class Outlook(NamedTuple):
    """What a reading would be worth: expanded doubts where the limits hold [ohm], None where there is no such reading.

    `can_decide` speaks of a reading in mid-band, `verdict` of the one at hand if its value stays.
    """

    middle_U_ohm: float | None  # noqa: N815  the standard's symbol for expanded uncertainty
    can_decide: bool | None
    here_U_ohm: float | None  # noqa: N815  the same
    verdict: Verdict | None


def outlook(
    instrument: Instrument, measured: Measured, limits: Limits, *, rule: Rule = Rule.PROVED, ohm: float | None = None
) -> Outlook:
    """What a way would do, before it is done.

    Parameters
    ----------
    instrument, measured : the reading as it would be taken
    limits : the band [ohm]
    rule : how much proof is asked for
    ohm : the value at hand after leads, at the coil temperature [ohm]; None before the first reading

    Returns
    -------
    Outlook

    Source
    ------
    JCGM 100:2008 for the doubt, JCGM 106:2012 7.6 and 8.3 for the decision, as `judge.resistance`.
    """
    middle_width, can_decide = None, None
    low, high = bounds(limits)
    if limits.low_ohm is not None and limits.high_ohm is not None:
        _, middle_width, guard = _at(instrument, measured, limits, rule, middle_of(limits, measured))
        can_decide = decide.can_decide(low=low, high=high, guard=guard)
    if ohm is None:
        return Outlook(middle_width, can_decide, None, None)
    value, width, guard = _at(instrument, measured, limits, rule, ohm)
    code = decide.decide(value, guard=guard, low=low, high=high).verdict
    return Outlook(middle_width, can_decide, width, decide.VERDICTS[code])


def _at(
    instrument: Instrument, measured: Measured, limits: Limits, rule: Rule, ohm: float
) -> tuple[float, float, float]:
    """Value, expanded doubt and guard width of a reading of this resistance, where the limits hold [ohm]."""
    settled = at_value(instrument, ohm)
    estimate = estimate_of(measured, settled, limits, displayed_ohm=shown_for(settled, ohm))
    doubt = estimate.doubt
    return estimate.ohm_at_ref, doubt.k95 * doubt.u, decide.guard_width(doubt, rule)


def cheap_ways(
    instrument: Instrument, measured: Measured, limits: Limits, *, known: Check | None = None
) -> tuple[Way, ...]:
    """Every way that can be tried alone, cheapest first, a finer meter last; `known` is a resistor that is at hand."""
    return (*single_ways(instrument, measured, limits, known=known), *_finer_ways(instrument, measured))


def all_ways(instrument: Instrument, measured: Measured, limits: Limits) -> tuple[Way, ...]:
    """What the advice chooses from: alone, together with a better temperature, in a bath."""
    return (
        *single_ways(instrument, measured, limits),
        *_joint_ways(instrument, measured, limits),
        *_bath_ways(instrument, measured, limits),
    )


def single_ways(
    instrument: Instrument, measured: Measured, limits: Limits, *, known: Check | None = None
) -> Iterator[Way]:
    """The ways that ask for no other meter."""
    if instrument.check is None and instrument.leads in (LeadState.NEITHER, LeadState.SUBTRACT):
        yield Way(WayKind.NULL, _nulled(instrument), measured)
    if _has_vague_temperature(measured, limits):
        yield Way(WayKind.PROBE, instrument, _well_known(measured))
    middle = middle_of(limits, measured)
    resistor_ohm = known.ohm if known is not None else middle
    pct = known.pct if known is not None else _CHECK_PCT
    if instrument.check is None:
        yield Way(WayKind.CHECK, _checked(instrument, resistor_ohm, pct), measured)
    if instrument.volts is None and limits.k_celsius is not None and middle <= LARGEST_BY_VOLTS_OHM:
        yield Way(WayKind.VOLTS, _by_volts(instrument, resistor_ohm, pct), measured)


def _joint_ways(instrument: Instrument, measured: Measured, limits: Limits) -> Iterator[Way]:
    if not _has_vague_temperature(measured, limits):
        return
    for way in single_ways(instrument, measured, limits):
        if way.kind is not WayKind.PROBE:
            yield way._replace(measured=_well_known(measured), has_probe=True)


def _bath_ways(instrument: Instrument, measured: Measured, limits: Limits) -> Iterator[Way]:
    """A sensor changes ten times faster than copper: part and thermometer in one still bath."""
    now = (measured.half_width_celsius() or 0.0) if measured.u_celsius is None else 0.0
    for celsius in _BATH_CELSIUS:
        if _moves(limits) and celsius < now:
            known = msgspec.structs.replace(measured, temperature=None, celsius_accuracy=celsius)
            yield Way(WayKind.BATH, instrument, known, celsius=celsius)


def _finer_ways(instrument: Instrument, measured: Measured) -> Iterator[Way]:
    """A range or meter with steps a tenth as wide; percent and counts as they are."""
    if instrument.volts is None and instrument.u_ohm is None:
        meter = instrument.meter
        finer = msgspec.structs.replace(meter, step=meter.step / _FINER_BY)
        yield Way(WayKind.FINER, msgspec.structs.replace(instrument, meter=finer), measured)


def middle_of(limits: Limits, measured: Measured) -> float:
    """The middle of the band, or the one limit there is, at the coil temperature [ohm]."""
    known = [x for x in (limits.low_ohm, limits.high_ohm) if x is not None]
    return sum(known) / len(known) / to_reference(limits, measured.celsius)


def _nulled(instrument: Instrument) -> Instrument:
    return msgspec.structs.replace(instrument, leads=LeadState.NULLED, lead_ohm=None)


def _checked(instrument: Instrument, ohm: float, pct: float) -> Instrument:
    check = Check(ohm=ohm, read_ohm=ohm + _TYPICAL_LEADS_OHM, pct=pct, zero_ohm=_TYPICAL_LEADS_OHM)
    return msgspec.structs.replace(instrument, check=check, u_ohm=None)


def _by_volts(instrument: Instrument, ohm: float, pct: float) -> Instrument:
    across = _VOLTS_AMPERE * ohm
    volts = VoltsRatio(volts_x=across, volts_check=across, meter=parse_meter(DEFAULT_VOLTS_METER))
    check = Check(ohm=ohm, read_ohm=ohm, pct=pct)
    # The repeats were of the ohm range; a ratio would be read anew.
    anew = msgspec.structs.replace(instrument, repeats=1, repeats_sd_ohm=None, u_ohm=None)
    return msgspec.structs.replace(anew, volts=volts, check=check)


def _moves(limits: Limits) -> bool:
    return limits.k_celsius is not None or limits.slope_per_celsius != 0


def _has_vague_temperature(measured: Measured, limits: Limits) -> bool:
    vague = (measured.half_width_celsius() or 0.0) > _GOOD_TEMPERATURE_CELSIUS
    return _moves(limits) and measured.u_celsius is None and vague


def _well_known(measured: Measured) -> Measured:
    return msgspec.structs.replace(measured, temperature=TemperatureSource.TAPED, celsius_accuracy=None)
