"""Text of a cell -> value of the file, and back; what is typed stays, whatever it says."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any, Final

from valvebench.model.draft_field import Cell, Field
from valvebench.model.draft_fields import REACTIONS
from valvebench.model.errors import BadInput, nearest
from valvebench.model.numbers import LARGEST_OHM, decimal, typed_ohm
from valvebench.model.words import Reaction

NOT_STATED: Final = "not stated"
YES: Final = "yes"
NONE: Final = "none"
REQUIRED: Final = "required"
OPTIONAL: Final = "optional"
_NO: Final = frozenset({"no", "false", "0", "-", "\u2013"})
_YES: Final = frozenset({YES, "true", "1", "x", "\u2713"})
_NOT_STATED: Final = frozenset({NOT_STATED, "notstated", "-", "\u2013", "?", "unknown"})
_ROW: Final = re.compile(r"\s*(\S+?)\s*:\s*(\S+?)\s*(?:\.\.|\u2013|-|\bto\b)\s*(\S+)\s*")
_CODE: Final = re.compile(r"(.+?)\s*[ =]\s*(closed|open|either)", re.IGNORECASE)
_STATE: Final = re.compile(r"(.+?)\s*[ =]\s*(on|off)", re.IGNORECASE)


class Unread(ValueError):
    """A cell whose text means nothing here; the words say what would."""


def read_cell(field: Field, text: str) -> Any:
    """The value of a cell that is not empty (raises Unread)."""
    if field.cell is Cell.CHOICE:
        return _choice(field, text)
    if field.cell in _STRUCTURED and text.lstrip().startswith(("[", "{")):
        return _plain(text)
    return text if field.cell is Cell.TEXT else _READ[field.cell](text.strip())


def _ohm_text(ohm: float) -> str:
    """Megohm as people say them; what does not read back as itself stays in ohm."""
    short = f"{ohm / 1e6:g} M"
    return short if ohm >= 1e6 and typed_ohm(short).ohm == ohm else number_text(ohm)


def write_cell(field: Field, value: Any) -> str:
    """The text that reads back as this value; odd names are shown as they stand in the file."""
    if value is None:
        return NOT_STATED if field.cell is Cell.CELSIUS else ""
    if field.cell is Cell.CHOICE:
        return dict(field.choices).get(value, str(value))
    text = _WRITE.get(field.cell, str)(value)
    if field.cell in _STRUCTURED and text and _differs(field, text, value):
        return json.dumps(value, ensure_ascii=False)
    return text


def _differs(field: Field, text: str, value: Any) -> bool:
    try:
        return bool(read_cell(field, text) != value)
    except Unread:
        return True


def is_on(text: str) -> bool:
    """Whether a cell says yes."""
    return text.strip().lower() in _YES


def squeezed(text: str) -> str:
    """A word for comparing: lower case, signs between words as one blank."""
    return " ".join(re.sub(r"[\s_/\-.,()\[\]\u03a9\u2126:=+]+", " ", text).lower().split())


def number_text(number: float) -> str:
    """A number that reads back as itself, never as two numbers."""
    if abs(number) > LARGEST_OHM:
        return f"{number:.16e}"
    text = str(int(number)) if float(number).is_integer() else repr(float(number))
    return f"{text}0" if "e" not in text and typed_ohm(text).choices else text


def _number(text: str) -> float:
    """A bare number: no prefix and no unit behind it."""
    expected = "a number such as 5.2 or 5,2"
    if text[-1:] in "kKM\u03a9":
        raise Unread(expected)
    return _typed(text, expected=expected)


def _decimal(text: str) -> float:
    try:
        return decimal(text, where="cell")
    except BadInput:
        raise Unread("a number such as 5.2 or 5,2") from None


def _ohm(text: str) -> float:
    return _typed(text, expected="a resistance such as 4.7, 4,7, 12k or 1.2 M")


def _typed(text: str, *, expected: str) -> float:
    """A number as typed at the bench; one with an exponent is written by a program and read as it stands."""
    if re.search(r"\d[eE]", text):
        return _decimal(text)
    typed = typed_ohm(text)
    if typed.choices:
        small, large = typed.choices
        raise Unread(f"could be {small:g} or {large:g}: type {number_text(small)} or {number_text(large)}")
    if typed.ohm is None:
        raise Unread(expected)
    return typed.ohm


def _celsius(text: str) -> float | None:
    if squeezed(text) in _NOT_STATED or text in _NOT_STATED:
        return None
    bare = re.sub(r"\s*(\u00b0\s*)?[cC]$", "", text)
    try:
        return _number(bare.replace("\u2212", "-"))
    except Unread as unread:
        raise Unread(f"{unread}, or {NOT_STATED}") from None


def _whole(text: str) -> int:
    if not re.fullmatch(r"\d{1,6}", text, re.ASCII):
        raise Unread("a whole number")
    return int(text)


def _yes(text: str) -> bool:
    word = text.lower()
    if word not in _YES | _NO:
        raise Unread("yes or no")
    return word in _YES


def _required(text: str) -> bool:
    word = text.lower()
    if word not in (REQUIRED, OPTIONAL) and word not in _YES | _NO:
        raise Unread(f"{REQUIRED} or {OPTIONAL}")
    return word == REQUIRED or word in _YES


def _choice(field: Field, text: str) -> str:
    wanted = squeezed(text)
    for word, shown in field.choices:
        if wanted in (squeezed(word), squeezed(shown), squeezed(word).replace(" ", "")):
            return word
    shown_words = [shown for _, shown in field.choices]
    raise Unread(f"one of {', '.join(shown_words)}. {nearest(text.lower(), shown_words)}".rstrip())


def _plain(text: str) -> Any:
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        raise Unread("a list as it stands in the file") from None


def _list(text: str) -> list[str]:
    if text.lower() == NONE:
        return []
    sign = ";" if ";" in text else ","
    return [part.strip() for part in text.split(sign) if part.strip()]


def _states(text: str) -> dict[str, str]:
    if text.lower() == NONE:
        return {}
    found: dict[str, str] = {}
    for part in re.split(r"[;,]", text):
        match = _STATE.fullmatch(part.strip())
        if match is None:
            raise Unread("names with on or off, such as Heron on, Gull off")
        found[match[1].strip()] = match[2].lower()
    return found


def _codes(text: str) -> dict[str, str]:
    if text.lower() == NONE:
        return {}
    found: dict[str, str] = {}
    for part in re.split(r"[;,]", text):
        match = _CODE.fullmatch(part.strip())
        if match is None:
            raise Unread("switches with closed, open or either, such as Stork closed, Snipe open")
        found[match[1].strip()] = match[2].lower()
    return found


def _points(text: str) -> list[list[float]]:
    return [_point(part) for part in text.split(";") if part.strip()]


def _point(text: str) -> list[float]:
    match = _ROW.fullmatch(text)
    if match is None:
        raise Unread("rows such as 20: 2540 to 2800; 80: 300 to 350")
    return [_number(match[1]), _ohm(match[2]), _ohm(match[3])]


def _expects(text: str) -> list[dict[str, Any]]:
    return [_expect(part.strip()) for part in text.split(";") if part.strip()]


def _expect(text: str) -> dict[str, Any]:
    conditions, _, outcome = text.rpartition(":")
    found = _outcome(outcome.strip())
    for condition in (part.strip() for part in conditions.split(",") if part.strip()):
        match = _STATE.fullmatch(condition)
        if match is not None:
            found.setdefault("solenoids", {})[match[1].strip()] = match[2].lower()
        elif "selector" not in found:
            found["selector"] = condition
        else:
            raise Unread("one selector position, and solenoids with on or off")
    return found


def _outcome(text: str) -> dict[str, Any]:
    reaction, sign, at = text.partition(" at ")
    for word, shown in REACTIONS:
        if squeezed(reaction) in (squeezed(word), shown):
            return {"reaction": word, "at": at.strip()} if sign else {"reaction": word}
    raise Unread("such as D, Heron on: holds; or comes out at P4")


def _expects_text(value: list[Mapping[str, Any]]) -> str:
    return "; ".join(_expect_text(one) for one in value)


def _expect_text(one: Mapping[str, Any]) -> str:
    states = [f"{name} {state}" for name, state in (one.get("solenoids") or {}).items()]
    conditions = ", ".join([*([one["selector"]] if one.get("selector") else []), *states])
    word = str(one.get("reaction", Reaction.HOLDS.value)).replace("_", " ")
    outcome = f"{word} at {one['at']}" if one.get("at") else word
    return f"{conditions}: {outcome}" if conditions else outcome


def _list_text(value: list[str]) -> str:
    return "; ".join(value) if value else NONE


def _states_text(value: Mapping[str, str]) -> str:
    return ", ".join(f"{name} {state}" for name, state in value.items()) if value else NONE


def _points_text(value: list[list[float]]) -> str:
    return "; ".join(f"{number_text(t)}: {number_text(low)} to {number_text(high)}" for t, low, high in value)


_STRUCTURED: Final = frozenset({Cell.LIST, Cell.STATES, Cell.POINTS, Cell.EXPECT, Cell.CODES})
_READ: Final[Mapping[Cell, Callable[[str], Any]]] = MappingProxyType(
    {
        Cell.NUMBER: _number,
        Cell.OHM: _ohm,
        Cell.CELSIUS: _celsius,
        Cell.WHOLE: _whole,
        Cell.YES: _yes,
        Cell.REQUIRED: _required,
        Cell.LIST: _list,
        Cell.STATES: _states,
        Cell.POINTS: _points,
        Cell.EXPECT: _expects,
        Cell.CODES: _codes,
    }
)
_WRITE: Final[Mapping[Cell, Callable[[Any], str]]] = MappingProxyType(
    {
        Cell.NUMBER: number_text,
        Cell.OHM: _ohm_text,
        Cell.CELSIUS: number_text,
        Cell.YES: lambda value: YES if value else "",
        Cell.REQUIRED: lambda value: REQUIRED if value else OPTIONAL,
        Cell.LIST: _list_text,
        Cell.STATES: _states_text,
        Cell.POINTS: _points_text,
        Cell.EXPECT: _expects_text,
        Cell.CODES: _states_text,
    }
)
