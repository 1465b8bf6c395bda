"""Where the pins of a draft stand on their connector: grid steps, a ring, or free fractions of the face."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.model.draft_cells import Unread, number_text, read_cell
from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import field_of
from valvebench.model.variant_draft import Draft, Spot, row_of, with_cells, with_rows

GRID: Final = "grid"
RING: Final = "ring"
FREE: Final = "free"
MOST_PINS: Final = 200
_ACROSS: Final = 8
FREE_STEP: Final = 0.02
CLOSEST: Final = 0.015
"""A free pin is not put on top of another: two nearer than this share of the face cannot be told apart."""
Place = tuple[float, float]


class Placed(NamedTuple):
    """A pin as drawn: its row in the table, its name and its place."""

    row: int
    name: str
    x: float
    y: float


def face_name(draft: Draft, face: int) -> str:
    """The name of a connector; empty where the draft has none."""
    names = draft.texts(Part.FACES, "name")
    return names[face] if face < len(names) else ""


def layout_of(draft: Draft, face: int) -> str:
    """Grid, ring or free; a grid where nothing readable is said."""
    word = _read(draft, Part.FACES, face, "layout")
    return word if isinstance(word, str) else GRID


def rows_on(draft: Draft, face: int) -> tuple[int, ...]:
    """The pins of a connector; pins without one are on the first."""
    name = face_name(draft, face)
    faces = draft.texts(Part.PINS, "face")
    return tuple(i for i, word in enumerate(faces) if word == name or (not word and face == 0))


def placed(draft: Draft, face: int) -> tuple[Placed, ...]:
    """Every pin of a connector; one without a place stands where its turn in the row would put it."""
    rows = rows_on(draft, face)
    turn = _in_turn(draft, face, len(rows))
    names = draft.texts(Part.PINS, "name")
    return tuple(Placed(row, names[row], *(_place(draft, row) or turn[i])) for i, row in enumerate(rows) if names[row])


def _place(draft: Draft, row: int) -> Place | None:
    x, y = _read(draft, Part.PINS, row, "x"), _read(draft, Part.PINS, row, "y")
    return (x, y) if isinstance(x, float) and isinstance(y, float) else None


def _read(draft: Draft, part: Part, row: int, key: str) -> float | int | str | None:
    text = draft.text(part, row, key) if row < len(draft.rows(part)) else ""
    try:
        value: float | int | str | None = read_cell(field_of(part, key), text) if text else None
    except Unread:
        return None
    return value


def _in_turn(draft: Draft, face: int, count: int) -> list[Place]:
    layout, columns = layout_of(draft, face), columns_of(draft, face, count)
    if layout == RING:
        return _ring(count)
    grid = [(float(i % columns), float(i // columns)) for i in range(count)]
    return grid if layout == GRID else _fractions(grid)


def columns_of(draft: Draft, face: int, count: int) -> int:
    """Pins in a row: as stated, or as the stated rows need, or eight."""
    columns, rows = _read(draft, Part.FACES, face, "columns"), _read(draft, Part.FACES, face, "rows")
    if isinstance(columns, int) and columns > 0:
        return columns
    return math.ceil(count / rows) or 1 if isinstance(rows, int) and rows > 0 else _ACROSS


def _ring(count: int) -> list[Place]:
    """Clockwise from the top."""
    turns = [2 * math.pi * i / max(1, count) for i in range(count)]
    return [(round(0.5 + math.sin(turn) / 2, 4), round(0.5 - math.cos(turn) / 2, 4)) for turn in turns]


def _fractions(places: Sequence[Place]) -> list[Place]:
    wide = max((x for x, _ in places), default=0.0) or 1.0
    high = max((y for _, y in places), default=0.0) or 1.0
    return [(round(x / wide, 4), round(y / high, 4)) for x, y in places]


def with_places(draft: Draft, places: Mapping[int, Place]) -> Draft:
    """Pins put where they are told."""
    texts = {Spot(Part.PINS, row, "x"): number_text(x) for row, (x, _) in places.items()}
    texts |= {Spot(Part.PINS, row, "y"): number_text(y) for row, (_, y) in places.items()}
    return with_cells(draft, texts)


def laid_out(draft: Draft, face: int) -> Draft:
    """Every pin of a connector put anew, in the order of the table; free ones keep their picture."""
    rows = rows_on(draft, face)
    if layout_of(draft, face) != FREE:
        return with_places(draft, dict(zip(rows, _in_turn(draft, face, len(rows)), strict=True)))
    found = [_place(draft, row) for row in rows]
    known = [place for place in found if place is not None]
    is_fraction = all(0 <= value <= 1 for place in known for value in place)
    if len(known) < len(rows):
        return with_places(draft, dict(zip(rows, _in_turn(draft, face, len(rows)), strict=True)))
    return draft if is_fraction else with_places(draft, dict(zip(rows, _fractions(known), strict=True)))


def filled_up(draft: Draft) -> Draft:
    """Pins that have no place yet put where their turn is; the others stay unless two would meet."""
    for face in range(len(draft.rows(Part.FACES))):
        draft = _filled_face(draft, face)
    return draft


def _filled_face(draft: Draft, face: int) -> Draft:
    rows = rows_on(draft, face)
    turn = _in_turn(draft, face, len(rows))
    blank = {row: turn[i] for i, row in enumerate(rows) if _is_blank(draft, row)}
    if not blank:
        return draft
    filled = with_places(draft, blank)
    places = [(pin.x, pin.y) for pin in placed(filled, face)]
    is_spaced_anew = layout_of(draft, face) == RING or len(set(places)) < len(places)
    return laid_out(filled, face) if is_spaced_anew else filled


def _is_blank(draft: Draft, row: int) -> bool:
    return not draft.text(Part.PINS, row, "x") and not draft.text(Part.PINS, row, "y")


def with_layout(draft: Draft, face: int, texts: Mapping[str, str]) -> Draft:
    """Another layout, number of rows or columns, and the pins put accordingly."""
    changed = with_cells(draft, {Spot(Part.FACES, face, key): text for key, text in texts.items()})
    return laid_out(changed, face)


def with_pin_count(draft: Draft, face: int, count: int) -> Draft:
    """So many pins on a connector: numbered ones added, or the last ones taken away."""
    rows = rows_on(draft, face)
    if count < len(rows):
        gone = set(rows[count:])
        return with_rows(draft, Part.PINS, (row for i, row in enumerate(draft.rows(Part.PINS)) if i not in gone))
    taken = set(draft.texts(Part.PINS, "name"))
    names = (str(n) for n in range(1, len(taken) + count + 1) if str(n) not in taken)
    name = face_name(draft, face)
    added = [row_of(Part.PINS, {"name": next(names), "face": name}) for _ in range(min(count, MOST_PINS) - len(rows))]
    return filled_up(with_rows(draft, Part.PINS, (*draft.rows(Part.PINS), *added)))


def with_pins_named(draft: Draft, names: Sequence[str]) -> Draft:
    """Pins that are not there yet, on the first connector."""
    known = set(draft.texts(Part.PINS, "name"))
    wanted = sorted((name for name in dict.fromkeys(names) if name not in known), key=_by_number)
    face = face_name(draft, 0)
    added = [row_of(Part.PINS, {"name": name, "face": face}) for name in wanted]
    return filled_up(with_rows(draft, Part.PINS, (*draft.rows(Part.PINS), *added)))


def _by_number(name: str) -> tuple[bool, int, str]:
    """Numbered pins in the order of their numbers, named ones behind them."""
    return (not name.isdecimal(), int(name) if name.isdecimal() else 0, name)


def moved(draft: Draft, face: int, row: int, to: Place) -> Draft:
    """A pin put elsewhere; on grid and ring it changes places with the pin there, a free one is put on no other."""
    layout, pins = layout_of(draft, face), {pin.row: (pin.x, pin.y) for pin in placed(draft, face)}
    if row not in pins:
        return draft
    if layout == FREE:
        free = (_share(to[0]), _share(to[1]))
        is_on_another = any(math.dist(free, place) < CLOSEST for one, place in pins.items() if one != row)
        return draft if is_on_another else with_places(draft, {row: free})
    target = (float(max(0, round(to[0]))), float(max(0, round(to[1])))) if layout == GRID else _nearest(pins, to)
    other = next((one for one, place in pins.items() if place == target and one != row), None)
    changes = {row: target} | ({other: pins[row]} if other is not None else {})
    return draft if target == pins[row] else with_places(draft, changes)


def _nearest(pins: Mapping[int, Place], to: Place) -> Place:
    return min(pins.values(), key=lambda place: math.dist(place, to))


def _share(value: float) -> float:
    return round(min(1.0, max(0.0, value)), 4)


def stepped(draft: Draft, face: int, row: int, step: Place) -> Draft:
    """A pin moved by one step of an arrow key; on a ring to the next place in that direction."""
    pins = {pin.row: (pin.x, pin.y) for pin in placed(draft, face)}
    if row not in pins:
        return draft
    (x, y), layout = pins[row], layout_of(draft, face)
    if layout == RING:
        ahead = [place for place in pins.values() if _along(pins[row], place, step) > 1e-6]
        return moved(draft, face, row, min(ahead, key=lambda place: math.dist(place, (x, y)))) if ahead else draft
    size = FREE_STEP if layout == FREE else 1.0
    return moved(draft, face, row, (x + size * step[0], y + size * step[1]))


def _along(here: Place, there: Place, step: Place) -> float:
    return (there[0] - here[0]) * step[0] + (there[1] - here[1]) * step[1]


def port_moved(draft: Draft, row: int, to: Place) -> Draft:
    """A port put at fractions of the picture."""
    texts = {
        Spot(Part.PORTS, row, key): number_text(round(_share(value), 2)) for key, value in zip("xy", to, strict=True)
    }
    return with_cells(draft, texts)


def port_stepped(draft: Draft, row: int, step: Place) -> Draft:
    """A port moved by one step of an arrow key; one without a place starts in the middle."""
    x, y = (_read(draft, Part.PORTS, row, key) for key in "xy")
    if not isinstance(x, float) or not isinstance(y, float):
        return port_moved(draft, row, (0.5, 0.5))
    return port_moved(draft, row, (x + FREE_STEP * step[0], y + FREE_STEP * step[1]))
