"""What became of each entry: it counts, was replaced, or was withdrawn; the original always stays readable."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from valvebench.model.entry import DATA_KINDS, AnyBody, Correct, Entry, Restore, Withdraw, body_from
from valvebench.model.session import Session

COUNTS = "counts"


class Fate(NamedTuple):
    """One entry that carries data: the entry it is about, its kind and body, and its state in words."""

    entry: Entry
    root: int
    kind: str
    body: AnyBody
    state: str

    @property
    def counts(self) -> bool:
        """Whether it is what counts now."""
        return self.state == COUNTS


def fates(session: Session) -> tuple[Fate, ...]:
    """Every data entry and every correction of one, in the order of the journal."""
    by_number = {entry.n: entry for entry in session.entries}
    roots = {n: root_of(by_number, n) for n, entry in by_number.items() if _carries_data(entry)}
    withdrawals = _withdrawals(session)
    standing = {root: n for n, root in roots.items() if n not in session.withdrawn}
    return tuple(_fate(by_number, n, root, standing.get(root, root), withdrawals) for n, root in roots.items())


def _carries_data(entry: Entry) -> bool:
    return entry.kind in DATA_KINDS or isinstance(entry.body, Correct)


def root_of(by_number: Mapping[int, Entry], number: int) -> int:
    """The data entry that a chain of corrections is about."""
    body = by_number[number].body
    return root_of(by_number, body.entry) if isinstance(body, Correct) else number


def _withdrawals(session: Session) -> dict[int, int]:
    """Withdrawn entry -> the withdrawal that stands."""
    found: dict[int, int] = {}
    for entry in session.entries:
        if isinstance(entry.body, Withdraw):
            found[entry.body.entry] = entry.n
        elif isinstance(entry.body, Restore):
            found = _restored(found, entry.body.entry)
    return found


def _restored(found: dict[int, int], named: int) -> dict[int, int]:
    """A restore names the entry itself or its withdrawal."""
    return {target: by for target, by in found.items() if named not in (target, by)}


def _fate(by_number: Mapping[int, Entry], n: int, root: int, current: int, withdrawals: Mapping[int, int]) -> Fate:
    entry = by_number[n]
    kind = by_number[root].kind
    body = body_from(kind, entry.body.body) if isinstance(entry.body, Correct) else entry.body
    return Fate(entry, root, kind, body, _state(n, root, current, withdrawals))


def _state(n: int, root: int, current: int, withdrawals: Mapping[int, int]) -> str:
    if root in withdrawals:
        return f"withdrawn by entry {withdrawals[root]}"
    if n in withdrawals:
        return f"correction withdrawn by entry {withdrawals[n]}"
    return COUNTS if n == current else f"corrected by entry {current}"
