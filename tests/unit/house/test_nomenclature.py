"""The page of words holds every closed word, every unit in a name, and every number whose name carries no unit."""

from __future__ import annotations

import ast
import re
from enum import Enum
from functools import cache
from pathlib import Path

import msgspec
import pytest

from valvebench.model import entry, variant, words

ROOT = Path(__file__).parents[3]
PACKAGE = ROOT / "valvebench"
PAGE = (ROOT / "resources" / "guide" / "nomenclature.md").read_text("utf-8")
ENUMS = [one for one in vars(words).values() if isinstance(one, type) and issubclass(one, Enum) and one is not Enum]
# Everything that may end a name and would be a unit; the longest first.
UNITS = (
    *(
        "kpa_gauge",
        "kpa_abs",
        "ml_min",
        "celsius",
        "kelvin",
        "percent",
        "ampere",
        "bytes",
        "volt",
        "inhg",
        "bar",
        "psi",
    ),
    *("ohm", "pct", "hz", "px", "mm", "nm", "km", "ml", "kg", "ms", "kb", "s"),
)
SUFFIX = re.compile(
    rf"(?:^(?=kpa_|ml_|celsius|ohm)|_)({'|'.join(UNITS)})(?:_at_ref|_at_celsius|_per_[a-z]+)?$", re.IGNORECASE
)
NUMERIC = re.compile(r"\b(?:float|Number|Ohm|Quantity|Positive|Fraction|Gauge)\b")
ROOMS = ("model", "physics", "judge")


def in_code(word):
    return re.search(rf"`{re.escape(word)}`", PAGE) is not None


@cache
def trees(rooms=("",)):
    return [ast.parse(file.read_text("utf-8")) for room in rooms for file in sorted((PACKAGE / room).rglob("*.py"))]


def names_in(tree):
    """Names of fields, arguments and variables."""
    for node in ast.walk(tree):
        if isinstance(node, ast.arg):
            yield node.arg
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
            yield node.id


@cache
def units_in(tree):
    found = (SUFFIX.search(name.lower()) for name in names_in(tree) if not name.startswith("is_"))
    return {match[1].lower() for match in found if match}


def bare_numbers_in(tree):
    """Fields of classes that hold a number and whose name says no unit."""
    classes = [node for node in ast.walk(tree) if isinstance(node, ast.ClassDef)]
    fields = [node for one in classes for node in one.body if isinstance(node, ast.AnnAssign)]
    numeric = [node.target.id for node in fields if NUMERIC.search(ast.unparse(node.annotation))]
    return {name for name in numeric if not SUFFIX.search(name.lower())}


@pytest.mark.parametrize("kind", ENUMS, ids=lambda kind: kind.__name__)
def test_every_closed_word_is_explained(kind):
    assert [member.value for member in kind if not in_code(member.value)] == []


def test_every_unit_in_a_name_is_explained():
    used = set().union(*(units_in(tree) for tree in trees()))
    assert sorted(unit for unit in used if not in_code(f"_{unit}")) == []


def test_no_unit_is_explained_that_nobody_uses():
    told = re.findall(r"^\| `_([a-z_]+)`", PAGE, re.MULTILINE)
    used = set().union(*(units_in(tree) for tree in trees()))
    assert sorted(set(told) - used) == []


def test_every_number_without_a_unit_in_its_name_is_explained():
    used = set().union(*(bare_numbers_in(tree) for tree in trees(ROOMS)))
    assert sorted(name for name in used if not in_code(name)) == []


def test_every_kind_of_entry_and_device_is_explained():
    devices = [one.__struct_config__.tag for one in variant.AnyDevice.__args__]
    assert all(issubclass(one, msgspec.Struct) for one in variant.AnyDevice.__args__)
    assert [kind for kind in (*entry.BODY_OF_KIND, *devices) if not in_code(kind)] == []


def test_the_scan_sees_what_is_planted():
    tree = ast.parse(
        "class C:\n    bore_mm: float\n    loudness: float | None\n\ndef f(p_kpa_gauge, U_ohm_at_ref): x_s = 1"
    )
    assert units_in(tree) == {"mm", "kpa_gauge", "ohm", "s"}
    assert bare_numbers_in(tree) == {"loudness"}
