"""A session on disk: `JOB/journal.jsonl`, `JOB/blobs/<sha256>`, `JOB/lock`."""

from __future__ import annotations

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


def create_session(folder: Path, first_line: bytes, blobs: Iterable[bytes]) -> None:
    """Make a session folder with its first entry (raises BadInput where something is there already)."""
    _check_free(folder)
    try:
        (folder / BLOBS_NAME).mkdir(parents=True, exist_ok=True)
        sync_folder(folder.parent)
        sync_folder(folder)
    except OSError as error:
        raise WorldFailed(f"{folder}: the session could not be made ({reason(error)}).") from error
    for raw in blobs:
        add_blob(folder, raw)
    save(folder / JOURNAL_NAME, first_line + b"\n", replace=False)


def _check_free(folder: Path) -> None:
    if folder.exists() and not folder.is_dir():
        raise bad(str(folder), "a file", "the name of a new folder")
    own = {BLOBS_NAME, LOCK_NAME}
    others = [p.name for p in folder.iterdir() if p.name not in own and not p.name.startswith(TEMPORARY_PREFIX)] if folder.is_dir() else []
    if JOURNAL_NAME in others:
        raise bad(str(folder), "a session", "a new folder", "Open that session, or choose another name.")
    if others:
        raise bad(str(folder), f"a folder that holds {sorted(others)[0]}", "a new or empty folder")


def add_blob(folder: Path, raw: bytes) -> str:
    """Keep bytes under their hash; keeping the same bytes again does nothing."""
    sha256 = sha256_of(raw)
    if read_blob(folder, sha256) is None:
        save(folder / BLOBS_NAME / sha256, raw)
    return sha256


class SessionFolder:
    """A session opened for writing: locked, its torn last line set aside, its chain checked.

    Raises WorldFailed where another program has it open.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        if not (folder / JOURNAL_NAME).is_file():
            read_session(folder)  # raises the message for what is not a session
        try:
            self._lock = SessionLock(folder)
        except WorldFailed:
            raise
        except OSError as error:
            raise WorldFailed(f"{folder}: cannot be written to ({reason(error)}). Choose a folder that can.") from error
        try:
            self.journal = read_session(folder)
            self._descriptor: int | None = os.open(folder / JOURNAL_NAME, os.O_RDWR | os.O_APPEND)
            self._length_bytes = self.journal.length_bytes
            self._set_torn_aside()
        except OSError as error:
            self._lock.release()
            raise WorldFailed(f"{folder}: cannot be written to ({reason(error)}).") from error
        except BaseException:
            self._lock.release()
            raise
        self._broken = ""

    def _set_torn_aside(self) -> None:
        """Keep what a crash left of a line in a file of its own, then take it off the journal."""
        if not self.journal.torn:
            return
        save(self.folder / f"torn-{sha256_of(self.journal.torn)[:12]}.bin", self.journal.torn)
        self._cut_back()

    def entries(self) -> tuple[Entry, ...]:
        """All entries on disk when it was opened (raises EvidenceBroken)."""
        return checked_entries(self.journal, source=str(self.folder))

    def append(self, line: bytes) -> None:
        """Put one line on disk; returns only when it is there (raises WorldFailed: it does not count)."""
        if self._broken or self._descriptor is None:
            raise WorldFailed(self._broken or f"{self.folder}: the session is no longer open.")
        try:
            write_all(self._descriptor, line + b"\n")
            os.fsync(self._descriptor)
        except OSError as error:
            self._give_up(error)
            raise WorldFailed(f"{self.folder}: not saved ({reason(error)}). Make room or check the disk.") from error
        self._length_bytes += len(line) + 1

    def _give_up(self, error: OSError) -> None:
        """Take back what may stand half-written; where even that fails, write no more."""
        try:
            self._cut_back()
        except OSError:
            self._broken = (
                f"{self.folder}: the disk refused ({reason(error)}) and nothing more is written. "
                "Close the session and open it again; all accepted entries are on disk."
            )

    def _cut_back(self) -> None:
        if self._descriptor is not None:
            os.ftruncate(self._descriptor, self._length_bytes)
            os.fsync(self._descriptor)

    def add_blob(self, raw: bytes) -> str:
        """Keep bytes under their hash."""
        return add_blob(self.folder, raw)

    def blob(self, sha256: str) -> bytes | None:
        """The bytes kept under a hash, or None."""
        return read_blob(self.folder, sha256)

    def release(self) -> None:
        """Close the journal and let others write."""
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None
        self._lock.release()
