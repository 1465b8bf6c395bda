"""From decoded JSON to objects: findings for what is wrong, never silence."""

from __future__ import annotations

import math
from typing import Annotated, Any

import msgspec
import pytest

from tests.data.made_up import variant_data
from valvebench.model.entry import BODY_OF_KIND, body_from
from valvebench.model.errors import BadInput
from valvebench.model.validate import build, path_text
from valvebench.model.variant import Variant
from valvebench.model.words import LeadState


class Inner(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    size: Annotated[float, msgspec.Meta(ge=0)] = 0.0


class Outer(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    name: str
    inner: Inner | None = None
    many: tuple[Inner, ...] = ()
    table: dict[str, float] = {}
    either: int | str | None = None
    anything: Any = None


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        ({"name": "x"}, Outer(name="x")),
        ({"name": "x", "inner": None}, Outer(name="x")),
        ({"name": "x", "inner": {"size": 1}}, Outer(name="x", inner=Inner(size=1.0))),
        ({"name": "x", "many": [{}, {"size": 2}]}, Outer(name="x", many=(Inner(), Inner(size=2.0)))),
        ({"name": "x", "table": {"a": 1}}, Outer(name="x", table={"a": 1.0})),
        ({"name": "x", "either": 5}, Outer(name="x", either=5)),
        ({"name": "x", "either": "5"}, Outer(name="x", either="5")),
        ({"name": "x", "anything": [1]}, Outer(name="x", anything=[1])),
    ],
)
def test_built(data, expected):
    assert build(data, Outer) == (expected, [])


@pytest.mark.parametrize(
    ("data", "where", "expected"),
    [
        ({"name": 1}, "name", "a text in quotes"),
        ({"name": "x", "inner": 5}, "inner", "an object in braces"),
        ({"name": "x", "inner": {"size": -1}}, "inner.size", ">= 0"),
        ({"name": "x", "inner": {"size": True}}, "inner.size", "a number"),
        ({"name": "x", "many": 5}, "many", "a list"),
        ({"name": "x", "many": [{}, {"sise": 1}]}, "many[1].sise", "a key this program knows"),
        ({"name": "x", "table": []}, "table", "an object in braces"),
        ({"name": "x", "table": {"a": "b"}}, "table.a", "a number"),
        ({"name": "x", "table": {"a": math.nan}}, "table.a", "a finite number"),
        ({"name": "x", "either": 1.5}, "either", "int"),
        ({}, "name", "it is needed"),
        (None, "file", "an object in braces"),
    ],
    ids=repr,
)
def test_found(data, where, expected):
    value, findings = build(data, Outer)
    assert value is None
    (finding,) = findings
    assert finding.problem.where == path_text(finding.path) == where
    assert expected in finding.problem.expected


@pytest.mark.parametrize(
    ("path", "text"), [((), "file"), (("a",), "a"), (("a", 2, "b"), "a[2].b"), (("a", "b", 0, 1), "a.b[0][1]")]
)
def test_path_text(path, text):
    assert path_text(path) == text


def test_nearest_word_of_a_choice():
    _, (finding,) = build("nuled", LeadState)
    assert finding.problem.what_to_do == "Did you mean nulled?"


ODD = [None, True, 7, -1, 1.5, "", "x", "5.2", [], [1], {}, {"a": 1}]


def places(data, path=()):
    """Every place in a JSON value, the whole first."""
    yield path
    steps = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    for step, value in steps:
        yield from places(value, (*path, step))


def with_odd(data, path, odd):
    if not path:
        return odd
    copy = dict(data) if isinstance(data, dict) else list(data)
    copy[path[0]] = with_odd(copy[path[0]], path[1:], odd)
    return copy


def test_no_refusal_without_a_reason_in_a_variant():
    """Every place of the example replaced by every odd value: read, or refused with at least one finding."""
    data = variant_data(pins=[{"name": "3", "face": "A"}])
    counts = {"read": 0, "refused": 0}
    for path in places(data):
        for odd in ODD:
            value, findings = build(with_odd(data, path, odd), Variant)
            assert (value is None) == bool(findings), (path, odd)
            counts["refused" if findings else "read"] += 1
            assert all(finding.problem.expected for finding in findings)
    assert min(counts.values()) > 100


BODIES = [
    (
        "reading",
        {
            "from": "3",
            "to": "11",
            "celsius": 20.0,
            "ohm": 5.2,
            "repeats_ohm": [5.1],
            "leads": "nulled",
            "rule": "plain",
        },
    ),
    ("meter-check", {"check_ohm": 5.0, "read_ohm": 5.2, "zero_read_ohm": 0.2, "meter": "1%+3x0.1"}),
    ("air", {"port": "P", "place": "body", "result": "pass", "solenoids": {"Heron": "on"}, "kpa_gauge": 250}),
    ("correct", {"entry": 2, "why": "x", "body": {"text": "x"}}),
    ("close", {"verdict": "pass", "scope": "", "rule": "proved", "missing": ["a"]}),
    ("photo", {"sha256": "0" * 64, "file_name": "a", "of": "b", "size_bytes": 1}),
    ("outcome", {"fitted": True, "months": 2}),
]


@pytest.mark.parametrize(("kind", "data"), BODIES, ids=[kind for kind, _ in BODIES])
def test_no_refusal_without_a_reason_in_an_entry(kind, data):
    for path in places(data):
        for odd in ODD:
            try:
                said = type(body_from(kind, with_odd(data, path, odd), source="entry"))
            except BadInput as error:
                said = "entry: " in str(error) and bool(error.problems)
            assert said in (True, BODY_OF_KIND[kind]), (path, odd)
