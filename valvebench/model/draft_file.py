"""A draft from a variant file, and the file from a draft."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from valvebench.model.draft_cells import Unread, read_cell, write_cell
from valvebench.model.draft_field import FORMS, Field, Part
from valvebench.model.draft_fields import COIL_KINDS, FIELDS, field_of, kept_keys, path_of
from valvebench.model.draft_taps import rows_of_taps, taps_of_rows
from valvebench.model.strict_json import loads
from valvebench.model.variant_draft import Draft, Row, Spot, row_of, texts_of
from valvebench.model.variant_rules import read_variant

_LISTS: Final = tuple(part for part in Part if part not in (*FORMS, Part.GEARS))
_LINES: Final = (Part.CHECKLIST, Part.ORDER_WITH)
"""Tables of which a row that says nothing else stands in the file as a bare text."""
_ORDER: Final = (
    "format",
    "key",
    "title",
    "note",
    "faces",
    "pins",
    "devices",
    "isolation",
    "electronics_on_board",
    "ports",
    "taps",
    "pictures",
    "clutches",
    "gears",
    "apply_chart",
    "solenoid_chart",
    "selector_codes",
    "pressure_codes",
    "features",
    "part_numbers",
    "order_with",
    "fasteners",
    "fluid",
    "checklist",
)
_GONE: Final = object()
Keys = tuple[str | int, ...]


class Unreadable(NamedTuple):
    """A cell whose text could not be read, and why."""

    spot: Spot
    words: str


# --- file -> draft ------------------------------------------------------------------------


def draft_from(raw: bytes, *, source: str) -> Draft:
    """The draft of a variant file (raises BadInput with everything that is wrong with the file)."""
    read_variant(raw, source=source)
    return draft_of(loads(raw, source=source))


def draft_of(data: Mapping[str, Any]) -> Draft:
    """The draft of decoded variant data that is right."""
    rest = copy.deepcopy(dict(data))
    rest.pop("format", None)
    gears = tuple(_gear_rows(rest))
    lists = {part: rest.pop(part.value, None) or () for part in _LISTS}
    lists[Part.TAPS] = tuple(rows_of_taps(lists[Part.TAPS]))
    fluid = row_of(Part.FLUID, dict(_taken(Part.FLUID, rest.pop(Part.FLUID.value, None) or {}, "")))
    body = row_of(Part.BODY, dict(_taken(Part.BODY, rest, "")))
    tables: dict[Part, tuple[Row, ...]] = {
        part: tuple(_row(part, item) for item in items) for part, items in lists.items()
    }
    tables |= {Part.BODY: (body,), Part.FLUID: (fluid,), Part.GEARS: gears}
    return Draft(tables=tuple(tables[part] for part in Part), kept=_kept(rest))


def _row(part: Part, said: dict[str, Any] | str) -> Row:
    item: dict[str, Any] = {"text": said} if isinstance(said, str) else said
    kind = str(item.get("kind", ""))
    if part is Part.DEVICES and kind in COIL_KINDS:
        item.setdefault("ref_celsius", 20)
    if "between" in item:
        item["between"] = dict(enumerate(item["between"]))
    return row_of(part, dict(_taken(part, item, kind)), kept=_kept(item))


def _taken(part: Part, item: dict[str, Any], kind: str) -> Iterator[tuple[str, str]]:
    """The cells of an item, each taken out of it."""
    for field in FIELDS[part]:
        path = path_of(part, field, kind)
        value = _take(item, path) if path is not None else _GONE
        if value is not _GONE:
            yield field.key, write_cell(field, value)


def _take(item: Any, path: Keys) -> Any:
    """The value at a path, taken out; an object left empty goes with it."""
    first, *rest = path
    if not isinstance(item, dict) or first not in item:
        return _GONE
    if not rest:
        return item.pop(first)
    value = _take(item[first], tuple(rest))
    if item[first] == {}:
        del item[first]
    return value


def _kept(rest: Mapping[str, Any]) -> str:
    left = {key: value for key, value in rest.items() if value not in (None, [], {}, "")}
    return json.dumps(left, ensure_ascii=False) if left else ""


def _gear_rows(rest: dict[str, Any]) -> Iterator[Row]:
    gears, apply, states = (rest.pop(key, None) for key in ("gears", "apply_chart", "solenoid_chart"))
    for gear in gears or ():
        item = {"gear": gear}
        item |= {"apply": apply[gear]} if gear in (apply or {}) else {}
        item |= {"solenoids": states[gear]} if gear in (states or {}) else {}
        yield row_of(Part.GEARS, dict(_taken(Part.GEARS, item, "")))


# --- draft -> data ------------------------------------------------------------------------


def data_of(draft: Draft) -> tuple[dict[str, Any], list[Unreadable]]:
    """What the file would hold, and the cells that cannot be read; those are left out of it."""
    unread: list[Unreadable] = []
    data: dict[str, Any] = {"format": 1, **json.loads(draft.kept or "{}")}
    data |= _item(draft, Part.BODY, 0, unread)
    for part in _LISTS:
        data[part.value] = [_line(part, _item(draft, part, i, unread)) for i in range(len(draft.rows(part)))]
    data[Part.TAPS.value] = taps_of_rows(data[Part.TAPS.value])
    data[Part.FLUID.value] = _item(draft, Part.FLUID, 0, unread)
    data |= _gears([_item(draft, Part.GEARS, i, unread) for i in range(len(draft.rows(Part.GEARS)))])
    return {key: data[key] for key in (*_ORDER, *data) if key in data and _is_said(key, data[key])}, unread


def _line(part: Part, item: dict[str, Any]) -> dict[str, Any] | str:
    return str(item["text"]) if part in _LINES and item.keys() == {"text"} else item


def _is_said(key: str, value: Any) -> bool:
    return key == "pins" or value not in ([], {}, False)


def kind_of(draft: Draft, part: Part, row: int) -> str:
    """The kind of a device as the file names it; empty where there is none."""
    if part is not Part.DEVICES:
        return ""
    try:
        return str(read_cell(field_of(part, "kind"), draft.text(part, row, "kind")))
    except Unread:
        return ""


def _item(draft: Draft, part: Part, row: int, unread: list[Unreadable]) -> dict[str, Any]:
    kind, found = kind_of(draft, part, row), draft.rows(part)[row]
    kept = json.loads(found.kept or "{}")
    item: dict[str, Any] = {}
    for field, text in zip(FIELDS[part], found.cells, strict=True):
        path = path_of(part, field, kind)
        if text and path is None:
            words = f"{text!r} means nothing for this kind ({kind.replace('_', ' ')}): leave it empty"
            unread.append(Unreadable(Spot(part, row, field.key), words))
        elif text and path is not None:
            _read_into(item, path, field, text, Spot(part, row, field.key), unread)
    item |= {key: value for key, value in kept.items() if part is not Part.DEVICES or key in kept_keys(kind)}
    return _settled(item, part, kind)


def _read_into(item: dict[Any, Any], path: Keys, field: Field, text: str, spot: Spot, unread: list[Unreadable]) -> None:
    try:
        value = read_cell(field, text)
    except Unread as error:
        unread.append(Unreadable(spot, unread_words(text, error)))
        return
    *parents, last = path
    for step in parents:
        item = item.setdefault(step, {})
    item[last] = value


def unread_words(text: str, error: Unread) -> str:
    """Why a text cannot be read, as a sentence."""
    words = str(error)
    return f"{text!r} {words}" if words.startswith("could be") else f"found {text!r}, expected {words}"


def _settled(item: dict[str, Any], part: Part, kind: str) -> dict[str, Any]:
    """Nodes as a list, and a coil's temperature always said."""
    if part is Part.DEVICES:
        between = item.get("between", {})
        item["between"] = [between.get(0, ""), between.get(1, "")]
        if kind in COIL_KINDS:
            item.setdefault("ref_celsius", None)
    return item


def _gears(items: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    return {
        "gears": [item.get("gear", "") for item in items],
        "apply_chart": {item.get("gear", ""): item["apply"] for item in items if "apply" in item},
        "solenoid_chart": {item.get("gear", ""): item["solenoids"] for item in items if "solenoids" in item},
    }


# --- data -> bytes ------------------------------------------------------------------------


def variant_bytes(data: Mapping[str, Any]) -> bytes:
    """The file: one line for every row of a table, so that a person can read and compare it."""
    lines = [f"  {_json(key)}: {_value(key, value)}" for key, value in data.items()]
    return ("{\n" + ",\n".join(lines) + "\n}\n").encode()


def _value(key: str, value: Any) -> str:
    is_table = isinstance(value, list) and any(key == part.value for part in _LISTS)
    if is_table and value:
        return "[\n" + ",\n".join(f"    {_json(item)}" for item in value) + "\n  ]"
    if isinstance(value, dict) and value and all(isinstance(one, list | dict) for one in value.values()):
        return "{\n" + ",\n".join(f"    {_json(key)}: {_json(one)}" for key, one in value.items()) + "\n  }"
    return _json(value)


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def texts_at(draft: Draft, part: Part, row: int) -> dict[str, str]:
    """The cells of one row by key."""
    return texts_of(part, draft.rows(part)[row])
