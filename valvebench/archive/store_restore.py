"""Put an archive back from its backup: looked over as a stranger's file first, then written where nothing is."""

from __future__ import annotations

import contextlib
import os
import re
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

from sqlalchemy.schema import CreateIndex, CreateTable

from valvebench.archive.archives import DATABASE_NAME
from valvebench.archive.saver import TEMPORARY_PREFIX, reason, sync_folder
from valvebench.archive.store_add import Shelf
from valvebench.archive.store_backup import FILES_TABLE
from valvebench.archive.store_open import DIALECT, FILES_NAME, LARGEST_BYTES, translated
from valvebench.archive.store_place import refuse_share
from valvebench.archive.store_schema import (
    APPLICATION_ID,
    FORMAT,
    FTS,
    FTS_OPTIONS,
    PREFIX,
    all_tables,
    derived_tables,
)
from valvebench.bench.archived import Counted, Step, always
from valvebench.model.entry import sha256_of
from valvebench.model.errors import EvidenceBroken, WorldFailed, bad

_PAGES: Final = 4096
_LIMITS: Final = (
    (sqlite3.SQLITE_LIMIT_LENGTH, LARGEST_BYTES),
    (sqlite3.SQLITE_LIMIT_SQL_LENGTH, 100_000),
    (sqlite3.SQLITE_LIMIT_COLUMN, 100),
    (sqlite3.SQLITE_LIMIT_EXPR_DEPTH, 10),
    (sqlite3.SQLITE_LIMIT_ATTACHED, 0),
    (sqlite3.SQLITE_LIMIT_LIKE_PATTERN_LENGTH, 50),
)
"""Of SQLite's security.html 1.1, but for the length: a journal may be longer than a million bytes."""


def restore(backup: Path, folder: Path, *, step: Step = always) -> Counted:
    """Write the archive of a backup into a folder that holds none (raises BadInput, WorldFailed, EvidenceBroken).

    `step` hears pages done and their number; where it says stop, nothing is left behind.
    """
    refuse_share(folder)
    if not backup.is_file():
        raise bad("restore", str(backup), "a backup file of an archive")
    if folder.exists() and not all(_may_lie_there(one) for one in folder.iterdir()):
        advice = "Move it away first, or name another folder: a restored archive never overwrites one."
        raise bad("restore", f"{folder}, a folder with something in it", "a new or empty folder", advice)
    made: list[Path] = []
    try:
        with _foreign(backup) as source:
            _look_over(source, backup)
            return _write(source, folder, made, step)
    except OSError as error:
        if isinstance(error, WorldFailed):
            raise
        raise WorldFailed(f"{folder}: not restored ({reason(error)}). Nothing was left behind.") from error
    finally:
        _take_away(made, folder)


def _may_lie_there(path: Path) -> bool:
    """What a restore that was killed has left, or the files of an archive whose database is lost."""
    return path.name == FILES_NAME or path.name.startswith(TEMPORARY_PREFIX)


def _take_away(made: list[Path], folder: Path) -> None:
    for path in made:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
    if made:
        with contextlib.suppress(OSError):  # not where files lay in it before
            (folder / FILES_NAME).rmdir()


def _take_away_leftovers(folder: Path) -> None:
    for path in (*folder.glob(f"{TEMPORARY_PREFIX}*"), *(folder / FILES_NAME).glob(f"{TEMPORARY_PREFIX}*")):
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)


@contextlib.contextmanager
def _foreign(path: Path) -> Iterator[sqlite3.Connection]:
    """A file from somewhere, to be read only, with every limit set before it is looked at."""
    with translated(path):
        connection = sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
        try:
            for limit, most in _LIMITS:
                connection.setlimit(limit, most)
            for pragma in ("trusted_schema = OFF", "cell_size_check = ON", "mmap_size = 0", "query_only = ON"):
                connection.execute(f"PRAGMA {pragma}")
            yield connection
        finally:
            connection.close()


def _look_over(source: sqlite3.Connection, path: Path) -> None:
    """Structure first, then whether it is ours, then every table as we make it; no view, no trigger."""
    said = source.execute("PRAGMA quick_check(1)").fetchone()[0]
    if said != "ok":
        raise EvidenceBroken(f"{path}: the backup is damaged ({said}). Try an older one.")
    if source.execute("PRAGMA foreign_key_check").fetchone() is not None:
        raise EvidenceBroken(f"{path}: the backup is damaged: something in it refers to what is not there.")
    if source.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise bad(str(path), "a database of another program", "a backup of an archive")
    version = source.execute("PRAGMA user_version").fetchone()[0]
    if version > FORMAT:
        advice = "Install the newer valvebench on this computer; nothing was changed."
        raise bad(str(path), f"format {version}", f"at most format {FORMAT}", advice)
    if version == FORMAT and (odd := unlike_ours(source)) is not None:
        raise bad(str(path), odd, "the tables of an archive and nothing else", "Do not use this file.")


def unlike_ours(source: sqlite3.Connection) -> str | None:
    """What a database of this format has that ours has not, or lacks; None where they are alike."""
    ours, left, theirs = _shape_of(_empty), _shape_of(_left), _shape(source)
    theirs.pop(("table", FILES_TABLE), None)
    for key, sql in theirs.items():
        if ours.get(key) != sql and left.get(key) != sql:
            return f"{key[0]} {key[1]!r}, which is {'changed' if key in ours else 'not ours'}"
    missing = next((key for key in ours if key not in theirs), None)
    return f"no {missing[0]} {missing[1]!r}" if missing is not None else None


def _empty() -> sqlite3.Connection:
    connection = sqlite3.connect(":memory:")
    for table in all_tables():
        connection.execute(str(CreateTable(table).compile(dialect=DIALECT)))
        for index in table.indexes:
            connection.execute(str(CreateIndex(index).compile(dialect=DIALECT)))
    connection.execute(f"CREATE VIRTUAL TABLE {FTS} USING fts5(w, {FTS_OPTIONS})")
    return connection


def _left() -> sqlite3.Connection:
    """What a rebuild that has not ended, or was killed, has beside the tables."""
    connection = sqlite3.connect(":memory:")
    for table in derived_tables(PREFIX).sorted_tables:
        connection.execute(str(CreateTable(table).compile(dialect=DIALECT)))
    connection.execute(f"CREATE VIRTUAL TABLE {PREFIX}{FTS} USING fts5(w, {FTS_OPTIONS})")
    return connection


def _shape(connection: sqlite3.Connection) -> dict[tuple[str, str], str]:
    """Everything in the schema, by kind and name; blanks and quotes do not count."""
    rows = connection.execute("SELECT type, name, sql FROM sqlite_master").fetchall()
    # in a damaged file any of them may be of any kind
    return {(str(kind), str(name)): re.sub(r"[\s\"']+", "", str(sql or "")).lower() for kind, name, sql in rows}


def _shape_of(made: Callable[[], sqlite3.Connection]) -> dict[tuple[str, str], str]:
    """The shape of a database that is made for nothing else."""
    with contextlib.closing(made()) as connection:
        return _shape(connection)


def _write(source: sqlite3.Connection, folder: Path, made: list[Path], step: Step) -> Counted:
    shelf = Shelf(folder)
    new = [one for one in (folder, *folder.parents) if not one.exists()]
    shelf.folder.mkdir(parents=True, exist_ok=True)
    _take_away_leftovers(folder)
    files, lost = _write_files(source, shelf, made)
    part = folder / f"{TEMPORARY_PREFIX}{os.urandom(8).hex()}"
    made += [part, part.with_name(part.name + "-journal")]
    stopped = False

    def heard(_status: int, left: int, total: int) -> None:
        nonlocal stopped
        stopped = not step(total - left, total)
        if stopped:
            raise InterruptedError

    copy = sqlite3.connect(part, isolation_level=None)
    try:
        copy.execute("PRAGMA synchronous = EXTRA")
        source.backup(copy, pages=_PAGES, progress=heard)
        copy.execute("PRAGMA journal_mode = DELETE")
        copy.execute(f"DROP TABLE IF EXISTS {FILES_TABLE}")
        for name in (*derived_tables().tables, FTS):
            copy.execute(f"DROP TABLE IF EXISTS {PREFIX}{name}")
        copy.execute("VACUUM")
        sessions = int(copy.execute("SELECT count(*) FROM journal").fetchone()[0])
    except InterruptedError:
        return Counted(0, 0, is_whole=False)
    finally:
        copy.close()
    _put_in_place(part, folder, made, new)
    notes = tuple(f"file {sha256[:12]}... is missing or changed in the backup" for sha256 in lost)
    return Counted(sessions, files, is_whole=True, notes=notes)


def _put_in_place(part: Path, folder: Path, made: list[Path], new: list[Path]) -> None:
    os.replace(part, folder / DATABASE_NAME)  # noqa: PTH105  the fault tests watch the os calls
    made.clear()  # from here on it is an archive that needs its files
    try:
        for holder in (folder, *(one.parent for one in new)):
            sync_folder(holder)
    except OSError as error:
        what = f"restored, but the disk does not confirm it ({reason(error)})"
        raise WorldFailed(f"{folder}: {what}. Check the disk, and the archive with 'archive verify'.") from error


def _write_files(source: sqlite3.Connection, shelf: Shelf, made: list[Path]) -> tuple[int, list[str]]:
    """The files beside the database, each only where its bytes are what its name says: how many, and the others."""
    has_files = source.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (FILES_TABLE,)).fetchone()
    count, lost = 0, []
    for sha256, data in source.execute(f"SELECT sha256, data FROM {FILES_TABLE}") if has_files else ():
        name = bytes(sha256).hex()
        if len(bytes(sha256)) != 32 or sha256_of(bytes(data)) != name:
            lost.append(name[:64])
            continue
        if not (shelf.folder / name).exists():  # one that lay there is not ours to take away again
            made.append(shelf.folder / name)
        shelf.put(name, bytes(data))
        count += 1
    return count, lost
