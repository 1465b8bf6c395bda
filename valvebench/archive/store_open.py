"""One connection to the archive's database, with the settings its promises rest on.

The file is reached through SQLite alone: opened as a plain file, even to read it, it would lose the locks that other
programs rely on (howtocorrupt.html 2.2 of SQLite's documentation).
"""

from __future__ import annotations

import contextlib
import os
import sqlite3
import threading
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any, Final

from sqlalchemy import create_engine
from sqlalchemy.dialects import sqlite
from sqlalchemy.engine import Connection, Engine
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import NullPool

from valvebench.archive.archives import DATABASE_NAME
from valvebench.archive.saver import reason, sync_folder
from valvebench.archive.store_place import refuse_share
from valvebench.archive.store_schema import APPLICATION_ID, FORMAT, FTS, FTS_OPTIONS, all_tables
from valvebench.archive.store_words import TOKENIZER
from valvebench.model.errors import BadInput, EvidenceBroken, WorldFailed, bad

FILES_NAME: Final = "blobs"
BUSY_MS: Final = 5000
PAGE_BYTES: Final = 4096
DIALECT: Final = sqlite.dialect(paramstyle="qmark")
_LONGEST_TURN_S: Final = 0.5
_PRAGMAS: Final = (
    f"PRAGMA busy_timeout = {BUSY_MS}",
    "PRAGMA synchronous = EXTRA",
    "PRAGMA foreign_keys = ON",
    "PRAGMA trusted_schema = OFF",
    "PRAGMA cell_size_check = ON",
    "PRAGMA mmap_size = 0",
)
_OURS: Final = (sqlite3.ProgrammingError, sqlite3.InterfaceError, sqlite3.IntegrityError)
"""A fault of this program, not of the world: it goes to the log of faults as it is."""
LARGEST_BYTES: Final = 300 * 1024 * 1024
"""No longer text or blob is read: a journal of the largest size and a little more."""


class Turns:
    """One thread at a time, the same one again as often as it likes; long work can see that others wait."""

    def __init__(self) -> None:
        self._lock, self._count = threading.RLock(), threading.Lock()
        self.waiting = 0

    def __enter__(self) -> None:
        self.acquire()

    def __exit__(self, *_: object) -> None:
        self.release()

    def acquire(self) -> None:
        """Wait for one's turn."""
        if self._lock.acquire(blocking=False):
            return
        self._wait(+1)
        try:
            self._lock.acquire()
        finally:
            self._wait(-1)

    def _wait(self, more: int) -> None:
        with self._count:
            self.waiting += more

    def release(self) -> None:
        """Let others go on."""
        self._lock.release()

    @contextlib.contextmanager
    def let_go(self) -> Iterator[None]:
        """In the middle of long work: whoever waits has a turn while something else is done, and before it goes on."""
        self._lock.release()
        try:
            yield
            deadline = time.monotonic() + _LONGEST_TURN_S
            while self.waiting and time.monotonic() < deadline:
                time.sleep(0.0005)
        finally:
            self._lock.acquire()


class Database:
    """The database of one archive; one connection, used by one thread at a time."""

    def __init__(self, path: Path, *, is_new: bool = False) -> None:
        self.path = path
        self.lock = Turns()
        self._engine = _engine(path, is_new=is_new)
        with translated(path):
            self._connection = self._engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        self.execute = self._connection.exec_driver_sql
        try:
            with translated(path):
                self._set_up()
        except BaseException:
            self.close()
            raise

    def _set_up(self) -> None:
        # WAL has a known race in the SQLite of many Pythons (3.7.0 to 3.51.2), and one bench has no use for it
        mode = self.value("PRAGMA journal_mode = DELETE")
        if mode != "delete":
            raise WorldFailed(f"{self.path}: its journal is set to {mode} and does not let itself be set back.")

    @property
    def connection(self) -> Connection:
        """For what is built by the library instead of run by the driver."""
        return self._connection

    @property
    def driver(self) -> sqlite3.Connection:
        """The driver's own connection, for a backup."""
        found: Any = self._connection.connection.dbapi_connection
        return found  # type: ignore[no-any-return]

    def value(self, sql: str, values: Sequence[Any] = ()) -> Any:
        """The first column of the first row, or None."""
        row = self.execute(sql, tuple(values)).fetchone()
        return row[0] if row is not None else None

    def rows(self, sql: str, values: Sequence[Any] = ()) -> Sequence[Any]:
        """All rows, read with nobody else on the connection."""
        with self.lock, translated(self.path):
            return self.execute(sql, tuple(values)).fetchall()

    def plain_rows(self, sql: str, values: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """The same by the driver alone: for very many rows."""
        with self.lock, translated(self.path):
            return self.driver.execute(sql, tuple(values)).fetchall()

    @contextlib.contextmanager
    def reading(self) -> Iterator[None]:
        """Several reads, nobody else on the connection meanwhile."""
        with self.lock, translated(self.path):
            yield

    @contextlib.contextmanager
    def writing(self) -> Iterator[None]:
        """All of it or nothing; returns only when it is on the disk (raises WorldFailed: it does not count)."""
        with self.lock, translated(self.path):
            self.execute("BEGIN IMMEDIATE")
            try:
                yield
                self.execute("COMMIT")
            except BaseException:
                with contextlib.suppress(DBAPIError, sqlite3.Error):  # some faults have rolled back already
                    self.execute("ROLLBACK")
                raise

    def close(self) -> None:
        """Let go of the file."""
        with self.lock, contextlib.suppress(DBAPIError):
            self._connection.close()
            self._engine.dispose()


def _set(connection: sqlite3.Connection, *, is_new: bool) -> None:
    connection.isolation_level = None
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LARGEST_BYTES)
    connection.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)
    if is_new:
        connection.execute(f"PRAGMA page_size = {PAGE_BYTES}")
    for pragma in _PRAGMAS:
        connection.execute(pragma)


def _engine(path: Path, *, is_new: bool) -> Engine:
    mode = "rwc" if is_new else "rw"

    def connect() -> sqlite3.Connection:
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=BUSY_MS / 1000, check_same_thread=False
        )
        try:
            _set(connection, is_new=is_new)
        except BaseException:
            connection.close()
            raise
        return connection

    return create_engine("sqlite://", creator=connect, poolclass=NullPool)


@contextlib.contextmanager
def translated(path: Path) -> Iterator[None]:
    """Turn what the driver says into a sentence for people (raises WorldFailed, EvidenceBroken)."""
    try:
        yield
    except UnicodeDecodeError as error:  # what SQLite says of a damaged file may hold bytes of it
        raise told(path, sqlite3.DatabaseError(f"damaged, {error.object!r:.80}"), is_damaged=True) from error
    except (DBAPIError, sqlite3.Error) as error:
        if isinstance(getattr(error, "orig", None) or error, _OURS):
            raise
        raise told(path, error) from error


def told(path: Path, error: Exception, *, is_damaged: bool = False) -> WorldFailed | EvidenceBroken | BadInput:
    """The driver's error in words, with what to do."""
    cause = getattr(error, "orig", None) or error
    name = str(getattr(cause, "sqlite_errorname", "") or "")
    said = str(cause)
    if name.startswith("SQLITE_NOTADB"):
        return bad(str(path), "a file that is no archive", "an archive made by this program")
    if name == "SQLITE_CORRUPT_VTAB":
        return EvidenceBroken(f"{path}: the words to find by are damaged ({said}). Run 'valvebench archive rebuild'.")
    if is_damaged or name.startswith("SQLITE_CORRUPT"):
        return EvidenceBroken(f"{path}: the archive's file is damaged ({said}). Restore the latest backup.")
    if name == "SQLITE_IOERR_DIR_FSYNC":  # comes after the journal is gone: from there on what was written counts
        return WorldFailed(
            f"{path}: written, but the disk does not confirm it ({said}). Check the disk and do the same once more."
        )
    advice = {
        "SQLITE_BUSY": "Another program is writing to the archive; try again when it has finished.",
        "SQLITE_LOCKED": "Another part of the program is writing to the archive; try again in a moment.",
        "SQLITE_FULL": "Make room on the disk and try again.",
        "SQLITE_READONLY": "Choose a folder that may be written to.",
        "SQLITE_CANTOPEN": "Check the name of the folder and whether it may be written to.",
    }
    found = next((words for begin, words in advice.items() if name.startswith(begin)), "Check the disk and try again.")
    return WorldFailed(f"{path}: nothing was changed ({said}). {found}")


def open_database(folder: Path, *, mounts: str | None = None) -> Database:
    """Open the archive in a folder, or make a new one there (raises BadInput, WorldFailed, EvidenceBroken)."""
    refuse_share(folder, mounts=mounts)
    path = folder / DATABASE_NAME
    try:
        path.stat()
    except FileNotFoundError:
        return _made(folder)
    except OSError as error:
        raise WorldFailed(f"{path}: cannot be reached ({reason(error)}).") from error
    database = Database(path)
    try:
        with translated(path):
            # a first start that was killed leaves nothing, or what SQLite has just taken back to nothing
            if not is_ours(database) and database.value("PRAGMA page_count") == 0:
                _fill(database)
            else:
                _check(database)
    except BaseException:
        database.close()
        raise
    return database


def is_ours(database: Database) -> bool:
    """Whether the file says that it is an archive."""
    return bool(database.value("PRAGMA application_id") == APPLICATION_ID)


def _made(folder: Path) -> Database:
    if folder.is_dir() and any(one.name != FILES_NAME for one in folder.iterdir()):
        advice = "Name a new or empty folder, or the folder of an archive."
        raise bad(str(folder), "a folder with other things in it", "the folder of an archive", advice)
    try:
        above = [made.parent for made in (folder, *folder.parents) if not made.exists()]
        (folder / FILES_NAME).mkdir(parents=True, exist_ok=True)
        for holder in (*reversed(above), folder):
            sync_folder(holder)
    except OSError as error:
        raise WorldFailed(f"{folder}: the archive could not be made ({reason(error)}).") from error
    database = Database(folder / DATABASE_NAME, is_new=True)
    try:
        with translated(database.path):
            _fill(database)
    except BaseException:
        database.close()
        raise
    return database


def _fill(database: Database) -> None:
    """Make all tables in one go: a killed program leaves a file without any."""
    with database.writing():
        if is_ours(database):  # somebody was quicker
            return
        for table in all_tables():
            table.create(database.connection, checkfirst=False)
        database.execute(f"CREATE VIRTUAL TABLE {FTS} USING fts5(w, {FTS_OPTIONS})")
        named = [("id", os.urandom(8).hex()), ("tokenizer", str(TOKENIZER))]
        database.execute("INSERT INTO meta (name, value) VALUES (?, ?)", named)
        database.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        database.execute(f"PRAGMA user_version = {FORMAT}")


def _check(database: Database) -> None:
    """Refuse what is no archive or a newer one; move an older one forward."""
    if not is_ours(database):
        raise bad(str(database.path), "a database of another program", "an archive made by this program")
    found = database.value("PRAGMA user_version")
    if found > FORMAT:
        expected = f"at most format {FORMAT}"
        advice = (
            "This archive was written by a newer valvebench. Install that one on this computer; nothing was changed."
        )
        raise bad(str(database.path), f"format {found}", expected, advice)
    if found < FORMAT:
        from valvebench.archive.store_migrate import migrate  # brings Alembic with it

        migrate(database, found)
