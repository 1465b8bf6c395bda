"""Another text in one cell of a draft; a renamed pin, device, port or connector takes along what names it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from valvebench.model.draft_cells import Unread, read_cell, write_cell
from valvebench.model.draft_field import CODE_PARTS, Field, Part
from valvebench.model.draft_fields import field_of
from valvebench.model.variant_draft import Draft, Spot, with_cells

_NAMED_IN: Final = {
    Part.PINS: ((Part.DEVICES, "from"), (Part.DEVICES, "to"), (Part.DEVICES, "anode")),
    Part.FACES: ((Part.PINS, "face"),),
    Part.PORTS: ((Part.DEVICES, "with"),),
    Part.DEVICES: ((Part.DEVICES, "with"),),
}
_TOLD_IN: Final = {
    Part.PORTS: ((Part.PORTS, "expect"),),
    Part.DEVICES: ((Part.PORTS, "expect"), (Part.GEARS, "solenoids"), *((part, "switches") for part in CODE_PARTS)),
}


def with_cell(draft: Draft, spot: Spot, text: str) -> Draft:
    """Another text in one cell, and in every cell that names what is renamed by it."""
    old = draft.text(*spot) if spot.row < len(draft.rows(spot.part)) else ""
    changed = with_cells(draft, {spot: text})
    is_renamed = spot.key == "name" and old and text and draft.texts(spot.part, "name").count(old) == 1
    return with_cells(changed, dict(_followers(draft, spot.part, old, text))) if is_renamed else changed


def clutches_named(draft: Draft) -> tuple[str, ...]:
    """The clutches that the body has; none where the cell cannot be read."""
    text = draft.body("clutches")
    try:
        return tuple(read_cell(field_of(Part.BODY, "clutches"), text)) if text else ()
    except Unread:
        return ()


def with_clutches_named(draft: Draft, names: Iterable[str]) -> Draft:
    """The body with clutches that it did not name yet, behind the others."""
    known = clutches_named(draft)
    new = tuple(dict.fromkeys(name for name in names if name not in known))
    text = write_cell(field_of(Part.BODY, "clutches"), [*known, *new])
    return with_cells(draft, {Spot(Part.BODY, 0, "clutches"): text}) if new else draft


def _followers(draft: Draft, part: Part, old: str, new: str) -> Iterator[tuple[Spot, str]]:
    for other, key in _NAMED_IN.get(part, ()):
        for row, text in enumerate(draft.texts(other, key)):
            if text == old:
                yield Spot(other, row, key), new
    for other, key in _TOLD_IN.get(part, ()):
        for row, text in enumerate(draft.texts(other, key)):
            if old in text:
                yield Spot(other, row, key), _retold(field_of(other, key), text, old, new)


def _retold(field: Field, text: str, old: str, new: str) -> str:
    """The text of a cell with a name replaced; one that cannot be read stays as it is."""
    try:
        value = read_cell(field, text)
    except Unread:
        return text
    renamed = _renamed(value, old, new)
    return write_cell(field, renamed) if renamed != value else text


def _renamed(value: Any, old: str, new: str) -> Any:
    """Names stand as keys of solenoid states and behind `at`; selector positions are no names."""
    if isinstance(value, list):
        return [_renamed(one, old, new) for one in value]
    if not isinstance(value, dict):
        return value
    return {new if key == old else key: _inner(key, one, old, new) for key, one in value.items()}


def _inner(key: str, value: Any, old: str, new: str) -> Any:
    if key == "at" and value == old:
        return new
    return _renamed(value, old, new)
