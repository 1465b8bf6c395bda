"""The one place where a value with its doubt is held against limits.

Written once for numbers and arrays.  Codes are small integers; `VERDICTS`, `LEANS` name them.
"""

from __future__ import annotations

from typing import Final, NamedTuple

from valvebench.model.words import Lean, Rule, Verdict
from valvebench.physics.arithmetic import SCALAR, Arithmetic, Number
from valvebench.physics.uncertainty import INFINITE, SQRT3, Doubt

VERDICTS: Final = (Verdict.FAIL, Verdict.CANT_TELL, Verdict.PASS, Verdict.NOT_USABLE, Verdict.NO_LIMIT)
FAIL, CANT_TELL, PASS, NOT_USABLE, NO_LIMIT = range(len(VERDICTS))
LEANS: Final = (None, Lean.INSIDE, Lean.OUTSIDE, Lean.STRADDLES)
_NO_LEAN, _INSIDE, _OUTSIDE, _STRADDLES = range(len(LEANS))

# A limit of 6.0 less a guard of 0.1 and a reading of 5.9 differ in the last binary digit;
# a thousand-millionth of the value is far below any meter and far above that.
_DECIMAL_SLACK: Final = 1e-9
_TINY: Final = 1e-300


class Decision(NamedTuple):
    """Codes of the verdict, of the plain comparison and of the lean, each (n,) or scalar."""

    verdict: Number
    plain: Number
    lean: Number


def guard_width(doubt: Doubt, rule: Rule) -> Number:
    """How far from a limit a value must stay to be proved [ohm], (n,) or scalar.

    Source
    ------
    ILAC-G8:09/2019 4.2.2 (w = U), JCGM 106:2012 8.3; the 5 % rule takes the two-sided 90 %
    factor, ISO 14253-1:2017.
    """
    if rule is Rule.PLAIN:
        return 0.0 * doubt.u
    return (doubt.k90 if rule is Rule.PROVED5 else doubt.k95) * doubt.u


def decide(value: Number, *, guard: Number, low: Number, high: Number, ops: Arithmetic = SCALAR) -> Decision:
    """Hold values against limits, guard zone counted.

    Parameters
    ----------
    value, guard : (n,) or scalar, value and guard width in the unit of the limits
    low, high : (n,) or scalar; minus or plus infinity where there is no limit

    Returns
    -------
    Decision
        Exactly on a limit is inside.  NaN anywhere is not usable.

    Source
    ------
    JCGM 106:2012 8.2 and 8.3; ILAC-G8:09/2019 4.2.3 (three zones).
    """
    slack = _DECIMAL_SLACK * abs(value)
    plain_pass = (value >= low - slack) & (value <= high + slack)
    is_pass = (value >= low + guard - slack) & (value <= high - guard + slack)
    is_fail = (value < low - guard - slack) | (value > high + guard + slack)
    straddles = (value - guard < low) & (value + guard > high)
    # NaN compares unlike itself; it must never reach a verdict.
    usable = (value == value) & (guard == guard) & (low == low) & (high == high)  # noqa: PLR0124
    verdict = ops.where(is_pass, PASS, ops.where(is_fail, FAIL, CANT_TELL))
    verdict = ops.where(usable, verdict, NOT_USABLE)
    lean = ops.where(straddles, _STRADDLES, ops.where(plain_pass, _INSIDE, _OUTSIDE))
    return Decision(
        verdict=verdict,
        plain=ops.where(usable, ops.where(plain_pass, PASS, FAIL), NOT_USABLE),
        lean=ops.where(verdict == CANT_TELL, lean, _NO_LEAN),
    )


def chance_inside(value: Number, *, doubt: Doubt, low: Number, high: Number, ops: Arithmetic = SCALAR) -> Number:
    """Chance that the true value lies inside the limits, from the shape of the doubt.

    Returns
    -------
    (n,) or scalar, 0..1; normal, Student t with few degrees of freedom, or the rectangle
    that dominates.

    Source
    ------
    JCGM 106:2012 7.2 and annex A, flat prior.
    """
    u = ops.maximum(doubt.u, _TINY)
    to_low, to_high = (low - value) / u, (high - value) / u
    bell = _bell(to_low, to_high, doubt.nu_eff, ops)
    flat = ops.clip01((to_high + SQRT3) / (2 * SQRT3)) - ops.clip01((to_low + SQRT3) / (2 * SQRT3))
    return ops.where(doubt.is_dominated, flat, bell)


def _bell(to_low: Number, to_high: Number, nu_eff: Number, ops: Arithmetic) -> Number:
    if nu_eff is INFINITE:
        return ops.normal_cdf(to_high) - ops.normal_cdf(to_low)
    return ops.t_cdf(to_high, nu_eff) - ops.t_cdf(to_low, nu_eff)


def can_decide(*, low: float, high: float, guard: float) -> bool:
    """Whether a reading in mid-band could be proved: U - L > 2 w (JCGM 106:2012 7.6)."""
    return high - low > 2.0 * guard


def open_verdict(range_ohm: float, *, low: float | None, high: float | None) -> Verdict:
    """What an open display proves: the resistance is above the range that was set, no more."""
    if low is None and high is None:
        return Verdict.NO_LIMIT
    if high is not None:
        return Verdict.FAIL if range_ohm > high else Verdict.CANT_TELL
    return Verdict.PASS if low is not None and range_ohm > low else Verdict.CANT_TELL
