"""What `valvebench heat` answers: one JSON object, or plain words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import msgspec

from valvebench.judge.heat import HeatJudgement
from valvebench.model.format import celsius_text, decimals_for, ohm_text
from valvebench.model.heat import HeatEvent, HeatFound
from valvebench.model.words import VERDICT_TEXT

if TYPE_CHECKING:
    from valvebench.cli.heat import Answered
    from valvebench.diagnose.heat_matched import Ratio

_K: Final = 2.0
_CONSTANT_TEXT: Final = {
    True: "stays the same as they warm",
    False: "does not stay the same: they do not move alike",
    None: "can't tell whether it stays the same",
}


def device_data(one: Answered) -> dict[str, Any]:
    """The stable JSON answer for one device; all null where nothing could be found."""
    found, judgement = one.found, one.judgement
    if found is None or judgement is None:
        empty = dict.fromkeys(name for name in HeatFound.__struct_fields__ if name not in ("events", "advice"))
        reasons = [problem.text() for problem in one.problems]
        return empty | {"events": [], "verdict": one.verdict, "lean": None, "reasons": reasons, "advice": []}
    return found_data(judgement)


def found_data(judgement: HeatJudgement) -> dict[str, Any]:
    """What a run says and how it is judged, as JSON."""
    data = {name: _plain(getattr(judgement.found, name)) for name in judgement.found.__struct_fields__}
    return data | {
        "verdict": judgement.verdict,
        "lean": judgement.lean,
        "ohm_at_ref": judgement.ohm_at_ref,
        "U_ohm_at_ref": judgement.U_ohm_at_ref,
        "ref_celsius": judgement.limits.ref_celsius,
        "low_ohm": judgement.limits.low_ohm,
        "high_ohm": judgement.limits.high_ohm,
        "reasons": judgement.reasons,
    }


def _plain(value: object) -> object:
    if isinstance(value, msgspec.Struct):
        return msgspec.structs.asdict(value)
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value


def as_text(answers: Mapping[str, Answered], ratios: Sequence[Ratio], not_used: Sequence[str]) -> str:
    """The same for a person."""
    lines = [line for name, one in answers.items() for line in _device_lines(name, one)]
    lines += [_ratio_line(one) for one in ratios]
    if not_used:
        lines.append(f"Columns not used: {', '.join(not_used)}")
    return "\n".join(lines)


def _device_lines(name: str, one: Answered) -> list[str]:
    head = f"{name}: {VERDICT_TEXT[one.verdict]}" if name else VERDICT_TEXT[one.verdict]
    if one.found is None or one.judgement is None:
        return [head, *(f"  {problem.text()}" for problem in one.problems)]
    lines = [head, *(f"  {reason}" for reason in one.judgement.reasons)]
    lines += [f"  {_event_text(event)}" for event in one.found.events]
    if one.found.lag_s is not None:
        lag = one.found.lag_s
        places = decimals_for(_K * lag.u)
        lines.append(f"  The coil follows the probe {lag.value:.{places}f} \u00b1 {_K * lag.u:.{places}f} s behind.")
    assumed = " (assumed)" if one.found.meter_is_assumed else ""
    lines.append(f"  {one.found.n} readings, meter {one.found.meter}{assumed}.")
    return [*lines, *(f"  Next: {advice}" for advice in one.found.advice)]


def _event_text(event: HeatEvent) -> str:
    way = "" if event.heating is None else (" while it warmed" if event.heating else " while it cooled")
    at = f"{celsius_text(event.coil_celsius)} of the coil, {celsius_text(event.probe_celsius)} of the probe{way}"
    when = f" {event.t_s:.0f} s after the start" if event.t_s is not None else ""
    what = "It opened" if event.size_ohm is None else f"It jumped by {ohm_text(event.size_ohm)}"
    return f"{what}{when}, at {at}."


def _ratio_line(one: Ratio) -> str:
    places = decimals_for(_K * one.ratio.u)
    ratio = f"{one.ratio.value:.{places}f} \u00b1 {_K * one.ratio.u:.{places}f}"
    return f"{one.a} to {one.b}: ratio {ratio}, {_CONSTANT_TEXT[one.constant]}."
