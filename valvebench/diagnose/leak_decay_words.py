"""What is said beside a leak from a falling pressure: why, and what would tell more."""

from __future__ import annotations

from typing import Final, NamedTuple

from valvebench.diagnose.leak_known import rounded
from valvebench.diagnose.leak_setup import not_seen
from valvebench.model.heat import Sized

_K: Final = 2.0
_FEW: Final = 3
_FALL_WANTED: Final = 0.1
_PROTOCOL_S: Final = 15.0


class Said(NamedTuple):
    """Everything reasons and advice depend on."""

    k_tau: float
    is_seen: bool
    is_too_fast: bool
    is_fast: bool
    is_short: bool
    is_law_open: bool
    is_misfit: bool
    at_kpa_gauge: float
    from_kpa_gauge: float
    to_kpa_gauge: float
    length_s: float
    fall: float
    leak: Sized
    u_drift: float
    widest: str
    volume_ml: float
    needed_ml: float | None
    limit_ml_min: float | None
    has_blank: bool
    has_celsius: bool
    held_s: float | None
    n: int
    unchecked: str

    @property
    def is_told(self) -> bool:
        """Whether the leak is given as a number."""
        return self.is_seen and not self.is_too_fast

    @property
    def is_capped(self) -> bool:
        """Whether nothing may be proved from it."""
        return self.is_fast or self.is_misfit


def reasons_for(said: Said) -> tuple[str, ...]:
    """Why the number is what it is, or is not given."""
    reasons = []
    if said.is_too_fast:
        reasons.append("The pressure falls faster than the gas recovers its temperature: no leak is told from it.")
    elif said.is_fast:
        reasons.append("The pressure falls nearly as fast as the gas recovers its temperature.")
    if not said.is_too_fast and (said.is_short or said.is_fast or said.is_law_open):
        reasons.append(f"Law not settled: {_why_unsettled(said)}, so a bias of 40 % of the doubt is possible.")
    if said.is_misfit:
        reasons.append("The readings follow neither law of leaking: was something touched or opened during the run?")
    if not said.is_seen:
        reasons.append(not_seen(said.at_kpa_gauge, said.to_kpa_gauge, said.from_kpa_gauge)[0])
    if said.n < _FEW:
        reasons.append("Two readings: the gauge's counts and the temperature are all that bounds the doubt.")
    if said.held_s is None:
        reasons.append("How long the supply was kept open was not said: 3 K of heat left from filling are counted.")
    if said.unchecked:
        reasons.append(said.unchecked)
    return tuple(reasons)


def _why_unsettled(said: Said) -> str:
    if said.is_short:
        return "a short run or a small fall"
    return "a fast fall" if said.is_fast else "neither a hole nor a gap is ruled out"


def advice_for(said: Said) -> tuple[str, ...]:
    """What to do for a narrower doubt or for a number at all."""
    advice = _volume_advice(said)
    if not said.is_seen:
        advice.append(not_seen(said.at_kpa_gauge, said.to_kpa_gauge, said.from_kpa_gauge)[1])
    limit = said.limit_ml_min
    if limit is not None and not said.is_too_fast and said.u_drift > 0 and _K * said.u_drift > 0.5 * limit:
        needed_s = said.length_s * 4.0 * said.u_drift / limit
        advice.append(f"Log for about {rounded(needed_s)} s, or log the body's temperature: drift hides this limit.")
    elif said.widest == "temperature drift" and not said.has_celsius:
        advice.append("Log the temperature of the body beside the pressure: drift brings most of the doubt.")
    if said.widest == "volume":
        advice.append("Measure the volume, by expansion into a known chamber: it brings most of the doubt.")
    if said.held_s is None or said.held_s < _PROTOCOL_S:
        advice.append("Keep the supply open 15 s (30 s with a bore over 15 mm), close it, wait 5 s, then start.")
    if not said.has_blank and said.leak.value < 5.0 * said.leak.u and not said.is_too_fast:
        advice.append("Blank test: the same hose, plugged. It takes the creep of the hose and leaking fittings off.")
    return tuple(advice)


def _volume_advice(said: Said) -> list[str]:
    if said.is_fast:
        advice = [f"Add a known chamber: the leak needs about {rounded(said.volume_ml * said.k_tau / 0.1)} ml."]
        if said.k_tau > 1.0:
            advice.append("For a leak this large the steady test with two gauges is the better one.")
        return advice
    if said.needed_ml is not None and said.volume_ml < 0.95 * said.needed_ml:
        return [f"This limit needs about {rounded(said.needed_ml)} ml; the vessel has {said.volume_ml:g} ml."]
    if said.fall < _FALL_WANTED and said.leak.value > 3.0 * said.leak.u:
        return ["The pressure hardly fell: log longer, or use a shorter hose. A fall of 10 to 50 % is best."]
    return []
