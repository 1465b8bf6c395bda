"""JSON with one meaning, and the line on which a value stands."""

from __future__ import annotations

import math
import time

import pytest

from valvebench.model import strict_json
from valvebench.model.errors import BadInput
from valvebench.model.strict_json import DEEPEST, dumps, lines_of, loads


def nested(depth, inside="1"):
    return "[" * depth + inside + "]" * depth


@pytest.mark.parametrize(
    ("raw", "value"),
    [
        (b"{}", {}),
        (b' {"a": [1, 2.5, null, true, "x"]} ', {"a": [1, 2.5, None, True, "x"]}),
        (b"9007199254740991", 2**53 - 1),
        (b"-9007199254740991", -(2**53) + 1),
        (b"1e-999", 0.0),
        (b"-0", 0),
        (b'"\\u00e4\\ud83d\\ude00"', "\u00e4\U0001f600"),
        (b'"[[[[[["', "[[[[[["),
        (nested(DEEPEST).encode(), None),
        (b"[" + b",".join([b"[]"] * 100) + b"]", [[]] * 100),
    ],
    ids=lambda value: repr(value)[:30],
)
def test_accepted(raw, value):
    found = loads(raw, source="x.json")
    assert value is None or found == value


@pytest.mark.parametrize(
    ("raw", "line", "words"),
    [
        (b"", 1, "the end of the file"),
        (b'{"a": 1', 1, "the end of the file"),
        (b'{"a": 1,\n "b" 2}', 2, "valid JSON"),
        (b"\xef\xbb\xbf{}", 1, "valid JSON"),
        (b'{"a":\n"\xff"}', 2, "byte 0xff"),
        (b'{"a": 1, "a": 1}', None, "the key 'a' twice"),
        (b"NaN", None, "NaN"),
        (b"[Infinity]", None, "Infinity"),
        (b"[-Infinity]", None, "-Infinity"),
        (b"1e400", None, "too large"),
        (b"9007199254740992", None, "too large to keep exactly"),
        (b"-9007199254740992", None, "too large to keep exactly"),
        (b"1" * 5000, None, "too large to keep exactly"),
        (b'"\\ud800"', None, "lone surrogate"),
        (b'["\\udc00x"]', None, "lone surrogate"),
        (b'{"\\ud800": 1}', None, "lone surrogate"),
        (b'{"a": ["x", ["\\ud800"]]}', None, "lone surrogate"),
        (b"[\n" + nested(DEEPEST).encode() + b"]", 2, "too many brackets"),
        (nested(DEEPEST, '{"a": 1}').encode(), 1, "too many brackets"),
        (b"[" * 100_000, 1, "too many brackets"),
        (b"[" * 5000 + b"]" * 5000, 1, "too many brackets"),
    ],
    ids=lambda value: repr(value)[:30],
)
def test_refused_with_its_line(raw, line, words):
    with pytest.raises(BadInput) as caught:
        loads(raw, source="x.json")
    (problem,) = caught.value.problems
    assert problem.line == line
    assert words in f"{problem.found} {problem.expected}"
    assert str(caught.value).startswith("x.json: ")


def test_size_is_looked_at_first(monkeypatch):
    monkeypatch.setattr(strict_json, "LARGEST_BYTES", 4)
    assert loads(b"1234", source="x") == 1234
    with pytest.raises(BadInput, match="5 bytes"):
        loads(b"12345", source="x")


@pytest.mark.parametrize(
    "raw",
    [b'"' + b'\\"' * 100_000 + b"[" * 70, b"[" * 60 + b'"' * 99_999, b'{"a": "' + b"\\" * 200_000],
    ids=["escaped quotes without an end", "many quotes", "backslashes"],
)
def test_time_grows_no_faster_than_the_text(raw):
    begin = time.perf_counter()
    with pytest.raises(BadInput):
        loads(raw, source="x")
    assert time.perf_counter() - begin < 1.0


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_nothing_endless_is_written(number):
    with pytest.raises(ValueError, match="JSON"):
        dumps({"a": number})


def test_written_in_one_compact_line():
    assert dumps({"a": [1, "\u00e4\n"]}) == '{"a":[1,"\u00e4\\n"]}'.encode()


TEXT = """{
  "a": 1,
  "list": [
    {"b": "x, [ \\" {", "c": []},
    7,
    [true,
     null]
  ],
  "d":
     {"e":
       2}
}"""


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ((), 1),
        (("a",), 2),
        (("list",), 3),
        (("list", 0), 4),
        (("list", 0, "b"), 4),
        (("list", 0, "c"), 4),
        (("list", 1), 5),
        (("list", 2), 6),
        (("list", 2, 0), 6),
        (("list", 2, 1), 7),
        (("d",), 9),
        (("d", "e"), 10),
    ],
    ids=str,
)
def test_line_of_a_path(path, line):
    """Counted by hand; a key's own line where a value stands in an object."""
    assert lines_of(TEXT)[path] == line


def test_a_path_that_is_not_there_has_no_line():
    assert ("list", 9) not in lines_of(TEXT)
    assert lines_of("5") == {(): 1}
