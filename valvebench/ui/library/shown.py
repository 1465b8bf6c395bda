"""Variants as the lines of the library: what stands in a row, what is told of one, what a search finds.  No Qt."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from valvebench.bench.library import OnShelf, TakenIn
from valvebench.diagnose.variant_difference import Difference, differences, summary_of, words_of
from valvebench.diagnose.variant_limits import limit_lines, provenance_words, without_limits
from valvebench.model.part_numbers import chains_of, numbers_in_force
from valvebench.model.variant import OrderLine, Variant

COMPLETE: Final = "nothing missing"
UNUSABLE: Final = "cannot be used"
YOURS, EXAMPLE = "yours", "example"
AFTER: Final = " \u2192 "
"""Between a part number and the one that took its place."""
_MOST_NAMES: Final = 3


class LibraryRow(NamedTuple):
    """One line of the list: the file it stands for, the cells, and everything a search looks through."""

    path: Path
    cells: tuple[str, ...]
    title: str
    is_example: bool
    is_usable: bool
    words: str


class Told(NamedTuple):
    """One line about a variant: what it is about, and a sentence."""

    what: str
    words: str


class Compared(NamedTuple):
    """Two variants side by side: what they are called, the whole in a sentence, and every line."""

    one: str
    other: str
    summary: str
    rows: tuple[Difference, ...]

    def text(self) -> str:
        """The same in words, to be handed on."""
        lines = [words_of(row, one=self.one, other=self.other) for row in self.rows]
        return "\n".join([f"{self.one} and {self.other}: {self.summary}", *lines]) + "\n"


def row_of(shelf: OnShelf) -> LibraryRow:
    """A file as a line of the list."""
    where = EXAMPLE if shelf.is_example else YOURS
    variant = shelf.variant
    if variant is None:
        name = shelf.path.name
        return LibraryRow(
            shelf.path, (name, "", "", "", where, UNUSABLE), name, shelf.is_example, False, name.casefold()
        )
    cells = (
        variant.key,
        variant.title,
        str(len(variant.pins)),
        ", ".join(numbers_in_force(variant.part_numbers)),
        where,
        f"{len(shelf.lacks)} missing" if shelf.lacks else COMPLETE,
    )
    return LibraryRow(shelf.path, cells, variant.title, shelf.is_example, is_usable=True, words=_haystack(variant))


def _haystack(variant: Variant) -> str:
    numbers = [number for part in variant.part_numbers for number in (part.number, part.superseded_by or "")]
    devices = [device.name for device in variant.devices]
    return "\n".join((variant.key, variant.title, *numbers, *devices)).casefold()


def found(rows: Sequence[LibraryRow], typed: str) -> tuple[LibraryRow, ...]:
    """The lines that hold every word that was typed: of key, title, part numbers and devices."""
    wanted = typed.casefold().split()
    return tuple(row for row in rows if all(word in row.words for word in wanted))


def told_of(shelf: OnShelf) -> tuple[Told, ...]:
    """All there is to say about one file."""
    if shelf.variant is None:
        return tuple(Told("Problem", line) for line in shelf.problem.splitlines())
    variant = shelf.variant
    return (
        *_number_lines(variant),
        *_must_match_lines(variant),
        *(Told("Order with", _order_words(line)) for line in variant.order_lines),
        Told("Limits", _limits_words(variant)),
        *(Told("Missing", f"{lack.where}: {lack.words}") for lack in shelf.lacks),
        *(Told(line.what, f"{line.limits}; {line.source}") for line in limit_lines(variant)),
    )


def _number_lines(variant: Variant) -> Iterator[Told]:
    for chain in chains_of(variant.part_numbers):
        *old, newest = chain
        words = f"{newest}; it took the place of {' and '.join(reversed(old))}" if old else newest
        yield Told("Part number", words)


def _must_match_lines(variant: Variant) -> Iterator[Told]:
    points = [f"{feature.name} {feature.this or '?'}" for feature in variant.features if feature.must_match]
    if points:
        yield Told("Must match", "; ".join(points))


def _order_words(line: OrderLine) -> str:
    named = f"{line.number}, {line.text}" if line.number else line.text
    return f"{named}. {line.note}" if line.note else named


def _limits_words(variant: Variant) -> str:
    bare = without_limits(variant)
    named = ", ".join(bare[:_MOST_NAMES]) + (f" and {len(bare) - _MOST_NAMES} more" if len(bare) > _MOST_NAMES else "")
    return f"{provenance_words(variant)}{f'; none for {named}' if bare else ''}"


def compared(one: Variant, other: Variant) -> Compared:
    """Two variants side by side, by their titles; by their keys where the titles are the same."""
    names = (one.title, other.title) if one.title != other.title else (one.key, other.key)
    rows = differences(one, other)
    return Compared(*names, summary_of(rows), rows)


def taken_in_words(taken: TakenIn) -> str:
    """What an import did, in words."""
    parts = [f"Imported: {', '.join(path.stem for path in taken.new)}." if taken.new else "Nothing new."]
    if taken.known:
        parts.append(f"There already: {', '.join(taken.known)}.")
    if taken.lost_photos:
        parts.append(f"Photos that did not lie beside the files: {', '.join(taken.lost_photos)}.")
    return " ".join(parts)
