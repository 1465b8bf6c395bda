"""The writers of the archive for the preload sweep, with what must hold afterwards.

The database is written by another library: whether that one tries a sync again is its own affair.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Final

from tests.data.archived import DayClock, add_to, session_in
from tests.data.made_photo import made_photo
from tests.fakes.sweep import Say, Trial, Writer
from tests.fakes.writers import OLD, temporaries
from valvebench.archive.store import Store
from valvebench.archive.store_restore import restore
from valvebench.bench.archived import Asked, Change
from valvebench.compose import open_desk
from valvebench.model.entry import Outcome
from valvebench.model.errors import BenchError

PHOTO: Final = made_photo(size=(6, 4))
UNSURE: Final = "does not confirm"
FIRST, SECOND = "First", "Second"


def opened(folder: Path) -> Store:
    """The archive in a folder, of a day that is always the same."""
    return Store(folder, clock=DayClock("2031-09-01"))


def session_with_photo(root: Path, job: str) -> Path:
    """A closed session that needs a file beside the database."""
    folder = session_in(root, job, is_closed=False)
    desk = open_desk(folder)
    desk.add_photo(PHOTO, file_name="body.png", of="the body")
    desk.close()
    desk.release()
    return folder


def _prepare(folder: Path) -> None:
    """An archive with one session, and another one to be added."""
    store = opened(folder / "archive")
    store.add(session_in(folder / "jobs", FIRST))
    store.close()
    session_with_photo(folder / "jobs", SECOND)


def jobs_in(store: Store) -> list[str]:
    """Job numbers of all sessions, in the order in which they were added."""
    return [str(row[0]) for row in store.database.rows("SELECT job FROM session ORDER BY id")]


def _act_add(store: Store, say: Say) -> None:
    if store.add(store.folder.parent / "jobs" / SECOND).change is not Change.NOTHING:
        say(f"kept {SECOND}")


def _act_new(folder: Path, say: Say) -> None:
    store = opened(folder / "archive")
    try:
        _act_add(store, say)
    finally:
        store.close()


def _act_tail(store: Store, say: Say) -> None:
    if store.add(store.folder.parent / "jobs" / FIRST).change is not Change.NOTHING:
        say(f"kept outcome of {FIRST}")


def _prepare_tail(folder: Path) -> None:
    _prepare(folder)
    add_to(folder / "jobs" / FIRST, Outcome(fitted=True))


def _is_unsure(trial: Trial) -> bool:
    return trial.died or any(UNSURE in words for words in trial.refusals)


def _check_added(trial: Trial) -> list[str]:
    """What was there is there; what was said to be kept is there, what was refused is not; adding goes on."""
    before = [FIRST] if (trial.folder.parent / "template" / "archive").exists() else []
    try:
        store = opened(trial.folder / "archive")
    except BenchError as error:
        return [f"cannot be opened again: {error}"]
    try:
        wrong = _whole(store)
        found = jobs_in(store)
        if found[: len(before)] != before or not set(trial.kept) <= set(found):
            wrong.append("a session that was kept is lost")
        if found != before and not trial.kept and not _is_unsure(trial):
            wrong.append("said not kept, is there")
        store.add(trial.folder / "jobs" / SECOND)
        wrong += _whole(store) if jobs_in(store) == [*before, SECOND] else ["adding does not go on"]
    finally:
        store.close()
    left = temporaries(trial.folder / "archive") if trial.is_passing else []
    return [*wrong, f"left behind: {left}"] if left else wrong


def _check_tail(trial: Trial) -> list[str]:
    store = opened(trial.folder / "archive")
    try:
        wrong = _whole(store)
        (one,) = store.find(Asked()).sessions
        if one.outcome is None and trial.kept:
            wrong.append("what was said of the part is lost")
        if one.outcome is not None and not trial.kept and not _is_unsure(trial):
            wrong.append("said not kept, is there")
        store.add(trial.folder / "jobs" / FIRST)
        (again,) = store.find(Asked()).sessions
        return wrong if again.outcome is not None else [*wrong, "adding does not go on"]
    finally:
        store.close()


def _whole(store: Store) -> list[str]:
    return [f"does not verify: {one.what}" for one in store.verify().problems]


def _prepare_backup(folder: Path) -> None:
    store = opened(folder / "archive")
    store.add(session_with_photo(folder / "jobs", FIRST))
    store.close()
    (folder / "file.backup").write_bytes(OLD)


def _act_backup(folder: Path, say: Say) -> None:
    store = opened(folder / "archive")
    try:
        store.backup(folder / "file.backup")
        say("kept backup")
    finally:
        store.close()


def _check_backup(trial: Trial) -> list[str]:
    """The older backup or a whole new one; the archive is as it was."""
    wrong = [f"left behind: {left}"] if trial.is_passing and (left := temporaries(trial.folder)) else []
    store = opened(trial.folder / "archive")
    wrong += _whole(store)
    store.close()
    is_old = (trial.folder / "file.backup").read_bytes() == OLD
    if is_old:
        return [*wrong, "said written, is not"] if trial.kept else wrong
    if not trial.kept and not _is_unsure(trial):
        wrong.append("said not written, is there")
    return wrong + _restored_whole(trial.folder / "file.backup", trial.folder / "back")


def _restored_whole(backup: Path, folder: Path) -> list[str]:
    try:
        counted = restore(backup, folder)
    except BenchError as error:
        return [f"cannot be restored: {error}"]
    if (counted.sessions, counted.files, counted.notes) != (1, 1, ()):
        return [f"not all was restored: {counted}"]
    return _is_the_archive(folder)


def _is_the_archive(folder: Path) -> list[str]:
    store = opened(folder)
    try:
        return _whole(store) if jobs_in(store) == [FIRST] else ["another archive than was backed up"]
    finally:
        store.close()


def _act_export(folder: Path, say: Say) -> None:
    store = opened(folder / "archive")
    try:
        store.export(folder / "csv")
        say("kept tables")
    finally:
        store.close()


def _check_export(trial: Trial) -> list[str]:
    """Both tables, whole, or none of them."""
    wrong = [f"left behind: {left}"] if trial.is_passing and (left := temporaries(trial.folder)) else []
    tables = trial.folder / "csv"
    if not tables.exists():
        return [*wrong, "said written, is not"] if trial.kept else wrong
    if not trial.kept and not _is_unsure(trial):
        wrong.append("said not written, is there")
    store = opened(trial.folder / "archive")
    store.export(trial.folder / "again")
    store.close()
    return wrong if _bytes_in(tables) == _bytes_in(trial.folder / "again") else [*wrong, "torn tables"]


def _bytes_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def _prepare_restore(folder: Path) -> None:
    _prepare_backup(folder)
    _act_backup(folder, lambda _: None)
    shutil.rmtree(folder / "archive")
    shutil.rmtree(folder / "jobs")


def _act_restore(folder: Path, say: Say) -> None:
    restore(folder / "file.backup", folder / "archive")
    say("kept archive")


def _not_again(folder: Path, say: Say) -> None:
    """Whoever tries once more takes up what was left: here nobody does, so that it is seen."""


def _check_restore(trial: Trial) -> list[str]:
    """A whole archive or none; where there is none, restoring once more makes one and leaves nothing else."""
    folder = trial.folder / "archive"
    wrong = [f"left behind: {left}"] if trial.is_passing and (left := temporaries(trial.folder)) else []
    if (folder / "archive.sqlite").exists():
        wrong += [] if trial.kept or _is_unsure(trial) else ["said not restored, is there"]
        return wrong + _is_the_archive(folder)
    if trial.kept:
        wrong.append("said restored, is not")
    wrong += _restored_whole(trial.folder / "file.backup", folder)
    left = temporaries(trial.folder)
    return [*wrong, f"left for ever: {left}"] if left else wrong


ARCHIVE_WRITERS: Final = (
    Writer(
        "archive: the first session",
        lambda folder: session_with_photo(folder / "jobs", SECOND) and None,
        lambda folder: folder,
        _act_new,
        _act_new,
        _check_added,
        minds_syncs=False,
    ),
    Writer(
        "archive: one more session",
        _prepare,
        lambda folder: opened(folder / "archive"),
        _act_add,
        _act_add,
        _check_added,
        minds_syncs=False,
    ),
    Writer(
        "archive: what became of a part",
        _prepare_tail,
        lambda folder: opened(folder / "archive"),
        _act_tail,
        _act_tail,
        _check_tail,
        minds_syncs=False,
    ),
    Writer(
        "archive: backup",
        _prepare_backup,
        lambda folder: folder,
        _act_backup,
        _not_again,
        _check_backup,
        minds_syncs=False,
    ),
    Writer(
        "archive: tables",
        _prepare_backup,
        lambda folder: folder,
        _act_export,
        _not_again,
        _check_export,
        minds_syncs=False,
    ),
    Writer(
        "archive: restore",
        _prepare_restore,
        lambda folder: folder,
        _act_restore,
        _not_again,
        _check_restore,
        minds_syncs=False,
    ),
)
