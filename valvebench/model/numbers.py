"""Text typed by a person or given as an option -> a number, never by guessing."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Final

from valvebench.model.errors import bad

_DECIMAL: Final = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d{1,3})?", re.ASCII)
_TYPED: Final = re.compile(
    r"([+-]?)([\d.,'\u2019 \u00a0\u202f]*\d[\d.,]*)\s*([kKmM]?)\s*(?:[oO]hms?|\u03a9|\u2126)?", re.ASCII
)
_PLAIN: Final = re.compile(r"([+-]?)([\d.,'\u2019 \u00a0\u202f]*\d[\d.,]*)", re.ASCII)
_GROUPED: Final = re.compile(r"\d{1,3}([.,'\u2019 \u00a0\u202f])\d{3}(\1\d{3})*", re.ASCII)
_OPEN_WORDS: Final = frozenset({"ol", "o.l", "o.l.", "0l", "0.l", "0.l.", "inf", "open", "over", "*", "---", "----"})
_SCALE: Final = {"": 1.0, "k": 1e3, "K": 1e3, "M": 1e6}
_GROUP_SIGNS: Final = "'\u2019 \u00a0\u202f"  # typed and typographic apostrophe, blanks of any width
_DIGITS_OF_GROUP: Final = 3
LARGEST_OHM: Final = 1e12


def decimal(text: str, *, where: str) -> float:
    """One number with a decimal point or comma (never grouping), as options and files give it."""
    stripped = text.strip()
    if not _DECIMAL.fullmatch(stripped):
        raise bad(where, repr(text), "a number such as 5.2 or 5,2")
    number = float(stripped.replace(",", "."))
    if not math.isfinite(number):
        raise bad(where, repr(text), "a finite number")
    return number


def decimals(text: str, *, where: str) -> tuple[float, ...]:
    """Several numbers, separated by blanks or semicolons."""
    return tuple(decimal(word, where=where) for word in re.split(r"[\s;]+", text.strip()) if word)


def number_meanings(text: str) -> tuple[float, ...]:
    """Every number that typed digits can mean, the decimal one first; none where they mean nothing."""
    match = _PLAIN.fullmatch(text.strip().replace("\u2212", "-"))
    if match is None:
        return ()
    sign = -1.0 if match[1] == "-" else 1.0
    return tuple(sign * value for value in _meanings(match[2].strip()))


@dataclass(frozen=True, kw_only=True)
class Typed:
    """What a person typed into a resistance field.

    Exactly one of these holds: `ohm` is a number [ohm]; `is_open`; `choices` are the two
    meanings [ohm] to ask about; `problem` says what is wrong.
    """

    ohm: float | None = None
    is_open: bool = False
    choices: tuple[float, ...] = ()
    problem: str = ""


def typed_ohm(text: str) -> Typed:
    """Read a typed resistance: `4,7`, `12k`, `1.2 M`, `OL`; `1,234` comes back as two choices."""
    stripped = text.strip()
    if stripped.lower() in _OPEN_WORDS:
        return Typed(is_open=True)
    if not stripped:
        return Typed(problem="Type the reading, or * for open.")
    match = _TYPED.fullmatch(stripped)
    if match is None:
        return Typed(problem=_not_a_number(stripped))
    return _scaled(match[1], match[2], match[3], stripped)


def _scaled(sign: str, digits: str, suffix: str, whole: str) -> Typed:
    if suffix == "m":
        return Typed(problem=f"{whole} could be milliohm or megohm: type M for megohm, or the number in ohm.")
    meanings = _meanings(digits.strip())
    if not meanings:
        return Typed(problem=_not_a_number(whole))
    if suffix:  # nobody groups thousands in front of k or M
        meanings = meanings[:1]
    factor = _SCALE[suffix] * (-1.0 if sign == "-" else 1.0)
    values = tuple(value * factor for value in meanings)
    if any(abs(value) > LARGEST_OHM for value in values):
        return Typed(problem=f"{whole} is larger than any meter shows: type OL or * for open.")
    return Typed(ohm=values[0]) if len(values) == 1 else Typed(choices=values)


def _meanings(digits: str) -> tuple[float, ...]:
    """The values that a run of digits and separators can mean, decimal reading first."""
    signs = [sign for sign in digits if not sign.isdigit()]
    kinds = set(signs)
    if not kinds:
        return (float(digits),)
    if kinds & set(_GROUP_SIGNS):
        return _with_group_sign(digits, kinds)
    if len(kinds) == 1:
        return _with_one_sign(digits, signs)
    return _with_both_signs(digits)


def _with_group_sign(digits: str, kinds: set[str]) -> tuple[float, ...]:
    """A blank or apostrophe can only group; what follows a point or comma are decimals."""
    decimal_signs = kinds & {".", ","}
    if len(kinds) - len(decimal_signs) != 1 or len(decimal_signs) > 1:
        return ()
    whole, _, fraction = digits.partition(decimal_signs.pop()) if decimal_signs else (digits, "", "")
    return _joined(whole, fraction)


def _with_one_sign(digits: str, signs: list[str]) -> tuple[float, ...]:
    if len(signs) > 1:
        return _joined(digits, "")
    whole, _, fraction = digits.partition(signs[0])
    as_decimal = float(f"{whole or '0'}.{fraction or '0'}")
    is_group_like = (
        len(fraction) == _DIGITS_OF_GROUP and 1 <= len(whole) <= _DIGITS_OF_GROUP and not whole.startswith("0")
    )
    return (as_decimal, float(whole + fraction)) if is_group_like else (as_decimal,)


def _with_both_signs(digits: str) -> tuple[float, ...]:
    """`1,234.5` or `1.234,5`: the sign that stands last, once, is the decimal sign."""
    last = max(digits.rfind("."), digits.rfind(","))
    return _joined(digits[:last], digits[last + 1 :]) if digits.count(digits[last]) == 1 else ()


def _joined(whole: str, fraction: str) -> tuple[float, ...]:
    if fraction and not fraction.isdigit():
        return ()
    if not (whole.isdigit() or _GROUPED.fullmatch(whole)):
        return ()
    plain = "".join(sign for sign in whole if sign.isdigit())
    return (float(f"{plain}.{fraction or '0'}"),)


def _not_a_number(text: str) -> str:
    return f"{text!r} is not a reading. Type a number such as 5.2, 12k or 1.2 M, or * for open."
