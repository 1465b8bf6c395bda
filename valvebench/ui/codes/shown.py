"""What the table of selector positions shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import msgspec

from valvebench.judge.row import Row
from valvebench.model.variant import CodeRow, Variant
from valvebench.model.variant_codes import asked_of, state_of
from valvebench.model.words import CodeState, SwitchState, Verdict

ANY: Final = "any"
"""In the cell of a switch that does not matter in a position."""
BOTH: Final = "both"
"""In the cell of a switch that was read open and closed."""
States = Mapping[str, frozenset[SwitchState]]
"""What one position was read as: each switch with every state, empty where it was not read."""


class LineShown(msgspec.Struct, frozen=True, kw_only=True):
    """One position; `number` is its place in the table, `verdict` is None before anything was read.

    A cell says what was read, what was stated where that differs, and what is stated in brackets before it was read.
    """

    number: int
    position: str
    cells: tuple[str, ...]
    verdict: Verdict | None = None
    tip: str = ""


class CellShown(msgspec.Struct, frozen=True, kw_only=True):
    """The cell at hand: what to do in large words, what to expect, what is known of its position."""

    big: str
    expect: str
    told: str


def line_shown(place: int, code: CodeRow, switches: Sequence[str], states: States, row: Row | None) -> LineShown:
    """One line of the table."""
    return LineShown(
        number=place,
        position=code.position,
        cells=tuple(_cell(code, name, states.get(name, frozenset())) for name in switches),
        verdict=row.verdict if row is not None else None,
        tip="\n".join((*row.reasons, *row.advice)) if row is not None else "",
    )


def _cell(code: CodeRow, switch: str, found: frozenset[SwitchState]) -> str:
    stated = state_of(code, switch)
    if stated is CodeState.EITHER:
        return ANY
    if len(found) != 1:
        return f"{BOTH}, not only {stated.value}" if found else f"({stated.value})"
    (state,) = found
    return state.value if state.value == stated.value else f"{state.value}, not {stated.value}"


def cell_shown(variant: Variant, code: CodeRow, switch: str, row: Row | None) -> CellShown:
    """The question of one cell, and what its position says so far."""
    device = variant.device_named(switch)
    where = f"between {device.between[0]} and {device.between[1]}" if device is not None else ""
    stated = state_of(code, switch)
    if stated is CodeState.EITHER:
        expect = f"{where}, does not matter in {code.position}"
    else:
        expect = f"{where}, expect {stated.value}"
    asked = ", ".join(asked_of(code))
    told = " ".join((*row.reasons, *row.advice)) if row is not None else f"Move the lever to {code.position}: {asked}."
    return CellShown(big=f"Lever in {code.position}, read {switch}", expect=expect, told=told)
