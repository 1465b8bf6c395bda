"""Entries of a session -> judged rows: readings of one pair under like conditions count together."""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final

import msgspec

from valvebench.judge.advice import advice_for
from valvebench.judge.air import Heard, judge_air, judge_solenoid, judge_switch
from valvebench.judge.judgement import Judgement
from valvebench.judge.resistance import judge, to_reference
from valvebench.judge.targets import Target, target_of
from valvebench.model.entry import AirTest, MeterCheck, Reading, SolenoidTest, SwitchTest
from valvebench.model.meter import DEFAULT_PRESET, PRESETS, Check, parse_meter
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant
from valvebench.model.words import Lean, Rule, Verdict

SAME_COPPER_CELSIUS: Final = 2.0
SAME_OTHER_CELSIUS: Final = 0.5
"""How far apart coil temperatures may lie and still count as like: common practice, no source."""
_ENOUGH_FOR_POOL: Final = 10


class Row(msgspec.Struct, frozen=True, kw_only=True):
    """One judged line of a session: ohm and degrees Celsius are in its judgement."""

    entries: tuple[int, ...]
    key: str
    what: str
    kind: str
    verdict: Verdict
    from_node: str | None = None
    to_node: str | None = None
    at: str | None = None
    port: str | None = None
    celsius: float | None = None
    judgement: Judgement | None = None
    limit_source: str | None = None
    covers: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    shown_ohm: float | None = None
    is_corrected: bool = False

    @property
    def lean(self) -> Lean | None:
        """The side an undecided row leans to."""
        return self.judgement.lean if self.judgement is not None else None


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    """A reading with the meter check that applies to it."""

    item: Item
    reading: Reading
    check: Check | None
    target: Target


def rows_of(session: Session, variant: Variant | None, *, rule: Rule | None = None) -> tuple[Row, ...]:
    """All judged rows, in the order of their first entries.

    Parameters
    ----------
    session : what counts now
    variant : what it is held against, or None
    rule : overrules what readings say; default *Proved only*

    Returns
    -------
    tuple of Row

    Source
    ------
    Like conditions: common practice, no source; judging as `judge.resistance.judge`.
    """
    taken = taken_readings(session, variant)
    pooled = pooled_sd(taken)
    rows = [_row(group, pooled, rule) for group in like_groups(taken)]
    rows += [row for item in session.items if (row := _heard_row(variant, item)) is not None]
    return tuple(sorted(rows, key=lambda row: row.entries[0]))


def taken_readings(session: Session, variant: Variant | None) -> list[Taken]:
    """Readings that count, each with the last meter check of the same meter, range and lead state."""
    result: list[Taken] = []
    checks: list[MeterCheck] = []
    for item in session.items:
        if isinstance(item.body, MeterCheck):
            checks = [item.body, *checks]
        elif isinstance(item.body, Reading):
            reading = item.body
            checks = [check for check in checks if _same_set_up(check, reading)]
            target = target_of(variant, reading)
            result.append(Taken(item=item, reading=reading, check=_check_for(checks, reading), target=target))
    return result


def _same_set_up(check: MeterCheck, reading: Reading) -> bool:
    """A check serves until the leads or the meter change."""
    meter = PRESETS[DEFAULT_PRESET].text() if check.meter is None else check.meter
    key = check.meter_id or _canonical(meter)
    return key == reading.meter_key() and check.leads is reading.leads


def _canonical(meter: str) -> str:
    return parse_meter(meter).text()


def _check_for(checks: Iterable[MeterCheck], reading: Reading) -> Check | None:
    for check in checks:
        if check.range_ohm == reading.range_ohm or reading.volts_x is not None:
            zero = check.zero_read_ohm if check.zero_read_ohm is not None else check.lead_ohm
            return Check(ohm=check.check_ohm, read_ohm=check.read_ohm, pct=check.check_pct, zero_ohm=zero)
    return None


def pooled_sd(taken: Sequence[Taken]) -> dict[tuple[str, str], float]:
    """Spread [ohm] of repeated readings for each meter and lead state, once enough of them exist."""
    sums: dict[tuple[str, str], list[float]] = defaultdict(lambda: [0.0, 0.0])
    for group in like_groups(taken):
        shown = _shown(group)
        if len(shown) > 1:
            total = sums[set_up(group[0].reading)]
            total[0] += statistics.variance(shown) * (len(shown) - 1)
            total[1] += len(shown) - 1
    return {
        set_up_key: max((square / dof) ** 0.5, step_of(taken, set_up_key) * 12**-0.5)
        for set_up_key, (square, dof) in sums.items()
        if dof >= _ENOUGH_FOR_POOL
    }


def set_up(reading: Reading) -> tuple[str, str]:
    """Meter and lead state: what the spread of repeats belongs to."""
    return reading.meter_key(), reading.leads.value


def step_of(taken: Sequence[Taken], key: tuple[str, str]) -> float:
    """Display step [ohm] of a set-up; a spread finer than the display cannot be seen."""
    return next(t.reading.meter_spec().step for t in taken if set_up(t.reading) == key)


def like_groups(taken: Sequence[Taken]) -> list[list[Taken]]:
    """Readings of one pair that differ in nothing but the reading."""
    by_conditions: dict[object, list[Taken]] = defaultdict(list)
    for one in taken:
        by_conditions[_conditions(one)].append(one)
    groups: list[list[Taken]] = []
    for same in by_conditions.values():
        groups += _split_by_temperature(same)
    return sorted(groups, key=lambda group: group[0].item.n)


def _conditions(taken: Taken) -> object:
    reading = taken.reading
    alone = taken.item.n if reading.volts_x is not None else None
    return (
        reading.pair,
        reading.at,
        reading.open,
        reading.range_ohm,
        reading.meter_key(),
        reading.meter_spec(),
        reading.leads,
        reading.lead_ohm,
        reading.lead_allowance_ohm,
        reading.temperature,
        (reading.celsius_accuracy, reading.u_celsius, reading.u_ohm),
        (reading.check_ohm, reading.check_read_ohm, reading.check_pct, reading.zero_read_ohm),
        (taken.check.ohm, taken.check.read_ohm, taken.check.zero_ohm) if taken.check is not None else None,
        (reading.low_ohm, reading.high_ohm, reading.ref_celsius, reading.ref_not_stated, reading.k_celsius, reading.rule),
        alone,
    )


def _split_by_temperature(same: list[Taken]) -> list[list[Taken]]:
    groups: list[list[Taken]] = []
    for one in sorted(same, key=lambda t: (t.reading.celsius, t.item.n)):
        width = SAME_COPPER_CELSIUS if one.target.limits.k_celsius is not None else SAME_OTHER_CELSIUS
        if groups and one.reading.celsius - groups[-1][0].reading.celsius <= width:
            groups[-1].append(one)
        else:
            groups.append([one])
    return [sorted(group, key=lambda t: t.item.n) for group in groups]


def _shown(group: Sequence[Taken]) -> tuple[float, ...]:
    """All displayed values [ohm], carried to the mean temperature of the group by the conductor law."""
    middle = _mean_celsius(group)
    values: list[float] = []
    for one in group:
        limits = one.target.limits
        factor = to_reference(limits, one.reading.celsius) / to_reference(limits, middle)
        shown = one.reading.repeats_ohm or ((one.reading.ohm,) if one.reading.ohm is not None else ())
        values += [ohm * factor for ohm in shown]
    return tuple(values)


def _mean_celsius(group: Sequence[Taken]) -> float:
    first = group[0].reading.celsius
    # A mean of equal numbers must be that number, to the last digit.
    same = all(one.reading.celsius == first for one in group)
    return first if same else statistics.fmean(one.reading.celsius for one in group)


def combined(group: Sequence[Taken]) -> Reading:
    """One reading that stands for the group: the mean of all repeats at the mean temperature."""
    first = group[0].reading
    shown = _shown(group)
    if first.open or len(shown) <= 1:
        return first
    return msgspec.structs.replace(first, ohm=None, repeats_ohm=shown, celsius=_mean_celsius(group))


def _row(group: list[Taken], pooled: dict[tuple[str, str], float], rule: Rule | None) -> Row:
    first = group[0]
    reading = combined(group)
    target = first.target
    chosen = rule or reading.rule or Rule.PROVED
    spread = pooled.get(set_up(reading))
    judgement = judge(reading, target.limits, rule=chosen, check=first.check, pooled_sd_ohm=spread)
    if judgement.verdict is Verdict.CANT_TELL and not judgement.advice:
        advice = advice_for(reading, target.limits, rule=chosen, check=first.check)
        judgement = msgspec.structs.replace(judgement, advice=advice)
    return Row(
        entries=tuple(one.item.n for one in group),
        key=target.key,
        what=target.what,
        kind=target.kind,
        verdict=judgement.verdict,
        from_node=reading.from_node,
        to_node=reading.to_node,
        at=reading.at.value,
        celsius=reading.celsius,
        judgement=judgement,
        limit_source=target.limits.source or None,
        covers=target.covers,
        reasons=judgement.reasons,
        shown_ohm=reading.displayed_ohm,
        is_corrected=any(one.item.is_corrected for one in group),
    )


def _heard_row(variant: Variant | None, item: Item) -> Row | None:
    body = item.body
    if isinstance(body, AirTest):
        return _simple(item, f"port {body.port}", f"port {body.port}", judge_air(variant, body), port=body.port)
    if isinstance(body, SwitchTest):
        return _simple(item, f"device {body.device}", body.device, judge_switch(variant, body))
    if isinstance(body, SolenoidTest):
        return _simple(item, f"function {body.device}", body.device, judge_solenoid(variant, body))
    return None


def _simple(item: Item, key: str, what: str, heard: Heard, *, port: str | None = None) -> Row:
    return Row(
        entries=(item.n,),
        key=key,
        what=what,
        kind=item.kind,
        verdict=heard.verdict,
        port=port,
        reasons=heard.reasons,
        is_corrected=item.is_corrected,
    )
