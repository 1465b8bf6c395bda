"""A settled temperature as it is typed, and what may well be typed next.  No Qt."""

from __future__ import annotations

from valvebench.model.entry import Reading
from valvebench.model.errors import BadInput
from valvebench.model.numbers import decimal
from valvebench.model.words import CASE, TemperatureSource
from valvebench.ui.pins.rounds import SAME_KELVIN, Round
from valvebench.ui.set_up import SetUp, is_stale_at


def celsius_typed(text: str, how: TemperatureSource) -> float:
    """A coil temperature [degC] (raises BadInput)."""
    celsius = decimal(text, where="coil temperature")
    # whatever a reading would refuse is refused now, not with the first value of the round
    Reading(from_node="1", to_node=CASE, ohm=1.0, celsius=celsius, temperature=how)
    return celsius


def celsius_so_far(text: str, how: TemperatureSource) -> float | None:
    """The same [degC]; None where the text is none yet."""
    try:
        return celsius_typed(text, how)
    except BadInput:
        return None


def celsius_offered(set_up: SetUp, last: Round | None, now: str) -> str:
    """What the bench set-up says, unless that is the last round's or was entered long before `now` (RFC 3339)."""
    celsius = set_up.celsius
    if celsius is None or is_stale_at(set_up, now):
        return ""
    return "" if last is not None and abs(celsius - last.celsius) < SAME_KELVIN else f"{celsius:g}"
