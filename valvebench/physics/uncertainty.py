"""From a displayed resistance to a value with its budget, after JCGM 100 (GUM)."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final, NamedTuple

from valvebench.model.meter import Check, Instrument, Meter, VoltsRatio
from valvebench.model.words import LeadState
from valvebench.physics.arithmetic import SCALAR, Arithmetic, Number

SQRT3: Final = 3.0**0.5
"""The half width of a rectangle over this is its standard uncertainty (GUM 4.3.7)."""
SQRT12: Final = 12.0**0.5
"""The same for its whole width, such as the last digit that is shown."""
INV_SQRT3: Final = 3.0**-0.5
INV_SQRT12: Final = 12.0**-0.5
COVERAGE: Final = 0.9545
"""Two-sided coverage of every expanded uncertainty shown."""
COVERAGE_5_PERCENT_RISK: Final = 0.90
"""Two-sided coverage that leaves 5 % in each tail."""
K_NORMAL: Final = 2.0
_K90_NORMAL: Final = 1.6448536269514722  # 0.95 quantile of the normal distribution
DOMINANT_RATIO: Final = 3.33
_LARGEST_DOF: Final = 1000.0
# u^4 / (u^4 / 4) may come out as 3.9999999999999996; cut to a whole number it would lose a degree.
_WHOLE_DOF: Final = 1.0 + 1e-9
_ENOUGH_REPEATS: Final = 5
INFINITE: Final = float("inf")
CHECK_LINE: Final = "check resistor"


class Line(NamedTuple):
    """One line of a budget: standard uncertainty [ohm], its shape and degrees of freedom."""

    term: str
    u_ohm: Number
    is_rectangular: bool
    dof: float = INFINITE


class Doubt(NamedTuple):
    """Combined standard uncertainty `u` with the factors that expand it."""

    u: Number
    k95: Number
    k90: Number
    nu_eff: Number
    is_dominated: Number


def rectangle(term: str, half_width: Number) -> Line:
    """A line with equal chance within +-half_width (GUM 4.3.7: u = a/sqrt(3))."""
    return Line(term, half_width * INV_SQRT3, is_rectangular=True)


def value_and_lines(instrument: Instrument, displayed: Number) -> tuple[Number, list[Line]]:
    """Take off leads or refer to the check resistor, and list every doubt.

    Parameters
    ----------
    instrument : what the reading was taken with
    displayed : (n,) or scalar
        What the meter showed; ignored for a volts ratio. [ohm]

    Returns
    -------
    value : (n,) or scalar
        Resistance at the temperature of the reading. [ohm]
    lines : list of Line
        Standard uncertainties at that temperature, in the shape of `displayed`. [ohm]

    Raises
    ------
    ValueError : if a check resistor has no zero reading to go with it.

    Source
    ------
    JCGM 100:2008, 4.3 and 5.1; the split of a meter's gain and counts is arithmetic on them.
    """
    if instrument.volts is not None:
        value, lines = _by_volts(_required(instrument.check), instrument.volts)
    elif instrument.check is not None:
        value, lines = _by_check(instrument, instrument.check, displayed)
    else:
        value, lines = _by_leads(instrument, displayed)
    if instrument.u_ohm is not None:
        # What was given stands for meter and leads; a check resistor keeps its own tolerance.
        kept = [line for line in lines if line.term == CHECK_LINE]
        lines = [Line("given", instrument.u_ohm, is_rectangular=False), *kept]
    return value, lines + _repeats(instrument, displayed)


def _required(check: Check | None) -> Check:
    if check is None:
        raise ValueError("a volts ratio needs a check resistor")
    return check


def _counts(meter: Meter, term: str) -> Line:
    """The counts of one reading, or its display step where the meter states none."""
    if meter.counts > 0:
        return rectangle(term, meter.counts * meter.step)
    return Line(term, meter.step * INV_SQRT12, is_rectangular=True)


def _by_leads(instrument: Instrument, displayed: Number) -> tuple[Number, list[Line]]:
    if instrument.leads is LeadState.SUBTRACT:
        return _tips_taken_off(instrument, displayed)
    half_allowance = 0.5 * instrument.lead_allowance_ohm
    lines = _meter_lines(instrument.meter, displayed)
    if instrument.leads is LeadState.NEITHER:
        return displayed - half_allowance, [*lines, rectangle("leads", half_allowance)]
    if instrument.leads is LeadState.NULLED:
        lines.append(rectangle("leads", instrument.meter.step))
    return displayed, lines


def _meter_lines(meter: Meter, displayed: Number) -> list[Line]:
    """Percent of the displayed value and counts as one rectangle."""
    lines = [rectangle("meter", 0.01 * meter.percent * abs(displayed) + meter.counts * meter.step)]
    return lines if meter.counts > 0 else [*lines, _counts(meter, "display step")]


def _tips_taken_off(instrument: Instrument, displayed: Number) -> tuple[Number, list[Line]]:
    """Gain is common to both readings and acts on the difference; counts come once per reading."""
    if instrument.lead_ohm is None:
        raise ValueError("leads to subtract need the reading of the tips")
    value = displayed - instrument.lead_ohm
    meter = instrument.meter
    gain = rectangle("gain", 0.01 * meter.percent * abs(value))
    return value, [gain, _counts(meter, "counts"), _counts(meter, "leads")]


def zero_of(instrument: Instrument, check: Check) -> float:
    """The reading of the tips that belongs to a check resistor [ohm]."""
    if check.zero_ohm is not None:
        return check.zero_ohm
    if instrument.leads is LeadState.SUBTRACT and instrument.lead_ohm is not None:
        return instrument.lead_ohm
    if instrument.leads in (LeadState.NULLED, LeadState.FOUR_WIRE):
        return 0.0
    raise ValueError("a check resistor needs the reading of the tips, nulled leads or four wires")


def _by_check(instrument: Instrument, check: Check, displayed: Number) -> tuple[Number, list[Line]]:
    """R = C (i - i0)/(ic - i0): gain and leads cancel, three display steps and C's tolerance stay."""
    zero_ohm = zero_of(instrument, check)
    span_ohm = check.read_ohm - zero_ohm
    ratio = (displayed - zero_ohm) / span_ohm
    slope = check.ohm / span_ohm
    step = instrument.meter.step * INV_SQRT12
    return check.ohm * ratio, [
        Line("reading step", abs(slope) * step, is_rectangular=True),
        Line("check reading step", abs(slope * ratio) * step, is_rectangular=True),
        Line("tips reading step", abs(slope * (1.0 - ratio)) * step, is_rectangular=True),
        rectangle(CHECK_LINE, 0.01 * check.pct * check.ohm * abs(ratio)),
    ]


def _by_volts(check: Check, volts: VoltsRatio) -> tuple[float, list[Line]]:
    """R = C Vx/Vc: the volt meter's gain cancels, its counts and C's tolerance stay."""
    value = check.ohm * volts.volts_x / volts.volts_check
    per_volt_x = check.ohm / volts.volts_check
    per_volt_check = value / volts.volts_check
    return value, [
        _scaled(_counts(volts.meter, "counts across the device"), per_volt_x),
        _scaled(_counts(volts.meter, "counts across the check resistor"), per_volt_check),
        rectangle(CHECK_LINE, 0.01 * check.pct * value),
    ]


def _repeats(instrument: Instrument, displayed: Number) -> list[Line]:
    """Spread of repeated readings; a single one has no line, its counts cover it."""
    count = instrument.repeats
    if count <= 1:
        return []
    own_spread = count >= _ENOUGH_REPEATS and instrument.repeats_sd_ohm is not None
    sd_ohm = instrument.repeats_sd_ohm if instrument.repeats_sd_ohm is not None else instrument.meter.step
    slope = _slope(instrument)
    dof = count - 1.0 if own_spread else INFINITE
    return [Line("repeats", slope * sd_ohm * count**-0.5 + 0.0 * displayed, is_rectangular=False, dof=dof)]


def _slope(instrument: Instrument) -> float:
    """How much the value moves for one ohm of display."""
    check = instrument.check
    return 1.0 if check is None else abs(check.ohm / (check.read_ohm - zero_of(instrument, check)))


def _scaled(line: Line, factor: Number) -> Line:
    return line._replace(u_ohm=line.u_ohm * factor)


def scaled(lines: Sequence[Line], factor: Number) -> list[Line]:
    """The same lines after the value was multiplied by `factor`."""
    return [_scaled(line, factor) for line in lines]


def combine(lines: Sequence[Line], ops: Arithmetic = SCALAR) -> Doubt:
    """Combine independent lines and find the factors that expand the result.

    Parameters
    ----------
    lines : standard uncertainties, each (n,) or scalar [ohm]
    ops : the arithmetic for numbers or for arrays

    Returns
    -------
    Doubt
        u [ohm], k for 95.45 % and for 90 % (two-sided), effective degrees of freedom and
        whether one rectangle dominates; each (n,) or scalar.

    Source
    ------
    JCGM 100:2008, 5.1.2, G.4.1 (Welch-Satterthwaite, truncated); EA-4/02 S9 for one
    dominating rectangle, taken where it exceeds 3.33 times all others together.
    """
    variance: Number = 0.0
    largest: Number = 0.0
    for line in lines:
        square = line.u_ohm * line.u_ohm
        variance = variance + square
        if line.is_rectangular:
            largest = ops.maximum(largest, square)
    is_dominated = largest > DOMINANT_RATIO**2 * (variance - largest)
    k95, k90, nu_eff = _factors(lines, variance, ops)
    return Doubt(
        u=variance**0.5,
        k95=ops.where(is_dominated, COVERAGE * 3.0**0.5, k95),
        k90=ops.where(is_dominated, COVERAGE_5_PERCENT_RISK * 3.0**0.5, k90),
        nu_eff=nu_eff,
        is_dominated=is_dominated,
    )


def effective_dof(lines: Sequence[Line], variance: Number) -> Number:
    """Welch-Satterthwaite: u^4 / sum(u_i^4 / nu_i) (GUM G.2b); infinite without a finite line."""
    weight: Number = 0.0
    for line in lines:
        if line.dof != INFINITE:
            weight = weight + line.u_ohm**4 / line.dof
    # The floors, far below any meter, end a budget of zeros in the normal factor.
    return (variance**2 + 1e-290) / (weight + 1e-300)


NORMAL_SHAPE: Final = 0
RECTANGLE_SHAPE: Final = int(_LARGEST_DOF) + 1


def shape_of(nu_eff: float | None, *, is_dominated: bool) -> int:
    """What decides the factors of one doubt, as a small number: its degrees of freedom, a normal or a rectangle."""
    if is_dominated:
        return RECTANGLE_SHAPE
    if nu_eff is None or nu_eff > _LARGEST_DOF:
        return NORMAL_SHAPE
    return max(1, int(nu_eff * _WHOLE_DOF))


@cache
def factors_of(shape: int) -> tuple[float, float]:
    """The factors for 95.45 % and for 90 % (two-sided) that `combine` gave a doubt of this shape.

    Source
    ------
    As `combine`: JCGM 100:2008, G.4.1; EA-4/02 S9.
    """
    if shape == RECTANGLE_SHAPE:
        return COVERAGE * 3.0**0.5, COVERAGE_5_PERCENT_RISK * 3.0**0.5
    if shape == NORMAL_SHAPE:
        return K_NORMAL, _K90_NORMAL
    quantile = SCALAR.t_quantile
    return quantile(0.5 + 0.5 * COVERAGE, shape), quantile(0.5 + 0.5 * COVERAGE_5_PERCENT_RISK, shape)


def _factors(lines: Sequence[Line], variance: Number, ops: Arithmetic) -> tuple[Number, Number, Number]:
    if all(line.dof == INFINITE for line in lines):
        return K_NORMAL, _K90_NORMAL, INFINITE
    nu_eff = effective_dof(lines, variance)
    whole = ops.maximum(ops.floor(ops.where(nu_eff > _LARGEST_DOF, _LARGEST_DOF, nu_eff * _WHOLE_DOF)), 1.0)
    is_normal = nu_eff > _LARGEST_DOF
    k95 = ops.where(is_normal, K_NORMAL, ops.t_quantile(0.5 + 0.5 * COVERAGE, whole))
    k90 = ops.where(is_normal, _K90_NORMAL, ops.t_quantile(0.5 + 0.5 * COVERAGE_5_PERCENT_RISK, whole))
    return k95, k90, nu_eff
