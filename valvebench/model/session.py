"""The state of a session: a fold over its entries, nothing else."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import msgspec

from valvebench.model.entry import (
    DATA_KINDS,
    TAIL_KINDS,
    Anchor,
    AnyBody,
    Close,
    Complaint,
    Correct,
    Entry,
    OpenJob,
    Outcome,
    Restore,
    Withdraw,
    body_from,
)
from valvebench.model.errors import BadInput, Problem
from valvebench.model.words import Rule

_UNDOABLE: Final = DATA_KINDS | {"correct"}


class Item(msgspec.Struct, frozen=True, kw_only=True):
    """What counts now of one data entry: its number, kind, time, person and present body."""

    n: int
    kind: str
    at: str
    by: str
    body: AnyBody
    is_corrected: bool = False


@dataclass(frozen=True, kw_only=True)
class Session:
    """Entries and what counts of them."""

    entries: tuple[Entry, ...]
    job: OpenJob
    items: tuple[Item, ...]
    withdrawn: frozenset[int] = frozenset()
    close: Entry | None = None
    anchors: tuple[Anchor, ...] = ()
    outcomes: tuple[Outcome, ...] = ()

    @property
    def is_closed(self) -> bool:
        """Whether only outcome and anchor entries may follow."""
        return self.close is not None

    @property
    def head(self) -> str:
        """`N:HEX` at closing, or now: line count and that line's hash."""
        entry = self.close or self.entries[-1]
        return f"{entry.n}:{entry.sha256}"

    @property
    def tail(self) -> int:
        """How many entries follow the head."""
        return self.entries[-1].n - (self.close or self.entries[-1]).n

    @property
    def job_now(self) -> OpenJob:
        """The job with its complaint as it was last corrected."""
        told = next((item.body for item in reversed(self.items) if isinstance(item.body, Complaint)), None)
        if told is None:
            return self.job
        return msgspec.structs.replace(self.job, shift=told.shift, when=told.when, feel=told.feel)

    def items_of(self, *kinds: str) -> tuple[Item, ...]:
        """What counts, of these kinds, in the order of the entries."""
        return tuple(item for item in self.items if item.kind in kinds)


def closing_rule(session: Session) -> Rule | None:
    """The rule a session was closed with, where it was not the default; it stands when judged again."""
    body = session.close.body if session.close is not None else None
    return body.rule if isinstance(body, Close) and body.rule is not Rule.PROVED else None


class Ledger:
    """Entries taken in one by one, and what counts after each: the fold, kept up to date."""

    def __init__(self, entries: Iterable[Entry] = ()) -> None:
        self._by_number: dict[int, Entry] = {}
        self._inactive: set[int] = set()
        self._corrections: dict[int, list[tuple[int, Correct]]] = {}
        self._items: dict[int, Item] = {}
        self._close: Entry | None = None
        for entry in entries:
            self.take(entry)

    @property
    def items(self) -> Mapping[int, Item]:
        """What counts, by entry number."""
        return self._items

    @property
    def last(self) -> Entry:
        """The newest entry."""
        return self._by_number[len(self._by_number)]

    @property
    def is_closed(self) -> bool:
        """Whether only outcome and anchor entries may follow; asked without folding anything."""
        return self._close is not None

    def session(self) -> Session:
        """The state now (raises BadInput where no job begins it)."""
        entries = tuple(self._by_number.values())
        job = entries[0].body if entries else None
        if not isinstance(job, OpenJob):
            raise _refused("line 1", "no job", "a journal that begins with its job")
        return Session(
            entries=entries,
            job=job,
            items=tuple(self._items[n] for n in sorted(self._items)),
            withdrawn=frozenset(self._inactive),
            close=self._close,
            anchors=tuple(e.body for e in entries if isinstance(e.body, Anchor)),
            outcomes=tuple(e.body for e in entries if isinstance(e.body, Outcome)),
        )

    def check(self, kind: str, body: AnyBody) -> None:
        """Refuse a body that has no business here (raises BadInput)."""
        if kind in DATA_KINDS and self._close is None and self._by_number:
            return
        if self._close is not None and kind not in TAIL_KINDS:
            advice = "Open a new job that names this one with --comeback-of."
            raise _refused("session", "a closed session", "an outcome or an anchor after closing", advice)
        if self._close is None and kind in TAIL_KINDS:
            raise _refused(
                "session", "an open session", "an outcome or an anchor only after closing", "Close it first."
            )
        if (kind == "open-job") != (not self._by_number):
            raise _refused("entry", kind, "the job as the first entry and only there")
        if isinstance(body, Correct):
            target = self._target(body.entry, "an entry that can be corrected")
            body_from(self._root_of(target).kind, body.body, source=f"entry {body.entry}")
        elif isinstance(body, Withdraw):
            self._target(body.entry, "an entry that counts and can be withdrawn")
        elif isinstance(body, Restore):
            self._restored(body)

    def take(self, entry: Entry) -> None:
        """Count an entry in (raises BadInput where it cannot follow)."""
        self.check(entry.kind, entry.body)
        self._by_number[entry.n] = entry
        body = entry.body
        if entry.kind in DATA_KINDS:
            self._items[entry.n] = self._item(entry)
        elif isinstance(body, Close):
            self._close = entry
        elif isinstance(body, Withdraw):
            self._inactive.add(body.entry)
            self._refresh(body.entry)
        elif isinstance(body, Restore):
            number = self._restored(body)
            self._inactive.discard(number)
            self._refresh(number)
        elif isinstance(body, Correct):
            self._corrections.setdefault(self._root_of(entry).n, []).append((entry.n, body))
            self._refresh(entry.n)

    def root(self, number: int) -> Item | None:
        """What counts now of the data entry that an entry number is about."""
        entry = self._by_number.get(number)
        return self._items.get(self._root_of(entry).n) if entry is not None else None

    def _refresh(self, number: int) -> None:
        root = self._root_of(self._by_number[number])
        if root.n in self._inactive:
            self._items.pop(root.n, None)
        else:
            self._items[root.n] = self._item(root)

    def _item(self, entry: Entry) -> Item:
        corrections = self._corrections.get(entry.n, ())
        standing = [correction for n, correction in corrections if n not in self._inactive]
        body = body_from(entry.kind, standing[-1].body) if standing else entry.body
        return Item(n=entry.n, kind=entry.kind, at=entry.at, by=entry.by, body=body, is_corrected=bool(standing))

    def _target(self, number: int, expected: str) -> Entry:
        target = self._by_number.get(number)
        if target is None:
            raise _refused("entry", f"number {number}", f"a number from 1 to {len(self._by_number)}")
        if target.kind not in _UNDOABLE:
            raise _refused("entry", f"number {number}, a {target.kind}", expected)
        if number in self._inactive or self._root_of(target).n in self._inactive:
            raise _refused("entry", f"number {number}, which is withdrawn", expected, "Restore it first.")
        return target

    def _restored(self, body: Restore) -> int:
        """Number of the entry that a restore brings back: named itself, or by its withdrawal."""
        named = self._by_number.get(body.entry)
        number = named.body.entry if named is not None and isinstance(named.body, Withdraw) else body.entry
        if number not in self._inactive:
            raise _refused("entry", f"number {body.entry}", "an entry that is withdrawn")
        return number

    def _root_of(self, entry: Entry) -> Entry:
        """The data entry that a chain of corrections is about."""
        while isinstance(entry.body, Correct):
            entry = self._by_number[entry.body.entry]
        return entry


def fold(entries: Iterable[Entry]) -> Session:
    """The state after all entries (raises BadInput where one refers to what cannot be meant)."""
    return Ledger(entries).session()


def _refused(where: str, found: str, expected: str, advice: str = "Nothing was changed.") -> BadInput:
    return BadInput([Problem(where=where, found=found, expected=expected, what_to_do=advice)])
