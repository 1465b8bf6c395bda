"""Why a verdict is what it is, in words a counter clerk can read."""

from __future__ import annotations

from valvebench.judge.judgement import Judgement
from valvebench.model.format import OHM, celsius_text, chance_text, limits_text, ohm_text, value_text
from valvebench.model.measured import Measured
from valvebench.model.words import ItemState, LeadState, Lean, Rule, TemperatureSource, Verdict

_HEADLINE = {
    (Verdict.PASS, Rule.PLAIN): "Pass by plain comparison: the reading lies inside the limits, its doubt not counted.",
    (Verdict.FAIL, Rule.PLAIN): "Fail by plain comparison: the reading lies outside the limits, its doubt not counted.",
}
_PASS = "Pass: the whole interval lies inside the limits."  # noqa: S105  a sentence
_FAIL = "Fail: the whole interval lies outside the limits."
_LEAN = {
    Lean.INSIDE: "Can't tell: the reading lies inside, but its interval reaches over a limit.",
    Lean.OUTSIDE: "Can't tell: the reading lies outside, but its interval reaches back over the limit.",
    Lean.STRADDLES: "Can't tell: the interval is wider than the band and covers both limits.",
}
_NO_LIMIT = "No limit: nothing is stated to hold this reading against."


def headline(judgement: Judgement) -> str:
    """The one sentence beside the mark."""
    verdict = judgement.verdict
    if (verdict, judgement.rule) in _HEADLINE:
        return _HEADLINE[verdict, judgement.rule]
    if verdict is Verdict.PASS:
        return _PASS
    if verdict is Verdict.FAIL:
        return _FAIL
    if judgement.lean is not None:
        return _LEAN[judgement.lean]
    return _NO_LIMIT if verdict is Verdict.NO_LIMIT else "Not usable: the reading is not a number."


def reasons_for_value(judgement: Judgement, measured: Measured) -> tuple[str, ...]:
    """Headline, numbers and what was assumed, most important first."""
    reasons = [headline(judgement), _numbers(judgement)]
    if judgement.p_inside is not None and judgement.verdict is Verdict.CANT_TELL:
        reasons.append(f"The chance that the true value lies inside is {chance_text(judgement.p_inside)}.")
    if judgement.state is ItemState.BELOW_RESOLUTION:
        reasons.append("The meter shows nothing: the resistance is below what it can resolve.")
    return (*reasons, *_assumptions(judgement, measured))


def _numbers(judgement: Judgement) -> str:
    value = value_text(judgement.ohm_at_ref or 0.0, judgement.U_ohm_at_ref)
    ref = judgement.ref_celsius
    at = f" at {celsius_text(ref)}" if ref is not None else f" at {celsius_text(judgement.celsius)}"
    limits = limits_text(judgement.limits.low_ohm, judgement.limits.high_ohm)
    against = f", limits {limits} {OHM}" if limits else ""
    return f"{value}{at}{against}. {_widest(judgement)}".rstrip()


def _widest(judgement: Judgement) -> str:
    if not judgement.u_ohm_at_ref:
        return ""
    widest = max(judgement.budget, key=lambda line: line.share)
    return f"Most of the doubt comes from the {widest.term}."


def _assumptions(judgement: Judgement, measured: Measured) -> list[str]:
    said = []
    if measured.u_ohm is None and measured.volts_x is None and (measured.meter is None or measured.meter_is_assumed):
        said.append(f"Assumed meter: {measured.meter_spec().text()} ({OHM}); name yours for a narrower doubt.")
    if measured.leads is LeadState.NEITHER and measured.check_ohm is None and judgement.limits.is_stated:
        said.append(_leads_assumed(measured))
    if _temperature_is_guess(measured) and judgement.limits.k_celsius is not None:
        said.append("The coil temperature was not measured: plus or minus 10 degrees are counted.")
    if judgement.limits.k_celsius is not None and not judgement.limits.is_ref_stated:
        said.append("The manual states no reference temperature: 20 degrees assumed, plus or minus 5 added.")
    return [*said, *([judgement.limits.note] if judgement.limits.note else [])]


def _leads_assumed(measured: Measured) -> str:
    allowance = measured.lead_allowance_ohm
    return (
        f"Leads neither nulled nor taken off: {0.5 * allowance:g} {OHM} is taken off, "
        f"plus or minus as much again is counted."
    )


def _temperature_is_guess(measured: Measured) -> bool:
    given = measured.u_celsius is not None or measured.celsius_accuracy is not None
    return not given and measured.temperature in (None, TemperatureSource.UNKNOWN)


def reasons_for_open(
    verdict: Verdict, *, range_ohm: float, low_ohm: float | None, high_ohm: float | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Reasons and advice for an open reading; all in ohm at the coil temperature."""
    proves = f"Open on a {ohm_text(range_ohm)} range proves a resistance above {ohm_text(range_ohm)}, no more."
    if verdict is Verdict.NO_LIMIT:
        return (_NO_LIMIT, proves), ()
    if verdict is Verdict.FAIL:
        return (f"Fail: open. {proves}", f"The highest allowed is {ohm_text(high_ohm or 0.0)}."), ()
    if verdict is Verdict.PASS:
        return (f"Pass: {ohm_text(low_ohm or 0.0)} or more is asked for. {proves}",), ()
    needed = high_ohm if high_ohm is not None else low_ohm or 0.0
    advice = f"Set a range above {ohm_text(needed)} and read again."
    return (f"Can't tell: the range was too low. {proves}",), (advice,)
