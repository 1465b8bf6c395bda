"""Text from a spreadsheet -> rows of a table: which column means what, and what is wrong in which cell.  No Qt."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest
from typing import Final

from valvebench.model.draft_cells import Unread, number_text, read_cell, squeezed
from valvebench.model.draft_field import NUMBER_CELLS, Cell, Field, Part
from valvebench.model.draft_fields import FIELDS, field_of
from valvebench.model.draft_file import unread_words
from valvebench.model.numbers import typed_ohm
from valvebench.model.variant_draft import Row, identity_of, texts_of
from valvebench.model.words import CASE

SKIP: Final = ""
MOST_ROWS: Final = 2000
_SEPARATORS: Final = ("\t", ";", ",")
_COMMA: Final = re.compile(r"[+-]?\d+,(\d{1,2}|\d{4,})")
_POINT: Final = re.compile(r"[+-]?\d+\.(\d{1,2}|\d{4,})")

Grid = tuple[tuple[str, ...], ...]


@dataclass(frozen=True, kw_only=True)
class Plan:
    """A pasted grid and how it is understood: a key (or SKIP) for every column."""

    part: Part
    grid: Grid
    heads: tuple[str, ...]
    keys: tuple[str, ...]
    has_header: bool
    has_decimal_comma: bool = False
    adds_pins: bool = False


@dataclass(frozen=True, kw_only=True)
class PasteProblem:
    """A cell of the pasted rows that cannot be read as it is understood."""

    row: int
    column: int
    words: str


def grid_of(text: str) -> Grid:
    """The cells of copied text: tabs from a spreadsheet, else semicolons or commas; quotes as spreadsheets set them."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip("\n")
    if not lines.strip():
        return ()
    separator = next((sign for sign in _SEPARATORS if sign in lines), "\t")
    if separator == "," and all(_COMMA.fullmatch(line.strip()) for line in lines.split("\n")):
        separator = "\t"  # one column of numbers with decimal commas
    rows = [[_clean(cell) for cell in row] for row in csv.reader(io.StringIO(lines), delimiter=separator)]
    rows = [row for row in rows if any(row)][: MOST_ROWS + 1]
    return tuple(zip(*zip_longest(*rows, fillvalue=""), strict=True))


def _clean(cell: str) -> str:
    return " ".join(cell.split())


def understand(part: Part, text: str, *, at_key: str = "") -> Plan | None:
    """What pasted text most likely means; None where there is nothing in it."""
    grid = grid_of(text)
    if not grid:
        return None
    has_header = _is_header(_by_heading(part, grid[0]), grid[0])
    body = grid[1:] if has_header else grid
    keys = _named(part, grid) if has_header else _in_order(part, len(grid[0]), at_key)
    heads = grid[0] if has_header else tuple("" for _ in grid[0])
    commas = _has_decimal_comma(body)
    return Plan(part=part, grid=body, heads=heads, keys=keys, has_header=has_header, has_decimal_comma=commas)


def _named(part: Part, grid: Grid) -> tuple[str, ...]:
    return _by_content(part, _by_heading(part, grid[0]), grid[1:])


def _by_heading(part: Part, heads: Iterable[str]) -> tuple[str, ...]:
    """The column each heading means, each taken once."""
    keys: list[str] = []
    for head in heads:
        key = next((f.key for f in FIELDS[part] if f.key not in keys and _means(f, head)), SKIP)
        keys.append(key)
    return tuple(keys)


def _means(field: Field, head: str) -> bool:
    wanted = squeezed(head)
    return bool(wanted) and wanted in {squeezed(word) for word in (field.key, field.title, *field.also)}


def _by_content(part: Part, keys: Sequence[str], rows: Grid) -> tuple[str, ...]:
    """A column of words that only another column of choices knows is that one: `type` may hold the duty."""
    found = list(keys)
    for i, key in enumerate(keys):
        words = [row[i] for row in rows if row[i]]
        others = [f for f in FIELDS[part] if f.cell is Cell.CHOICE and f.key not in found]
        if key != SKIP and words and field_of(part, key).cell is Cell.CHOICE and not _reads_any(part, key, words):
            found[i] = next((f.key for f in others if _reads_all(f, words)), key)
    return tuple(found)


def _reads_any(part: Part, key: str, words: Sequence[str]) -> bool:
    return any(_reads_all(field_of(part, key), [word]) for word in words)


def _reads_all(field: Field, words: Sequence[str]) -> bool:
    try:
        return all(read_cell(field, word) is not None for word in words)
    except Unread:
        return False


def _is_header(named: Sequence[str], heads: Sequence[str]) -> bool:
    """At least half of the words are headings, and none is a number."""
    words = [head for head in heads if head]
    known = sum(key != SKIP for key in named)
    return 2 * known >= len(words) > 0 and not any(head[0].isdigit() for head in words)


def _in_order(part: Part, count: int, at_key: str) -> tuple[str, ...]:
    keys = [field.key for field in FIELDS[part]]
    first = keys.index(at_key) if at_key in keys else 0
    following = keys[first : first + count]
    return (*following, *(SKIP for _ in range(count - len(following))))


def _has_decimal_comma(grid: Grid) -> bool:
    cells = [cell for row in grid for cell in row]
    return any(_COMMA.fullmatch(cell) for cell in cells) and not any(_POINT.fullmatch(cell) for cell in cells)


def with_key(plan: Plan, column: int, key: str) -> Plan:
    """Another meaning for one column; a key is taken from where it stood."""
    keys = [SKIP if old == key else old for old in plan.keys]
    keys[column] = key
    return replace(plan, keys=tuple(keys))


def with_header(plan: Plan, *, has_header: bool) -> Plan:
    """Take the first row as headings, or as a row like the others."""
    if has_header == plan.has_header:
        return plan
    if has_header:
        named = _named(plan.part, plan.grid)
        keys = tuple(new or old for new, old in zip(named, plan.keys, strict=True)) if any(named) else plan.keys
        return replace(plan, heads=plan.grid[0], grid=plan.grid[1:], has_header=True, keys=_once(keys))
    return replace(plan, heads=tuple("" for _ in plan.heads), grid=(plan.heads, *plan.grid), has_header=False)


def _once(keys: Sequence[str]) -> tuple[str, ...]:
    return tuple(SKIP if key in keys[:i] else key for i, key in enumerate(keys))


def problems_of(plan: Plan) -> tuple[PasteProblem, ...]:
    """What cannot be read, cell by cell."""
    return tuple(
        PasteProblem(row=i, column=j, words=words)
        for i, row in enumerate(plan.grid)
        for j, (key, text) in enumerate(zip(plan.keys, row, strict=True))
        if (words := _problem(plan, key, text))
    )


def _problem(plan: Plan, key: str, text: str) -> str:
    if key == SKIP or not text:
        return ""
    field = field_of(plan.part, key)
    try:
        read_cell(field, _settled(plan, field, text))
    except Unread as error:
        return unread_words(text, error)
    return ""


def _settled(plan: Plan, field: Field, text: str) -> str:
    """A number whose comma the other cells explain, written so that it has one meaning."""
    if field.cell in NUMBER_CELLS and plan.has_decimal_comma and "," in text and typed_ohm(text).choices:
        return number_text(typed_ohm(text).choices[0])
    return text


def rows_of(plan: Plan) -> list[dict[str, str]]:
    """The rows as texts by column, what is skipped or empty left out."""
    found = []
    for row in plan.grid:
        texts = {
            key: _settled(plan, field_of(plan.part, key), text)
            for key, text in zip(plan.keys, row, strict=True)
            if key != SKIP and text
        }
        if texts:
            found.append(texts)
    return found


def nodes_of(plan: Plan) -> list[str]:
    """The pins that pasted devices name."""
    names = [row.get(key, "") for row in rows_of(plan) for key in ("from", "to")]
    return [name for name in names if name and name != CASE and "." not in name]


def clutches_of(plan: Plan) -> list[str]:
    """The clutches that pasted gears name; a cell that cannot be read names none."""
    field = field_of(Part.GEARS, "clutches")
    found: list[str] = []
    for row in rows_of(plan):
        try:
            found += read_cell(field, row["clutches"]) if "clutches" in row else []
        except Unread:
            continue
    return [name for name in found if "=" not in name]


def summary(plan: Plan, known: Sequence[str]) -> str:
    """What taking it over would do."""
    rows = rows_of(plan)
    changed = sum(identity_of(plan.part, row) in known for row in rows)
    added = len(rows) - changed
    parts = [f"{added} added" if added or not rows else "", f"{changed} of the same name changed" if changed else ""]
    parts += ["decimal comma" if plan.has_decimal_comma else ""]
    words = ", ".join(part for part in parts if part)
    return f"{words}. {_unread_summary(len(problems_of(plan)))}".strip()


def _unread_summary(count: int) -> str:
    if count == 1:
        return "1 cell cannot be read; it comes in as it is."
    return f"{count} cells cannot be read; they come in as they are." if count else ""


def tsv_of(part: Part, rows: Iterable[Row], *, has_header: bool = True) -> str:
    """Rows as a spreadsheet takes them."""
    fields = FIELDS[part]
    lines = [[field.title for field in fields]] if has_header else []
    lines += [[texts_of(part, row)[field.key] for field in fields] for row in rows]
    out = io.StringIO()
    csv.writer(out, delimiter="\t", lineterminator="\n").writerows(lines)
    return out.getvalue()


def is_one_cell(text: str) -> bool:
    """Whether text goes into one cell as it is."""
    grid = grid_of(text)
    return len(grid) == 1 and len(grid[0]) == 1


def is_number(field: Field) -> bool:
    """Whether a column holds numbers, which stand at its right edge."""
    return field.cell in NUMBER_CELLS
