"""Judge a million readings in one call: the same expressions as for one, without sentences."""

from __future__ import annotations

import dataclasses
from typing import TYPE_CHECKING, Any, Final

from valvebench.judge import decide
from valvebench.model.limits import ASSUMED_REF_HALF_WIDTH_CELSIUS
from valvebench.physics.arithmetic import arrays
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import Line, combine, rectangle, scaled, value_and_lines

if TYPE_CHECKING:
    from valvebench.model.limits import Limits
    from valvebench.model.meter import Instrument
    from valvebench.model.words import Rule

Array = Any
_CHUNK: Final = 16384  # the columns of one chunk stay in the processor's cache


@dataclasses.dataclass(frozen=True, kw_only=True)
class Judgements:
    """Columns of n readings; codes index `decide.VERDICTS` and `decide.LEANS`.  All in ohm."""

    verdict: Array
    plain: Array
    lean: Array
    ohm_at_ref: Array
    u_ohm_at_ref: Array
    k_coverage: Array
    p_inside: Array


def judge_many(
    displayed_ohm: Array,
    celsius: Array,
    *,
    low_ohm: Array,
    high_ohm: Array,
    limits: Limits,
    instrument: Instrument,
    half_width_celsius: float,
    rule: Rule,
) -> Judgements:
    """Judge arrays of readings taken with one instrument.

    Parameters
    ----------
    displayed_ohm, celsius : (n,)
        What the meter showed [ohm] and the coil temperature [degC].  NaN is not usable.
    low_ohm, high_ohm : (n,) or scalar
        Limits at the reference temperature; infinite where there is none. [ohm]
    limits : how limits move with temperature (its own two limits are not used)
    instrument : meter, leads, check resistor
    half_width_celsius : half-width of the coil temperature [K]
    rule : how much proof is asked for

    Returns
    -------
    Judgements, each column (n,)

    Source
    ------
    As `judge.resistance.judge`: JCGM 100:2008, JCGM 106:2012, ILAC-G8:09/2019.
    """
    import numpy as np

    shown, coil = np.broadcast_arrays(np.asarray(displayed_ohm, float), np.asarray(celsius, float))
    low, high = (np.broadcast_to(np.asarray(bound, float), shown.shape) for bound in (low_ohm, high_ohm))
    count = shown.shape[0]
    codes = {name: np.empty(count, np.int8) for name in ("verdict", "plain", "lean")}
    floats = {name: np.empty(count) for name in ("ohm_at_ref", "u_ohm_at_ref", "k_coverage", "p_inside")}
    columns = codes | floats
    for start in range(0, count, _CHUNK):
        part = slice(start, start + _CHUNK)
        answer = _judge_chunk(
            shown[part], coil[part], low[part], high[part], limits, instrument, half_width_celsius, rule
        )
        for name, column in columns.items():
            column[part] = answer[name]
    return Judgements(**columns)


def _judge_chunk(
    shown: Array,
    coil: Array,
    low: Array,
    high: Array,
    limits: Limits,
    instrument: Instrument,
    half_width_celsius: float,
    rule: Rule,
) -> dict[str, Array]:
    ops = arrays()
    ohm, lines = value_and_lines(instrument, shown)
    value, at_ref = _at_reference(ohm, lines, coil, limits, half_width_celsius)
    doubt = combine(at_ref, ops)
    decision = decide.decide(value, guard=decide.guard_width(doubt, rule), low=low, high=high, ops=ops)
    return {
        "verdict": decision.verdict,
        "plain": decision.plain,
        "lean": decision.lean,
        "ohm_at_ref": value,
        "u_ohm_at_ref": doubt.u,
        "k_coverage": doubt.k95,
        "p_inside": decide.chance_inside(value, doubt=doubt, low=low, high=high, ops=ops),
    }


def _at_reference(
    ohm: Array, lines: list[Line], coil: Array, limits: Limits, half_width_celsius: float
) -> tuple[Array, list[Line]]:
    if limits.k_celsius is None:
        slope = abs(limits.slope_per_celsius)
        return ohm, [*lines, rectangle("temperature", slope * half_width_celsius * abs(ohm))] if slope else lines
    factor = resistance_at(1.0, from_celsius=coil, to_celsius=limits.ref_celsius, k_celsius=limits.k_celsius)
    value = ohm * factor
    moved = [
        *scaled(lines, factor),
        rectangle("temperature", half_width_celsius * abs(value) / (limits.k_celsius + coil)),
    ]
    if not limits.is_ref_stated:
        per_celsius = abs(value) / (limits.k_celsius + limits.ref_celsius)
        moved.append(rectangle("reference not stated", ASSUMED_REF_HALF_WIDTH_CELSIUS * per_celsius))
    return value, moved
