"""Public corpora of bad JSON and naughty text; where they are absent a test is skipped with the reason."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

FOLDER = Path(os.environ.get("VALVEBENCH_CORPORA") or Path(__file__).resolve().parents[2] / "shared" / "corpora")


def json_files(folder: str = "json_parsing", prefix: str = "") -> list[Path]:
    """The files of one JSON corpus whose names begin so: y_ good, n_ bad, i_ left open by the grammar."""
    found = sorted((FOLDER / folder).glob(f"{prefix}*.json")) if FOLDER.is_dir() else []
    if not found:
        pytest.skip(f"no corpus {folder} in the folder that VALVEBENCH_CORPORA names")
    return found


def naughty_strings() -> list[str]:
    """The 515 strings of the Big List of Naughty Strings."""
    path = FOLDER / "naughty_strings.json"
    if not path.is_file():
        pytest.skip("no naughty strings in the folder that VALVEBENCH_CORPORA names")
    strings: list[str] = json.loads(path.read_text(encoding="utf-8"))
    return strings
