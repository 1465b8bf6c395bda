"""Solenoids that ought to be equal: which one is the odd one out.  No limits, no temperature needed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from valvebench.judge.rows import Row
from valvebench.judge.session import SAME_PLATEAU_CELSIUS
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import ItemState

ODD_FROM: Final = 3.5
"""Iglewicz and Hoaglin (1993): flag a modified z above 3.5."""
_NORMAL_MAD: Final = 0.6745
_FEWEST: Final = 3
TOO_FEW: Final = "Fewer than three read at this temperature: which one is odd cannot be told."


class Member(NamedTuple):
    """One solenoid of a set: value and doubt at the reference temperature [ohm], and how odd it is."""

    name: str
    ohm: float
    u_ohm: float
    modified_z: float | None
    is_odd: bool | None


class MatchedSet(NamedTuple):
    """A set read at one temperature [degC]; `why` says what can be told from it."""

    name: str
    celsius: float
    median_ohm: float
    members: tuple[Member, ...]
    why: str


def matched_sets(variant: Variant, rows: Sequence[Row]) -> tuple[MatchedSet, ...]:
    """Every matched set of a body at every temperature it was read at.

    Returns
    -------
    tuple of MatchedSet; *can't tell* (None) with fewer than three members.

    Source
    ------
    Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993): modified z; the floor under
    the median absolute deviation is the doubt that does not cancel: common practice, no source.
    """
    names: dict[str, list[str]] = {}
    for device in variant.devices:
        if isinstance(device, Coil) and device.matched_set:
            names.setdefault(device.matched_set, []).append(device.name)
    found = []
    for name, members in names.items():
        keys = {f"device {member}" for member in members}
        usable = [row for row in rows if row.key in keys and _has_value(row)]
        found += [_judged(name, plateau) for at in _by_place(usable) for plateau in _plateaus(at)]
    return tuple(found)


def _by_place(rows: Sequence[Row]) -> list[list[Row]]:
    """Rows of each access point: a harness in one value and not in another would make it odd."""
    places: dict[str | None, list[Row]] = {}
    for row in rows:
        places.setdefault(row.at, []).append(row)
    return list(places.values())


def _has_value(row: Row) -> bool:
    judgement = row.judgement
    return judgement is not None and judgement.state is ItemState.VALUE and judgement.ohm_at_ref is not None


def _plateaus(rows: Sequence[Row]) -> list[list[Row]]:
    plateaus: list[list[Row]] = []
    for row in sorted(rows, key=lambda row: row.celsius or 0.0):
        if plateaus and (row.celsius or 0.0) - (plateaus[-1][0].celsius or 0.0) <= SAME_PLATEAU_CELSIUS:
            plateaus[-1].append(row)
        else:
            plateaus.append([row])
    return plateaus


def _judged(name: str, rows: Sequence[Row]) -> MatchedSet:
    of_member: dict[str, list[Row]] = {}
    for row in rows:
        of_member.setdefault(row.what, []).append(row)
    values = {what: sum(_value(row) for row in own) / len(own) for what, own in of_member.items()}
    doubts = {what: max(_own_doubt(row) for row in own) for what, own in of_member.items()}
    middle = _median(list(values.values()))
    floor = _NORMAL_MAD * max(doubts.values(), default=0.0)
    spread = max(_median([abs(value - middle) for value in values.values()]), floor)
    is_enough = len(values) >= _FEWEST
    members = tuple(
        _member(what, value, doubts[what], middle, spread, is_enough=is_enough) for what, value in values.items()
    )
    celsius = sum(row.celsius or 0.0 for row in rows) / len(rows)
    return MatchedSet(name, celsius, middle, members, "" if is_enough else TOO_FEW)


def _member(what: str, value: float, u_ohm: float, middle: float, spread: float, *, is_enough: bool) -> Member:
    if not is_enough or spread <= 0:
        return Member(what, value, u_ohm, None, None)
    z = _NORMAL_MAD * (value - middle) / spread
    return Member(what, value, u_ohm, z, abs(z) > ODD_FROM)


def _value(row: Row) -> float:
    judgement = row.judgement
    return judgement.ohm_at_ref if judgement is not None and judgement.ohm_at_ref is not None else 0.0


def _own_doubt(row: Row) -> float:
    """Standard uncertainty that two solenoids under one meter do not share [ohm]: counts and spread."""
    judgement = row.judgement
    if judgement is None:
        return 0.0
    shared = ("leads", "temperature", "reference not stated", "gain", "check resistor", "tips reading step")
    return math.sqrt(sum(line.u_ohm**2 for line in judgement.budget if line.term not in shared))


def _median(values: Sequence[float]) -> float:
    ordered = sorted(values)
    count = len(ordered)
    if not count:
        return 0.0
    return 0.5 * (ordered[(count - 1) // 2] + ordered[count // 2])
