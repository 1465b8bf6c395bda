"""A printed page in words: blocks that the workbook and the PDF draw alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final, NamedTuple

from valvebench.model.words import Verdict

NOT_RECORDED: Final = "not recorded"
"""What stands where a fact is missing: a blank could mean anything."""
_RULER_ROOM: Final = 0.15
_LONG_TEXT: Final = 120


class Printing(NamedTuple):
    """What every paper needs beside its facts: photos by SHA-256, the time (RFC 3339), the program as it is named."""

    photos: Mapping[str, bytes]
    printed_at: str
    program: str


class Line(NamedTuple):
    """A label and what is told of it; `is_code` for hashes."""

    label: str
    text: str
    is_missing: bool = False
    is_code: bool = False


@dataclass(frozen=True, kw_only=True)
class Lines:
    """Labels with their texts, in one or two columns."""

    title: str = ""
    lines: tuple[Line, ...]
    columns: int = 1

    def rows(self) -> list[tuple[Line, ...]]:
        """Lines beside each other; a long text has a row to itself, as wide as the page."""
        rows: list[tuple[Line, ...]] = []
        for line in self.lines:
            is_long = len(line.text) > _LONG_TEXT
            if rows and len(rows[-1]) < self.columns and not is_long and len(rows[-1][-1].text) <= _LONG_TEXT:
                rows[-1] = (*rows[-1], line)
            else:
                rows.append((line,))
        return rows

    def width_of(self, row: tuple[Line, ...]) -> int:
        """How many of the columns each line of a row takes up."""
        return self.columns if len(row) == 1 and len(row[0].text) > _LONG_TEXT else 1


class Head(NamedTuple):
    """The heading of a column and its share of the width, in twelfths."""

    title: str
    twelfths: int


class Ruler(NamedTuple):
    """A value with its expanded uncertainty between limits, in one unit; `guard` is the zone too close to tell."""

    low: float | None
    high: float | None
    value: float
    expanded: float
    guard: float
    verdict: Verdict

    def span(self) -> tuple[float, float]:
        """The numbers at the two ends: everything that is drawn, and some room."""
        ends = (self.low, self.high, self.value - self.expanded, self.value + self.expanded)
        seen = [end for end in ends if end is not None]
        room = _RULER_ROOM * (max(seen) - min(seen)) or 1.0
        return min(seen) - room, max(seen) + room


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows below headings; the column of verdicts is coloured beside its word."""

    title: str
    heads: tuple[Head, ...]
    rows: tuple[tuple[str, ...], ...]
    verdicts: int | None = None
    none: str = ""
    """What is said where there is no row."""
    rulers: tuple[Ruler | None, ...] = ()
    """One for each row, drawn on paper below its text in the column `ruled`."""
    ruled: int = 0


@dataclass(frozen=True, kw_only=True)
class Words:
    """A paragraph."""

    title: str = ""
    text: str
    is_quiet: bool = False


class Shown(NamedTuple):
    """A photo with what it shows; without bytes it is not there or not as it was."""

    caption: str
    raw: bytes | None


@dataclass(frozen=True, kw_only=True)
class Photos:
    """Photos side by side."""

    title: str
    shown: tuple[Shown, ...]


@dataclass(frozen=True, kw_only=True)
class Signatures:
    """Rules to write on, each with what belongs there."""

    labels: tuple[str, ...]


Block = Lines | Table | Words | Photos | Signatures


@dataclass(frozen=True, kw_only=True)
class Form:
    """A whole page: what it is, what it says in one sentence, the blocks, and the foot.

    `is_one_page`: made smaller until it fits, as long as it can be read.  `code` is what the square code says.
    """

    title: str
    about: str
    word: str = ""
    sentence: str = ""
    blocks: tuple[Block, ...]
    foot: str
    code: str = ""
    is_one_page: bool = True


def told(label: str, text: str | None, *, missing: str = NOT_RECORDED, is_code: bool = False) -> Line:
    """A line; what is missing is said to be."""
    return Line(label, text or missing, is_missing=not text, is_code=is_code)


def missing_labels(lines: Iterable[Line]) -> list[str]:
    """What is missing, by its labels."""
    return [line.label for line in lines if line.is_missing]
