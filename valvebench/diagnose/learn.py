"""A band of a device from bodies whose outcome was good: which of them count, and where the next ones lie."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Final

import numpy as np

from valvebench.diagnose.band import (
    FAR,
    FEW,
    FEWEST,
    MOST_STRAY,
    Asked,
    doubts_of,
    limits_of,
    normality_of,
    spread_of,
)
from valvebench.diagnose.band_words import ALL_EQUAL, HALF_EQUAL, far_from_normal, too_few, too_many_strays
from valvebench.diagnose.learn_words import (
    NO_REFERENCE,
    failed_and_did_well,
    flagged_counted,
    left_out,
    none_good,
    typical_doubt,
)
from valvebench.diagnose.learned import Ask, Bodies, Body, Learned, Left, Limits, Value
from valvebench.model.words import Comeback, JobKind, Verdict
from valvebench.physics.outliers import ODD_FROM, modified_z

if TYPE_CHECKING:
    from valvebench.diagnose.band import Array

LEFT_OUT_FROM: Final = 5.0
"""No source: beyond it a value is left out, from 3.5 it is named and counted; a study shows what the band holds.

Among fewer than ten good values one beyond 5 is nothing rare, so there all count."""


def learn(found: Bodies, ask: Ask) -> Learned:
    """Where at least a share of all bodies like those that did well lies, with confidence.

    Parameters
    ----------
    found : every body in which the device was read, the earliest first, values at one reference temperature [ohm]
    ask : after how many months or km a body did well, coverage and confidence

    Source
    ------
    As `band.learn_band`: tolerance limits of a normal distribution.  A body counts by what became of it, never by a
    verdict, for a limit that learns from its own verdicts proves nothing.
    """
    good, left = good_bodies(found.bodies, ask)
    values = _values(good)
    kept = np.array([one.ohm_at_ref for one in values if not one.is_left_out])
    reason = _why_not(found, values, left)
    limits = None if reason else _limits(kept, ask)
    all_ohm = np.array([one.ohm_at_ref for one in values])
    return Learned(
        variant=found.variant,
        device=found.device,
        kind=found.kind,
        ref_celsius=found.ref_celsius,
        asked=ask,
        values=values,
        used=kept.size,
        left=left,
        mean_ohm=float(np.mean(kept)) if kept.size else None,
        sd_ohm=spread_of(kept),
        median_ohm=float(np.median(all_ohm)) if values else None,
        mad_ohm=_mad(all_ohm) if values else None,
        limits=limits,
        normality_p=_p(kept),
        warnings=(reason,) if reason else _warnings(values, kept, ask),
    )


def good_bodies(bodies: Sequence[Body], ask: Ask) -> tuple[tuple[Body, ...], tuple[tuple[Left, int], ...]]:
    """The bodies whose outcome was good, and how many others there are for which reason."""
    last = {_serial(body): body for body in bodies if _serial(body) and not body.is_revised}
    reasons = [(body, _left(body, last, ask)) for body in bodies]
    counts = Counter(reason for _, reason in reasons if reason is not None)
    return (
        tuple(body for body, reason in reasons if reason is None),
        tuple((reason, counts[reason]) for reason in Left if counts[reason]),
    )


def _left(body: Body, last: dict[str, Body], ask: Ask) -> Left | None:
    """Why a body does not count; None where it does."""
    if body.is_revised:
        return Left.REVISED
    if body.came_back or body.comeback in (Comeback.HOT.value, Comeback.COLD.value):
        return Left.CAME_BACK
    if (serial := _serial(body)) and last[serial].id != body.id:
        return Left.AGAIN
    if not body.agrees:
        return Left.TWO_VALUES
    return None if _is_new(body, ask) else _left_by_outcome(body, ask)


def _is_new(body: Body, ask: Ask) -> bool:
    is_theirs = bool(ask.new_from) and body.fitted is not False and _folded(body.supplier) == _folded(ask.new_from)
    return is_theirs and body.kind is JobKind.BENCH_CHECK


def _left_by_outcome(body: Body, ask: Ask) -> Left | None:
    """Fitted, and said not to have come back, after long enough."""
    if body.fitted is False:
        return Left.NOT_FITTED
    if body.fitted is not True or body.comeback != Comeback.NO.value:
        return Left.NOT_TOLD
    lasted = body.months is not None and body.months >= ask.months
    drove = ask.km is not None and body.km is not None and body.km >= ask.km
    return None if lasted or drove else Left.TOO_SHORT


def _serial(body: Body) -> str:
    return _folded(body.serial)


def _folded(text: str | None) -> str:
    return "".join((text or "").split()).casefold()


def _mad(ohm: Array) -> float:
    return float(np.median(np.abs(ohm - np.median(ohm))))


def _values(good: Sequence[Body]) -> tuple[Value, ...]:
    """The values with how odd each is; where more than half are equal there is no spread to measure that by."""
    ohm = np.array([body.ohm_at_ref for body in good])
    mad = _mad(ohm) if ohm.size >= FEWEST else 0.0
    middle = float(np.median(ohm)) if ohm.size else math.nan
    z_of = [modified_z(body.ohm_at_ref, middle, mad) if mad > 0 else None for body in good]
    return tuple(_value(body, z, may_leave_out=len(good) >= FEW) for body, z in zip(good, z_of, strict=True))


def _value(body: Body, z: float | None, *, may_leave_out: bool) -> Value:
    far = abs(z) if z is not None else 0.0
    return Value(
        id=body.id,
        job=body.job,
        closed_at=body.closed_at,
        ohm_at_ref=body.ohm_at_ref,
        u_ohm_at_ref=body.u_ohm_at_ref,
        verdict=body.verdict,
        modified_z=z,
        is_flagged=far > ODD_FROM,
        is_left_out=may_leave_out and far > LEFT_OUT_FROM,
    )


def _why_not(found: Bodies, values: Sequence[Value], left: Sequence[tuple[Left, int]]) -> str:
    """Why no band can be learned; empty where one can."""
    if found.ref_celsius is None:
        return NO_REFERENCE
    if not values:
        return none_good(sum(count for _, count in left))
    if len(values) < FEWEST:
        return too_few(len(values), FEWEST)
    strays = sum(one.is_left_out for one in values)
    if strays > max(1, len(values) // MOST_STRAY):
        return too_many_strays(strays, len(values))
    kept = {one.ohm_at_ref for one in values if not one.is_left_out}
    return ALL_EQUAL if len(kept) == 1 else ""


def _limits(kept: Array, ask: Ask) -> Limits | None:
    found = limits_of(kept, Asked(ask.coverage, ask.confidence))
    numbers = (found.low, found.high, found.low_alone, found.high_alone, found.k2, found.mean_half_width)
    known = [one for one in numbers if one is not None]
    return Limits(*known) if len(known) == len(numbers) else None


def _p(kept: Array) -> float | None:
    found = normality_of(kept, spread_of(kept))
    return found.p if found is not None else None


def _warnings(values: Sequence[Value], kept: Array, ask: Ask) -> tuple[str, ...]:
    """Everything a person has to know before the band is used."""
    strays = [one.job for one in values if one.is_left_out]
    said = [left_out(strays, kept.size)] if strays else []
    counted = [one.job for one in values if one.is_flagged and not one.is_left_out]
    said += [flagged_counted(counted)] if counted else []
    if kept.size < FEWEST:
        return (*said, too_few(kept.size, FEWEST))
    said += [HALF_EQUAL] if all(one.modified_z is None for one in values) else []
    p = _p(kept)
    said += [far_from_normal(p)] if p is not None and p < FAR else []
    said += doubts_of(kept, limits_of(kept, Asked(ask.coverage, ask.confidence)))
    failed = [one.job for one in values if one.verdict is Verdict.FAIL and not one.is_left_out]
    said += [failed_and_did_well(failed)] if failed else []
    doubts = [one.u_ohm_at_ref for one in values if one.u_ohm_at_ref is not None]
    sd = spread_of(kept)
    if doubts and sd and float(np.median(doubts)) > sd:
        said.append(typical_doubt(float(np.median(doubts)), sd))
    return tuple(said)
