"""Two sessions pair by pair: what differs by more than the meter could make up.

With the same meter, the same leads and the same two hours, gain, leads and temperature are
the same for both and cancel; no limits are needed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Final, NamedTuple

from valvebench.diagnose.compare_air import compare_air
from valvebench.diagnose.compare_doubt import (
    Budget,
    Group,
    Law,
    budget_of,
    groups_of,
    half_width_of,
    is_warm_alike,
    law_of,
    unlike,
    value_of,
)
from valvebench.diagnose.compared import AirBudget, Compared, Side
from valvebench.judge.row import Row
from valvebench.judge.rows import rows_of
from valvebench.judge.session import SAME_PLATEAU_CELSIUS
from valvebench.model.format import ohm_text, open_text
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.model.words import Verdict, with_access
from valvebench.physics.two_rectangles import combine_difference
from valvebench.physics.uncertainty import combine

SAME_HOURS: Final = 2.0
COMMON: Final = ("gain", "leads", "temperature")
_COMMON_OF: Final = {(True, True): COMMON, (True, False): ("gain", "leads"), (False, False): ()}
ROUNDING: Final = 1e-12  # of the value: decimals that are equal must not differ in binary


class Detail(NamedTuple):
    """One line with all that it rests on; no budget where nothing was measured or nothing can be told.

    `budget` is that of resistances, `air` that of leaks and pressures.
    """

    compared: Compared
    budget: Budget | None
    air: AirBudget | None = None


def compare(a: Side, b: Side) -> tuple[Compared, ...]:
    """Compare two sessions pair by pair, then port by port, leak by leak and tap by tap.

    Returns
    -------
    tuple of Compared; in its unit, the difference is a - b.

    Source
    ------
    JCGM 100:2008, 5.2 (a correlated term that is the same in both cancels in the difference);
    EA-4/02 S10 for the factor where the counts of both readings dominate.
    """
    return tuple(detail.compared for detail in details(a, b))


def details(a: Side, b: Side) -> tuple[Detail, ...]:
    """The same lines as `compare`, each with its budget; names and laws are those of a variant both share."""
    is_common = _close_in_time(a.session, b.session)
    variant = shared_variant(a, b)
    groups_a, groups_b = _groups(a), _groups(b)
    pairs = [
        _compare_groups(one, other, variant, is_common=is_common)
        for place in groups_a
        if place in groups_b
        for one, other in _matched(groups_a[place], groups_b[place])
    ]
    heard = [Detail(one, None) for one in _compare_ports(a, b)]
    air = [Detail(told, None, budget) for told, budget in compare_air(a, b, is_common=is_common)]
    return (*pairs, *heard, *air)


def shared_variant(a: Side, b: Side) -> Variant | None:
    """The variant of both, or of the one that has one; none where they differ."""
    one, other = a.variant, b.variant
    if one is not None and other is not None and one.key != other.key:
        return None
    return one or other


def _close_in_time(a: Session, b: Session) -> bool:
    """Whether both sessions began within two hours of each other."""
    begun = [datetime.fromisoformat(session.entries[0].at) for session in (a, b)]
    return abs((begun[0] - begun[1]).total_seconds()) <= 3600 * SAME_HOURS


def _groups(side: Side) -> dict[tuple[frozenset[str], str], list[Group]]:
    found: dict[tuple[frozenset[str], str], list[Group]] = defaultdict(list)
    for one in groups_of(side.session, side.variant):
        reading = one.taken.reading
        found[(reading.pair, reading.at.value)].append(one)
    return found


def _matched(one: Sequence[Group], other: Sequence[Group]) -> Iterable[tuple[Group, Group]]:
    """Groups of both sides at the nearest temperatures, each used once, the nearest of all first.

    Readings typed in rounds of a heat run are compared only where the other body was as warm: what
    heat does to a contact is no difference between two cold bodies.  The nearest two always are.
    """
    by_nearness = sorted(
        ((i, j) for i in range(len(one)) for j in range(len(other))),
        key=lambda places: abs(one[places[0]].celsius - other[places[1]].celsius),
    )
    chosen: dict[int, int] = {}
    for i, j in by_nearness:
        if i not in chosen and j not in chosen.values() and (not chosen or _as_warm(one[i], other[j])):
            chosen[i] = j
    return [(one[i], other[chosen[i]]) for i in sorted(chosen)]


def _as_warm(a: Group, b: Group) -> bool:
    is_in_rounds = any(group.taken.reading.round is not None for group in (a, b))
    return not is_in_rounds or abs(a.celsius - b.celsius) <= SAME_PLATEAU_CELSIUS


def _compare_groups(a: Group, b: Group, variant: Variant | None, *, is_common: bool) -> Detail:
    what = _what(a, variant)
    if a.taken.reading.open or b.taken.reading.open:
        return Detail(_compare_open(what, a, b), None)
    law = law_of(a, variant)
    unlike_in = unlike(a, b)
    is_shared = is_common and not unlike_in
    is_alike = is_shared and is_warm_alike(a, b, law)
    budget = budget_of(a, b, law, is_shared=is_shared, is_warm_alike=is_alike)
    if (why := _why_not(a, b, law, is_warm_alike=is_alike)) is not None:
        values = (budget.a.at_ref_ohm, budget.b.at_ref_ohm)
        return Detail(Compared(what, *values, "ohm", budget.difference_ohm, None, None, None, (), why), None)
    why = _why(law, unlike_in, is_shared=is_shared, is_common=is_common, is_warm_alike=is_alike)
    return Detail(_told(what, budget, _COMMON_OF[is_shared, is_alike], why), budget)


def _told(what: str, budget: Budget, common: tuple[str, ...], why: str) -> Compared:
    values = (budget.a.at_ref_ohm, budget.b.at_ref_ohm)
    doubt = combine_difference(budget.lines())
    reach = doubt.k95 * doubt.u + ROUNDING * max(abs(value) for value in values)
    return Compared(
        what=what,
        a=values[0],
        b=values[1],
        unit="ohm",
        difference=budget.difference_ohm,
        u_difference=doubt.u,
        k=doubt.k95,
        significant=bool(abs(budget.difference_ohm) > reach),
        common=common,
        why=why,
    )


def _why_not(a: Group, b: Group, law: Law | None, *, is_warm_alike: bool) -> str | None:
    """What keeps a difference from being told at all; None where it can be."""
    if any(half_width_of(group) is None for group in (a, b)):
        return "Straight from washer or vehicle: let both lie in one room first, then read again."
    if law is None and not is_warm_alike:
        return "How this part moves with temperature is not known: read both at one temperature, with one meter."
    return None


def _why(law: Law | None, unlike_in: str, *, is_shared: bool, is_common: bool, is_warm_alike: bool) -> str:
    assumed = " Copper assumed." if law is not None and law.is_assumed else ""
    if is_warm_alike:
        return f"Same meter, same two hours.{assumed}"
    if is_shared:
        return f"Same meter, same two hours, but not warm alike: the temperatures count.{assumed}"
    reason = f"Not the same meter and leads ({unlike_in})" if is_common else "More than two hours apart"
    return f"{reason}: nothing cancels.{assumed}"


def _what(group: Group, variant: Variant | None) -> str:
    reading = group.taken.reading
    device = variant.device_between(reading.from_node, reading.to_node) if variant is not None else None
    place = f"{reading.from_node}\u2013{reading.to_node}"
    return with_access(f"{place} {device.name}" if device is not None else place, reading.at)


def _compare_open(what: str, a: Group, b: Group) -> Compared:
    words = [open_text(g.range_ohm) if g.taken.reading.open else ohm_text(value_of(g)[0]) for g in (a, b)]
    both = a.taken.reading.open and b.taken.reading.open
    if both:
        return Compared(what, words[0], words[1], "ohm", None, None, None, False, (), "Open on both.")
    opened, closed = (a, b) if a.taken.reading.open else (b, a)
    above = (opened.range_ohm or 0.0) > _highest(closed)
    why = "Open on one, not on the other." if above else "The range of the open reading does not reach the other value."
    return Compared(what, words[0], words[1], "ohm", None, None, None, True if above else None, (), why)


def _highest(group: Group) -> float:
    """The most the value may be [ohm]."""
    ohm, lines = value_of(group)
    doubt = combine(lines)
    return ohm + float(doubt.k95 * doubt.u)


def _compare_ports(a: Side, b: Side) -> list[Compared]:
    found = [{row.key: row for row in rows_of(side.session, side.variant) if row.kind == "air"} for side in (a, b)]
    return [_compare_port(found[0][key], found[1][key]) for key in found[0] if key in found[1]]


def _compare_port(a: Row, b: Row) -> Compared:
    says_nothing = {a.verdict, b.verdict} & {Verdict.NOT_USABLE, Verdict.NOT_TAKEN}
    differs = None if says_nothing else a.verdict is not b.verdict
    why = "One of the two says nothing." if says_nothing else "Heard, not measured."
    return Compared(a.what, a.verdict.value, b.verdict.value, "", None, None, None, differs, (), why)
