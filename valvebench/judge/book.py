"""The judged rows of an open session, kept up to date entry by entry.

A new reading touches only the rows of its own conditions; everything else stays as it is.
The result is the same as `rows_of` and `judge_session` give for the whole.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable

from valvebench.judge.rows import (
    Bench,
    PoolPart,
    Row,
    Taken,
    heard_row,
    pool_part,
    pooled_from,
    row_of,
    split_by_temperature,
)
from valvebench.judge.session import SessionJudgement, concluded, item_verdict, wanted_of
from valvebench.model.entry import Reading
from valvebench.model.meter import Check
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant
from valvebench.model.words import Rule, Verdict

_POOLED_FROM, _POOLED_BELOW = 2, 5


class Book:
    """Rows by conditions and verdicts by item; `take` adds one entry."""

    def __init__(self, session: Session, variant: Variant | None, *, rule: Rule | None = None) -> None:
        self._variant, self._rule = variant, rule
        self._bench = Bench(variant)
        self._taken: dict[Hashable, list[Taken]] = defaultdict(list)
        self._rows: dict[Hashable, list[Row]] = {}
        self._parts: dict[Hashable, list[PoolPart]] = {}
        self._pooled: dict[tuple[str, str], float] = {}
        self._by_key: dict[str, set[Hashable]] = defaultdict(set)
        self._key_of: dict[Hashable, str] = {}
        self._items: dict[str, Verdict] = {}
        self.wanted = wanted_of(session, variant)
        self._fill(session.items)

    def _fill(self, items: Iterable[Item]) -> None:
        for item in items:
            self._put(item)
        self._parts = {place: self._parts_of(place) for place in self._taken}
        self._pooled = pooled_from(part for parts in self._parts.values() for part in parts)
        for place in self._taken:
            self._write(place)
        for key in self._by_key:
            self._conclude(key)

    def take(self, item: Item) -> tuple[Row, ...]:
        """Count one more entry in; the rows that are new or changed."""
        place = self._put(item)
        if place is None:
            return ()
        touched = {place}
        if place in self._taken:
            touched |= self._repool(place)
            for each in touched:
                self._write(each)
        for key in {self._key_of[each] for each in touched}:
            self._conclude(key)
        return tuple(row for each in touched for row in self._rows[each])

    def _put(self, item: Item) -> Hashable | None:
        taken = self._bench.take(item)
        if taken is not None:
            self._taken[taken.conditions].append(taken)
            self._by_key[taken.target.key].add(taken.conditions)
            self._key_of[taken.conditions] = taken.target.key
            return taken.conditions
        row = heard_row(self._variant, item)
        if row is None:
            return None
        place = ("heard", item.n)
        self._rows[place] = [row]
        self._by_key[row.key].add(place)
        self._key_of[place] = row.key
        return place

    def _repool(self, place: Hashable) -> set[Hashable]:
        """The other places whose few repeats lean on a pooled spread that has changed."""
        before, after = self._parts.get(place, []), self._parts_of(place)
        self._parts[place] = after
        if not any(part.dof for part in (*before, *after)):
            return set()  # a single reading adds nothing to any spread
        pooled = pooled_from(part for parts in self._parts.values() for part in parts)
        changed = {key for key in pooled.keys() | self._pooled.keys() if pooled.get(key) != self._pooled.get(key)}
        self._pooled = pooled
        if not changed:
            return set()
        return {
            other
            for other, parts in self._parts.items()
            if any(part.set_up in changed and _POOLED_FROM <= part.dof + 1 < _POOLED_BELOW for part in parts)
        }

    def _parts_of(self, place: Hashable) -> list[PoolPart]:
        return [pool_part(group) for group in split_by_temperature(self._taken[place])]

    def _write(self, place: Hashable) -> None:
        groups = split_by_temperature(self._taken[place])
        self._rows[place] = [row_of(group, self._pooled, self._rule) for group in groups]

    def _conclude(self, key: str) -> None:
        rows = [row for place in self._by_key[key] for row in self._rows[place]]
        self._items[key] = item_verdict(rows)

    def check_for(self, reading: Reading) -> Check | None:
        """The meter check that applies to a reading taken now."""
        return self._bench.check_for(reading)

    def rows(self) -> tuple[Row, ...]:
        """All rows, in the order of their first entries; may be asked beside the window."""
        groups = tuple(self._rows.values())  # in one step: the next entry may come meanwhile
        return tuple(sorted((row for rows in groups for row in rows), key=lambda row: row.entries[0]))

    def rows_of_item(self, key: str) -> tuple[Row, ...]:
        """The rows of one item, in the order of their first entries."""
        rows = (row for place in self._by_key.get(key, ()) for row in self._rows[place])
        return tuple(sorted(rows, key=lambda row: row.entries[0]))

    def verdict_of(self, key: str) -> Verdict:
        """What stands for one item now."""
        return self._items.get(key, Verdict.NOT_TAKEN)

    def judgement(self) -> SessionJudgement:
        """Verdict, scope and what is missing; its rows are left empty, ask `rows` for them."""
        return concluded(self._items, self.wanted, self._variant, rule=self._rule, rows=())
