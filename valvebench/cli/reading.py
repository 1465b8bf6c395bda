"""`valvebench reading`: judge one reading without a session."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from valvebench.cli.options import EXIT_OF_VERDICT, Parser, answer, fields
from valvebench.cli.reading_options import MEASURED, with_meter
from valvebench.judge.advice import advice_for
from valvebench.judge.judgement import Judgement
from valvebench.judge.resistance import judge
from valvebench.model.errors import BadInput, bad
from valvebench.model.limits import ASSUMED_REF_CELSIUS, COPPER_K_CELSIUS, Limits
from valvebench.model.measured import Measured
from valvebench.model.validate import build
from valvebench.model.words import VERDICT_TEXT, Rule, Verdict


def run(words: Sequence[str], services: object) -> int:  # noqa: ARG001  one signature; a reading needs nothing of the world
    """Judge and print one reading."""
    parser = Parser("reading", "Judge one reading; ohm, degrees Celsius, volt.")
    for option in MEASURED:
        option.add_to(parser)
    arguments = parser.read(words)
    measured = measured_from(with_meter(fields(arguments, MEASURED)))
    judgement = judged(measured)
    answer(arguments.json, as_data(judgement), as_text(judgement))
    return EXIT_OF_VERDICT[judgement.verdict]


def measured_from(given: dict[str, Any]) -> Measured:
    """The reading from its fields (raises BadInput)."""
    if "celsius" not in given:
        raise bad(
            "--celsius",
            "nothing",
            "the coil temperature in degrees Celsius",
            "Add --temperature to say how it is known.",
        )
    body, findings = build(given, Measured)
    if findings:
        raise BadInput([finding.problem for finding in findings])
    measured: Measured = body
    return measured


def judged(measured: Measured) -> Judgement:
    """Judge against the limits that stand in the reading, advice included."""
    limits = Limits(
        low_ohm=measured.low_ohm,
        high_ohm=measured.high_ohm,
        ref_celsius=ASSUMED_REF_CELSIUS if measured.ref_celsius is None else measured.ref_celsius,
        is_ref_stated=not measured.ref_not_stated,
        k_celsius=COPPER_K_CELSIUS if measured.k_celsius is None else measured.k_celsius,
    )
    rule = measured.rule or Rule.PROVED
    judgement = judge(measured, limits, rule=rule)
    if judgement.verdict is Verdict.CANT_TELL and not judgement.advice:
        return msgspec.structs.replace(judgement, advice=advice_for(measured, limits, rule=rule))
    return judgement


def as_data(judgement: Judgement) -> dict[str, Any]:
    """The stable JSON answer."""
    limits = judgement.limits
    return {
        "verdict": judgement.verdict,
        "lean": judgement.lean,
        "plain_verdict": judgement.plain_verdict,
        "can_decide": judgement.can_decide,
        "state": judgement.state,
        "ohm": judgement.ohm,
        "ohm_at_ref": judgement.ohm_at_ref,
        "ref_celsius": limits.ref_celsius,
        "u_ohm_at_ref": judgement.u_ohm_at_ref,
        "nu_eff": judgement.nu_eff,
        "k_coverage": judgement.k_coverage,
        "U_ohm_at_ref": judgement.U_ohm_at_ref,
        "low_ohm": limits.low_ohm,
        "high_ohm": limits.high_ohm,
        "low_ohm_at_celsius": judgement.low_ohm_at_celsius,
        "high_ohm_at_celsius": judgement.high_ohm_at_celsius,
        "p_inside": judgement.p_inside,
        "rule": judgement.rule,
        "budget": [msgspec.structs.asdict(line) for line in judgement.budget],
        "reasons": judgement.reasons,
        "advice": judgement.advice,
    }


def as_text(judgement: Judgement) -> str:
    """The same for a person."""
    lines = [VERDICT_TEXT[judgement.verdict], *(f"  {reason}" for reason in judgement.reasons)]
    if judgement.budget:
        lines.append("  Budget [ohm at the reference temperature]:")
        lines += [f"    {line.term:<36} {line.u_ohm:.4g}  {100 * line.share:3.0f} %" for line in judgement.budget]
    lines += [f"  Next: {advice}" for advice in judgement.advice]
    return "\n".join(lines)
