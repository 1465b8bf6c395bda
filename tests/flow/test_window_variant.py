"""From a table in a spreadsheet to a judged reading, in a real window, by keyboard alone."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from tests.flow.test_window_flow import ROOT, CountedWindow, screen, valvebench, wait_for

__all__ = ["screen"]  # the fixture serves here too

SHEET = (
    "Solenoid\tType\tPin\tGround\t\u03a9 min\t\u03a9 max\t\u00b0C\tSource\tPage\n"
    "Heron\tlinear\t3\t11\t4,0\t8,0\t20\tmanual\tpage 12\n"
    "Plover\ton/off\t8\tcase\t12\t15\tnot stated\tmanual\tpage 13\n"
)
"""Invented."""


@pytest.fixture
def clipboard(screen):
    """The spreadsheet beside the window: it owns the clipboard."""
    child = subprocess.Popen(
        [sys.executable, "-m", "tests.flow.clipboard_child"],
        cwd=ROOT,
        env=os.environ | {"DISPLAY": screen, "QT_QPA_PLATFORM": "xcb", "PYTHONIOENCODING": "utf-8"},
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
    )
    child.stdin.write(SHEET)
    child.stdin.close()
    assert child.stdout.readline().strip() == "ready"
    yield child
    child.kill()
    child.wait(timeout=10)
    child.stdout.close()


@pytest.fixture
def window(screen, tmp_path):
    (tmp_path / "valvebench variants").mkdir()
    home = {"XDG_DOCUMENTS_DIR": str(tmp_path), "VALVEBENCH_SETTINGS": str(tmp_path / "settings")}
    made = CountedWindow(screen, tmp_path / "valvebench jobs" / "job-T-36", **home)
    yield made
    made.process.kill()
    made.process.communicate()


@pytest.mark.slow
@pytest.mark.usefixtures("clipboard")
def test_a_pasted_table_becomes_a_variant_a_job_and_a_judged_reading(window, tmp_path):
    target = tmp_path / "valvebench variants" / "marsh.json"
    window.key("ctrl+e", "ctrl+n")
    window.type("marsh")
    window.key("Tab")
    window.type("Marsh Tern")
    window.key("alt+3", "ctrl+v")
    wait_for(window._is_at_rest, "the preview")
    window.picture(tmp_path / "preview.png")
    window.key("Return", "ctrl+s")
    window.take_keyboard("Save the variant")
    window.key("ctrl+a")
    window.type(str(target))
    window.key("Return")
    wait_for(target.is_file, "the variant file")
    saved = json.loads(target.read_text(encoding="utf-8"))
    limits = {one["name"]: (one["between"], one["low_ohm"], one["high_ohm"]) for one in saved["devices"]}
    assert limits == {"Heron": (["3", "11"], 4.0, 8.0), "Plover": (["8", "case"], 12.0, 15.0)}
    window.take_keyboard("valvebench")
    window.key("ctrl+w", "ctrl+w", "shift+Tab", "Up", "space", "Tab")
    window.type("T-36")
    window.key("Return")
    wait_for((window.folder / "journal.jsonl").is_file, "the job")
    window.take_keyboard("Job T-36")
    window.set_up()
    window.keep("5.31")
    window.picture(tmp_path / "judged.png")
    job = window.lines()[0]["body"]
    assert (job["job"], job["kind"]) == ("T-36", "bench_check")
    window.close()
    judged = json.loads(valvebench("judge", window.folder, "--json").stdout)
    (row,) = [row for row in judged["rows"] if row["entries"]]
    # 5.31 less half of the 0.2 ohm that leads may have: the stated rule for leads that were not taken off
    assert (judged["variant"], row["ohm"]) == ("marsh", pytest.approx(5.21))
    assert (row["low_ohm"], row["high_ohm"]) == (4.0, 8.0)
    assert row["verdict"] == "pass"
    print(f"\nkeystrokes: {window.keys} from the table to a judged reading")
