"""Turn decoded JSON into frozen objects and report *every* problem, not only the first."""

from __future__ import annotations

import math
import re
import types
import typing
from enum import Enum
from functools import cache
from typing import Any, Final

import msgspec

from valvebench.model.errors import BadInput, Problem, nearest
from valvebench.model.strict_json import Path

_EXPECTED: Final = re.compile(r"[Ee]xpected `?([^`]+?)`?(?:, got .*)?(?: - at .*)?$")
_WORDS: Final = {
    "str": "a text in quotes",
    "float": "a number",
    "int": "a whole number",
    "bool": "true or false",
    "array": "a list",
    "object": "an object in braces",
}


class Finding(typing.NamedTuple):
    """A problem and the path to it; the line is found later, and only for messages."""

    path: Path
    problem: Problem


def build(data: object, kind: Any, *, path: Path = ()) -> tuple[Any, list[Finding]]:
    """The object of type `kind`, or None with all findings."""
    findings: list[Finding] = []
    value = _any(data, kind, path, findings)
    return (None if findings else value), findings


def finding(path: Path, found: object, expected: str, advice: str = "") -> Finding:
    """A rule that does not hold, at its place."""
    return Finding(path, Problem(where=path_text(path), found=str(found), expected=expected, what_to_do=advice))


def path_text(path: Path) -> str:
    """`devices[2].low_ohm`, as messages show it."""
    text = ""
    for step in path:
        text += f"[{step}]" if isinstance(step, int) else (f".{step}" if text else step)
    return text or "file"


def _any(data: object, kind: Any, path: Path, findings: list[Finding]) -> Any:
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct):
        return _struct(data, kind, path, findings)
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return _union(data, arguments, path, findings)
    if origin is tuple and len(arguments) == 2 and arguments[1] is Ellipsis:
        return _list(data, arguments[0], path, findings)
    if origin is dict:
        return _dict(data, arguments[1], path, findings)
    return _leaf(data, kind, path, findings)


def _union(data: object, choices: tuple[Any, ...], path: Path, findings: list[Finding]) -> Any:
    if data is None and type(None) in choices:
        return None
    rest = [choice for choice in choices if choice is not type(None)]
    if len(rest) == 1:
        return _any(data, rest[0], path, findings)
    structs = [choice for choice in rest if hasattr(choice, "__struct_config__")]
    if len(structs) == 1:
        return _text_or_struct(data, structs[0], path, findings)
    if not structs:
        return _leaf(data, typing.Union[tuple(choices)], path, findings)  # noqa: UP007  built at run time
    return _tagged(data, structs, path, findings)


def _tagged(data: object, structs: list[Any], path: Path, findings: list[Finding]) -> Any:
    tags = {choice.__struct_config__.tag: choice for choice in structs}
    if not isinstance(data, dict):
        return _note(findings, path, data, _WORDS["object"])
    tag = data.get("kind")
    if not isinstance(tag, str) or tag not in tags:
        return _note(findings, (*path, "kind"), tag, f"one of {', '.join(sorted(tags))}", nearest(str(tag), tags))
    return _struct(data, tags[tag], path, findings)


def _text_or_struct(data: object, struct: Any, path: Path, findings: list[Finding]) -> Any:
    """What older files say as a bare text may also be an object."""
    if isinstance(data, str):
        return data
    if not isinstance(data, dict):
        return _note(findings, path, data, f"{_WORDS['str']}, or {_WORDS['object']}")
    return _struct(data, struct, path, findings)


def _list(data: object, item: Any, path: Path, findings: list[Finding]) -> Any:
    if not isinstance(data, list | tuple):
        return _note(findings, path, data, _WORDS["array"])
    return tuple(_any(value, item, (*path, i), findings) for i, value in enumerate(data))


def _dict(data: object, item: Any, path: Path, findings: list[Finding]) -> Any:
    if not isinstance(data, dict):
        return _note(findings, path, data, _WORDS["object"])
    return {key: _any(value, item, (*path, key), findings) for key, value in data.items()}


def _struct(data: object, kind: type[msgspec.Struct], path: Path, findings: list[Finding]) -> Any:
    if not isinstance(data, dict):
        return _note(findings, path, data, _WORDS["object"])
    fields = _fields(kind)
    config = kind.__struct_config__
    known = set(fields) | ({config.tag_field} if config.tag_field else set())
    before = len(findings)
    for key in data.keys() - known:
        _note(findings, (*path, key), key, "a key this program knows", nearest(key, known))
    values = {}
    for name, field in fields.items():
        if name in data:
            values[field.name] = _any(data[name], field.type, (*path, name), findings)
        elif field.required:
            _note(findings, (*path, name), "nothing", "this key; it is needed")
    return _constructed(kind, values, path, findings) if len(findings) == before else None


@cache
def _fields(kind: type[msgspec.Struct]) -> dict[str, Any]:
    """Fields by the name they have in the file; read once, type hints are slow to resolve."""
    return {field.encode_name: field for field in msgspec.structs.fields(kind)}


def _constructed(kind: type[msgspec.Struct], values: dict[str, Any], path: Path, findings: list[Finding]) -> Any:
    try:
        return kind(**values)
    except BadInput as error:
        findings += [Finding((*path, problem.where), problem) for problem in error.problems]
        return None


def _leaf(data: object, kind: Any, path: Path, findings: list[Finding]) -> Any:
    if isinstance(data, float) and not math.isfinite(data):
        return _note(findings, path, data, "a finite number")
    try:
        return msgspec.convert(data, kind, strict=True)
    except msgspec.ValidationError as error:
        return _note(findings, path, data, _expected(kind, str(error)), _hint(kind, data))


def _choices(kind: Any) -> list[str]:
    """The words of a closed choice."""
    if isinstance(kind, type) and issubclass(kind, Enum):
        return [str(member.value) for member in kind]
    return [str(word) for word in typing.get_args(kind)] if typing.get_origin(kind) is typing.Literal else []


def _expected(kind: Any, message: str) -> str:
    if choices := _choices(kind):
        return f"one of {', '.join(choices)}"
    match = _EXPECTED.search(message)
    if match and match[1] in _WORDS:
        return _WORDS[match[1]]
    return (
        message.removeprefix("Expected ")
        .replace("`float`", "a number")
        .replace("`str`", "a text")
        .replace("`array`", "a list")
    )


def _hint(kind: Any, data: object) -> str:
    if choices := _choices(kind):
        return nearest(str(data), choices)
    is_quoted_number = isinstance(data, str) and re.fullmatch(r"[+-]?\d+([.,]\d+)?", data, re.ASCII)
    return "Write numbers without quotes and with a decimal point." if is_quoted_number else ""


def _note(findings: list[Finding], path: Path, found: object, expected: str, advice: str = "") -> None:
    shown = found if found == "nothing" else repr(found)
    if len(str(shown)) > 80:
        shown = str(shown)[:77] + "..."
    problem = Problem(where=path_text(path), found=str(shown), expected=expected, what_to_do=advice)
    findings.append(Finding(path, problem))
