"""Whether the vessel is large enough for the limit.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from valvebench.model.leak import LeakMethod
from valvebench.model.variant import Port
from valvebench.physics.air import REFERENCES, STANDARD_AMBIENT_KPA_ABS
from valvebench.ui.leak.set_up import Said

_NEARLY: Final = 0.95


def vessel_words(
    method: LeakMethod, said: Said, port: Port | None, limit_ml_min: float | None, rows: Sequence[tuple[float, ...]]
) -> str:
    """How large a vessel the limit needs at the pressure of the test, where both are known."""
    kpa = rows[0][1] if method is LeakMethod.DECAY and rows else port.kpa_gauge if port is not None else None
    if method is not LeakMethod.DECAY or limit_ml_min is None or kpa is None:
        return ""
    from valvebench.diagnose.leak_known import needed_ml, rounded

    needed = needed_ml(
        limit_ml_min,
        kpa_abs=kpa + STANDARD_AMBIENT_KPA_ABS,
        celsius=said.fields.get("celsius", 20.0),
        reference=REFERENCES[said.fields["reference"]],
    )
    words, volume_ml = f"This limit needs about {rounded(needed)} ml", said.fields.get("volume_ml")
    if volume_ml is None or volume_ml >= _NEARLY * needed:
        return f"{words}."
    return f"{words}; the vessel has {volume_ml:.4g} ml: add a known chamber, or take the test with two gauges."
