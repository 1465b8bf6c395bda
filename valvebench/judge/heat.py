"""What a heat run found -> verdict."""

from __future__ import annotations

from typing import Final, NamedTuple

from valvebench.judge import decide
from valvebench.judge.resistance import bounds
from valvebench.model.format import value_text
from valvebench.model.heat import HeatFound, HeatKind, Sized
from valvebench.model.limits import ASSUMED_REF_HALF_WIDTH_CELSIUS, Limits
from valvebench.model.words import VERDICT_TEXT, Lean, Rule, Verdict
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import Doubt, Line, combine, rectangle

_K: Final = 2.0


class HeatJudgement(NamedTuple):
    """Verdict of a heat run, with the value and its expanded uncertainty where the limits hold [ohm].

    `is_fault`: an opening or a part too much, which no limit can excuse.
    """

    found: HeatFound
    rule: Rule
    verdict: Verdict
    lean: Lean | None
    ohm_at_ref: float
    U_ohm_at_ref: float
    limits: Limits
    reasons: tuple[str, ...]
    is_fault: bool


def judge_heat(found: HeatFound, limits: Limits, *, rule: Rule = Rule.PROVED) -> HeatJudgement:
    """Judge the run of one device.

    Parameters
    ----------
    found : what the run says, with standard uncertainties
    limits : the band [ohm] at its reference temperature; without one the verdict is *No limit*
    rule : how much proof is asked for

    Returns
    -------
    HeatJudgement
        An opening, a series part or a growing part beyond its expanded uncertainty is *Fail*
        whatever the limits; what cannot be separated is at best *Can't tell*.

    Source
    ------
    JCGM 106:2012 for the comparison; the order of faults is ours: common practice, no source.
    """
    ohm, doubt = _at_reference(found, limits)
    low, high = bounds(limits)
    decision = decide.decide(ohm, guard=decide.guard_width(doubt, rule), low=low, high=high)
    verdict = decide.VERDICTS[decision.verdict] if limits.is_stated else Verdict.NO_LIMIT
    lean = decide.LEANS[decision.lean] if limits.is_stated else None
    faults = _faults(found)
    if faults:
        verdict, lean = Verdict.FAIL, None
    elif found.kind is HeatKind.NOT_SEPARABLE and verdict is Verdict.PASS:
        verdict, lean = Verdict.CANT_TELL, Lean.INSIDE
    expanded = float(doubt.k95 * doubt.u)
    reasons = (f"{VERDICT_TEXT[verdict]}: {_why(found, verdict, faults, ohm, expanded)}", *found.reasons)
    return HeatJudgement(found, rule, verdict, lean, ohm, expanded, limits, reasons, bool(faults))


def _at_reference(found: HeatFound, limits: Limits) -> tuple[float, Doubt]:
    """Everything a meter would read at the reference temperature, with its doubt [ohm]."""
    k = found.k_celsius
    factor = resistance_at(1.0, from_celsius=20.0, to_celsius=limits.ref_celsius, k_celsius=k)
    ohm = float(found.at_20_ohm.value * factor)
    lines = [Line("heat run", found.at_20_ohm.u * factor, is_rectangular=False)]
    if limits.is_stated and not limits.is_ref_stated:
        lines.append(rectangle("reference not stated", ohm / (k + limits.ref_celsius) * ASSUMED_REF_HALF_WIDTH_CELSIUS))
    return ohm, combine(lines)


def _faults(found: HeatFound) -> list[str]:
    faults = []
    opened = [event for event in found.events if event.kind == "open"]
    if opened:
        times = "once" if len(opened) == 1 else f"{len(opened)} times"
        faults.append(f"it opened {times}, first at {opened[0].coil_celsius:.0f} degrees Celsius of the coil")
    if _exceeds(found.series_ohm):
        faults.append(f"{_ohm(found.series_ohm)} in series")
    if found.kind is HeatKind.GROWS_WITH_HEAT and _exceeds(found.excess_ohm_at_hottest):
        faults.append(f"{_ohm(found.excess_ohm_at_hottest)} too much at the hottest")
    return faults


def _exceeds(size: Sized | None) -> bool:
    """Whether a size is larger than its own expanded uncertainty."""
    return size is not None and size.value > _K * size.u


def _ohm(size: Sized | None) -> str:
    return value_text(size.value, _K * size.u) if size is not None else ""


def _why(found: HeatFound, verdict: Verdict, faults: list[str], ohm: float, expanded: float) -> str:
    value = f"{value_text(ohm, expanded)} at the reference temperature"
    if faults:
        return f"{', '.join(faults)}, whatever the limits."
    if verdict is Verdict.NO_LIMIT:
        return f"{value}, and nothing to hold it against."
    if found.kind is HeatKind.NOT_SEPARABLE:
        return f"{value}; a fault may hide behind it."
    where = {Verdict.PASS: "inside the limits with its doubt", Verdict.FAIL: "outside the limits with its doubt"}
    return f"{value} is {where.get(verdict, 'too close to a limit to be proved')}."
