"""One measured resistance -> `Judgement`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import msgspec

from valvebench.judge import decide
from valvebench.judge.judgement import BudgetLine, Judgement
from valvebench.judge.sentences import reasons_for_open, reasons_for_value
from valvebench.model.limits import ASSUMED_REF_HALF_WIDTH_CELSIUS, NO_LIMITS, Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import Check, Instrument
from valvebench.model.words import ItemState, Rule, Verdict
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import INFINITE, Doubt, Line, combine, rectangle, scaled, value_and_lines


class Estimate(NamedTuple):
    """A value with its doubt where the limits hold [ohm], and what it came from."""

    ohm: float
    ohm_at_ref: float
    lines: list[Line]
    doubt: Doubt


def judge(
    measured: Measured,
    limits: Limits = NO_LIMITS,
    *,
    rule: Rule = Rule.PROVED,
    check: Check | None = None,
    pooled_sd_ohm: float | None = None,
) -> Judgement:
    """Judge one reading.

    Parameters
    ----------
    measured : the reading with its meter, leads and temperature
    limits : the band [ohm]; without one the verdict is *No limit*
    rule : how much proof is asked for
    check : the meter check that applies, where the reading has none of its own [ohm]
    pooled_sd_ohm : spread of repeated readings of this meter and these leads [ohm]

    Returns
    -------
    Judgement

    Source
    ------
    JCGM 100:2008 for the doubt, JCGM 106:2012 and ILAC-G8:09/2019 for the verdict.
    """
    if measured.open:
        return _judge_open(measured, limits, rule)
    instrument = measured.instrument(check=check, pooled_sd_ohm=pooled_sd_ohm)
    if measured.u_celsius is None and measured.half_width_celsius() is None:
        return _not_usable(measured, limits, rule, instrument)
    estimate = estimate_of(measured, instrument, limits)
    return _judge_value(measured, limits, rule, instrument, estimate)


def estimate_of(
    measured: Measured, instrument: Instrument, limits: Limits, *, displayed_ohm: float | None = None
) -> Estimate:
    """The value with its doubt, at the reference temperature where the limits hold there.

    Returns
    -------
    Estimate
        `displayed_ohm` [ohm] stands in for what the meter showed, to ask "what if".

    Source
    ------
    JCGM 100:2008, 5.1; sensitivity of the conductor law R/(k + T).
    """
    shown = measured.displayed_ohm if displayed_ohm is None else displayed_ohm
    ohm, lines = value_and_lines(instrument, math.nan if shown is None else shown)
    factor = to_reference(limits, measured.celsius)
    lines = [*scaled(lines, factor), *_temperature_lines(measured, limits, ohm * factor)]
    return Estimate(ohm, ohm * factor, lines, combine(lines))


def to_reference(limits: Limits, celsius: float) -> float:
    """Factor that carries a resistance from the coil temperature to where the limits hold."""
    if limits.k_celsius is None:
        return 1.0
    factor: float = resistance_at(1.0, from_celsius=celsius, to_celsius=limits.ref_celsius, k_celsius=limits.k_celsius)
    return factor


def _temperature_lines(measured: Measured, limits: Limits, ohm_at_ref: float) -> list[Line]:
    lines = []
    slope = abs(_slope_per_celsius(limits, measured.celsius) * ohm_at_ref)
    if slope > 0 and measured.u_celsius is not None:
        lines.append(Line("temperature", slope * measured.u_celsius, is_rectangular=False))
    elif slope > 0:
        lines.append(rectangle("temperature", slope * (measured.half_width_celsius() or 0.0)))
    if limits.k_celsius is not None and not limits.is_ref_stated:
        per_celsius = abs(ohm_at_ref) / (limits.k_celsius + limits.ref_celsius)
        lines.append(rectangle("reference not stated", per_celsius * ASSUMED_REF_HALF_WIDTH_CELSIUS))
    return lines


def _slope_per_celsius(limits: Limits, celsius: float) -> float:
    if limits.k_celsius is None:
        return limits.slope_per_celsius
    return 1.0 / (limits.k_celsius + celsius)


def _judge_value(
    measured: Measured, limits: Limits, rule: Rule, instrument: Instrument, estimate: Estimate
) -> Judgement:
    doubt, value = estimate.doubt, estimate.ohm_at_ref
    guard = decide.guard_width(doubt, rule)
    low, high = bounds(limits)
    decision = decide.decide(value, guard=guard, low=low, high=high)
    stated = limits.is_stated
    factor = to_reference(limits, measured.celsius)
    bare = Judgement(
        verdict=decide.VERDICTS[decision.verdict] if stated else Verdict.NO_LIMIT,
        state=_state(measured, instrument),
        rule=rule,
        limits=limits,
        celsius=measured.celsius,
        lean=decide.LEANS[decision.lean] if stated else None,
        plain_verdict=decide.VERDICTS[decision.plain] if stated else Verdict.NO_LIMIT,
        can_decide=capability(measured, instrument, limits, rule),
        ohm=estimate.ohm,
        ohm_at_ref=value,
        u_ohm_at_ref=doubt.u,
        nu_eff=None if doubt.nu_eff == INFINITE else doubt.nu_eff,
        k_coverage=doubt.k95,
        guard_ohm=guard,
        low_ohm_at_celsius=None if limits.low_ohm is None else limits.low_ohm / factor,
        high_ohm_at_celsius=None if limits.high_ohm is None else limits.high_ohm / factor,
        p_inside=decide.chance_inside(value, doubt=doubt, low=low, high=high) if stated else None,
        range_ohm=measured.range_ohm,
        is_dominated=doubt.is_dominated,
        budget=_budget(estimate.lines),
    )
    return _with_reasons(bare, measured)


def _with_reasons(bare: Judgement, measured: Measured) -> Judgement:
    return msgspec.structs.replace(bare, reasons=reasons_for_value(bare, measured))


def bounds(limits: Limits) -> tuple[float, float]:
    """Limits with infinity where there is none [ohm]."""
    low = -math.inf if limits.low_ohm is None else limits.low_ohm
    high = math.inf if limits.high_ohm is None else limits.high_ohm
    return low, high


def _state(measured: Measured, instrument: Instrument) -> ItemState:
    """Shown as nothing, or as no more than the tips alone: below what the meter resolves."""
    shown = measured.displayed_ohm
    if shown is None:
        return ItemState.VALUE
    without_tips = shown - (instrument.lead_ohm or 0.0)
    is_below = without_tips < 0.5 * instrument.meter.step
    return ItemState.BELOW_RESOLUTION if is_below else ItemState.VALUE


def _budget(lines: Sequence[Line]) -> tuple[BudgetLine, ...]:
    variance = sum(line.u_ohm**2 for line in lines)
    return tuple(
        BudgetLine(term=line.term, u_ohm=line.u_ohm, share=line.u_ohm**2 / variance if variance > 0 else 0.0)
        for line in lines
    )


def capability(measured: Measured, instrument: Instrument, limits: Limits, rule: Rule) -> bool | None:
    """Can this meter decide?  A reading in mid-band, same meter, leads and temperature.

    Returns
    -------
    True with one limit only, None without any.

    Source
    ------
    JCGM 106:2012 7.6 (measurement capability), with the guard width of the rule.
    """
    if not limits.is_stated:
        return None
    low, high = limits.low_ohm, limits.high_ohm
    if low is None or high is None:
        return True
    middle_ohm = 0.5 * (low + high) / to_reference(limits, measured.celsius)
    estimate = estimate_of(
        measured, at_value(instrument, middle_ohm), limits, displayed_ohm=shown_for(instrument, middle_ohm)
    )
    return decide.can_decide(low=low, high=high, guard=decide.guard_width(estimate.doubt, rule))


def shown_for(instrument: Instrument, ohm: float) -> float:
    """What the meter would show for a resistance [ohm]: leads and check resistor turned round."""
    one, _ = value_and_lines(instrument, 1.0)
    two, _ = value_and_lines(instrument, 2.0)
    return ohm if instrument.volts is not None else 1.0 + (ohm - one) / (two - one)


def at_value(instrument: Instrument, ohm: float) -> Instrument:
    """The same instrument; a volts ratio as it would stand for that resistance."""
    volts, check = instrument.volts, instrument.check
    if volts is None or check is None:
        return instrument
    moved = msgspec.structs.replace(volts, volts_x=volts.volts_check * ohm / check.ohm)
    return msgspec.structs.replace(instrument, volts=moved)


def _judge_open(measured: Measured, limits: Limits, rule: Rule) -> Judgement:
    range_ohm = measured.range_ohm or 0.0
    factor = to_reference(limits, measured.celsius)
    low = None if limits.low_ohm is None else limits.low_ohm / factor
    high = None if limits.high_ohm is None else limits.high_ohm / factor
    verdict = decide.open_verdict(range_ohm, low=low, high=high)
    reasons, advice = reasons_for_open(verdict, range_ohm=range_ohm, low_ohm=low, high_ohm=high)
    return Judgement(
        verdict=verdict,
        state=ItemState.OPEN,
        rule=rule,
        limits=limits,
        celsius=measured.celsius,
        plain_verdict=None if verdict is Verdict.CANT_TELL else verdict,
        low_ohm_at_celsius=low,
        high_ohm_at_celsius=high,
        range_ohm=range_ohm,
        reasons=reasons,
        advice=advice,
    )


def _not_usable(measured: Measured, limits: Limits, rule: Rule, instrument: Instrument) -> Judgement:
    shown = measured.displayed_ohm
    ohm = value_and_lines(instrument, math.nan if shown is None else shown)[0]
    return Judgement(
        verdict=Verdict.NOT_USABLE,
        state=ItemState.VALUE,
        rule=rule,
        limits=limits,
        celsius=measured.celsius,
        ohm=ohm,
        reasons=("Not usable: the coil temperature is not known before the part has soaked.",),
        advice=("Let the part lie two hours in the room, or tape a probe to the can, and read again.",),
    )
