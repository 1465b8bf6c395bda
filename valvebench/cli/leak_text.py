"""What `valvebench leak` answers: one JSON object, or plain words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import msgspec

from valvebench.judge.leak import LeakJudgement
from valvebench.model.format import decimals_for, flow_text, plus_minus
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLaw
from valvebench.model.words import VERDICT_TEXT

SAFETY: Final = (
    "Air throws parts: eye protection, at most the manual's pressure and never above 2 to 3 bar, nothing held in "
    "the way of a bore, vent before opening. Local rules and licensed practice come first."
)
_LAW_TEXT: Final = {
    LeakLaw.ORIFICE: "It behaves like a hole.",
    LeakLaw.GAP: "It behaves like a long thin gap.",
    LeakLaw.CANT_TELL: "Hole or gap: the readings do not tell them apart.",
}
_K: Final = 2.0


def sized(one: Sized | None) -> dict[str, float] | None:
    """A number with its standard uncertainty, or null."""
    return msgspec.structs.asdict(one) if one is not None else None


def leak_data(judgement: LeakJudgement) -> dict[str, Any]:
    """The stable JSON answer."""
    found = judgement.found
    return {
        "method": found.method,
        "n": found.n,
        "leak_ml_min": sized(found.leak_ml_min),
        "at_kpa_gauge": found.at_kpa_gauge,
        "mean_leak_ml_min": sized(found.mean_leak_ml_min),
        "from_kpa_gauge": found.from_kpa_gauge,
        "to_kpa_gauge": found.to_kpa_gauge,
        "reference": {"celsius": found.ref_celsius, "kpa_abs": found.ref_kpa_abs},
        "law": found.law,
        "conductance_dm3_s_bar": sized(found.conductance_dm3_s_bar),
        "orifice_mm": sized(found.orifice_mm),
        "cd": found.cd,
        "k_coverage": judgement.k_coverage,
        "U_ml_min": judgement.U_ml_min if found.leak_ml_min is not None else None,
        "max_ml_min": judgement.max_ml_min,
        "k_tau": found.k_tau,
        "gauge": found.gauge,
        "gauge_is_assumed": found.gauge_is_assumed,
        "budget": [{"term": one.term, "u_ml_min": one.u_ohm, "share": one.share} for one in judgement.budget],
        "verdict": judgement.verdict,
        "lean": judgement.lean,
        "plain_verdict": judgement.plain_verdict,
        "rule": judgement.rule,
        "reasons": judgement.reasons,
        "advice": found.advice,
    }


def as_text(judgement: LeakJudgement, not_used: Sequence[str]) -> str:
    """The same for a person."""
    found = judgement.found
    lines = [VERDICT_TEXT[judgement.verdict], *(f"  {reason}" for reason in judgement.reasons)]
    lines += _number_lines(found)
    lines += [f"    {one.term:<34} {_flow(one.u_ohm):>10} {100 * one.share:4.0f} %" for one in judgement.budget]
    assumed = " (assumed)" if found.gauge_is_assumed else ""
    count = "1 reading" if found.n == 1 else f"{found.n} readings"
    lines.append(f"  {count}, gauge {found.gauge}{assumed}.")
    lines += [f"  Next: {advice}" for advice in found.advice]
    if not_used:
        lines.append(f"Columns not used: {', '.join(not_used)}")
    return "\n".join([*lines, SAFETY])


def _number_lines(found: LeakFound) -> list[str]:
    lines = []
    mean = found.mean_leak_ml_min
    if mean is not None:
        lines.append(
            f"  Lost from {found.from_kpa_gauge:.4g} to {found.to_kpa_gauge:.4g} kPa: "
            f"{flow_text(mean.value, _K * mean.u)} on average."
        )
    if found.conductance_dm3_s_bar is not None and found.orifice_mm is not None:
        lines.append(
            f"  Conductance {_pair(found.conductance_dm3_s_bar)} dm\u00b3/(s bar), as a round hole of "
            f"{_pair(found.orifice_mm)} mm (discharge coefficient {found.cd:g})."
        )
    if found.leak_ml_min is not None:
        lines.append(f"  {_LAW_TEXT[found.law]}")
        lines.append(f"  Volumes at {found.ref_celsius:g} \u00b0C and {found.ref_kpa_abs:g} kPa.")
        lines.append("  Budget [ml/min]:")
    return lines


def _pair(one: Sized) -> str:
    return plus_minus(one.value, _K * one.u)


def _flow(u_ml_min: float) -> str:
    return f"{u_ml_min:.{decimals_for(u_ml_min)}f}"
