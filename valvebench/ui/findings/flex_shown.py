"""A flex test as the Findings page tells it.  No Qt."""

from __future__ import annotations

from typing import Final

from valvebench.judge.flex_rows import FLEX_KEY
from valvebench.judge.row import Row
from valvebench.model.words import ACCESS_TEXT, AccessPoint

_MOST_REASONS: Final = 3


def is_flex(key: str) -> bool:
    """Whether an item is a flex test."""
    return key.startswith(FLEX_KEY)


def flexed_of(key: str) -> str:
    """Device or nodes that a flex test is about."""
    return key.removeprefix(FLEX_KEY)


def flex_where(row: Row, count: int) -> str:
    """Nodes, access point, what was flexed and the entries."""
    flexed = f", {row.flex.flexed} flexed" if row.flex is not None else ""
    first, last = row.entries[0], row.entries[-1]
    entries = f"entry {first}" if first == last else f"entries {first} to {last}"
    others = f", {count} flex tests of it" if count > 1 else ""
    place = f" at the {ACCESS_TEXT[AccessPoint(row.at)]}" if row.at is not None else ""
    return f"between {row.from_node} and {row.to_node}{place}{flexed}, {entries}{others}"


def flex_reasons(row: Row) -> tuple[str, ...]:
    """The verdict in words, then the first events with their moments."""
    return row.reasons[:_MOST_REASONS]
