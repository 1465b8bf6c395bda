"""Forbidden idioms: each has a reason, and a planted example shows that the scan sees it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
PACKAGE = ROOT / "valvebench"
LONGEST_FUNCTION = 50
LONGEST_MODULE = 600

# in two halves, so that a search for such notes does not stop here
UNFINISHED = ("TO" + "DO", "FIX" + "ME", "XX" + "X", "HA" + "CK", "NotImplemented" + "Error", "for" + " now")

# name -> (pattern, rooms it is forbidden in ("" = all), an example that must be found)
WORDS = {
    "weights go by the axis of the typeface": (r"\bset(?:Weight|Bold)\(", "", "font.setBold(True)"),
    "no weight in a style sheet": (r"font-weight", "", '"font-weight: bold"'),
    "the archive does not go through Qt": (r"\bQtSql\b", "", "from PySide6 import QtSql"),
    "events are not pumped by hand": (r"\bprocessEvents\b", "", "app.processEvents()"),
    "the window never sleeps": (r"\b(?:time\.)?sleep\(", "ui", "time.sleep(0.1)"),
    "typed numbers go through our own parser": (r"\bQDoubleSpinBox\b", "ui", "QDoubleSpinBox()"),
    "one runner, no thread of its own": (r"\(QThread\)", "ui", "class Reader(QThread):"),
    "no stored Python objects": (r"\b(?:pickle|shelve|marshal|dill)\b", "", "import pickle"),
    "no shell": (r"shell=True|os\.system\(", "", "run(x, shell=True)"),
    "nothing unfinished": (rf"\b(?:{'|'.join(UNFINISHED)})\b", "", f"# {UNFINISHED[0]} later"),
}


def sources(room=""):
    return sorted((PACKAGE / room).rglob("*.py"))


def code_lines(text):
    return enumerate(text.splitlines(), start=1)


def found(pattern, text):
    return [number for number, line in code_lines(text) if re.search(pattern, line)]


@pytest.mark.parametrize("name", WORDS)
def test_no_forbidden_word(name):
    pattern, room, _ = WORDS[name]
    hits = [f"{file.relative_to(ROOT)}:{n}" for file in sources(room) for n in found(pattern, file.read_text("utf-8"))]
    assert not hits


@pytest.mark.parametrize("name", WORDS)
def test_the_scan_sees_a_planted_one(name):
    pattern, _, example = WORDS[name]
    assert found(pattern, f"x = 1\n{example}\n") == [2]


def calls(tree):
    return [node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)]


def stars(tree):
    imports = [node for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)]
    return [node.lineno for node in imports if node.names[0].name == "*"]


LIMIT_NAME = re.compile(r"^(?:low|high)_ohm(?:_|$)|^min_ohm$|^max_ml_min$|^(?:lower|upper)_limit")
ORDER = (ast.Lt, ast.LtE, ast.Gt, ast.GtE)


def limit_comparisons(tree):
    compares = [node for node in ast.walk(tree) if isinstance(node, ast.Compare) and isinstance(node.ops[0], ORDER)]
    return [node.lineno for node in compares if any(is_limit(part) for part in (node.left, *node.comparators))]


def is_limit(node):
    name = getattr(node, "attr", None) or getattr(node, "id", "")
    return bool(LIMIT_NAME.match(name))


@pytest.mark.parametrize("file", sources(), ids=lambda file: str(file.relative_to(PACKAGE)))
def test_module_keeps_the_house_rules(file):
    text = file.read_text(encoding="utf-8")
    tree = ast.parse(text)
    functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]
    assert not {"eval", "exec"} & set(calls(tree))
    assert not stars(tree)
    assert text.count("\n") <= LONGEST_MODULE
    assert [f.name for f in functions if length(f) > LONGEST_FUNCTION] == []


def length(function):
    doc = ast.get_docstring(function, clean=False)
    return function.end_lineno - function.lineno + 1 - (doc.count("\n") + 1 if doc else 0)


JUDGING_ROOMS = {"model", "judge"}  # the model checks that a band is a band, judge decides


@pytest.mark.parametrize(
    "file",
    [file for file in sources() if file.relative_to(PACKAGE).parts[0] not in JUDGING_ROOMS],
    ids=lambda file: str(file.relative_to(PACKAGE)),
)
def test_only_judge_compares_with_a_limit(file):
    assert limit_comparisons(ast.parse(file.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("example", ["x < band.low_ohm", "low_ohm <= r <= high_ohm", "leak > max_ml_min"])
def test_the_scan_sees_a_planted_comparison(example):
    assert limit_comparisons(ast.parse(example)) == [1]


def test_a_long_function_would_be_seen():
    body = "\n".join("    x = 1" for _ in range(LONGEST_FUNCTION))
    assert length(ast.parse(f"def f():\n{body}").body[0]) == LONGEST_FUNCTION + 1
