"""Fault tests fork, lock and kill: they need a system that can.  Their figures come as a table at the end."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

collect_ignore_glob = [] if hasattr(os, "fork") else ["test_*.py"]

ROWS = {
    1: "a save that fails never harms the old session",
    2: "nor workbook, bundle, its opening, settings",
    3: "what is said to be saved survives a power cut",
    4: "a program that is killed loses nothing accepted",
    5: "a second fault while mending leaves the same end",
    6: "a full disk is survived and said",
    7: "a sync that failed is never tried again",
    8: "what the archive acknowledged is stored",
    9: "nobody touches the archive's file behind the library",
    10: "a library with a known fault is not used that way",
    11: "a network share is refused",
    12: "a damaged archive is noticed",
    13: "a backup can be restored",
    14: "any edit, swap, insertion and deletion is seen",
    15: "a cut tail and a rebuilt chain are seen with the head",
    16: "a correction keeps the original",
    17: "hashes are those of the standard",
    18: "bad JSON is refused, never half read",
    19: "any text may be typed",
    22: "what is opened writes nowhere else",
    23: "a search never breaks",
}
"""What is promised, by the number under which the figures are kept."""


@pytest.fixture
def figure(record_property):
    """Keep a figure for the table: the number of the promise, and words."""

    def keep(row: int, words: str) -> None:
        assert row in ROWS
        record_property(f"row {row}", words)

    return keep


def pytest_terminal_summary(terminalreporter, config):
    """The table, with `-s` or `--study`."""
    if not (config.getoption("--study") or config.getoption("capture") == "no"):
        return
    reports = terminalreporter.stats.get("passed", [])
    found = [(int(name[4:]), words) for one in reports for name, words in one.user_properties if name[:4] == "row "]
    if found:
        terminalreporter.section("what is promised, and the figures of this run")
    last = None
    for row, words in sorted(found):
        if row != last:
            terminalreporter.write_line(f"{row:>3}  {ROWS[row]}")
        terminalreporter.write_line(f"       {words}")
        last = row


@pytest.fixture
def ram_path(tmp_path):
    """A folder in memory where there is one: thousands of trials need a file system, not a disk."""
    shared = Path("/dev/shm")
    if not os.access(shared, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(prefix="valvebench-", dir=shared) as folder:
        yield Path(folder)
