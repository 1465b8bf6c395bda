"""The judged rows of an open session, kept up to date entry by entry.

A new reading touches only the rows of its own conditions; everything else stays as it is.
The result is the same as `rows_of` and `judge_session` give for the whole.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence

from valvebench.judge.codes import code_of, code_rows
from valvebench.judge.flex_rows import NO_FLEX, FlexFind, FlexFinds, SeriesKey, flex_row, series_key
from valvebench.judge.functions import FUNCTION_KEY, coil_key, function_key, function_row
from valvebench.judge.heat_rows import NO_FINDS, HeatFind, HeatFinds, find_row, heat_key
from valvebench.judge.row import Row
from valvebench.judge.rows import (
    Bench,
    PoolPart,
    Taken,
    pool_part,
    pooled_from,
    row_of,
    settled,
    single_row,
    split_by_temperature,
)
from valvebench.judge.session import SessionJudgement, concluded, item_verdict, wanted_of
from valvebench.model.entry import Reading, SolenoidTest
from valvebench.model.meter import Check
from valvebench.model.session import Item, Session
from valvebench.model.variant import Variant
from valvebench.model.words import Rule, Verdict

_POOLED_FROM, _POOLED_BELOW = 2, 5


class Book:
    """Rows by conditions and verdicts by item; `take` adds one entry."""

    def __init__(
        self,
        session: Session,
        variant: Variant | None,
        *,
        rule: Rule | None = None,
        heat: HeatFinds = NO_FINDS,
        flex: FlexFinds = NO_FLEX,
    ) -> None:
        self._variant, self._rule = variant, rule
        self._bench = Bench(variant)
        self._taken: dict[Hashable, list[Taken]] = defaultdict(list)
        self._groups: dict[Hashable, list[list[Taken]]] = {}
        self._rows: dict[Hashable, list[Row]] = {}
        self._parts: dict[Hashable, list[PoolPart]] = {}
        self._pooled: dict[tuple[str, str], float] = {}
        self._by_key: dict[str, set[Hashable]] = defaultdict(set)
        self._key_of: dict[Hashable, str] = {}
        self._items: dict[str, Verdict] = {}
        self.wanted = wanted_of(session, variant)
        self._codes: list[Item] = []
        self._functions: dict[str, list[Item]] = defaultdict(list)
        self._in_rounds: dict[str, list[Taken]] = defaultdict(list)
        self._flexed: dict[SeriesKey, list[Item]] = defaultdict(list)
        self._fill(session.items)
        for device, finds in heat.items():
            self.set_heat(device, finds)
        for find in flex.values():
            self.set_flex(find)

    def _fill(self, items: Iterable[Item]) -> None:
        for item in items:
            self._put(item)
        self._parts = {place: self._parts_of(place) for place in self._taken}
        self._pooled = pooled_from(part for parts in self._parts.values() for part in parts)
        for place in self._taken:
            self._write(place)
        self._write_codes()
        for key in self._by_key:
            self._conclude(key)

    def take(self, item: Item) -> tuple[Row, ...]:
        """Count one more entry in; the rows that are new or changed."""
        if code_of(self._variant, item.body) is not None:
            return self._take_code(item)
        place = self._put(item)
        if place is None:
            return ()
        touched = {place}
        if place in self._taken:
            touched |= self._repool(place)
            for each in touched:
                self._write(each)
        keys = {self._key_of[each] for each in touched}
        for key in keys:
            self._conclude(key)
        spoken_of = self._functions_spoken_of(keys)
        if self._is_settled_together(touched):
            return tuple(row for key in keys | spoken_of for row in self.rows_of_item(key))
        plain = (row for each in touched if self._key_of[each] not in spoken_of for row in self._rows[each])
        return (*plain, *(row for key in spoken_of for row in self.rows_of_item(key)))

    def _functions_spoken_of(self, keys: Iterable[str]) -> set[str]:
        """Solenoids by function among these items, and those whose coil is: a coil speaks of the click."""
        found = {each for key in keys for each in (key, function_key(key)) if each.startswith(FUNCTION_KEY)}
        return found & self._by_key.keys()

    def _is_settled_together(self, places: Iterable[Hashable]) -> bool:
        """Whether another row of the item may say something else now: one way of a diode speaks of the other."""
        found = (self._taken[place][0] for place in places if place in self._taken)
        return any(self._bench.is_polar(taken.reading) for taken in found)

    def _take_code(self, item: Item) -> tuple[Row, ...]:
        """One switch more may say something of every position: the table is small, all of it is judged anew."""
        self._codes.append(item)
        rows = self._write_codes()
        for row in rows:
            self._conclude(row.key)
        return rows

    def _write_codes(self) -> tuple[Row, ...]:
        rows = code_rows(self._variant, self._codes)
        for row in rows:
            place = ("code", row.key)
            self._rows[place], self._key_of[place] = [row], row.key
            self._by_key[row.key].add(place)
        return rows

    def _put(self, item: Item) -> Hashable | None:
        if code_of(self._variant, item.body) is not None:
            self._codes.append(item)
            return None
        taken = self._bench.take(item)
        if taken is not None:
            return self._put_reading(taken)
        if (series := series_key(item)) is not None:  # what it says with the others comes by `set_flex`
            self._flexed[series].append(item)
            return None
        if isinstance(item.body, SolenoidTest):  # everything tried on one solenoid is weighed together
            device = item.body.device
            self._functions[device].append(item)
            return self._put_row(("function", device), function_row(self._variant, self._functions[device]))
        row = single_row(self._variant, item, self._rule)
        return None if row is None else self._put_row(("single", item.n), row)

    def _put_row(self, place: Hashable, row: Row) -> Hashable:
        self._rows[place] = [row]
        self._by_key[row.key].add(place)
        self._key_of[place] = row.key
        return place

    def _put_reading(self, taken: Taken) -> Hashable:
        place = taken.conditions
        if taken.reading.round is not None:
            self._in_rounds[taken.target.key].append(taken)
        alike = self._taken[place]
        if not alike:
            self._by_key[taken.target.key].add(place)
            self._key_of[place] = taken.target.key
        alike.append(taken)
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
        self._groups[place] = split_by_temperature(self._taken[place])
        return [pool_part(group) for group in self._groups[place]]

    def _write(self, place: Hashable) -> None:
        self._rows[place] = [row_of(group, self._pooled, self._rule) for group in self._groups[place]]

    def _conclude(self, key: str) -> None:
        self._items[key] = item_verdict(self.rows_of_item(key))

    def in_rounds(self, device: str) -> tuple[Taken, ...]:
        """The readings of a device that were typed round by round, in the order of the entries."""
        return tuple(self._in_rounds.get(f"device {device}", ()))

    def set_heat(self, device: str, finds: Sequence[HeatFind]) -> tuple[Row, ...]:
        """Put what the typed rounds of a device say now in the place of what they said; the new rows."""
        place, key = ("rounds", device), heat_key(device)
        rows = [find_row(self._variant, find, self._rule) for find in finds]
        self._rows.pop(place, None)
        self._by_key[key].discard(place)
        if rows:
            self._rows[place], self._key_of[place] = rows, key
            self._by_key[key].add(place)
        if self._by_key[key]:
            self._conclude(key)
        else:
            del self._by_key[key]
            self._items.pop(key, None)
        return tuple(rows)

    def in_series(self, key: SeriesKey) -> tuple[Item, ...]:
        """The entries of a typed flex test, in their order."""
        return tuple(self._flexed.get(key, ()))

    def flex_row_of(self, item: Item) -> Row | None:
        """The row that an entry of a flex test is in; None until it was found."""
        key = series_key(item)
        rows = self._rows.get(("single", item.n) if key is None else ("flex", key), ())
        return next((row for row in rows if row.flex is not None), None)

    def set_flex(self, find: FlexFind) -> Row:
        """Put what a flex test says now in the place of what it said; the new row."""
        place, row = ("flex", find.series.key), flex_row(self._variant, find)
        self._rows[place], self._key_of[place] = [row], row.key
        self._by_key[row.key].add(place)
        self._conclude(row.key)
        return row

    def check_for(self, reading: Reading) -> Check | None:
        """The meter check that applies to a reading taken now."""
        return self._bench.check_for(reading)

    def rows(self) -> tuple[Row, ...]:
        """All rows, in the order of their first entries; may be asked beside the window."""
        groups = tuple(self._rows.values())  # in one step: the next entry may come meanwhile
        return settled(self._variant, (row for rows in groups for row in rows))

    def rows_of_item(self, key: str) -> tuple[Row, ...]:
        """The rows of one item, in the order of their first entries."""
        coils = self._plain_rows(coil_key(key)) if key.startswith(FUNCTION_KEY) else ()
        return settled(self._variant, self._plain_rows(key), of_session=coils)

    def _plain_rows(self, key: str) -> list[Row]:
        return [row for place in self._by_key.get(key, ()) for row in self._rows[place]]

    def verdict_of(self, key: str) -> Verdict:
        """What stands for one item now."""
        return self._items.get(key, Verdict.NOT_TAKEN)

    def judgement(self) -> SessionJudgement:
        """Verdict, scope and what is missing; its rows are left empty, ask `rows` for them."""
        return concluded(self._items, self.wanted, self._variant, rule=self._rule, rows=())
