"""A file whose columns have fixed names -> arrays by those names, or one message with everything that is wrong."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.capture.columns import Array, Clock, Column, Signs, moment
from valvebench.capture.faults import Faults
from valvebench.capture.headings import Heading
from valvebench.capture.lines import Line, lines_of

_STRETCH: Final = 50_000
_HEADER_WITHIN: Final = 50
_NO_WORD: Final = re.compile(r"[^a-z0-9]+")
_TWO_PARTS: Final = re.compile(r"\d{1,3}:\d{1,2}", re.ASCII)
_WHICH: Final = "It could be minutes and seconds, or hours and minutes."
_TOO_MANY_CELLS: Final = "With a decimal comma, separate by ; or tab."


class Named(NamedTuple):
    """What a column holds: the field it fills, whether it is a number (and which) or a word."""

    field: str
    holds: str
    scale: float | None = 1.0
    zero: float = 0.0


class Table(NamedTuple):
    """Columns by field: arrays (n,) of numbers, lists of words with the line each stands on; names nobody asked for."""

    numbers: Mapping[str, Array]
    words: Mapping[str, Sequence[str]]
    lines: Sequence[int]
    not_used: tuple[str, ...]
    told: Mapping[str, str]
    """The heading of each field as the file writes it."""


Choose = Callable[[str], Named | None]
"""From a heading in small letters, its words joined by underscores, to what it holds; None where nobody asks for it."""
Key = Callable[[str], str]
"""From a heading as the file writes it to what is compared."""
Check = Callable[[Mapping[str, str], Sequence[str], Faults], None]
"""Hears which fields were found, under which heading, and all headings; says what is missing."""


def table_of(raw: bytes, *, source: str, choose: Choose, check: Check, expected: str, key: Key | None = None) -> Table:
    """Read a file with a header line (raises BadInput).

    Parameters
    ----------
    raw : text, or an .xlsx workbook whose first sheet has the header
    source : name of the file, for messages
    choose, check : which columns are wanted, and whether those found are enough
    expected : the header that was expected, for messages
    key : how `choose` wants a heading written, else as `plain` does
    """
    faults, written = Faults(source), key or plain
    lines = lines_of(raw, faults)
    cells = _header(lines, lambda cell: choose(written(cell)), expected, faults)
    fields = {place: named for place, cell in enumerate(cells) if (named := choose(written(cell))) is not None}
    told = _told(cells, fields, faults)
    check(told, [cell.strip() for cell in cells], faults)
    faults.raise_if_any()
    first = next(lines, None)
    if first is None:
        faults.stop("file", "a header and nothing below it", "readings")
    table = _gathered(itertools.chain([first], lines), cells, fields, faults)
    faults.raise_if_any()
    not_used = tuple(cell.strip() for place, cell in enumerate(cells) if place not in fields and cell.strip())
    return Table(*table, not_used=not_used, told=told)


def plain(heading: str) -> str:
    """`Supply [kPa gauge]` -> `supply_kpa_gauge`."""
    degrees = heading.strip().lower().replace("\u00b0c", "celsius")
    return _NO_WORD.sub("_", degrees).strip("_")


def _header(lines: Iterator[Line], choose: Choose, expected: str, faults: Faults) -> Sequence[str]:
    """The first line that names a wanted column beside another cell; else the first, to say what it lacks."""
    first: Line | None = None
    for line in itertools.islice(lines, _HEADER_WITHIN):
        first = first or line
        if any(choose(cell) is not None for cell in line[1]):
            return line[1]
    number, cells = first or (1, [])
    found = ", ".join(cell.strip() for cell in cells)[:80]
    raise faults.stopped("header", ascii(found) if found else "nothing", expected, line=number)


def _told(cells: Sequence[str], fields: Mapping[int, Named], faults: Faults) -> dict[str, str]:
    told: dict[str, str] = {}
    for place, named in fields.items():
        text = cells[place].strip()
        if named.field in told:
            faults.add("header", f"{told[named.field]} and {text}", "one of them")
        told.setdefault(named.field, text)
    return told


def _gathered(
    lines: Iterator[Line], cells: Sequence[str], fields: Mapping[int, Named], faults: Faults
) -> tuple[dict[str, Array], dict[str, list[str]], list[int]]:
    signs, numbers = Signs(), list[int]()
    columns: dict[int, Column] = {}
    texts: dict[int, list[str]] = {place: [] for place, named in fields.items() if named.holds == "word"}
    while stretch := list(itertools.islice(lines, _STRETCH)):
        at = [number for number, _ in stretch]
        columns_of_cells = list(zip(*(_fitted(line, len(cells), faults) for line in stretch), strict=True))
        if not columns:
            firsts = [column[0].strip() for column in columns_of_cells]
            columns = {
                place: _column(place, cells[place].strip(), named, firsts[place], signs, faults)
                for place, named in fields.items()
                if named.holds != "word"
            }
        for place, column in columns.items():
            column.take(columns_of_cells[place], at)
        for place, words in texts.items():
            words += [cell.strip() for cell in columns_of_cells[place]]
        numbers += at
    values = {fields[place].field: column.values() for place, column in columns.items()}
    return values, {fields[place].field: words for place, words in texts.items()}, numbers


def _column(place: int, text: str, named: Named, first: str, signs: Signs, faults: Faults) -> Column:
    heading = Heading(place, text, named.holds, scale=named.scale, zero=named.zero)
    if named.holds == "time" and _TWO_PARTS.fullmatch(first):
        faults.stop(heading.where, repr(first), "seconds (t_s), or a clock with all three parts (0:01:30)", _WHICH)
    is_clock = named.holds == "time" and moment(first) is not None
    return Clock(heading, signs, faults) if is_clock else Column(heading, signs, faults)


def _fitted(line: Line, width: int, faults: Faults) -> Sequence[str]:
    """Cells of a line, as many as the header has; cells that are missing at the end are empty."""
    number, cells = line
    if any(cell.strip() for cell in cells[width:]):
        faults.add("line", f"{len(cells)} cells", f"{width}, as the header has", _TOO_MANY_CELLS, line=number)
    return (*cells[:width], *[""] * (width - len(cells)))
