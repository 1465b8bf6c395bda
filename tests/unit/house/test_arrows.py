"""Who may know Qt and pandas, for every module, rooms that come later included (lint-imports holds the layers)."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[3] / "valvebench"
QT = {"PySide6", "pyqtgraph", "shiboken6"}
TABLES = {"pandas", "openpyxl"}
TABLE_ROOMS = {"archive", "capture", "report"}
BELOW_BENCH = {"model", "physics", "judge", "diagnose", "simulate"}


def imported(text):
    """The top names that a module imports, anywhere in it."""
    names = set()
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            names.add(node.module.split(".")[0])
    return names


def may_know_qt(parts):
    in_ui = parts[0] == "ui" and not parts[-1].startswith("presenter")
    return in_ui or parts in {("report", "pdf.py"), ("compose.py",)}


MODULES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("file", MODULES, ids=lambda file: str(file.relative_to(PACKAGE)))
def test_module_knows_only_what_its_room_may(file):
    parts = file.relative_to(PACKAGE).parts
    names = imported(file.read_text(encoding="utf-8"))
    assert may_know_qt(parts) or not names & QT
    assert parts[0] in TABLE_ROOMS or not names & TABLES
    assert parts[0] not in BELOW_BENCH or not names & {"sqlite3", "logging", "random"} or parts[0] == "simulate"


@pytest.mark.parametrize(
    ("parts", "allowed"),
    [
        (("ui", "pins", "view.py"), True),
        (("ui", "pins", "presenter.py"), False),
        (("bench", "jobs.py"), False),
        (("report", "pdf.py"), True),
        (("report", "workbook.py"), False),
    ],
)
def test_the_rule_itself(parts, allowed):
    assert may_know_qt(parts) is allowed


def test_an_import_inside_a_function_is_seen():
    assert imported("def f():\n    from PySide6.QtCore import Qt\n    import pandas as pd\n") == {"PySide6", "pandas"}


HEAVY = {"numpy", "pandas", "scipy", "openpyxl", "pyqtgraph", "PySide6"}
LIGHT_ROOMS = [room for room in ("model", "bench", "cli") if list((PACKAGE / room).glob("*.py"))]


@pytest.mark.parametrize("room", LIGHT_ROOMS)
def test_importing_a_light_room_loads_nothing_heavy(room):
    names = [module_name(file) for file in (PACKAGE / room).rglob("*.py")]
    code = "import sys\n" + "".join(f"import {name}\n" for name in names) + f"print(sorted({HEAVY} & set(sys.modules)))"
    answer = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=PACKAGE.parent, check=True
    )
    assert answer.stdout.strip() == "[]"


def module_name(file):
    parts = file.relative_to(PACKAGE.parent).with_suffix("").parts
    return ".".join(part for part in parts if part != "__init__")
