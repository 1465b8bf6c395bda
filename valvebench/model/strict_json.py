"""JSON with one meaning: no duplicate keys, no NaN, no overflow, no lone surrogates, bounded depth."""

from __future__ import annotations

import json
import math
import re
from typing import Any, Final, NoReturn

from valvebench.model.errors import BadInput, Problem

LARGEST_BYTES: Final = 16 * 1024 * 1024
DEEPEST: Final = 64
_LARGEST_INTEGER: Final = 2**53 - 1
_MOST_DIGITS: Final = 400
_SURROGATE: Final = re.compile("[\ud800-\udfff]")
_TOKEN: Final = re.compile(r'"(?:[^"\\]|\\.)*"|[\[\]{},:]|[^\s\[\]{},:"]+', re.DOTALL)


class _NotStrict(ValueError):
    """Found while scanning; the place is added by `loads`."""


def loads(raw: bytes, *, source: str) -> Any:
    """Decode strict JSON; every fault is one `BadInput` with its line."""
    if len(raw) > LARGEST_BYTES:
        raise _refuse(source, None, f"{len(raw)} bytes", f"at most {LARGEST_BYTES} bytes")
    text = _utf8(raw, source)
    try:
        value = json.loads(
            text, object_pairs_hook=_one_of_each, parse_constant=_no_constant, parse_float=_finite, parse_int=_whole
        )
        # Only after parsing: on text that is no JSON the scanner would take time with the square of its length.
        _check_depth(text, source)
        _check_value(value)
    except json.JSONDecodeError as error:
        found = repr(text[error.pos : error.pos + 20]) if error.pos < len(text) else "the end of the file"
        raise _refuse(source, error.lineno, found, f"valid JSON ({error.msg.lower()})") from None
    except RecursionError:
        # How deep the parser itself goes differs between versions of Python; ours is one depth for all.
        _check_depth(text, source)
        raise _too_deep(source, None) from None
    except _NotStrict as error:
        raise _refuse(source, None, str(error), "JSON with one meaning") from None
    return value


def _refuse(source: str, line: int | None, found: str, expected: str) -> BadInput:
    advice = "Nothing was changed; mend the file and try again."
    return BadInput(
        [Problem(where="file", found=found, expected=expected, what_to_do=advice, line=line)], source=source
    )


def _utf8(raw: bytes, source: str) -> str:
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as error:
        line = raw[: error.start].count(b"\n") + 1
        raise _refuse(source, line, f"byte 0x{raw[error.start]:02x}", "UTF-8 text") from None


def _check_depth(text: str, source: str) -> None:
    if text.count("[") + text.count("{") <= DEEPEST:
        return
    depth = 0
    for match in _TOKEN.finditer(text):
        sign = match[0]
        depth += (sign in "[{") - (sign in "]}") if len(sign) == 1 else 0
        if depth > DEEPEST:
            raise _too_deep(source, text[: match.start()].count("\n") + 1)


def _too_deep(source: str, line: int | None) -> BadInput:
    return _refuse(source, line, "too many brackets", f"at most {DEEPEST} levels")


def _one_of_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    result: dict[str, Any] = {}
    for key, value in pairs:
        if key in result:
            raise _NotStrict(f"the key {key!r} twice in one object")
        _check_text(key)
        result[key] = value
        _check_value(value)
    return result


def _check_value(value: object) -> None:
    if isinstance(value, str):
        _check_text(value)
    elif isinstance(value, list):
        for item in value:
            _check_value(item)


def _check_text(text: str) -> None:
    if _SURROGATE.search(text):
        raise _NotStrict("half a character (a lone surrogate)")


def _no_constant(name: str) -> NoReturn:
    raise _NotStrict(f"{name}, which is no number")


def _finite(text: str) -> float:
    number = float(text)
    if not math.isfinite(number):
        raise _NotStrict(f"the number {text[:20]}, which is too large")
    return number


def _whole(text: str) -> int:
    if len(text) > _MOST_DIGITS or abs(int(text)) > _LARGEST_INTEGER:
        raise _NotStrict(f"the number {text[:20]}, which is too large to keep exactly")
    return int(text)


def dumps(value: object) -> bytes:
    """One line of compact UTF-8 JSON; NaN and infinity are refused."""
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":")).encode("utf-8")


Path = tuple[str | int, ...]


def lines_of(text: str) -> dict[Path, int]:
    """Line on which each path of keys and indices starts; the text must be valid JSON.

    A small scanner: messages only, never used to read data.
    """
    lines: dict[Path, int] = {}
    stack: list[_Level] = []
    line, position, key_line = 1, 0, 1
    for match in _TOKEN.finditer(text):
        line += text.count("\n", position, match.start())
        position = match.start()
        piece = match[0]
        if piece in ("}", "]"):
            stack.pop()
        elif piece == ",":
            stack[-1].next_item()
        elif piece == ":":
            continue
        elif stack and stack[-1].wants_key:
            stack[-1].take_key(json.loads(piece))
            key_line = line
        else:
            _take_value(piece, line, key_line, stack, lines)
    return lines


class _Level:
    """Where the scanner stands in one object or list."""

    def __init__(self, *, path: Path, is_object: bool) -> None:
        self.path, self.is_object = path, is_object
        self.wants_key = is_object
        self.step: str | int = 0

    def take_key(self, key: str) -> None:
        self.step, self.wants_key = key, False

    def next_item(self) -> None:
        if self.is_object:
            self.wants_key = True
        else:
            self.step = int(self.step) + 1


def _take_value(piece: str, line: int, key_line: int, stack: list[_Level], lines: dict[Path, int]) -> None:
    path = (*stack[-1].path, stack[-1].step) if stack else ()
    lines[path] = key_line if stack and stack[-1].is_object else line
    if piece in ("{", "["):
        stack.append(_Level(path=path, is_object=piece == "{"))
