"""`valvebench judge SESSION`: every row with its verdict, and the session's."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from valvebench.cli.air_text import air_data, air_line
from valvebench.cli.flex_text import flex_data
from valvebench.cli.heat_text import found_data
from valvebench.cli.options import EXIT_OF_VERDICT, Option, Parser, answer, fields, one_of
from valvebench.cli.services import MakeServices
from valvebench.judge.codes import CODE_KIND
from valvebench.judge.flex_rows import FLEX_WORDS
from valvebench.judge.heat_rows import HEAT_WORDS
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement, session_sentence
from valvebench.judge.targets import Wanted
from valvebench.model.format import limits_text, ohm_text, open_text, value_text
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import VERDICT_TEXT, ItemState, Rule

_RULE = Option("--rule", "rule", one_of(Rule), "overrule the rule of the readings")


def run(words: Sequence[str], services: MakeServices) -> int:
    """Judge a session without changing it."""
    parser = Parser("judge", "Judge a session.")
    parser.add_argument("session", type=Path, help="the session folder")
    _RULE.add_to(parser)
    arguments = parser.read(words)
    found = fields(arguments, (_RULE,))
    view = services().view_session(arguments.session)
    judged = view.judged(Rule(found["rule"]) if "rule" in found else None)
    answer(arguments.json, as_data(view.session, view.variant, judged), as_text(view.session, judged))
    return EXIT_OF_VERDICT[judged.verdict]


def as_data(session: Session, variant: Variant | None, judged: SessionJudgement) -> dict[str, Any]:
    """The stable JSON answer."""
    return {
        "job": session.job.job,
        "variant": variant.key if variant is not None else None,
        "verdict": judged.verdict,
        "scope": judged.scope,
        "rule": judged.rule,
        "closed": session.is_closed,
        "head": session.head,
        "anchors": [{"kind": anchor.kind, "to": anchor.to} for anchor in session.anchors],
        "rows": [row_data(row) for row in judged.rows],
        "missing": [_missing(one) for one in judged.missing],
    }


def _missing(wanted: Wanted) -> dict[str, Any]:
    places = {"from": wanted.from_node, "to": wanted.to_node, "port": wanted.port}
    return {"what": wanted.what, "kind": wanted.kind, **{name: place or None for name, place in places.items()}}


def row_data(row: Row) -> dict[str, Any]:
    """One row of the answer; numbers in ohm and degrees Celsius."""
    j, numbers = row.judgement, row.judgement or row.heat
    return {
        "entries": row.entries,
        "what": row.what,
        "kind": row.kind,
        "from": row.from_node,
        "to": row.to_node,
        "at": row.at,
        "port": row.port,
        "ohm": j.ohm if j else None,
        "state": j.state if j else None,
        "range_ohm": j.range_ohm if j else None,
        "celsius": row.celsius,
        "ohm_at_ref": numbers.ohm_at_ref if numbers else None,
        "U_ohm_at_ref": numbers.U_ohm_at_ref if numbers else None,
        "low_ohm": numbers.limits.low_ohm if numbers else None,
        "high_ohm": numbers.limits.high_ohm if numbers else None,
        "limit_source": row.limit_source,
        "p_inside": j.p_inside if j else None,
        "can_decide": j.can_decide if j else None,
        "verdict": row.verdict,
        "lean": row.lean,
        "plain_verdict": j.plain_verdict if j else None,
        "covers": row.covers,
        "reasons": row.reasons,
        "advice": row.advice,
        "heat": found_data(row.heat) if row.heat else None,
        "flex": flex_data(row.flex) if row.flex else None,
        **air_data(row),
    }


def as_text(session: Session, judged: SessionJudgement) -> str:
    """The same for a person."""
    state = "closed" if session.is_closed else "open"
    lines = [session_sentence(judged), f"job {session.job.job}, {state}, head {session.head}", ""]
    for row in judged.rows:
        lines += _row_lines(row)
    lines += [f"  missing: {one.what}" for one in judged.missing]
    return "\n".join(lines)


def _row_lines(row: Row) -> list[str]:
    place = f"{row.from_node}\u2013{row.to_node}" if row.from_node else (row.port or "")
    what, more = row.what, list[str]()
    if row.heat is not None:
        place, what, more = "heat run", row.what.removesuffix(HEAT_WORDS), [f"      {reason}" for reason in row.reasons]
    elif row.kind == CODE_KIND:
        more = [f"      {reason}" for reason in row.reasons]
    elif row.flex is not None:
        what, more = f"{row.what.removesuffix(FLEX_WORDS)} flexed", [f"      {reason}" for reason in row.reasons]
    number, limits = _number(row), _limits(row)
    if (air := air_line(row)) is not None:
        (place, what, number, limits), more = air, [f"      {reason}" for reason in row.reasons]
    line = f"  {place:<10} {what:<14} {number:<26} {limits:<16} {VERDICT_TEXT[row.verdict]}"
    return [line, *more, *(f"      Next: {one}" for one in row.advice)]


def _number(row: Row) -> str:
    if row.heat is not None:
        return value_text(row.heat.ohm_at_ref, row.heat.U_ohm_at_ref)
    j = row.judgement
    if j is None:
        return ""
    if j.state is ItemState.OPEN:
        return f"{open_text(j.range_ohm)} (open)"
    if j.ohm_at_ref is None:
        return ohm_text(j.ohm) if j.ohm is not None else ""
    return value_text(j.ohm_at_ref, j.U_ohm_at_ref)


def _limits(row: Row) -> str:
    judged = row.judgement or row.heat
    return limits_text(judged.limits.low_ohm, judged.limits.high_ohm) if judged else ""
