"""Entries of a session -> judged rows: readings of one pair under like conditions count together."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from operator import attrgetter
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.advice import advice_for
from valvebench.judge.air import Heard, item_of, judge_air
from valvebench.judge.codes import code_of, code_rows
from valvebench.judge.contacts import with_contact
from valvebench.judge.diodes import both_ways
from valvebench.judge.flex_rows import NO_FLEX, FlexFinds, flex_row, logged_flex_row
from valvebench.judge.functions import FUNCTION_KEY, coils_of, function_row, function_rows, with_coils
from valvebench.judge.heat_rows import NO_FINDS, HeatFinds, find_row, run_row
from valvebench.judge.leak_rows import leak_row
from valvebench.judge.resistance import judge, to_reference
from valvebench.judge.row import Row, row_order
from valvebench.judge.sweep_rows import sweep_row
from valvebench.judge.switches import judge_switch
from valvebench.judge.tap_rows import tap_row
from valvebench.judge.targets import Target, Targets
from valvebench.model.entry import AirTest, MeterCheck, Reading, SolenoidTest, SwitchTest
from valvebench.model.measured import mean, squares_about_mean
from valvebench.model.meter import DEFAULT_PRESET, PRESETS, Check, parse_meter
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant
from valvebench.model.words import Rule, Verdict

SAME_COPPER_CELSIUS: Final = 2.0
SAME_OTHER_CELSIUS: Final = 0.5
"""How far apart coil temperatures may lie and still count as like: common practice, no source."""
_ENOUGH_FOR_POOL: Final = 10


_ALIKE: Final = attrgetter(
    *("from_node", "to_node", "at", "selector", "open", "range_ohm", "meter_id", "meter", "rule"),
    *("leads", "lead_ohm", "lead_allowance_ohm", "temperature", "celsius_accuracy", "u_celsius", "u_ohm"),
    *("check_ohm", "check_read_ohm", "check_pct", "zero_read_ohm"),
    *("low_ohm", "high_ohm", "ref_celsius", "ref_not_stated", "k_celsius"),
)
"""Every field that conditions, check or target look at, but for the temperature."""
_BY_CELSIUS: Final = attrgetter("reading.celsius")
_BY_NUMBER: Final = attrgetter("item.n")


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    """A reading with the meter check that applies to it."""

    item: Item
    reading: Reading
    check: Check | None
    target: Target
    conditions: int = 0


def rows_of(
    session: Session,
    variant: Variant | None,
    *,
    rule: Rule | None = None,
    heat: HeatFinds = NO_FINDS,
    flex: FlexFinds = NO_FLEX,
) -> tuple[Row, ...]:
    """All judged rows, in the order of their first entries.

    Parameters
    ----------
    session : what counts now
    variant : what it is held against, or None
    rule : overrules what readings say; default *Proved only*
    heat : what the typed rounds of the session say of each device, as `diagnose.heat_rounds` finds it
    flex : what each typed flex test says, as `diagnose.flex_series` finds it

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
    rows += [row for item in session.items if (row := single_row(variant, item, rule)) is not None]
    rows += code_rows(variant, session.items)
    rows += function_rows(variant, session.items)
    rows += [find_row(variant, find, rule) for finds in heat.values() for find in finds]
    rows += [flex_row(variant, find) for find in flex.values()]
    return settled(variant, rows)


def settled(
    variant: Variant | None, rows: Iterable[Row], *, of_session: Iterable[Row] | None = None
) -> tuple[Row, ...]:
    """Rows in order, with what they say of each other: the two ways of a diode, a click and the coil it needs.

    `of_session` holds the rows read in ohm where these are those of one item.
    """
    ordered = both_ways(variant, sorted(rows, key=row_order))
    return with_coils(ordered, coils_of(ordered if of_session is None else of_session))


def taken_readings(session: Session, variant: Variant | None) -> list[Taken]:
    """Readings that count, each with the last meter check of the same meter, range and lead state."""
    bench = Bench(variant)
    return [taken for item in session.items if (taken := bench.take(item)) is not None]


class _Like(NamedTuple):
    """What readings that are alike in all but the value share; no target where it moves with temperature."""

    conditions: int
    check: Check | None
    target: Target | None


class Bench:
    """Follows the entries in order and knows which meter checks still stand."""

    def __init__(self, variant: Variant | None) -> None:
        self._targets = Targets(variant)
        self._checks: list[MeterCheck] = []
        self._likes: dict[Hashable, _Like] = {}
        self._numbers: dict[Hashable, int] = {}

    def take(self, item: Item) -> Taken | None:
        """The reading of an entry with its check; None for every other kind."""
        body = item.body
        if isinstance(body, MeterCheck):
            self._stand([body, *self._checks])
        if not isinstance(body, Reading):
            return None
        if self._checks:
            self._stand([check for check in self._checks if same_set_up(check, body)])
        like = self._like(item.n, body)
        target = like.target or self._targets.of(body)
        return Taken(item=item, reading=body, check=like.check, target=target, conditions=like.conditions)

    def _stand(self, checks: list[MeterCheck]) -> None:
        if checks != self._checks:
            self._checks = checks
            self._likes.clear()

    def _like(self, number: int, reading: Reading) -> _Like:
        if reading.volts_x is not None:
            return self._made_like(number, reading)
        key = _ALIKE(reading)
        like = self._likes.get(key)
        if like is None:
            like = self._likes[key] = self._made_like(number, reading)
        return like

    def _made_like(self, number: int, reading: Reading) -> _Like:
        check = self.check_for(reading)
        conditions = _conditions(number, reading, check, is_polar=self._targets.is_polar(reading))
        moves = self._targets.move_at(reading.from_node, reading.to_node)
        return _Like(
            conditions=self._numbers.setdefault(conditions, len(self._numbers)),
            check=check,
            target=None if moves else self._targets.of(reading),
        )

    def is_polar(self, reading: Reading) -> bool:
        """Whether it matters which tip was on which node."""
        return self._targets.is_polar(reading)

    def check_for(self, reading: Reading) -> Check | None:
        """The meter check that applies to a reading taken now."""
        return _check_for([check for check in self._checks if same_set_up(check, reading)], reading)


def same_set_up(check: MeterCheck, reading: Reading) -> bool:
    """A check serves until the leads or the meter change."""
    meter = PRESETS[DEFAULT_PRESET].text() if check.meter is None else check.meter
    key = check.meter_id or _canonical(meter)
    return key == reading.meter_key() and check.leads is reading.leads


def _canonical(meter: str) -> str:
    return parse_meter(meter).text()


def _check_for(checks: Iterable[MeterCheck], reading: Reading) -> Check | None:
    for check in checks:
        if check.range_ohm == reading.range_ohm or reading.volts_x is not None:
            return check_of(check)
    return None


def check_of(entry: MeterCheck) -> Check:
    """The check resistor with its readings, as a meter check keeps them."""
    zero_ohm = entry.zero_read_ohm if entry.zero_read_ohm is not None else entry.lead_ohm
    return Check(ohm=entry.check_ohm, read_ohm=entry.read_ohm, pct=entry.check_pct, zero_ohm=zero_ohm)


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


def _conditions(number: int, reading: Reading, check: Check | None, *, is_polar: bool) -> Hashable:
    """Everything in which like readings are alike; a volts ratio stands alone, and so does each way of a diode."""
    return (
        (reading.from_node, reading.to_node) if is_polar else reading.pair,
        reading.at,
        reading.selector,
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
    width = SAME_COPPER_CELSIUS if same[0].target.limits.k_celsius is not None else SAME_OTHER_CELSIUS
    groups: list[list[Taken]] = []
    coldest = -math.inf
    # Sorting keeps the order of the entries among equals.
    for one in sorted(sorted(same, key=_BY_NUMBER), key=_BY_CELSIUS):
        celsius = one.reading.celsius
        if groups and celsius - coldest <= width:
            groups[-1].append(one)
        else:
            groups.append([one])
            coldest = celsius
    return [sorted(group, key=_BY_NUMBER) for group in groups]


def _shown(group: Sequence[Taken]) -> tuple[float, ...]:
    """All displayed values [ohm], carried to the mean temperature of the group by the conductor law."""
    middle = _mean_celsius(group)
    limits = group[0].target.limits
    to_ref = to_reference(limits, middle)
    values: list[float] = []
    for one in group:
        reading = one.reading
        factor = 1.0 if reading.celsius == middle else to_reference(limits, reading.celsius) / to_ref
        if reading.repeats_ohm:
            values += [ohm * factor for ohm in reading.repeats_ohm]
        elif reading.ohm is not None:
            values.append(reading.ohm * factor)
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
    by_number, judgement = judgement, with_contact(judgement, reading, target.contact)
    if judgement.verdict is Verdict.CANT_TELL and not judgement.advice:
        advice = advice_for(reading, target.limits, rule=chosen, check=first.check, may_feed=target.may_feed)
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
        by_number=by_number if judgement is not by_number and target.contact is not None else None,
        limit_source=target.limits.source or None,
        covers=target.covers,
        reasons=judgement.reasons,
        shown_ohm=reading.displayed_ohm,
        is_corrected=any(one.item.is_corrected for one in group),
    )


def single_row(variant: Variant | None, item: Item, rule: Rule | None) -> Row | None:
    """The row of an entry that stands alone: a test by ear or a logger's file; None for every other.

    A switch read in a selector position counts with the others of that position, and everything tried on one
    solenoid counts together.
    """
    if code_of(variant, item.body) is not None or isinstance(item.body, SolenoidTest):
        return None
    return (
        run_row(variant, item, rule)
        or logged_flex_row(variant, item)
        or leak_row(variant, item, rule)
        or tap_row(variant, item, rule)
        or sweep_row(variant, item, rule)
        or heard_row(variant, item)
    )


def heard_row(variant: Variant | None, item: Item) -> Row | None:
    """The row of a test by ear; None for every other entry."""
    body = item.body
    if isinstance(body, AirTest):
        key = item_of(variant, body).key
        return _simple(item, key, key, judge_air(variant, body), port=body.port)
    if isinstance(body, SwitchTest):
        # Under air is an item of its own: what is right at rest settles nothing of it.
        key = f"{FUNCTION_KEY if body.is_under_air else 'device '}{body.device}"
        return _simple(item, key, body.device, judge_switch(variant, body))
    if isinstance(body, SolenoidTest):
        return function_row(variant, [item])
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
        next_steps=heard.next_steps,
        is_corrected=item.is_corrected,
    )
