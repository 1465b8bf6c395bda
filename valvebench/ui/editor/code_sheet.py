"""A code table as a spreadsheet has it, a column for each switch, and back to the rows of a draft.  No Qt."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from valvebench.model.draft_cells import squeezed
from valvebench.model.draft_codes import codes_in, text_of, word_of
from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import FIELDS
from valvebench.model.variant_draft import Row, texts_of
from valvebench.ui.editor.paste import Grid, grid_of

_SWITCHES = "switches"


def sheet_of(part: Part, rows: Iterable[Row], switches: Sequence[str]) -> str:
    """Rows with a column for each switch, as a spreadsheet takes them."""
    fields = FIELDS[part]
    heads = [word for field in fields for word in (switches if field.key == _SWITCHES else (field.title,))]
    lines = [heads, *(_line(part, row, switches) for row in rows)]
    return _text(lines)


def _line(part: Part, row: Row, switches: Sequence[str]) -> list[str]:
    texts = texts_of(part, row)
    codes = codes_in(texts[_SWITCHES]) or {}
    cells = [[codes.get(name, "") for name in switches] if key == _SWITCHES else [texts[key]] for key in texts]
    return [cell for group in cells for cell in group]


def gathered(part: Part, text: str, switches: Sequence[str], *, at: str = "") -> str:
    """Copied text whose columns are switches, those columns gathered into one as the draft keeps them.

    Where no heading is the name of a switch the columns count from the cell `at` on: the position, then the
    switches in their order.
    """
    grid = grid_of(text)
    if not grid or not switches:
        return text
    known = {squeezed(name): name for name in switches}
    heads = tuple(known.get(squeezed(head), "") for head in grid[0])
    if any(heads):
        return _text([_heads(part, grid[0], heads), *(_merged(row, heads) for row in grid[1:])])
    if _has_heading(part, grid):
        return text
    named = _named_in_order(len(grid[0]), switches, at)
    if not any(named):
        return text
    plain = [FIELDS[part][0].title if not name and i == 0 else "" for i, name in enumerate(named)]
    return _text([_heads(part, plain, named), *(_merged(row, named) for row in grid)])


def _has_heading(part: Part, grid: Grid) -> bool:
    words = {squeezed(word) for field in FIELDS[part] for word in (field.key, field.title, *field.also)}
    return any(squeezed(head) in words for head in grid[0] if head)


def _named_in_order(count: int, switches: Sequence[str], at: str) -> tuple[str, ...]:
    """Which switch each column is; empty for the first one where it is the position."""
    named = switches[switches.index(at) :] if at in switches else ("", *switches)
    return (*named[:count], *("" for _ in range(count - len(named))))


def _heads(part: Part, heads: Sequence[str], named: Sequence[str]) -> list[str]:
    title = next(field.title for field in FIELDS[part] if field.key == _SWITCHES)
    first = next(i for i, name in enumerate(named) if name)
    return [title if i == first else head for i, head in enumerate(heads) if i == first or not named[i]]


def _merged(row: Sequence[str], named: Sequence[str]) -> list[str]:
    first = next(i for i, name in enumerate(named) if name)
    codes = {name: word_of(cell) for name, cell in zip(named, row, strict=True) if name and cell}
    return [text_of(codes) if i == first else cell for i, cell in enumerate(row) if i == first or not named[i]]


def _text(lines: Iterable[Sequence[str]]) -> str:
    """Cells parted by tabs: a single column gets an empty one beside it, or its commas would part it."""
    out = io.StringIO()
    rows = [[*line, ""] if len(line) == 1 else line for line in lines]
    csv.writer(out, delimiter="\t", lineterminator="\n").writerows(rows)
    return out.getvalue()
