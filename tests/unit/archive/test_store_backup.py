"""Backup and restore: whole, while sessions are added, and a stranger's file looked over first."""

from __future__ import annotations

import shutil
import sqlite3
import threading

import pytest

from tests.data.archived import DayClock, add_to, everything, reading, session_in
from tests.data.made_photo import made_photo
from valvebench.archive import store_backup, store_rebuild, store_restore
from valvebench.archive.store import Store
from valvebench.archive.store_restore import restore
from valvebench.bench.archived import Again, Asked
from valvebench.compose import open_desk
from valvebench.model.entry import Outcome, sha256_of
from valvebench.model.errors import BadInput, EvidenceBroken, WorldFailed
from valvebench.model.words import Rule

PHOTO = made_photo(size=(60, 40))


def with_photo(root, job):
    folder = session_in(root, job, is_closed=False)
    desk = open_desk(folder)
    desk.add_photo(PHOTO, file_name="body.jpg", of="the body")
    desk.close()
    desk.release()
    return folder


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    root = tmp_path_factory.mktemp("template")
    store = Store(root / "archive", clock=DayClock())
    for number in range(3):
        store.add(session_in(root / "jobs", f"B-{number}", [reading("Heron", 5.2 + number / 10)]))
    folder = with_photo(root / "jobs", "B-photo")
    add_to(folder, Outcome(fitted=True))
    store.add(folder)
    store.rejudge(Again(rule=Rule.PLAIN))
    store.close()
    return root / "archive"


@pytest.fixture
def filled(template, copy_of):
    return copy_of(template)


def rows(store):
    found = everything(store)
    return {name: found[name] for name in found if not name.startswith("fts")}


def test_restored_on_an_empty_machine_it_is_the_same(filled, tmp_path):
    counted = filled.backup(tmp_path / "b.backup")
    assert (counted.sessions, counted.files, counted.is_whole, counted.notes) == (4, 1, True, ())
    filled.close()
    shutil.move(filled.folder, tmp_path / "gone")
    restored = restore(tmp_path / "b.backup", tmp_path / "new" / "archive")
    assert (restored.sessions, restored.files) == (4, 1)
    again = Store(tmp_path / "new" / "archive", clock=DayClock())
    before = Store(tmp_path / "gone", clock=DayClock())
    assert rows(again) == rows(before)
    assert (again.folder / "blobs" / sha256_of(PHOTO)).read_bytes() == PHOTO
    assert again.verify().ok
    assert [one.job for one in again.find(Asked(text="heron")).sessions] == ["B-photo", "B-2", "B-1", "B-0"]
    assert "beside" not in everything(again)
    again.close()
    before.close()


def test_a_backup_replaces_an_older_one_and_leaves_nothing_else(filled, tmp_path):
    target = tmp_path / "out" / "b.backup"
    target.parent.mkdir()
    target.write_bytes(b"the older one")
    filled.backup(target)
    assert [path.name for path in target.parent.iterdir()] == ["b.backup"]
    assert target.read_bytes().startswith(b"SQLite format 3\x00")


def test_sessions_added_meanwhile_start_nothing_anew(filled, tmp_path, monkeypatch):
    """One page a step; between two of them another thread adds a session through the same connection."""
    monkeypatch.setattr(store_backup, "PAGES", 1)
    folders = [session_in(tmp_path / "jobs", f"M-{n}") for n in range(3)]
    heard, added = [], threading.Event()

    def add():
        for folder in folders:
            filled.add(folder)
        added.set()

    thread = threading.Thread(target=add)

    def step(done, of):
        heard.append((done, of))
        if len(heard) == 5:
            thread.start()
        if len(heard) >= 5 and not added.wait(0.02):
            return True
        return True

    counted = filled.backup(tmp_path / "b.backup", step=step)
    thread.join()
    assert [done for done, _ in heard] == sorted(done for done, _ in heard)
    assert added.is_set()
    restore(tmp_path / "b.backup", tmp_path / "again")
    again = Store(tmp_path / "again", clock=DayClock())
    assert again.verify().ok
    assert len(again.find(Asked()).sessions) == counted.sessions >= 4
    again.close()


def test_another_program_that_writes_all_the_time_does_not_keep_it_from_ending(filled, tmp_path, monkeypatch):
    monkeypatch.setattr(store_backup, "PAGES", 1)
    other = sqlite3.connect(filled.database.path, timeout=0, isolation_level=None)
    heard = []

    def step(done, of):
        heard.append(done)
        if len(heard) < 200:
            try:
                other.execute("UPDATE session SET batch = ?", (str(len(heard)),))
            except sqlite3.OperationalError:
                heard.append(-1)  # held off: the copy is alone now
        return True

    assert filled.backup(tmp_path / "b.backup", step=step).sessions == 4
    other.close()
    assert -1 in heard
    restore(tmp_path / "b.backup", tmp_path / "again")


def test_stopped_it_leaves_the_older_one(filled, tmp_path):
    target = tmp_path / "b.backup"
    target.write_bytes(b"the older one")
    assert not filled.backup(target, step=lambda done, of: False).is_whole
    assert target.read_bytes() == b"the older one"
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".save-")]


def test_a_lost_photo_is_told_and_never_replaces_an_older_backup(filled, tmp_path):
    filled.backup(tmp_path / "older.backup")
    (filled.folder / "blobs" / sha256_of(PHOTO)).unlink()
    with pytest.raises(WorldFailed, match="the older backup may still hold them"):
        filled.backup(tmp_path / "older.backup")
    counted = filled.backup(tmp_path / "newer.backup")
    assert (counted.files, len(counted.notes)) == (0, 1)


@pytest.mark.parametrize("where", ["missing/b.backup", "copy-0/archive.sqlite", "copy-0"])
def test_a_place_that_cannot_be_meant_is_refused(filled, tmp_path, where):
    with pytest.raises(BadInput):
        filled.backup(tmp_path / where)
    assert filled.verify().ok


def test_an_archive_is_never_restored_over(filled, tmp_path):
    filled.backup(tmp_path / "b.backup")
    with pytest.raises(BadInput, match="new or empty folder"):
        restore(tmp_path / "b.backup", filled.folder)


def test_stopped_restoring_leaves_nothing(filled, tmp_path):
    filled.backup(tmp_path / "b.backup")
    assert not restore(tmp_path / "b.backup", tmp_path / "new", step=lambda done, of: False).is_whole
    assert list((tmp_path / "new").iterdir()) == []


def test_what_a_restore_that_was_killed_left_is_taken_up(filled, tmp_path):
    filled.backup(tmp_path / "b.backup")
    files = tmp_path / "new" / "blobs"
    files.mkdir(parents=True)
    (files / ".save-1").write_bytes(b"half a photo")
    (tmp_path / "new" / ".save-2").write_bytes(b"half a database")
    assert restore(tmp_path / "b.backup", tmp_path / "new").files == 1
    assert sorted(path.name for path in (tmp_path / "new").iterdir()) == ["archive.sqlite", "blobs"]
    assert [path.name for path in files.iterdir()] == [sha256_of(PHOTO)]


def test_files_that_lay_there_before_are_not_taken_away(filled, tmp_path):
    """The database is lost, its files are not: a restore that does not end leaves them."""
    filled.backup(tmp_path / "b.backup")
    kept = tmp_path / "new" / "blobs" / sha256_of(PHOTO)
    kept.parent.mkdir(parents=True)
    kept.write_bytes(PHOTO)
    assert not restore(tmp_path / "b.backup", tmp_path / "new", step=lambda done, of: False).is_whole
    assert kept.read_bytes() == PHOTO


def test_a_name_that_the_disk_does_not_confirm_is_told_as_such(filled, tmp_path, monkeypatch):
    """The file stands under its name by then: 'not written' would be wrong, and so would be taking its files away."""
    filled.backup(tmp_path / "b.backup")

    def fails(_):
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(store_backup, "sync_folder", fails)
    with pytest.raises(WorldFailed, match="written, but the disk does not confirm it"):
        filled.backup(tmp_path / "b.backup")
    monkeypatch.setattr(store_restore, "sync_folder", fails)
    with pytest.raises(WorldFailed, match="restored, but the disk does not confirm it"):
        restore(tmp_path / "b.backup", tmp_path / "new")
    again = Store(tmp_path / "new", clock=DayClock())
    assert again.verify().ok
    again.close()


HOSTILE = {
    "a trigger": ("CREATE TRIGGER t AFTER INSERT ON meta BEGIN DELETE FROM journal; END", "trigger"),
    "a view": ("CREATE VIEW v AS SELECT * FROM journal", "view"),
    "another table": ("CREATE TABLE extra (x)", "not ours"),
    "an index": ("CREATE INDEX i ON journal (bytes)", "not ours"),
    "a changed table": ("ALTER TABLE meta ADD COLUMN x TEXT", "changed"),
    "a table less": ("DROP TABLE comeback", "no table 'comeback'"),
    "a statement that is no text": (
        "PRAGMA writable_schema = ON; UPDATE sqlite_master SET sql = CAST(sql AS BLOB) WHERE name = 'session_closed'",
        "changed",
    ),
    "a newer format": ("PRAGMA user_version = 99", "format 99"),
    "another program's": ("PRAGMA application_id = 1", "another program"),
}


@pytest.mark.parametrize("what", HOSTILE)
def test_a_stranger_s_file_is_looked_over_before_anything_is_written(filled, tmp_path, what):
    path = tmp_path / "b.backup"
    filled.backup(path)
    statement, said = HOSTILE[what]
    with sqlite3.connect(path) as other:
        other.executescript(statement)
    other.close()
    with pytest.raises(BadInput, match=said):
        restore(path, tmp_path / "new")
    assert not (tmp_path / "new").exists()


def test_rows_that_refer_to_nothing_are_refused(filled, tmp_path):
    path = tmp_path / "b.backup"
    filled.backup(path)
    with sqlite3.connect(path) as other:
        other.execute("DELETE FROM blob")
    other.close()
    with pytest.raises(EvidenceBroken, match="refers to what is not there"):
        restore(path, tmp_path / "new")


@pytest.mark.parametrize("raw", [b"", b"not a database", b"SQLite format 3\x00" + b"\x00" * 4096])
def test_what_is_no_backup_is_refused(tmp_path, raw):
    (tmp_path / "b.backup").write_bytes(raw)
    with pytest.raises((BadInput, EvidenceBroken)):
        restore(tmp_path / "b.backup", tmp_path / "new")


def test_a_photo_changed_in_the_backup_is_not_written_and_told(filled, tmp_path):
    path = tmp_path / "b.backup"
    filled.backup(path)
    with sqlite3.connect(path) as other:
        other.execute("UPDATE beside SET data = CAST(data || 'x' AS BLOB)")
    other.close()
    restored = restore(path, tmp_path / "new")
    assert (restored.files, len(restored.notes)) == (0, 1)
    again = Store(tmp_path / "new", clock=DayClock())
    assert [one.job for one in again.verify().problems] == ["B-photo"]
    again.close()


def test_a_backup_cut_short_is_refused_or_named(filled, tmp_path):
    path = tmp_path / "b.backup"
    filled.backup(path)
    raw = path.read_bytes()
    for keep in (100, len(raw) // 2, len(raw) - 4096):
        path.write_bytes(raw[:keep])
        with pytest.raises((BadInput, EvidenceBroken)):
            restore(path, tmp_path / f"new-{keep}")


def test_a_backup_made_while_the_index_is_made_anew_can_be_restored(filled, tmp_path, monkeypatch):
    """What is half made then lies in the backup as well; the restored archive is without it."""
    monkeypatch.setattr(store_rebuild, "CHUNK", 1)
    filled.rebuild(step=lambda done, of: filled.backup(tmp_path / "b.backup").is_whole)
    other = sqlite3.connect(tmp_path / "b.backup")
    assert other.execute("SELECT count(*) FROM new_session").fetchone() == (4,)
    other.close()
    restore(tmp_path / "b.backup", tmp_path / "new")
    again = Store(tmp_path / "new", clock=DayClock())
    assert again.verify().ok
    assert again.database.rows("SELECT name FROM sqlite_master WHERE name LIKE 'new%'") == []
    again.close()
