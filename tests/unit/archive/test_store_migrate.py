"""Older archives: moved forward step by step after a backup; one of every format opens for ever."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import sqlalchemy

from tests.data.archived import DayClock, session_in
from valvebench.archive import store_migrate
from valvebench.archive.store import Store
from valvebench.archive.store_migrate import migrate
from valvebench.archive.store_restore import restore, unlike_ours
from valvebench.archive.store_schema import FORMAT
from valvebench.bench.archived import Asked
from valvebench.model.errors import BadInput

KEPT = sorted((Path(__file__).parents[2] / "data" / "archives").glob("format-*.sqlite"))


def add_column(operations):
    with operations.batch_alter_table("run") as table:
        table.add_column(sqlalchemy.Column("note", sqlalchemy.Text))


def add_table(operations):
    operations.create_table("extra", sqlalchemy.Column("x", sqlalchemy.Text))


STEPS = {FORMAT: add_column, FORMAT + 1: add_table}


def test_there_is_one_of_every_format():
    assert [path.stem for path in KEPT] == [f"format-{number}" for number in range(1, FORMAT + 1)]


@pytest.mark.parametrize("path", KEPT, ids=lambda path: path.stem)
def test_one_of_every_format_opens(path, tmp_path):
    """Made by `tests/data/archives/make_one.py` when the format was new; three invented sessions."""
    (tmp_path / "blobs").mkdir()
    shutil.copy(path, tmp_path / "archive.sqlite")
    store = Store(tmp_path, clock=DayClock())
    assert store.database.value("PRAGMA user_version") == FORMAT
    assert [one.job for one in store.find(Asked()).sessions] == ["K-3", "K-2", "K-1"]
    assert [one.job for one in store.find(Asked(text="qv-0418")).sessions] == ["K-1"]
    kept = store.show(store.find(Asked(text="K-2")).sessions[0].id)
    assert [(link.job, link.how) for link in kept.links] == [("K-1", "comeback_of")]
    assert [judged.what for judged in kept.judgements] == ["Plain comparison"]
    # copper by IEC 60028: 5.2 ohm at 23 degrees are 5.2 (234.5 + 20) / (234.5 + 23) at 20
    assert store.trend("tern-body-2", "Heron").points[0].ohm_at_ref == pytest.approx(5.2 * 254.5 / 257.5)
    checked = store.verify()
    assert (checked.ok, checked.sessions) == (True, 3)
    assert unlike_ours(store.database.driver) is None
    store.close()


def test_each_step_and_its_number_reach_the_disk_together_after_a_backup(store, tmp_path):
    store.add(session_in(tmp_path, "M-1"))
    kept = migrate(store.database, FORMAT, steps=STEPS, to=FORMAT + 2)
    assert store.database.value("PRAGMA user_version") == FORMAT + 2
    assert store.database.value("SELECT count(*) FROM extra") == 0
    assert store.database.value("SELECT count(note) FROM run") == 0
    assert len(store.find(Asked()).sessions) == 1
    restore(kept, tmp_path / "before")
    before = Store(tmp_path / "before", clock=DayClock())
    assert before.database.value("PRAGMA user_version") == FORMAT
    assert before.verify().ok
    before.close()


def test_a_step_that_fails_changes_nothing_and_the_ones_before_stand(store):
    def fail(operations):
        add_table(operations)
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        migrate(store.database, FORMAT, steps={FORMAT: add_column, FORMAT + 1: fail}, to=FORMAT + 2)
    assert store.database.value("PRAGMA user_version") == FORMAT + 1
    assert store.database.value("SELECT count(*) FROM sqlite_master WHERE name = 'extra'") == 0
    migrate(store.database, FORMAT + 1, steps=STEPS, to=FORMAT + 2)
    assert len(list(store.folder.glob("*.backup"))) == 2


def test_an_older_archive_is_moved_when_it_is_opened(store, monkeypatch):
    folder = store.folder
    store.database.execute(f"PRAGMA user_version = {FORMAT - 1}")
    store.close()
    done = []
    monkeypatch.setattr(store_migrate, "migrate", lambda database, found: done.append((database.path, found)))
    Store(folder, clock=DayClock()).close()
    assert done == [(folder / "archive.sqlite", FORMAT - 1)]


def test_a_format_that_never_was_is_refused(store):
    with pytest.raises(BadInput, match="format 0"):
        migrate(store.database, 0, steps={}, to=FORMAT)


def test_the_library_that_moves_archives_is_loaded_only_when_one_is_due(tmp_path):
    code = (
        "import sys; from pathlib import Path; from valvebench.compose import archives;"
        f"archives().open(Path({str(tmp_path / 'a')!r})).close(); print('alembic' in sys.modules)"
    )
    root = Path(__file__).parents[3]
    found = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert found.stdout == "False\n"


def test_steps_are_never_taken_away():
    assert sorted(store_migrate.STEPS) == list(range(1, FORMAT))
    assert re.fullmatch(r"\d+", str(FORMAT))
