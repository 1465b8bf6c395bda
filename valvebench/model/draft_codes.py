"""The cells of a code table one by one: a row keeps them as one text, the editor shows a column for each switch."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from valvebench.model.draft_cells import Unread, read_cell, squeezed, write_cell
from valvebench.model.draft_field import Part
from valvebench.model.draft_fields import field_of
from valvebench.model.draft_file import kind_of
from valvebench.model.variant_draft import Draft
from valvebench.model.words import CodeState

CYCLE: Final = (CodeState.CLOSED.value, CodeState.OPEN.value, CodeState.EITHER.value, "")
"""What one key makes of a cell, one after the other."""
SWITCH_KEY: Final = "switch "
"""Begins the key of a column of the editor that is a switch."""
_WORDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        **dict.fromkeys(("closed", "c", "1", "x"), CodeState.CLOSED.value),
        **dict.fromkeys(("open", "o", "0"), CodeState.OPEN.value),
        **dict.fromkeys(("either", "e", "any", "*"), CodeState.EITHER.value),
    }
)
_FIELD: Final = field_of(Part.SELECTOR_CODES, "switches")


def codes_in(text: str) -> dict[str, str] | None:
    """Switches and states of a row's text; None where it cannot be read."""
    if not text:
        return {}
    try:
        found: dict[str, str] = read_cell(_FIELD, text)
    except Unread:
        return None
    return found


def text_of(codes: Mapping[str, str]) -> str:
    """The text of a row; empty where nothing is said."""
    return write_cell(_FIELD, dict(codes)) if codes else ""


def with_code(text: str, switch: str, state: str) -> str:
    """The same row with one switch otherwise; an empty state takes it out.  A text that cannot be read is replaced."""
    codes = dict(codes_in(text) or {})
    codes[switch] = word_of(state)
    return text_of({name: word for name, word in codes.items() if word})


def word_of(text: str) -> str:
    """A state as people write it, as the file has it; what is no state stays as it is."""
    return _WORDS.get(squeezed(text), _WORDS.get(text.strip(), text.strip()))


def next_state(state: str) -> str:
    """The state that one key makes of another."""
    place = CYCLE.index(state) if state in CYCLE else len(CYCLE) - 1
    return CYCLE[(place + 1) % len(CYCLE)]


def switches_in(draft: Draft, part: Part) -> tuple[str, ...]:
    """The columns of a code table: the switches of the draft that belong in it, and names its rows hold besides.

    A switch that goes with a port answers to pressure; where no switch is of the table's own kind all are offered.
    """
    rows = [i for i in range(len(draft.rows(Part.DEVICES))) if kind_of(draft, Part.DEVICES, i) == "switch"]
    wants_port = part is Part.PRESSURE_CODES
    own = [i for i in rows if bool(draft.text(Part.DEVICES, i, "with")) is wants_port]
    devices = [draft.text(Part.DEVICES, i, "name") for i in own or rows]
    named = [name for text in draft.texts(part, "switches") for name in codes_in(text) or {}]
    return tuple(dict.fromkeys(name for name in (*devices, *named) if name))
