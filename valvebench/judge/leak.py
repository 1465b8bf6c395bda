"""What an air test found -> verdict."""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import msgspec

from valvebench.judge import decide
from valvebench.judge.judgement import BudgetLine
from valvebench.model.format import flow_text
from valvebench.model.leak import LeakFound, LeakLine
from valvebench.model.words import VERDICT_TEXT, Lean, Rule, Verdict
from valvebench.physics.uncertainty import Doubt, Line, combine

_INFINITE: Final = math.inf
K_OF_LOOKS: Final = 2.7
"""For noise, where a run is looked at while it goes on, at doubling times: six looks at a leak exactly on
its limit then say Fail in 2.5 % as one look with 1.96 does (simulated; volume and drift do not change
between looks and keep their factor)."""
_K_OF_ONE: Final = 2.0
NOISE: Final = "noise"
WATCHED: Final = "It was watched while it fell, at doubling times: the noise counts 1.35 times."
FIRST_LOOK_S: Final = 5.0


class LeakJudgement(NamedTuple):
    """Verdict of an air test, with the factor and expanded uncertainty of the leak [ml/min]."""

    found: LeakFound
    rule: Rule
    verdict: Verdict
    lean: Lean | None
    plain_verdict: Verdict | None
    max_ml_min: float | None
    k_coverage: float
    U_ml_min: float
    budget: tuple[BudgetLine, ...]
    reasons: tuple[str, ...]


def judge_leak(
    found: LeakFound, max_ml_min: float | None, *, rule: Rule = Rule.PROVED, is_one_of_many: bool = False
) -> LeakJudgement:
    """Hold a leak against the most that is allowed.

    Parameters
    ----------
    found : what the test says
    max_ml_min : the limit, told at the same reference conditions; None is *No limit*
    is_one_of_many : the run goes on and is looked at at doubling times

    Returns
    -------
    LeakJudgement
        A leak that is not told, or a run too fast to trust, is at best *Can't tell*.

    Source
    ------
    JCGM 106:2012; one-sided, exactly on the limit is inside.
    """
    doubt = combine(lines_of(found.lines)) if found.lines else combine([])
    k = float(doubt.k95)
    expanded = _looked_at(found, doubt, k) if is_one_of_many else k * float(doubt.u)
    verdict, lean, plain = _verdict(found, max_ml_min, doubt, rule, expanded)
    reasons = (f"{VERDICT_TEXT[verdict]}: {_why(found, verdict, max_ml_min, expanded, rule)}", *found.reasons)
    return LeakJudgement(found, rule, verdict, lean, plain, max_ml_min, k, expanded, _budget(found), reasons)


def watched(found: LeakFound) -> LeakFound:
    """The same of a run that was looked at while it fell, so that nothing later need know: noise counts for more.

    Source
    ------
    As `K_OF_LOOKS`; told in the budget itself, which then gives the same expanded uncertainty.
    """
    times = K_OF_LOOKS / _K_OF_ONE
    lines = tuple(
        msgspec.structs.replace(one, u_ml_min=times * one.u_ml_min) if one.term == NOISE else one for one in found.lines
    )
    leak = found.leak_ml_min
    if leak is not None:
        leak = msgspec.structs.replace(leak, u=sum(one.u_ml_min**2 for one in lines) ** 0.5)
    return msgspec.structs.replace(
        found,
        lines=lines,
        leak_ml_min=leak,
        u_noise_ml_min=times * found.u_noise_ml_min,
        reasons=(*found.reasons, WATCHED),
    )


def lines_of(lines: tuple[LeakLine, ...]) -> list[Line]:
    """The doubts of a leak as a budget counts them."""
    return [
        Line(one.term, one.u_ml_min, is_rectangular=one.is_rectangular, dof=_INFINITE if one.dof is None else one.dof)
        for one in lines
    ]


def is_look(since_s: float, now_s: float) -> bool:
    """Whether a doubling time (5, 10, 20, ... s) lies between the last moment and this one."""
    looks = (FIRST_LOOK_S * 2.0**n for n in range(16))
    return any(since_s < at <= now_s for at in looks)


def next_look_s(now_s: float) -> float:
    """The doubling time that comes after this moment [s]."""
    return next(at for at in (FIRST_LOOK_S * 2.0**n for n in range(64)) if at > now_s)


def _looked_at(found: LeakFound, doubt: Doubt, k: float) -> float:
    noise = min(found.u_noise_ml_min, float(doubt.u))
    rest = float(doubt.u) ** 2 - noise**2
    return float((k * k * rest + (K_OF_LOOKS * noise) ** 2) ** 0.5)


def _verdict(
    found: LeakFound, max_ml_min: float | None, doubt: Doubt, rule: Rule, expanded: float
) -> tuple[Verdict, Lean | None, Verdict | None]:
    if found.leak_ml_min is None:
        return (Verdict.NO_LIMIT if max_ml_min is None else Verdict.CANT_TELL), None, None
    if max_ml_min is None:
        return Verdict.NO_LIMIT, None, Verdict.NO_LIMIT
    times = float(decide.guard_width(doubt, rule)) / (float(doubt.k95) * float(doubt.u)) if doubt.u > 0 else 0.0
    value = found.leak_ml_min.value
    decision = decide.decide(value, guard=times * expanded, low=-_INFINITE, high=max_ml_min)
    verdict, lean = decide.VERDICTS[decision.verdict], decide.LEANS[decision.lean]
    plain = decide.VERDICTS[decision.plain]
    if found.is_capped and verdict in (Verdict.PASS, Verdict.FAIL):
        return Verdict.CANT_TELL, (Lean.INSIDE if verdict is Verdict.PASS else Lean.OUTSIDE), plain
    return verdict, lean, plain


def _budget(found: LeakFound) -> tuple[BudgetLine, ...]:
    total = sum(one.u_ml_min**2 for one in found.lines)
    return tuple(
        BudgetLine(term=one.term, u_ohm=one.u_ml_min, share=one.u_ml_min**2 / total if total > 0 else 0.0)
        for one in sorted(found.lines, key=lambda one: -one.u_ml_min)
    )


def _why(found: LeakFound, verdict: Verdict, max_ml_min: float | None, expanded: float, rule: Rule) -> str:
    if found.leak_ml_min is None:
        return "no leak can be told, so nothing is held against a limit."
    side = "below" if found.at_kpa_gauge < 0 else "above"
    told = f"{flow_text(found.leak_ml_min.value, expanded)} at {abs(found.at_kpa_gauge):.4g} kPa {side} the air around"
    if max_ml_min is None:
        return f"{told}, and nothing to hold it against."
    limit = f"the {max_ml_min:g} ml/min allowed"
    if rule is Rule.PLAIN and verdict in (Verdict.PASS, Verdict.FAIL):
        against = "no more than" if verdict is Verdict.PASS else "more than"
        return f"{told}, {against} {limit} by plain comparison, its doubt not counted."
    if found.is_capped:
        return f"{told}, but the run cannot be trusted against {limit}."
    words = {Verdict.PASS: f"is below {limit} with its doubt", Verdict.FAIL: f"is above {limit} with its doubt"}
    return f"{told} {words.get(verdict, f'is too close to {limit} to be proved either way')}."
