"""What a sweep of a solenoid found -> verdict."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

from valvebench.judge import decide
from valvebench.model.format import plus_minus
from valvebench.model.heat import Sized
from valvebench.model.leak import SweepFound
from valvebench.model.words import VERDICT_TEXT, Lean, Rule, Verdict
from valvebench.physics.uncertainty import Line, combine

NOISE_SHARE: Final = 1.0 / 3.0
"""Of the limit: noisier sweeps are judged by the mean over 10 to 90 % (simulated with known truth)."""


class SweepJudgement(NamedTuple):
    """Verdict of a sweep: the hysteresis it was judged by, in percent of the span, with its factor and U."""

    found: SweepFound
    rule: Rule
    verdict: Verdict
    lean: Lean | None
    plain_verdict: Verdict | None
    max_hysteresis_pct: float | None
    is_mean: bool
    hysteresis_pct: Sized
    k_coverage: float
    U_pct: float
    reasons: tuple[str, ...]


def judge_sweep(found: SweepFound, max_pct: float | None, *, rule: Rule = Rule.PROVED) -> SweepJudgement:
    """Hold the hysteresis of a sweep against the most that is allowed, both in percent of the span.

    Parameters
    ----------
    found : what the sweep says, at equal current
    max_pct : the most that is allowed; None is *No limit*

    Returns
    -------
    SweepJudgement
        By the largest width, or by the mean over 10 to 90 % where the scatter is above a third of the limit.

    Source
    ------
    JCGM 106:2012; one-sided, exactly on the limit is inside.
    """
    is_mean = max_pct is not None and _noise_pct(found) > NOISE_SHARE * max_pct
    loop = found.hysteresis_pct_span
    value = loop.mean_10_90 if is_mean else loop.max
    doubt = combine([Line("sweep", value.u, is_rectangular=False)])
    expanded = float(doubt.k95 * doubt.u)
    verdict, lean, plain = Verdict.NO_LIMIT, None, Verdict.NO_LIMIT
    if max_pct is not None:
        decision = decide.decide(value.value, guard=decide.guard_width(doubt, rule), low=-math.inf, high=max_pct)
        verdict, lean = decide.VERDICTS[decision.verdict], decide.LEANS[decision.lean]
        plain = decide.VERDICTS[decision.plain]
    reasons = (f"{VERDICT_TEXT[verdict]}: {_why(found, value, max_pct, verdict, expanded)}", *found.reasons)
    k = float(doubt.k95)
    return SweepJudgement(found, rule, verdict, lean, plain, max_pct, is_mean, value, k, expanded, reasons)


def _noise_pct(found: SweepFound) -> float:
    return 100.0 * found.noise_kpa / found.span_kpa if found.span_kpa > 0 else math.inf


def is_resolved(value: Sized) -> bool:
    """Whether a width stands out of its own doubt: twice its standard uncertainty."""
    return value.value > 2.0 * value.u


def hysteresis_words(value: Sized, expanded_pct: float) -> str:
    """`3.2 +- 0.6 % of the span`, with *not resolved* where the loop is lost in its doubt."""
    lost = "" if is_resolved(value) else ", not resolved"
    return f"{plus_minus(value.value, expanded_pct)} % of the span{lost}"


def _why(found: SweepFound, value: Sized, max_pct: float | None, verdict: Verdict, expanded: float) -> str:
    what = "mean over 10 to 90 %" if value is not found.hysteresis_pct_span.max else "largest width"
    told = f"hysteresis ({what}) {hysteresis_words(value, expanded)}"
    if max_pct is None:
        return f"{told}, and nothing to hold it against."
    limit = f"the {max_pct:g} % allowed"
    words = {Verdict.PASS: f"below {limit} with its doubt", Verdict.FAIL: f"above {limit} with its doubt"}
    return f"{told}, {words.get(verdict, f'too close to {limit} to be proved either way')}."
