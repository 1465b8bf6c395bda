"""The settings an archive is opened with, and what is not opened at all."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.data.archived import DayClock
from valvebench.archive.store import Store
from valvebench.archive.store_open import open_database, told
from valvebench.archive.store_place import refuse_share, share_kind
from valvebench.archive.store_schema import APPLICATION_ID, FORMAT
from valvebench.bench.archived import Asked
from valvebench.model.entry import Note
from valvebench.model.errors import BadInput, EvidenceBroken, WorldFailed

# journal mode and synchronous: lang and pragma pages of SQLite's documentation, edition 3.40.1; EXTRA is 3
SETTINGS = {
    "journal_mode": "delete",
    "synchronous": 3,
    "foreign_keys": 1,
    "trusted_schema": 0,
    "cell_size_check": 1,
    "busy_timeout": 5000,
    "page_size": 4096,
    "application_id": APPLICATION_ID,
    "user_version": FORMAT,
}


@pytest.mark.parametrize("name", SETTINGS)
@pytest.mark.parametrize("is_new", [True, False])
def test_every_setting_holds_when_it_is_made_and_when_it_is_opened(tmp_path, name, is_new):
    database = open_database(tmp_path / "archive")
    if not is_new:
        database.close()
        database = open_database(tmp_path / "archive")
    assert database.value(f"PRAGMA {name}") == SETTINGS[name]
    database.close()


def test_a_file_set_to_wal_is_set_back(store):
    path = store.database.path
    store.close()
    with sqlite3.connect(path) as other:
        other.execute("PRAGMA journal_mode = WAL")
    other.close()
    database = open_database(path.parent)
    assert database.value("PRAGMA journal_mode") == "delete"
    database.close()


def test_one_that_cannot_be_set_back_is_refused(store):
    path = store.database.path
    store.close()
    other = sqlite3.connect(path, isolation_level=None)
    other.execute("PRAGMA journal_mode = WAL")
    other.execute("SELECT * FROM meta").fetchall()
    with pytest.raises(WorldFailed, match=r"set to wal|writing to the archive"):
        Store(path.parent, clock=DayClock())
    other.close()


def changed(store, *statements):
    path = store.database.path
    store.close()
    other = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        other.execute(statement)
    other.close()
    return path.parent


def test_a_newer_archive_is_refused_in_words_and_stays_as_it_is(store):
    folder = changed(store, f"PRAGMA user_version = {FORMAT + 1}")
    before = (folder / "archive.sqlite").read_bytes()
    with pytest.raises(BadInput, match=rf"format {FORMAT + 1}.*newer valvebench"):
        Store(folder, clock=DayClock())
    assert (folder / "archive.sqlite").read_bytes() == before


def test_a_database_of_another_program_is_refused(store):
    folder = changed(store, "PRAGMA application_id = 7")
    with pytest.raises(BadInput, match="another program"):
        Store(folder, clock=DayClock())


@pytest.mark.parametrize("raw", [b"no database at all" * 300, b"SQLite format 3\x00" + b"\xff" * 5000])
def test_a_file_that_is_no_database_is_refused(tmp_path, raw):
    (tmp_path / "archive.sqlite").write_bytes(raw)
    with pytest.raises((BadInput, EvidenceBroken)):
        Store(tmp_path, clock=DayClock())
    assert (tmp_path / "archive.sqlite").read_bytes() == raw


def test_a_folder_with_other_things_is_not_made_an_archive(tmp_path):
    (tmp_path / "holiday.txt").write_text("sun")
    with pytest.raises(BadInput, match="new or empty folder"):
        Store(tmp_path, clock=DayClock())
    assert [path.name for path in tmp_path.iterdir()] == ["holiday.txt"]


def test_a_folder_that_cannot_be_made_is_told(tmp_path):
    (tmp_path / "file").write_text("x")
    with pytest.raises(WorldFailed, match=r"could not be made|cannot be reached"):
        Store(tmp_path / "file" / "archive", clock=DayClock())


def test_what_a_killed_first_start_left_is_filled(tmp_path):
    (tmp_path / "blobs").mkdir()
    (tmp_path / "archive.sqlite").touch()
    store = Store(tmp_path, clock=DayClock())
    assert store.find(Asked()).sessions == ()
    store.close()


MOUNTS = r"""
/dev/sda1 / ext4 rw 0 0
server:/share /mnt/share nfs4 rw 0 0
//server/c /mnt/my\040disk cifs rw 0 0
/dev/sdb1 /mnt/share/stick vfat rw 0 0
user@host: /home/ann/far fuse.sshfs rw 0 0
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/home/ann/archive", None),
        ("/mnt/share", "nfs4"),
        ("/mnt/share/archive", "nfs4"),
        ("/mnt/shared/archive", None),
        ("/mnt/my disk/a/b", "cifs"),
        ("/mnt/share/stick/archive", None),
        ("/home/ann/far/archive", "fuse.sshfs"),
    ],
)
def test_what_lies_on_a_share_is_known(folder, kind):
    assert share_kind(Path(folder), mounts=MOUNTS) == kind


def test_an_archive_on_a_share_is_refused_and_not_made(tmp_path):
    mounts = f"server:/x {tmp_path} nfs rw 0 0"
    with pytest.raises(BadInput, match=r"a share on the network.*a backup of it on the share"):
        Store(tmp_path / "archive", clock=DayClock(), mounts=mounts)
    assert list(tmp_path.iterdir()) == []


def test_a_system_that_tells_nothing_refuses_nothing(tmp_path):
    refuse_share(tmp_path, mounts="")


def test_what_a_first_start_killed_while_writing_left_is_filled(tmp_path):
    """Half written, with a rollback journal that says it was empty before."""
    child = (
        "import os, sqlite3, sys; c = sqlite3.connect(sys.argv[1], isolation_level=None);"
        "c.execute('PRAGMA cache_size = 1'); c.execute('BEGIN'); c.execute('CREATE TABLE t (b)');"
        "c.execute('INSERT INTO t VALUES (zeroblob(100000))'); os._exit(9)"
    )
    path = tmp_path / "archive.sqlite"
    subprocess.run([sys.executable, "-c", child, str(path)], check=False)
    assert path.stat().st_size > 0
    store = Store(tmp_path, clock=DayClock())
    assert store.find(Asked()).sessions == ()
    store.close()


def test_two_programs_share_an_archive_and_wait_for_each_other(store, jobs):
    """The other program holds the write lock for a moment; adding waits and then goes through."""
    folder = jobs("2301")
    child = (
        "import sqlite3, sys, time; c = sqlite3.connect(sys.argv[1], isolation_level=None);"
        "c.execute('BEGIN IMMEDIATE'); print('held', flush=True); time.sleep(0.3); c.execute('COMMIT')"
    )
    command = [sys.executable, "-c", child, str(store.database.path)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout.readline() == "held\n"
        store.add(folder)
    assert [one.job for one in store.find(Asked()).sessions] == ["2301"]


def test_several_threads_ask_at_once(store, jobs):
    folders = [jobs(f"T-{n}") for n in range(4)]
    failed = []

    def work(folder):
        try:
            store.add(folder)
            store.find(Asked(text="t"))
        except Exception as error:
            failed.append(error)

    threads = [threading.Thread(target=work, args=(folder,)) for folder in folders]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failed == []
    assert len(store.find(Asked()).sessions) == 4
    assert store.verify().ok


@pytest.mark.parametrize(
    ("name", "kind", "said"),
    [
        ("SQLITE_BUSY", WorldFailed, "Another program is writing"),
        ("SQLITE_FULL", WorldFailed, "Make room"),
        ("SQLITE_READONLY_DIRECTORY", WorldFailed, "may be written to"),
        ("SQLITE_CORRUPT_INDEX", EvidenceBroken, "latest backup"),
        ("SQLITE_CORRUPT_VTAB", EvidenceBroken, "archive rebuild"),
        ("SQLITE_NOTADB", BadInput, "no archive"),
        ("SQLITE_IOERR_READ", WorldFailed, "nothing was changed (it refused). Check the disk"),
        # the folder is synced after the rollback journal is gone, so that the write already counts (pragma.html, EXTRA)
        ("SQLITE_IOERR_DIR_FSYNC", WorldFailed, "written, but the disk does not confirm it"),
    ],
)
def test_what_the_driver_says_in_words(name, kind, said):
    error = sqlite3.OperationalError("it refused")
    error.sqlite_errorname = name
    found = told(Path("archive.sqlite"), error)
    assert isinstance(found, kind)
    assert said in str(found)


def test_a_full_disk_is_told_and_nothing_changed(store, jobs):
    folder = jobs("2301", Note(text="long " * 2000))
    store.database.execute(f"PRAGMA max_page_count = {store.database.value('PRAGMA page_count')}")
    with pytest.raises(WorldFailed, match="Make room"):
        store.add(folder)
    store.database.execute("PRAGMA max_page_count = 1000000")
    assert store.add(folder).change.value == "added"
