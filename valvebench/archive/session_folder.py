"""A session on disk: `JOB/journal.jsonl`, `JOB/blobs/<sha256>`, `JOB/lock`."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from valvebench.archive.chain import Journal, read_journal
from valvebench.archive.lock import LOCK_NAME, SessionLock
from valvebench.archive.saver import TEMPORARY_PREFIX, reason, save, sync_folder, write_all
from valvebench.model.entry import Entry, sha256_of
from valvebench.model.errors import EvidenceBroken, WorldFailed, bad

JOURNAL_NAME: Final = "journal.jsonl"
BLOBS_NAME: Final = "blobs"
_LARGEST_JOURNAL_BYTES: Final = 256 * 1024 * 1024
_ENDS_BYTES: Final = 16 * 1024
PUT_BACK: Final = (
    "Keep programs that sync or edit away from the session, put its journal back as it was, then try again; "
    "what was accepted before is not touched."
)


def read_session(folder: Path) -> Journal:
    """The journal of a session as it stands; never changes anything (raises BadInput, WorldFailed)."""
    path = folder / JOURNAL_NAME
    if not path.is_file():
        advice = "Name a session folder, or make one with open-job."
        raise bad(str(folder), "no journal.jsonl", "a session folder", advice)
    if path.stat().st_size > _LARGEST_JOURNAL_BYTES:
        raise bad(str(path), f"{path.stat().st_size} bytes", f"a journal of at most {_LARGEST_JOURNAL_BYTES} bytes")
    try:
        return read_journal(path.read_bytes(), source=str(path))
    except OSError as error:
        raise WorldFailed(f"{path}: cannot be read ({reason(error)}).") from error


def read_ends(folder: Path) -> tuple[bytes, tuple[bytes, ...]]:
    """The first line of a journal and its last whole ones, as they stand and unproved (raises OSError)."""
    with (folder / JOURNAL_NAME).open("rb") as file:
        first = file.readline(_ENDS_BYTES)
        start = max(len(first), file.seek(0, os.SEEK_END) - _ENDS_BYTES)
        file.seek(start)
        lines = file.read(_ENDS_BYTES).split(b"\n")[:-1]  # what follows the last line feed is torn
    return first.rstrip(b"\n"), tuple(lines if start == len(first) else lines[1:])


def checked_entries(journal: Journal, *, source: str) -> tuple[Entry, ...]:
    """The entries of a journal whose chain holds (raises EvidenceBroken with the first problem)."""
    if journal.problems:
        first = journal.problems[0]
        where = f"line {first.line}: " if first.line else ""
        raise EvidenceBroken(f"{source}: the evidence does not verify. {where}{first.what}. See 'valvebench verify'.")
    return journal.entries


def read_blob(folder: Path, sha256: str) -> bytes | None:
    """The bytes kept under a hash; None where they are missing or no longer match it."""
    path = folder / BLOBS_NAME / sha256
    if not path.is_file():
        return None
    raw = path.read_bytes()
    return raw if sha256_of(raw) == sha256 else None


def create_session(folder: Path, first_line: bytes, blobs: Iterable[bytes]) -> SessionLock:
    """Make a session folder with its first entry (raises BadInput where something is there already).

    The lock is handed on, still held: let go for a moment, another who wants the same folder could take
    it, and whoever made the session would be told that it is open elsewhere.
    """
    _check_free(folder)
    lock = _locked_new(folder)
    try:
        _check_free(folder)  # somebody may have been quicker
        for raw in blobs:
            add_blob(folder, raw)
        save(folder / JOURNAL_NAME, first_line + b"\n", replace=False)
    except BaseException:
        lock.release()
        raise
    return lock


def _locked_new(folder: Path) -> SessionLock:
    try:
        _make_folders(folder)
        return SessionLock(folder)
    except WorldFailed:
        raise
    except OSError as error:
        raise WorldFailed(f"{folder}: the session could not be made ({reason(error)}).") from error


def _make_folders(folder: Path) -> None:
    """The session's folders; the name of each one made is durable in the folder above it."""
    above = [made.parent for made in (folder, *folder.parents) if not made.exists()] or [folder.parent]
    (folder / BLOBS_NAME).mkdir(parents=True, exist_ok=True)
    for holder in (*reversed(above), folder):
        sync_folder(holder)


def _check_free(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise bad(str(folder), "a file", "the name of a new folder")
    own = {BLOBS_NAME, LOCK_NAME}
    others = (
        [p.name for p in folder.iterdir() if p.name not in own and not p.name.startswith(TEMPORARY_PREFIX)]
        if folder.is_dir()
        else []
    )
    if JOURNAL_NAME in others:
        raise bad(str(folder), "a session", "a new folder", "Open that session, or choose another name.")
    if others:
        raise bad(str(folder), f"a folder that holds {min(others)}", "a new or empty folder")


def add_blob(folder: Path, raw: bytes) -> str:
    """Keep bytes under their hash; bytes already there are only made sure of (raises WorldFailed)."""
    sha256 = sha256_of(raw)
    try:
        is_there = read_blob(folder, sha256) is not None
        if is_there:  # perhaps by a run that died before it could sync the name
            sync_folder(folder / BLOBS_NAME)
    except OSError as error:
        raise WorldFailed(f"{folder / BLOBS_NAME}: not saved ({reason(error)}). Check the disk.") from error
    if not is_there:
        save(folder / BLOBS_NAME / sha256, raw)
    return sha256


class SessionFolder:
    """A session opened for writing: locked, its torn last line set aside, its chain checked.

    Raises WorldFailed where another program has it open; `lock` is one that is held already.
    """

    def __init__(self, folder: Path, *, lock: SessionLock | None = None) -> None:
        self.folder = folder
        if lock is None and not (folder / JOURNAL_NAME).is_file():
            read_session(folder)  # raises the message for what is not a session
        self._descriptor: int | None = None
        self._broken = ""
        try:
            self._lock = lock or SessionLock(folder)
        except WorldFailed:
            raise
        except OSError as error:
            raise WorldFailed(f"{folder}: cannot be written to ({reason(error)}). Choose a folder that can.") from error
        try:
            self._open()
        except BaseException as error:
            self.release()
            if isinstance(error, OSError) and not isinstance(error, WorldFailed):
                raise WorldFailed(f"{folder}: cannot be written to ({reason(error)}).") from error
            raise

    def _open(self) -> None:
        self.journal = read_session(self.folder)
        self.entries()  # nothing is moved in a journal that does not verify
        self._length_bytes = self.journal.length_bytes
        self._descriptor = os.open(self.folder / JOURNAL_NAME, os.O_RDWR | os.O_APPEND)
        self._settle(self._descriptor)

    def _settle(self, descriptor: int) -> None:
        """Put on disk what a run that died may have left in the system's memory, before it counts here.

        What it left of a line is kept in a file of its own, then taken off the journal.
        """
        torn = self.journal.torn
        if torn:
            save(self.folder / f"torn-{sha256_of(torn)[:12]}.bin", torn)
            os.ftruncate(descriptor, self._length_bytes)
        os.fsync(descriptor)
        sync_folder(self.folder)
        self._sweep_blobs()

    def _sweep_blobs(self) -> None:
        """Take away what a run that was killed left of blobs; no entry names it, and we hold the lock."""
        for leftover in (self.folder / BLOBS_NAME).glob(f"{TEMPORARY_PREFIX}*"):
            with contextlib.suppress(OSError):
                leftover.unlink()

    def entries(self) -> tuple[Entry, ...]:
        """All entries on disk when it was opened (raises EvidenceBroken)."""
        return checked_entries(self.journal, source=str(self.folder))

    def append(self, line: bytes) -> None:
        """Put one line on disk; returns only when it is there (raises WorldFailed: it does not count)."""
        if self._broken or self._descriptor is None:
            raise WorldFailed(self._broken or f"{self.folder}: the session is no longer open.")
        self._check_untouched(self._descriptor)
        try:
            write_all(self._descriptor, line + b"\n")
        except OSError as error:
            raise self._taken_back(self._descriptor, error) from error
        try:
            os.fsync(self._descriptor)
        except OSError as error:
            raise self._stopped(self._descriptor, error) from error
        self._length_bytes += len(line) + 1

    def _check_untouched(self, descriptor: int) -> None:
        """Write only behind what we wrote ourselves, and only where others find it (raises WorldFailed)."""
        ours, path = os.fstat(descriptor), self.folder / JOURNAL_NAME
        try:
            is_ours = os.path.samestat(ours, path.stat())
        except OSError as error:
            raise WorldFailed(f"{path}: not saved ({reason(error)}). {PUT_BACK}") from error
        if not is_ours or ours.st_size != self._length_bytes:
            raise WorldFailed(f"{path}: not saved, another program has changed this file. {PUT_BACK}")

    def _taken_back(self, descriptor: int, error: OSError) -> WorldFailed:
        """Take off what stands half-written; where even that fails, write no more."""
        try:
            os.ftruncate(descriptor, self._length_bytes)
            os.fsync(descriptor)
        except OSError:
            return self._stopped(descriptor, error)
        return WorldFailed(f"{self.folder}: not saved ({reason(error)}). Make room or check the disk.")

    def _stopped(self, descriptor: int, error: OSError) -> WorldFailed:
        """Write no more: after a sync that failed a second one proves nothing."""
        left = "It may stand there all the same when the session is opened again."
        with contextlib.suppress(OSError):
            os.ftruncate(descriptor, self._length_bytes)
            left = ""
        self._broken = (
            f"{self.folder}: the entry was not saved ({reason(error)}) and nothing more is written. "
            f"Close the session and open it again; all accepted entries are on disk. {left}"
        ).rstrip()
        return WorldFailed(self._broken)

    def add_blob(self, raw: bytes) -> str:
        """Keep bytes under their hash."""
        return add_blob(self.folder, raw)

    def blob(self, sha256: str) -> bytes | None:
        """The bytes kept under a hash, or None."""
        return read_blob(self.folder, sha256)

    def release(self) -> None:
        """Close the journal and let others write."""
        descriptor, self._descriptor = self._descriptor, None
        if descriptor is not None:
            with contextlib.suppress(OSError):  # every accepted entry was synced when it was written
                os.close(descriptor)
        self._lock.release()
