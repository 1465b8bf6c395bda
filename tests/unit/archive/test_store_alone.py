"""The database file is reached through SQLite alone: opened as a plain file it would lose the locks others rely on.

howtocorrupt.html 2.2 of SQLite's documentation: POSIX locks go with any close of the file in the same process.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.data.archived import add_to, session_in
from valvebench.archive.store_restore import restore
from valvebench.bench.archived import Again, Asked
from valvebench.model.entry import Outcome
from valvebench.model.words import Rule

_opened: list[str] = []
_is_watching = [False]


def _watch(event, arguments):
    if _is_watching[0] and event == "open" and isinstance(arguments[0], str | bytes | os.PathLike):
        _opened.append(os.fsdecode(arguments[0]))


sys.addaudithook(_watch)  # can never be taken away again: it hears nothing unless a test says so


@pytest.fixture
def opened():
    _opened.clear()
    _is_watching[0] = True
    yield _opened
    _is_watching[0] = False


def test_the_hook_sees_a_plain_open(opened, tmp_path):
    (tmp_path / "archive.sqlite").write_bytes(b"")
    assert "archive.sqlite" in [Path(name).name for name in opened]


def test_nothing_opens_the_database_as_a_plain_file(opened, store, tmp_path):
    folder = session_in(tmp_path, "1")
    ident = store.add(folder).id
    add_to(folder, Outcome(fitted=True))
    store.add(folder)
    store.find(Asked(text="heron"))
    store.show(ident)
    store.view(ident)
    store.write_folder(ident, tmp_path / "again")
    store.trend("tern-body-2", "Heron")
    store.rejudge(Again(rule=Rule.PLAIN))
    store.rebuild()
    store.verify()
    store.export(tmp_path / "csv")
    store.backup(tmp_path / "b.backup")
    restore(tmp_path / "b.backup", tmp_path / "new")
    assert len(opened) > 10
    assert [name for name in opened if Path(name).name == "archive.sqlite"] == []


def test_while_a_write_is_held_no_other_program_gets_in(store, tmp_path):
    """What the other calls do meanwhile must not let go of the lock."""
    ident = store.add(session_in(tmp_path, "1")).id
    child = (
        "import sqlite3, sys; sqlite3.connect(sys.argv[1], timeout=0, isolation_level=None).execute('BEGIN IMMEDIATE')"
    )
    with store.database.writing():
        store.find(Asked(text="heron"))
        store.show(ident)
        store.view(ident)
        command = [sys.executable, "-c", child, str(store.database.path)]
        found = subprocess.run(command, capture_output=True, text=True, check=False)
    assert "database is locked" in found.stderr
