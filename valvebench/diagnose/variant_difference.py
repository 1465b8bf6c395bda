"""What two variants do not have in common: rows to lay side by side, a sentence for each, and one for the whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.diagnose.variant_facts import (
    FEATURES,
    HERE,
    MUST_MATCH,
    NUMBER_OF_PINS,
    WHOLE,
    Aspects,
    Names,
    charted,
    facts_of,
)
from valvebench.model.variant import Variant

NOT_THERE: Final = "\u2013"
"""Stands where only the other variant has something."""


class Difference(NamedTuple):
    """One line: the table, what is told of, both texts (`NOT_THERE` for nothing), and whether it must match to fit."""

    table: str
    what: str
    one: str
    other: str
    must_match: bool = False


def differences(one: Variant, other: Variant) -> tuple[Difference, ...]:
    """Every line in which two variants differ, points that must match first, then table by table.

    Parameters
    ----------
    one, other : Variant
        Two variants as read.

    Returns
    -------
    tuple of Difference
        Empty where they say the same.  Exchanging the two exchanges the texts of every line and nothing else but
        the order of lines.  A name that only one of them has is one line.  Pins of connectors that only one of
        them has, or that are laid out otherwise, are told by their number alone, gears by the solenoids of both charts.
    """
    shared = charted(one) & charted(other)
    left, right = facts_of(one, solenoids=shared), facts_of(other, solenoids=shared)
    hard = {feature.name for variant in (one, other) for feature in variant.features if feature.must_match}
    found = [
        row
        for table in left
        for row in _table_rows(table, left[table], right[table])
        if table != "Pins" or _is_telling(row, left, right)
    ]
    marked = [row._replace(must_match=row.table == FEATURES and row.what in hard) for row in found]
    return (*(row for row in marked if row.must_match), *(row for row in marked if not row.must_match))


def _is_telling(row: Difference, left: Mapping[str, Names], right: Mapping[str, Names]) -> bool:
    """Where pins stand is comparable only on connectors laid out alike."""
    return row.what == NUMBER_OF_PINS or left["Connectors"] == right["Connectors"]


def _table_rows(table: str, left: Names, right: Names) -> Iterator[Difference]:
    for name in dict.fromkeys((*left, *right)):
        if name not in left or name not in right:
            texts = [_whole(names[name]) if name in names else NOT_THERE for names in (left, right)]
            yield Difference(table, name, texts[0], texts[1])
        else:
            yield from _aspect_rows(table, name, left[name], right[name])


def _aspect_rows(table: str, name: str, left: Aspects, right: Aspects) -> Iterator[Difference]:
    for aspect in dict.fromkeys((*left, *right)):
        a, b = left.get(aspect, NOT_THERE), right.get(aspect, NOT_THERE)
        if a != b:
            shown = name if aspect in (WHOLE, "seen") else f"{name}, {aspect}"
            yield Difference(table, shown, a, b)


def _whole(aspects: Aspects) -> str:
    """A name that only one variant has, in one text."""
    parts = [text if aspect in (WHOLE, "kind", "seen") else f"{aspect} {text}" for aspect, text in aspects.items()]
    return ", ".join(part for part in parts if part != f"{MUST_MATCH} no")


def words_of(row: Difference, *, one: str, other: str) -> str:
    """A line as a sentence; `one` and `other` are what the two variants are called."""
    if NOT_THERE in (row.one, row.other):
        who, text = (one, row.one) if row.other == NOT_THERE else (other, row.other)
        has = f"{row.table}: only {who} has {row.what}"
        return f"{has}." if text == HERE else f"{has}: {text.removesuffix('.')}."
    hard = " This must match." if row.must_match else ""
    return f"{row.table}: {row.what} is {row.one} on {one}, {row.other} on {other}.{hard}"


def summary_of(rows: Sequence[Difference]) -> str:
    """The whole in one sentence: in how many points that must match, and in how many lines of which table."""
    if not rows:
        return "No difference: their tables say the same."
    hard = sum(row.must_match for row in rows)
    counted = Counter(row.table for row in rows if not row.must_match)
    parts = [f"{hard} {'point that' if hard == 1 else 'points that'} must match"] if hard else []
    parts += [f"{table.lower()} ({count})" for table, count in counted.items()]
    lead = "They differ in" if hard else "No point that must match differs; they differ in"
    return f"{lead} {_listed(parts)}."


def _listed(parts: Sequence[str]) -> str:
    *most, last = parts
    return f"{', '.join(most)} and {last}" if most else last
