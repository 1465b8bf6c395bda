"""Rows -> the verdict of a session, always with its scope."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.codes import CODE_KEY, CODE_KIND, code_key
from valvebench.judge.flex_rows import FLEX_KEY, FLEX_KIND, NO_FLEX, FlexFinds
from valvebench.judge.heat_rows import HEAT_KEY, HEAT_KIND, NO_FINDS, HeatFinds
from valvebench.judge.leak_rows import LEAK_KEY, SEAT_KEY
from valvebench.judge.row import Row
from valvebench.judge.rows import rows_of
from valvebench.judge.sweep_rows import SWEEP_KEY
from valvebench.judge.tap_rows import TAP_KEY, wanted_taps
from valvebench.judge.targets import Wanted, wanted_air, wanted_electrical
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.variant_codes import asked_of
from valvebench.model.words import VERDICT_TEXT, Rule, Verdict

SAME_PLATEAU_CELSIUS: Final = 5.0
"""Readings this close in temperature answer the same question: common practice, no source."""
_AIR: Final = ("port ", LEAK_KEY, SEAT_KEY)
_NOT_ELECTRICAL: Final = (*_AIR, "function ", CODE_KEY, HEAT_KEY, FLEX_KEY, TAP_KEY, SWEEP_KEY)
_USELESS: Final = frozenset({Verdict.NOT_TAKEN, Verdict.NOT_USABLE})
_ORDER: Final = (Verdict.FAIL, Verdict.CANT_TELL, Verdict.PASS, Verdict.NO_LIMIT, Verdict.NOT_USABLE, Verdict.NOT_TAKEN)


class SessionJudgement(msgspec.Struct, frozen=True, kw_only=True):
    """Verdict of a session with its scope, its rows and what is missing."""

    verdict: Verdict
    scope: str
    rule: Rule
    rows: tuple[Row, ...]
    wanted: tuple[Wanted, ...]
    missing: tuple[Wanted, ...]
    items: dict[str, Verdict]

    def failed(self) -> tuple[Row, ...]:
        """The rows that failed."""
        return tuple(row for row in self.rows if row.verdict is Verdict.FAIL)


def judge_session(
    session: Session,
    variant: Variant | None,
    *,
    rule: Rule | None = None,
    heat: HeatFinds = NO_FINDS,
    flex: FlexFinds = NO_FLEX,
) -> SessionJudgement:
    """Judge everything a session holds.

    Parameters
    ----------
    session : what counts now
    variant : what it is held against, or None
    rule : overrules the default *Proved only*
    heat : what typed rounds say of each device, as `diagnose.heat_rounds` finds it
    flex : what each typed flex test says, as `diagnose.flex_series` finds it

    Returns
    -------
    SessionJudgement
        Fail > Not finished > Can't tell > Pass > No limit.

    Source
    ------
    DESIGN: session verdict; common practice, no source.
    """
    rows = rows_of(session, variant, rule=rule, heat=heat, flex=flex)
    return concluded(item_verdicts(rows), wanted_of(session, variant), variant, rule=rule, rows=rows)


class Asked(NamedTuple):
    """What a session needs before it is finished."""

    electrical: tuple[Wanted, ...]
    air: tuple[Wanted, ...]


def wanted_of(session: Session, variant: Variant | None) -> Asked:
    """Every item of the variant that this job asks for."""
    if variant is None:
        return Asked((), ())
    return Asked(wanted_electrical(variant), wanted_air(variant) if session.job.require_air else ())


def concluded(
    items: Mapping[str, Verdict], asked: Asked, variant: Variant | None, *, rule: Rule | None, rows: tuple[Row, ...]
) -> SessionJudgement:
    """The session's verdict from the verdicts of its items."""
    wanted = (*asked.electrical, *asked.air, *_wanted_positions(items, variant), *wanted_taps(variant, items))
    missing = tuple(one for one in wanted if items.get(one.key, Verdict.NOT_TAKEN) in _USELESS)
    return SessionJudgement(
        verdict=_verdict(items, missing),
        scope=_scope(items, asked, variant),
        rule=rule or Rule.PROVED,
        rows=rows,
        wanted=wanted,
        missing=missing,
        items=dict(items),
    )


def _wanted_positions(items: Mapping[str, Verdict], variant: Variant | None) -> tuple[Wanted, ...]:
    """Every position of the code table once one was read; none before, as the lever is not always at hand."""
    if variant is None or not any(key.startswith(CODE_KEY) for key in items):
        return ()
    codes = [code for code in variant.selector_codes if asked_of(code)]
    return tuple(Wanted(code_key(code.position), f"{CODE_KIND} {code.position}", CODE_KIND) for code in codes)


def item_verdicts(rows: Sequence[Row]) -> dict[str, Verdict]:
    """One verdict for each item: at one temperature the better meter decides, over all the worst counts."""
    by_key: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        by_key[row.key].append(row)
    return {key: item_verdict(of_item) for key, of_item in by_key.items()}


def item_verdict(rows: Sequence[Row]) -> Verdict:
    """What stands for one item; a reading at the solenoid's own terminals settles nothing at the connector."""
    if rows[0].kind in (HEAT_KIND, FLEX_KIND):  # every run stands for itself: none settles what another showed
        return min((row.verdict for row in rows), key=_ORDER.index)
    return min((plateau_verdict(plateau) for plateau in plateaus_of(rows)), key=_ORDER.index)


def plateaus_of(rows: Sequence[Row]) -> list[list[Row]]:
    """The rows of one item as they answer one question: read at one place and one temperature."""
    by_access: dict[str | None, list[Row]] = defaultdict(list)
    for row in rows:
        by_access[row.at].append(row)
    return [plateau for own in by_access.values() for plateau in _plateaus(own)]


def _plateaus(rows: Sequence[Row]) -> list[list[Row]]:
    plateaus: list[list[Row]] = []
    for row in sorted(rows, key=_celsius):
        if plateaus and _celsius(row) - _celsius(plateaus[-1][0]) <= SAME_PLATEAU_CELSIUS:
            plateaus[-1].append(row)
        else:
            plateaus.append([row])
    return plateaus


def _celsius(row: Row) -> float:
    return row.celsius if row.celsius is not None else 0.0


PLATEAU_ORDER: Final = (
    *(Verdict.FAIL, Verdict.PASS, Verdict.CANT_TELL),
    *(Verdict.NO_LIMIT, Verdict.NOT_USABLE, Verdict.NOT_TAKEN),
)
"""A fail stands; a pass by a better reading settles a can't tell at the same temperature."""


def plateau_verdict(plateau: Sequence[Row]) -> Verdict:
    """What stands of one question: the first found in `PLATEAU_ORDER`."""
    found = {row.verdict for row in plateau}
    return next(verdict for verdict in PLATEAU_ORDER if verdict in found)


def _verdict(items: Mapping[str, Verdict], missing: Sequence[Wanted]) -> Verdict:
    found = set(items.values())
    if Verdict.FAIL in found:
        return Verdict.FAIL
    if missing or not found or found <= _USELESS:
        return Verdict.NOT_FINISHED
    return next(v for v in (Verdict.CANT_TELL, Verdict.PASS, Verdict.NO_LIMIT) if v in found)


def _scope(items: Mapping[str, Verdict], asked: Asked, variant: Variant | None) -> str:
    parts = (
        _electrical_scope(items, asked.electrical, variant),
        _air_scope(items, asked.air),
        _selector_scope(items, variant),
        _tap_scope(items, variant),
        _scope_of(items, HEAT_KEY, "heat run"),
        _scope_of(items, FLEX_KEY, "flex test"),
        _scope_of(items, SWEEP_KEY, "sweep"),
    )
    return "; ".join(part for part in parts if part)


def _electrical_scope(items: Mapping[str, Verdict], electrical: Sequence[Wanted], variant: Variant | None) -> str:
    if variant is not None and variant.electronics_on_board:
        return "electrical not asked for: electronics on board"
    keys = [one.key for one in electrical]
    keys += [key for key in items if key not in keys and not key.startswith(_NOT_ELECTRICAL)]
    counts = Counter(items.get(key, Verdict.NOT_TAKEN) for key in keys)
    parts = [f"{counts[Verdict.PASS]} of {len(keys)} electrical"]
    words = {
        Verdict.FAIL: "failed",
        Verdict.CANT_TELL: "can't tell",
        Verdict.NO_LIMIT: "without limit",
        Verdict.NOT_TAKEN: "not taken",
        Verdict.NOT_USABLE: "not usable",
    }
    return ", ".join([*parts, *(f"{counts[verdict]} {text}" for verdict, text in words.items() if counts[verdict])])


def _air_scope(items: Mapping[str, Verdict], air: Sequence[Wanted]) -> str:
    tested = [key for key in items if key.startswith(_AIR)]
    if not tested:
        return "air not taken" if air else "air not required"
    keys = {*tested, *(one.key for one in air)}
    counts = Counter(items.get(key, Verdict.NOT_TAKEN) for key in keys)
    words = {Verdict.FAIL: "failed", Verdict.CANT_TELL: "can't tell", Verdict.NOT_USABLE: "not usable"}
    more = [f", {counts[verdict]} {text}" for verdict, text in words.items() if counts[verdict]]
    return "".join([f"air {counts[Verdict.PASS]} of {len(keys)} passed", *more])


def _selector_scope(items: Mapping[str, Verdict], variant: Variant | None) -> str:
    """Nothing where the variant has no code table."""
    wanted = _wanted_positions(items, variant)
    if not wanted:
        return "selector positions not read" if variant is not None and variant.selector_codes else ""
    counts = Counter(items.get(one.key, Verdict.NOT_TAKEN) for one in wanted)
    words = {Verdict.FAIL: "failed", Verdict.CANT_TELL: "can't tell", Verdict.NOT_TAKEN: "not finished"}
    more = [f", {counts[verdict]} {text}" for verdict, text in words.items() if counts[verdict]]
    return "".join([f"selector {counts[Verdict.PASS]} of {len(wanted)} positions passed", *more])


def _tap_scope(items: Mapping[str, Verdict], variant: Variant | None) -> str:
    """Nothing where no pressure was read."""
    keys = {*(key for key in items if key.startswith(TAP_KEY)), *(one.key for one in wanted_taps(variant, items))}
    if not keys:
        return ""
    counts = Counter(items.get(key, Verdict.NOT_TAKEN) for key in keys)
    words = {
        Verdict.FAIL: "failed",
        Verdict.CANT_TELL: "can't tell",
        Verdict.NO_LIMIT: "without limit",
        Verdict.NOT_TAKEN: "not taken",
    }
    more = [f", {counts[verdict]} {text}" for verdict, text in words.items() if counts[verdict]]
    return "".join([f"pressure {counts[Verdict.PASS]} of {len(keys)} passed", *more])


def _scope_of(items: Mapping[str, Verdict], begins: str, name: str) -> str:
    """Nothing where no heat run, flex test or sweep was made: none is asked for."""
    counts = Counter(verdict for key, verdict in items.items() if key.startswith(begins))
    if not counts:
        return ""
    words = {
        Verdict.FAIL: "failed",
        Verdict.CANT_TELL: "can't tell",
        Verdict.NO_LIMIT: "without limit",
        Verdict.NOT_USABLE: "not usable",
    }
    more = [f", {counts[verdict]} {text}" for verdict, text in words.items() if counts[verdict]]
    return "".join([f"{name} {counts[Verdict.PASS]} of {counts.total()} passed", *more])


def session_sentence(judged: SessionJudgement) -> str:
    """The verdict with its scope, never as "good body"."""
    return f"{VERDICT_TEXT[judged.verdict]}: {judged.scope}"
