"""The whole archive as one file, made while sessions are added, and put back where nothing is."""

from __future__ import annotations

import contextlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from valvebench.archive.saver import TEMPORARY_PREFIX, advice, reason, sync_folder
from valvebench.archive.store_add import Shelf
from valvebench.archive.store_open import Database, translated
from valvebench.bench.archived import Counted, Step, always
from valvebench.model.errors import WorldFailed, bad

PAGES: Final = 256
"""Pages for one step (1 MiB): a session added meanwhile waits no longer than for one of them."""
_PAGES_FOR_A_SYNC: Final = 4096
FILES_TABLE: Final = "beside"
_MAKE_FILES: Final = f"CREATE TABLE {FILES_TABLE} (sha256 BLOB PRIMARY KEY, data BLOB NOT NULL) STRICT, WITHOUT ROWID"
_MOST_RESTARTS: Final = 2


class _Stopped(Exception):
    """The person does not want the rest."""


def backup(database: Database, target: Path, *, step: Step = always) -> Counted:
    """Write the archive into one file, replacing an older one only when the new one is whole and on the disk.

    `step` hears pages done and their number; returns what is in the file (raises WorldFailed, EvidenceBroken).
    """
    if not target.parent.is_dir():
        raise bad("backup", str(target.parent), "a folder that is there")
    if target.resolve() == database.path.resolve() or target.is_dir():
        raise bad("backup", str(target), "the name of a new file outside the archive")
    part = target.parent / f"{TEMPORARY_PREFIX}{os.urandom(8).hex()}"
    try:
        with _plain(part) as copy:
            _copy_pages(database, copy, _synced(part, step))
            files, lost = _copy_files(Shelf(database.path.parent), copy)
            sessions = int(copy.execute("SELECT count(*) FROM journal").fetchone()[0])
        if lost and target.exists():
            what = f"{len(lost)} files of the archive are missing or changed, and the older backup may still hold them"
            raise WorldFailed(f"{target}: not replaced: {what}. Write this backup under another name.")
        _put_in_place(part, target)
    except _Stopped:
        return Counted(0, 0, is_whole=False)
    except OSError as error:
        if isinstance(error, WorldFailed):
            raise
        raise WorldFailed(f"{target}: not written ({reason(error)}). {advice(error)}") from error
    finally:
        for leftover in (part, part.with_name(part.name + "-journal")):
            with contextlib.suppress(OSError):
                leftover.unlink(missing_ok=True)
    notes = tuple(f"file {sha256[:12]}... is missing or changed and is not in the backup" for sha256 in lost)
    return Counted(sessions, files, is_whole=True, notes=notes)


@contextlib.contextmanager
def _plain(path: Path) -> Iterator[sqlite3.Connection]:
    """A database file of its own, not of the archive's."""
    with translated(path):
        connection = sqlite3.connect(path, isolation_level=None)
        try:
            connection.execute("PRAGMA synchronous = EXTRA")
            yield connection
        finally:
            connection.close()


def _put_in_place(part: Path, target: Path) -> None:
    # the connection is closed: this is a file like any other, and its last write may still be in memory
    _sync(part)
    os.replace(part, target)  # noqa: PTH105  the fault tests watch the os calls
    try:
        sync_folder(target.parent)
    except OSError as error:
        what = f"written, but the disk does not confirm it ({reason(error)})"
        raise WorldFailed(f"{target}: {what}. {advice(error)}") from error


def _copy_pages(database: Database, copy: sqlite3.Connection, step: Step) -> None:
    """Page by page on the connection that writes: others add sessions between two steps and nothing starts anew.

    Another program that writes meanwhile makes it begin again; after a few times others are held off to the end.
    """
    copying = _Copying(database, step)
    try:
        try:
            with database.lock, translated(database.path):
                database.driver.backup(copy, pages=PAGES, progress=copying.heard, sleep=0)
        except _BegunAgain:
            with database.lock, translated(database.path):
                database.execute("BEGIN")
                try:
                    database.value("SELECT count(*) FROM meta")  # from here on others may read, not write
                    database.driver.backup(copy, pages=PAGES, progress=_Copying(database, step, is_alone=True).heard)
                finally:
                    database.execute("ROLLBACK")
    finally:
        copy.commit()


def _synced(part: Path, step: Step) -> Step:
    """Puts on the disk what was written so far every now and then: left to the end, one long sync would hold all up."""
    synced = 0

    def heard(done: int, of: int) -> bool:
        nonlocal synced
        if done - synced >= _PAGES_FOR_A_SYNC:
            synced = done
            _sync(part)
        return step(done, of)

    return heard


def _sync(path: Path) -> None:
    descriptor = os.open(path, os.O_RDWR)  # a file of our own, in which nobody else holds a lock
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


class _BegunAgain(Exception):
    """Another program wrote so often that the copy would never end."""


class _Copying:
    """Watches a copy: lets others in between two steps, and notices when it begins anew."""

    def __init__(self, database: Database, step: Step, *, is_alone: bool = False) -> None:
        self._database, self._step, self._is_alone = database, step, is_alone
        self._left: int | None = None
        self._restarts = 0

    def heard(self, _status: int, left: int, total: int) -> None:
        """After each step."""
        if self._left is not None and left >= self._left and not self._is_alone:
            self._restarts += 1
            if self._restarts > _MOST_RESTARTS:
                raise _BegunAgain
        self._left = left
        with contextlib.nullcontext() if self._is_alone else self._database.lock.let_go():
            is_wanted = self._step(total - left, total)
        if not is_wanted:
            raise _Stopped


def _copy_files(shelf: Shelf, copy: sqlite3.Connection) -> tuple[int, list[str]]:
    """The files that lie beside the database, each as it was kept: how many, and the hashes of those that are lost."""
    copy.execute(_MAKE_FILES)
    names = [row[0].hex() for row in copy.execute("SELECT sha256 FROM blob WHERE data IS NULL ORDER BY sha256")]
    lost = []
    for sha256 in names:
        raw = shelf.get(sha256)
        if raw is None:
            lost.append(sha256)
        else:
            copy.execute(f"INSERT INTO {FILES_TABLE} VALUES (?, ?)", (bytes.fromhex(sha256), raw))
    return len(names) - len(lost), lost
