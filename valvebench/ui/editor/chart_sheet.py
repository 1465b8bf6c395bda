"""Charts as manuals print them, gears by clutches or solenoids, a mark in each cell, gathered for the draft.  No Qt.

Apply chart and solenoid chart may come one after the other or as one table, gears down the side or along the top.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.model.draft_cells import squeezed, write_cell
from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import FIELDS, field_of
from valvebench.ui.editor.paste import Grid, grid_of

_ON: Final = frozenset({"x", "1", "on", "yes", "\u2713", "\u2714", "\u25cf", "\u2022"})
"""A ring or a star is left out: some charts mean on by it, some off, some a footnote."""
_OFF: Final = frozenset({"0", "off", "no", "\u2013", "\u2014", "\u2212"})
_SIGN_OFF: Final = "-"
"""Squeezed away like every sign between words, so it is looked for before that."""
_GEARS: Final = MappingProxyType(
    {
        **dict.fromkeys(("park", "p"), "P"),
        **dict.fromkeys(("reverse", "rev", "r"), "R"),
        **dict.fromkeys(("neutral", "n"), "N"),
        **dict.fromkeys(("lock up", "lockup", "lock"), "lock-up"),
    }
)
_ORDINAL: Final = re.compile(r"(\d+)\s*(st|nd|rd|th|\.)?(\s*gear)?", re.IGNORECASE)
_OTHER_HEADS: Final = frozenset(
    squeezed(word) for field in FIELDS[Part.GEARS][1:] for word in (field.key, field.title, *field.also)
)
_GEAR, _CLUTCH, _SOLENOID, _OTHER = "gear", "clutch", "solenoid", "other"


class Known(NamedTuple):
    """The names the draft has already."""

    clutches: Sequence[str] = ()
    solenoids: Sequence[str] = ()

    def as_written(self, head: str) -> str:
        """A heading as the draft writes the name; itself where it is new."""
        wanted = squeezed(head)
        return next((name for name in (*self.solenoids, *self.clutches) if squeezed(name) == wanted), head)

    def count(self, heads: Iterable[str]) -> int:
        """How many of these are names it has."""
        names = {squeezed(name) for name in (*self.clutches, *self.solenoids)}
        return sum(squeezed(head) in names for head in heads)


def gathered(text: str, known: Known) -> str:
    """Copied text with one column for the clutches and one for the solenoids, as the draft keeps them.

    Text that is no chart of marks comes back as it is.  Where no cell of the solenoids says off, an empty one does:
    a chart of crosses is printed so.
    """
    grid = grid_of(text)
    if len(grid) < 2 or len(grid[0]) < 2 or _OTHER_HEADS & {squeezed(head) for head in grid[0]}:
        return text
    grid = _turned(grid, known)
    kinds = [_GEAR, *(_kind(grid, place, known) for place in range(1, len(grid[0])))]
    if not {_CLUTCH, _SOLENOID} & set(kinds):
        return text
    return _text(_lines(grid, kinds, known))


def _turned(grid: Grid, known: Known) -> Grid:
    """Gears down the side, whichever way they stood."""
    side, top = [row[0] for row in grid[1:]], grid[0][1:]
    is_turned = (known.count(side), _gear_count(top)) > (known.count(top), _gear_count(side))
    return tuple(zip(*grid, strict=True)) if is_turned else grid


def _gear_count(heads: Iterable[str]) -> int:
    return sum(gear_of(head) != head or head in _GEARS.values() or head.isdigit() for head in heads)


def gear_of(text: str) -> str:
    """A gear as the file has it: `1st gear` is 1, `Reverse` is R; any other name stays."""
    if (match := _ORDINAL.fullmatch(text.strip())) is not None:
        return match[1]
    return _GEARS.get(squeezed(text), text)


def _kind(grid: Grid, place: int, known: Known) -> str:
    head, cells = grid[0][place], [row[place] for row in grid[1:] if row[place]]
    name = known.as_written(head)
    if name in known.solenoids:
        return _SOLENOID
    if name in known.clutches:
        return _CLUTCH
    if not head or not cells or not all(_mark(cell) is not None for cell in cells):
        return _OTHER
    words = {squeezed(cell) for cell in cells}
    return _SOLENOID if words <= {"on", "off"} else _CLUTCH


def _mark(cell: str) -> bool | None:
    """Whether a cell says on or off; None for anything else."""
    if cell.strip() == _SIGN_OFF:
        return False
    word = squeezed(cell) or cell.strip()
    return True if word in _ON else False if word in _OFF else None


def _lines(grid: Grid, kinds: Sequence[str], known: Known) -> Iterable[list[str]]:
    places = {kind: [i for i, one in enumerate(kinds) if one == kind] for kind in (_CLUTCH, _SOLENOID, _OTHER)}
    names = [known.as_written(head) for head in grid[0]]
    is_empty_off = not any(_mark(row[i]) is False for row in grid[1:] for i in places[_SOLENOID])
    heads = [field_of(Part.GEARS, "name").title]
    heads += [field_of(Part.GEARS, "clutches").title] if places[_CLUTCH] else []
    heads += [field_of(Part.GEARS, "solenoids").title] if places[_SOLENOID] else []
    yield [*heads, *(grid[0][i] for i in places[_OTHER])]
    for row in grid[1:]:
        line = [gear_of(row[0])]
        line += [_clutch_text(row, places[_CLUTCH], names)] if places[_CLUTCH] else []
        line += [_state_text(row, places[_SOLENOID], names, is_empty_off=is_empty_off)] if places[_SOLENOID] else []
        yield [*line, *(row[i] for i in places[_OTHER])]


def _clutch_text(row: Sequence[str], places: Sequence[int], names: Sequence[str]) -> str:
    """A cell that is no mark is written down as it is, so that the preview shows it."""
    odd = [f"{names[i]}={row[i]}" for i in places if row[i] and _mark(row[i]) is None]
    on = [names[i] for i in places if _mark(row[i])]
    return "; ".join([*on, *odd]) if odd else write_cell(field_of(Part.GEARS, "clutches"), on)


def _state_text(row: Sequence[str], places: Sequence[int], names: Sequence[str], *, is_empty_off: bool) -> str:
    found = []
    for i in places:
        mark = _mark(row[i]) if row[i] else False if is_empty_off else None
        if row[i] or mark is not None:
            found.append(f"{names[i]} {row[i] if mark is None else 'on' if mark else 'off'}")
    return ", ".join(found)


def _text(lines: Iterable[Sequence[str]]) -> str:
    out = io.StringIO()
    csv.writer(out, delimiter="\t", lineterminator="\n").writerows(lines)
    return out.getvalue()
