"""A variant while it is written: tables of text that may be wrong or incomplete, never lost while typing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from valvebench.model.draft_field import FORMS, Part
from valvebench.model.draft_fields import FIELDS, place_of

_PARTS: Final = tuple(Part)


@dataclass(frozen=True, kw_only=True)
class Row:
    """One row of a table: a text for every column, and what no column shows, as JSON."""

    cells: tuple[str, ...]
    kept: str = ""


@dataclass(frozen=True, kw_only=True)
class Draft:
    """All tables; `kept` holds the rest of the file as JSON.  A value: every edit makes another one."""

    tables: tuple[tuple[Row, ...], ...]
    kept: str = ""

    def rows(self, part: Part) -> tuple[Row, ...]:
        """The rows of one table."""
        return self.tables[_PARTS.index(part)]

    def text(self, part: Part, row: int, key: str) -> str:
        """The text of one cell."""
        return self.rows(part)[row].cells[place_of(part, key)]

    def texts(self, part: Part, key: str) -> tuple[str, ...]:
        """One column."""
        place = place_of(part, key)
        return tuple(row.cells[place] for row in self.rows(part))

    def body(self, key: str) -> str:
        """One cell of the body's only row."""
        return self.text(Part.BODY, 0, key)


class Spot(NamedTuple):
    """One cell."""

    part: Part
    row: int
    key: str


def row_of(part: Part, texts: Mapping[str, str] = {}, *, kept: str = "") -> Row:
    """A row from the cells that are not empty."""
    return Row(cells=tuple(texts.get(field.key, "") for field in FIELDS[part]), kept=kept)


def texts_of(part: Part, row: Row) -> dict[str, str]:
    """The cells of a row by key."""
    return {field.key: text for field, text in zip(FIELDS[part], row.cells, strict=True)}


def empty_draft() -> Draft:
    """A new variant: one connector, a grid, nothing in it."""
    face = row_of(Part.FACES, {"name": "A", "layout": "grid", "rows": "2", "seen_from": "mating"})
    tables: dict[Part, tuple[Row, ...]] = {Part.FACES: (face,)}
    tables |= {part: (row_of(part),) for part in FORMS}
    return Draft(tables=tuple(tables.get(part, ()) for part in _PARTS))


def with_rows(draft: Draft, part: Part, rows: Iterable[Row]) -> Draft:
    """Another table in place of one."""
    place = _PARTS.index(part)
    return replace(draft, tables=(*draft.tables[:place], tuple(rows), *draft.tables[place + 1 :]))


def with_cells(draft: Draft, texts: Mapping[Spot, str]) -> Draft:
    """Other texts in some cells; a row below the last one is added."""
    for part in {spot.part for spot in texts}:
        rows = list(draft.rows(part))
        for spot, text in texts.items():
            if spot.part is part:
                _put(rows, spot, text)
        draft = with_rows(draft, part, rows)
    return draft


def _put(rows: list[Row], spot: Spot, text: str) -> None:
    while spot.row >= len(rows):
        rows.append(new_row(spot.part))
    cells = list(rows[spot.row].cells)
    cells[place_of(spot.part, spot.key)] = text
    rows[spot.row] = replace(rows[spot.row], cells=tuple(cells))


def new_row(part: Part) -> Row:
    """A row as it starts: most devices are solenoids."""
    return row_of(part, {"kind": "solenoid"} if part is Part.DEVICES else {})


def without_rows(draft: Draft, part: Part, rows: Sequence[int]) -> Draft:
    """The table without some of its rows."""
    gone = set(rows)
    return with_rows(draft, part, (row for i, row in enumerate(draft.rows(part)) if i not in gone))


def identity_of(part: Part, texts: Mapping[str, str]) -> str:
    """What makes two rows the same: the name, for a fastener its length too, for a tap the state and the warmth.

    Empty where there is no name.
    """
    name = texts.get("name", "")
    if part is Part.TAPS and name:
        return ", ".join((name, *(texts.get(key, "") for key in ("state", "from", "to"))))
    return f"{name}, {texts.get('length', '')}" if part is Part.FASTENERS and name else name


def identities_of(draft: Draft, part: Part) -> tuple[str, ...]:
    """What stands in a table already."""
    return tuple(identity_of(part, texts_of(part, row)) for row in draft.rows(part))


def with_merged(draft: Draft, part: Part, rows: Iterable[Mapping[str, str]]) -> Draft:
    """Rows added at the end; one whose name stands there already changes that row."""
    found = list(draft.rows(part))
    places = {identity_of(part, texts_of(part, row)): i for i, row in enumerate(found)}
    places.pop("", None)
    for texts in rows:
        name = identity_of(part, texts)
        if name in places:
            old = found[places[name]]
            found[places[name]] = row_of(part, {**texts_of(part, old), **texts}, kept=old.kept)
        else:
            places |= {name: len(found)} if name else {}
            found.append(row_of(part, {**texts_of(part, new_row(part)), **texts}))
    return with_rows(draft, part, found)
