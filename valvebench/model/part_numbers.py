"""Numbers a part is ordered by, and what took their place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from valvebench.model.variant import PartNumber


def newest_of(number: str, parts: Sequence[PartNumber]) -> str:
    """The number that is ordered today in place of this one; itself where nothing took its place.

    A chain that leads back to its beginning (a file of an earlier program may hold one) ends where it closes.
    """
    follows = {part.number: part.superseded_by for part in reversed(parts) if part.superseded_by}
    return _chain(number, follows)[-1]


def chains_of(parts: Sequence[PartNumber]) -> tuple[tuple[str, ...], ...]:
    """Every number with what took its place, oldest first; a number that took a place begins no chain of its own."""
    follows = {part.number: part.superseded_by for part in reversed(parts) if part.superseded_by}
    later = set(follows.values())
    starts = [part.number for part in parts if part.number not in later]
    found: list[tuple[str, ...]] = []
    for start in dict.fromkeys((*starts, *(part.number for part in parts))):
        if start in starts or not any(start in chain for chain in found):
            found.append(_chain(start, follows))
    return tuple(found)


def _chain(start: str, follows: Mapping[str, str]) -> tuple[str, ...]:
    chain = [start]
    while (after := follows.get(chain[-1])) is not None and after not in chain:
        chain.append(after)
    return tuple(chain)


def numbers_in_force(parts: Sequence[PartNumber]) -> tuple[str, ...]:
    """What can be ordered today, each once."""
    return tuple(dict.fromkeys(chain[-1] for chain in chains_of(parts)))
