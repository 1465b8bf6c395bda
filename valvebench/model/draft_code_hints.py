"""What a draft does not say yet, or says oddly, of codes, contacts and diodes."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from valvebench.model.draft_cells import Unread, read_cell, squeezed
from valvebench.model.draft_codes import codes_in
from valvebench.model.draft_field import CODE_PARTS, Part
from valvebench.model.draft_fields import field_of
from valvebench.model.draft_file import kind_of, texts_at
from valvebench.model.draft_refit_hints import Hint
from valvebench.model.variant import CodeRow
from valvebench.model.variant_codes import twins
from valvebench.model.variant_draft import Draft, Spot
from valvebench.model.words import CodeState, SwitchState

_STATES: Final = frozenset(state.value for state in CodeState)


def code_hints(draft: Draft) -> Iterator[Hint]:
    """Every hint about both code tables, and about what is read through a contact or beside a diode."""
    for part in CODE_PARTS:
        yield from _twin_hints(draft, part)
        for row in range(len(draft.rows(part))):
            yield from _source_hints(draft, part, row)
    for row in range(len(draft.rows(Part.PRESSURE_CODES))):
        yield from _pressure_hints(draft, row)
    for row in range(len(draft.rows(Part.DEVICES))):
        yield from _contact_hints(draft, row)
        yield from _diode_hints(draft, row)


def _rows(draft: Draft, part: Part) -> list[CodeRow]:
    """Rows that can be read, each with its own name even where the draft has it twice."""
    found = []
    for name, text in zip(draft.texts(part, "name"), draft.texts(part, "switches"), strict=True):
        codes = codes_in(text)
        if name and codes and all(state in _STATES for state in codes.values()):
            found.append(CodeRow(position=name, switches={each: CodeState(state) for each, state in codes.items()}))
    return found


def _twin_hints(draft: Draft, part: Part) -> Iterator[Hint]:
    names = list(draft.texts(part, "name"))
    for one, two in twins(_rows(draft, part)):
        if one != two:
            yield Spot(part, names.index(two), "name"), f"{one} and {two} cannot be told apart by any switch"


def _source_hints(draft: Draft, part: Part, row: int) -> Iterator[Hint]:
    texts = texts_at(draft, part, row)
    if not texts["switches"]:
        return
    if not texts["source"]:
        yield Spot(part, row, "source"), "nothing says where this code comes from"
    elif squeezed(texts["source"]) == "manual" and not texts["source_text"]:
        yield Spot(part, row, "source_text"), "which manual, and which page?"


def _pressure_hints(draft: Draft, row: int) -> Iterator[Hint]:
    texts = texts_at(draft, Part.PRESSURE_CODES, row)
    name, known = texts["name"], (*draft.texts(Part.GEARS, "name"), *draft.texts(Part.SELECTOR_CODES, "name"))
    if name and known and name not in known:
        yield Spot(Part.PRESSURE_CODES, row, "name"), f"{name} is neither a gear nor a position of the selector codes"
        return
    clutches = _clutches(draft, name)
    for switch, state in (codes_in(texts["switches"]) or {}).items():
        words = _odd_words(draft, name, clutches, (switch, state))
        if words:
            yield Spot(Part.PRESSURE_CODES, row, "switches"), words


def _clutches(draft: Draft, gear: str) -> Sequence[str] | None:
    """The clutches that a gear applies; None where the draft does not say."""
    names = draft.texts(Part.GEARS, "name")
    text = draft.text(Part.GEARS, names.index(gear), "clutches") if gear in names else ""
    try:
        found: list[str] | None = read_cell(field_of(Part.GEARS, "clutches"), text) if text else None
    except Unread:
        return None
    return found


def _odd_words(draft: Draft, gear: str, clutches: Sequence[str] | None, code: tuple[str, str]) -> str:
    """Where a pressure switch ought to answer otherwise by the apply chart and the port it goes with."""
    switch, state = code
    texts = _device(draft, switch)
    port = texts.get("with", "")
    ports = draft.texts(Part.PORTS, "name")
    clutch = draft.text(Part.PORTS, ports.index(port), "feeds") if port in ports else ""
    rest = squeezed(texts.get("rest", ""))
    if clutches is None or not clutch or rest not in (SwitchState.OPEN.value, SwitchState.CLOSED.value):
        return ""
    moved = SwitchState.CLOSED if rest == SwitchState.OPEN.value else SwitchState.OPEN
    expected = moved.value if clutch in clutches else rest
    if state in (expected, CodeState.EITHER.value):
        return ""
    does = "applies" if clutch in clutches else "does not apply"
    return f"{switch} is {state}, but {gear} {does} {clutch}, which it answers to at {port}: {expected} is expected"


def _device(draft: Draft, name: str) -> Mapping[str, str]:
    names = draft.texts(Part.DEVICES, "name")
    return texts_at(draft, Part.DEVICES, names.index(name)) if name in names else {}


def _contact_hints(draft: Draft, row: int) -> Iterator[Hint]:
    texts = texts_at(draft, Part.DEVICES, row)
    switch = texts["with"]
    if kind_of(draft, Part.DEVICES, row) != "temperature_sensor" or not switch:
        return
    coded = {name for text in draft.texts(Part.SELECTOR_CODES, "switches") for name in codes_in(text) or {}}
    if switch not in coded and not _device(draft, switch).get("rest", ""):
        words = f"nothing says in which positions {switch} is closed: an open reading will never be judged"
        yield Spot(Part.DEVICES, row, "with"), words


def _diode_hints(draft: Draft, row: int) -> Iterator[Hint]:
    texts = texts_at(draft, Part.DEVICES, row)
    if kind_of(draft, Part.DEVICES, row) != "diode":
        return
    if texts["with"] and not _device(draft, texts["with"]):
        yield Spot(Part.DEVICES, row, "with"), f"{texts['with']} is no device of this body"
    if not texts["anode"]:
        yield Spot(Part.DEVICES, row, "anode"), "nothing says which way the diode lies: its solenoid is read both ways"
