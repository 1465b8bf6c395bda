"""Entries of a session -> judged rows: readings of one pair under like conditions count together."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.advice import advice_for
from valvebench.judge.air import Heard, judge_air, judge_solenoid, judge_switch
from valvebench.judge.judgement import Judgement
from valvebench.judge.resistance import judge, to_reference
from valvebench.judge.targets import Target, target_of
from valvebench.model.entry import AirTest, MeterCheck, Reading, SolenoidTest, SwitchTest
from valvebench.model.measured import mean, squares_about_mean
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
    conditions: Hashable = None


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
    rows = [row_of(group, pooled, rule) for group in like_groups(taken)]
    rows += [row for item in session.items if (row := heard_row(variant, item)) is not None]
    return tuple(sorted(rows, key=lambda row: row.entries[0]))


def taken_readings(session: Session, variant: Variant | None) -> list[Taken]:
    """Readings that count, each with the last meter check of the same meter, range and lead state."""
    bench = Bench(variant)
    return [taken for item in session.items if (taken := bench.take(item)) is not None]


class Bench:
    """Follows the entries in order and knows which meter checks still stand."""

    def __init__(self, variant: Variant | None) -> None:
        self._variant = variant
        self._checks: list[MeterCheck] = []

    def take(self, item: Item) -> Taken | None:
        """The reading of an entry with its check; None for every other kind."""
        body = item.body
        if isinstance(body, MeterCheck):
            self._checks.insert(0, body)
        if not isinstance(body, Reading):
            return None
        self._checks = [check for check in self._checks if _same_set_up(check, body)]
        check = self.check_for(body)
        target = target_of(self._variant, body)
        return Taken(item=item, reading=body, check=check, target=target, conditions=_conditions(item.n, body, check))

    def check_for(self, reading: Reading) -> Check | None:
        """The meter check that applies to a reading taken now."""
        return _check_for([check for check in self._checks if _same_set_up(check, reading)], reading)


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
    return pooled_from(pool_part(group) for group in like_groups(taken))


class PoolPart(NamedTuple):
    """What one group adds to the pooled spread: squares [ohm^2], degrees of freedom, display step [ohm]."""

    set_up: tuple[str, str]
    square: float
    dof: int
    step_ohm: float


def pool_part(group: Sequence[Taken]) -> PoolPart:
    """The part of one group of like readings."""
    shown = _shown(group)
    reading = group[0].reading
    square = squares_about_mean(shown)
    return PoolPart(set_up(reading), square, max(0, len(shown) - 1), reading.meter_spec().step)


def pooled_from(parts: Iterable[PoolPart]) -> dict[tuple[str, str], float]:
    """Pooled spread [ohm]; a spread finer than the display cannot be seen."""
    by_set_up: dict[tuple[str, str], list[PoolPart]] = defaultdict(list)
    for part in parts:
        if part.dof:
            by_set_up[part.set_up].append(part)
    result = {}
    for key, own in by_set_up.items():
        dof = sum(part.dof for part in own)
        if dof >= _ENOUGH_FOR_POOL:
            spread = (sum(part.square for part in own) / dof) ** 0.5
            result[key] = max(spread, own[0].step_ohm * 12**-0.5)
    return result


def set_up(reading: Reading) -> tuple[str, str]:
    """Meter and lead state: what the spread of repeats belongs to."""
    return reading.meter_key(), reading.leads.value


def like_groups(taken: Sequence[Taken]) -> list[list[Taken]]:
    """Readings of one pair that differ in nothing but the reading."""
    by_conditions: dict[Hashable, list[Taken]] = defaultdict(list)
    for one in taken:
        by_conditions[one.conditions].append(one)
    groups: list[list[Taken]] = []
    for same in by_conditions.values():
        groups += split_by_temperature(same)
    return sorted(groups, key=lambda group: group[0].item.n)


def _conditions(number: int, reading: Reading, check: Check | None) -> Hashable:
    """Everything in which like readings are alike; a volts ratio stands alone."""
    return (
        reading.pair,
        reading.at,
        reading.open,
        reading.range_ohm,
        reading.meter_key(),
        reading.meter,
        (reading.leads, reading.lead_ohm, reading.lead_allowance_ohm),
        (reading.temperature, reading.celsius_accuracy, reading.u_celsius, reading.u_ohm),
        (reading.check_ohm, reading.check_read_ohm, reading.check_pct, reading.zero_read_ohm),
        (check.ohm, check.read_ohm, check.pct, check.zero_ohm) if check is not None else None,
        (
            reading.low_ohm,
            reading.high_ohm,
            reading.ref_celsius,
            reading.ref_not_stated,
            reading.k_celsius,
            reading.rule,
        ),
        number if reading.volts_x is not None else None,
    )


def split_by_temperature(same: Sequence[Taken]) -> list[list[Taken]]:
    """Groups of like readings whose coil temperatures lie close together."""
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
    limits = group[0].target.limits
    to_ref = to_reference(limits, middle)
    values: list[float] = []
    for one in group:
        reading = one.reading
        shown = reading.repeats_ohm or ((reading.ohm,) if reading.ohm is not None else ())
        factor = 1.0 if reading.celsius == middle else to_reference(limits, reading.celsius) / to_ref
        values += [ohm * factor for ohm in shown]
    return tuple(values)


def _mean_celsius(group: Sequence[Taken]) -> float:
    first = group[0].reading.celsius
    # A mean of equal numbers must be that number, to the last digit.
    same = all(one.reading.celsius == first for one in group)
    return first if same else mean(tuple(one.reading.celsius for one in group))


def combined(group: Sequence[Taken]) -> Reading:
    """One reading that stands for the group: the mean of all repeats at the mean temperature."""
    first = group[0].reading
    shown = _shown(group)
    if first.open or len(shown) <= 1:
        return first
    return msgspec.structs.replace(first, ohm=None, repeats_ohm=shown, celsius=_mean_celsius(group))


def row_of(group: Sequence[Taken], pooled: Mapping[tuple[str, str], float], rule: Rule | None) -> Row:
    """The judged row of one group of like readings."""
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


def heard_row(variant: Variant | None, item: Item) -> Row | None:
    """The row of a test by ear; None for every other entry."""
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
