"""What a flex test found, as JSON."""

from __future__ import annotations

from typing import Any

from valvebench.judge.flex import FlexJudgement
from valvebench.model.heat import Sized


def flex_data(judged: FlexJudgement) -> dict[str, Any]:
    """The stable answer; ohm and seconds, readings counted from 1."""
    found = judged.found
    return {
        "flexed": judged.flexed,
        "n": found.n,
        "open_n": found.open_n,
        "middle_ohm": found.middle_ohm,
        "spread_ohm": found.spread_ohm,
        "drift_ohm": found.drift_ohm,
        "meter": found.meter,
        "meter_is_assumed": found.meter_is_assumed,
        "enough": found.is_enough,
        "problem": found.problem or None,
        "events": [
            {
                "kind": event.kind,
                "reading": event.sample,
                "count": event.count,
                "t_s": event.t_s,
                "size_ohm": _sized(event.size_ohm),
            }
            for event in found.events
        ],
    }


def _sized(size: Sized | None) -> dict[str, float] | None:
    return {"value": size.value, "u": size.u} if size is not None else None
