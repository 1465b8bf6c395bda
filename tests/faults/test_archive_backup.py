"""A backup made while sessions are added is put back on an empty machine: the same rows, by their hashes."""

from __future__ import annotations

import hashlib
import itertools
import json
import random
import shutil
import sqlite3
import threading
import zlib
from collections import Counter
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.data.archived import session_in
from tests.fakes.archive_sessions import Sessions
from tests.fakes.archive_writers import PHOTO, opened, session_with_photo
from tests.fakes.faulty_os import RecordingOs
from tests.patience import PATIENCE_MS
from valvebench.__main__ import main
from valvebench.archive import store_backup
from valvebench.archive.store import Store
from valvebench.archive.store_restore import restore
from valvebench.model.entry import sha256_of
from valvebench.model.errors import BenchError

BEFORE, MEANWHILE, WAITS = 12, 20, 5
PAGES_A_STEP = 4  # many steps in a small archive: as many chances for a write between two of them
BY_SESSION = {
    "journal": "session_id",
    "journal_tail": "session_id",
    "session_blob": "session_id",
    "session": "id",
    "code": "session_id",
    "reading": "session_id",
    "pack": "session_id",
    "outcome": "session_id",
}


class Round(NamedTuple):
    """One backup during writing: sessions in it, added meanwhile, times it began anew, rows with equal hashes."""

    sessions: int
    added: int
    restarts: int
    rows: int
    unlike: int


def row_hashes(store: Store, last: int) -> Counter[str]:
    """The hash of each row of sessions up to a number, with the name of its table; no two rows are alike."""
    return Counter(
        f"{name} {hashlib.sha256(repr(tuple(row)).encode()).hexdigest()}"
        for name, number in BY_SESSION.items()
        for row in store.database.rows(f"SELECT * FROM {name} WHERE {number} <= ?", (last,))
    )


def backed_up_while_writing(place: Path, name: str) -> Round:
    seed = zlib.crc32(name.encode())
    made, store = Sessions(place, seed), opened(place / "archive")
    for number in range(BEFORE):
        store.keep(made.prepared(made.closed(f"early-{number}")))
    store.add(session_with_photo(place / "jobs", "photo"))
    waiting = [made.prepared(made.closed(f"late-{number}")) for number in range(MEANWHILE)]
    begun, came, heard = threading.Event(), threading.Semaphore(0), []

    def add() -> None:
        begun.wait()
        for one in waiting:
            store.keep(one)
            came.release()

    def step(done: int, _of: int) -> bool:
        heard.append(done)
        begun.set()
        if len(heard) <= WAITS:
            came.acquire(timeout=PATIENCE_MS / 1000)  # somebody adds between two steps, however busy the machine is
        return True

    writer = threading.Thread(target=add)
    writer.start()
    try:
        counted = store.backup(place / "a.backup", step=step)
    finally:
        begun.set()
        writer.join()
    return _compared(place, store, counted.sessions, sum(b < a for a, b in itertools.pairwise(heard)))


def _compared(place: Path, store: Store, sessions: int, restarts: int) -> Round:
    """The restored archive beside the one that went on growing."""
    assert restore(place / "a.backup", place / "again").sessions == sessions
    again = opened(place / "again")
    try:
        theirs, ours = row_hashes(again, sessions), row_hashes(store, sessions)
        checked = again.verify()
        assert checked.ok, checked.problems
        assert (place / "again" / "blobs" / sha256_of(PHOTO)).read_bytes() == PHOTO
        assert row_hashes(again, 10**9) == theirs
    finally:
        again.close()
        store.close()
    unlike = ((theirs - ours) + (ours - theirs)).total()
    return Round(sessions, sessions - BEFORE - 1, restarts, ours.total(), unlike)


def rounds(place: Path, name: str, count: int) -> list[Round]:
    found = []
    for number in range(count):
        (place / str(number)).mkdir()
        found.append(backed_up_while_writing(place / str(number), f"{name} {number}"))
        shutil.rmtree(place / str(number))
    return found


def told(found: list[Round]) -> str:
    equal = sum(one.unlike == 0 for one in found)
    added = sum(one.added for one in found)
    rows = sum(one.rows for one in found)
    anew = sum(one.restarts for one in found)
    return (
        f"{equal} of {len(found)} equal by {rows} row hashes; {added} sessions came in while copying, {anew} begun anew"
    )


def test_backups_during_writing_restore_the_same_rows(ram_path, monkeypatch, figure):
    monkeypatch.setattr(store_backup, "PAGES", PAGES_A_STEP)
    found = rounds(ram_path, "backup", 3)
    figure(13, told(found))
    assert all(one.unlike == one.restarts == 0 for one in found), found
    assert all(one.added >= WAITS for one in found), found


@pytest.mark.study
def test_twenty_of_twenty_backups_restore_the_same_rows(tmp_path, monkeypatch, figure):
    monkeypatch.setattr(store_backup, "PAGES", PAGES_A_STEP)
    found = rounds(tmp_path, "backup on disk", 20)
    figure(13, told(found))
    assert all(one.unlike == one.restarts == 0 for one in found), found


def test_a_backup_is_on_the_disk_before_it_has_its_name(tmp_path, figure):
    store = opened(tmp_path / "archive")
    store.add(session_in(tmp_path / "jobs", "1"))
    with RecordingOs() as recorded:
        store.backup(tmp_path / "a.backup")
    store.close()
    steps = [(one.call, Path(one.path).name, Path(one.other).name) for one in recorded.steps]
    part = next(name for call, name, _ in steps if call == "sync")
    assert [one for one in steps if one[0] != "unlink"] == [
        ("sync", part, ""),
        ("rename", part, "a.backup"),
        ("sync-folder", tmp_path.name, ""),
    ]
    figure(13, "the backup's file is synced, then named, then its folder is synced")


def test_restore_drill_by_the_commands_on_an_empty_machine(tmp_path, capsys, figure):
    """What the guide tells to do once a quarter: back up, lose everything, restore, check, find."""
    job = session_with_photo(tmp_path / "jobs", "Drill")
    old, new, file = str(tmp_path / "old"), str(tmp_path / "new" / "archive"), str(tmp_path / "stick.backup")
    assert main(["archive", "add", "--at", old, str(job)]) == 0
    assert main(["archive", "backup", "--at", old, file]) == 0
    shutil.rmtree(old)
    shutil.rmtree(tmp_path / "jobs")
    capsys.readouterr()
    assert main(["archive", "restore", "--at", new, file, "--json"]) == 0
    answer = json.loads(capsys.readouterr().out)
    assert (answer["ok"], answer["sessions"], answer["files"]) == (True, 1, 2)
    assert main(["archive", "find", "--at", new, "drill", "--json"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["sessions"]
    assert main(["archive", "show", "--at", new, found["id"], "--to", str(tmp_path / "back")]) == 0
    assert main(["verify", str(tmp_path / "back")]) == 0
    figure(13, "restore drill by the commands: restored, checked, found, written out as a session that verifies")


def test_a_backup_that_was_cut_or_changed_anywhere_is_refused_or_told(ram_path, figure):
    """What is restored from a spoilt file is whole, or the answer says what is not."""
    store = opened(ram_path / "archive")
    for number in range(3):
        store.add(session_in(ram_path / "jobs", f"S-{number}"))
    store.add(session_with_photo(ram_path / "jobs", "photo"))
    store.backup(ram_path / "a.backup")
    store.close()
    raw = (ram_path / "a.backup").read_bytes()
    sound, chance, found = _journals(ram_path / "a.backup"), random.Random(zlib.crc32(b"a spoilt backup")), []
    for number in range(12):
        spoilt = bytearray(raw)
        spoilt[chance.randrange(len(raw))] ^= 0x10
        (ram_path / "b.backup").write_bytes(spoilt)
        found.append(_came_of(ram_path / "b.backup", ram_path / f"again-{number}", sound))
    figure(13, f"spoilt backups: {', '.join(f'{count} {what}' for what, count in Counter(found).items())}")
    assert "unseen" not in found


def _came_of(backup: Path, folder: Path, sound: list[tuple[object, ...]]) -> str:
    try:
        counted = restore(backup, folder)
        again = opened(folder)
    except BenchError:
        return "refused"
    try:
        if counted.notes or not again.verify().ok:
            return "told"
        return "harmless" if sorted(again.database.rows("SELECT * FROM journal")) == sound else "unseen"
    finally:
        again.close()


def _journals(path: Path) -> list[tuple[object, ...]]:
    other = sqlite3.connect(path)
    try:
        return sorted(other.execute("SELECT * FROM journal").fetchall())
    finally:
        other.close()
