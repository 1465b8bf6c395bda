"""A new folder under a name of the saver's own until it is whole and on disk; then it gets its own name."""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from valvebench.archive.bundle_form import BLOBS_MEMBER
from valvebench.archive.lock import LOCK_NAME, SessionLock
from valvebench.archive.saver import TEMPORARY_PREFIX, reason, sync_folder, write_new
from valvebench.archive.session_folder import BLOBS_NAME
from valvebench.model.entry import sha256_of
from valvebench.model.errors import WorldFailed, bad

_RELEASES_FIRST: Final = os.name == "nt"
"""There a folder with an open file in it cannot be renamed."""


class Staged:
    """A session folder that comes into being with all its files or not at all.

    What is left of a run that died lies under the same name and is taken up and emptied.
    """

    def __init__(self, target: Path) -> None:
        self.target = target
        name = f"{TEMPORARY_PREFIX}{sha256_of(os.fsencode(target.name))[:16]}"
        self.folder = target.parent / name
        self._lock: SessionLock | None = None
        self._is_made, self._is_placed = False, False

    def __enter__(self) -> Self:
        """Make the folder and hold it (raises BadInput where the target is there, WorldFailed)."""
        self._check_free()
        try:
            self._make()
        except BaseException as error:
            self._give_up()
            if isinstance(error, OSError):
                raise self._failed(error) from error
            raise
        return self

    def _check_free(self) -> None:
        if not self.target.name or not self.target.parent.is_dir():
            raise bad("folder", str(self.target), "a new folder in one that is there")
        if os.path.lexists(self.target):
            raise bad(str(self.target), "something of this name", "a new folder", "Choose another name.")

    def _make(self) -> None:
        with contextlib.suppress(FileExistsError):  # of a run that died, or of one that is at work
            os.mkdir(self.folder)  # noqa: PTH102  the fault tests watch the os calls
            self._is_made = True
        try:
            self._lock = SessionLock(self.folder)
        except WorldFailed as error:
            raise WorldFailed(f"{self.target}: another program is just opening it. Wait, then look there.") from error
        self._empty()
        os.mkdir(self.folder / BLOBS_NAME)  # noqa: PTH102  the same

    def write(self, name: str, raw: bytes) -> None:
        """Put a file in, synced; its name is one that a bundle may hold, and only its last part is used."""
        folder = self.folder / BLOBS_NAME if name.startswith(BLOBS_MEMBER) else self.folder
        write_new(folder / name.rpartition("/")[2], raw)

    def put_in_place(self) -> None:
        """Everything is there: give the folder its name, durably (raises BadInput, OSError)."""
        sync_folder(self.folder / BLOBS_NAME)
        sync_folder(self.folder)
        self._check_free()
        if _RELEASES_FIRST:
            self._release()
        os.rename(self.folder, self.target)  # noqa: PTH104  the same
        self._is_placed = True
        try:
            sync_folder(self.target.parent)
        except OSError as error:
            self._take_back(error)
            raise

    def _take_back(self, error: OSError) -> None:
        """The name may not last: better none than one that is gone after a power cut."""
        try:
            os.rename(self.target, self.folder)  # noqa: PTH104  the same
        except OSError:
            raise WorldFailed(
                f"{self.target}: opened, but the disk does not confirm it ({reason(error)}). {_advice(error)}"
            ) from error
        self._is_placed = False

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Where it was not put in place, take everything away; what the system refused is told in words."""
        if self._is_placed:
            self._release()
        else:
            self._give_up()
        if isinstance(error, OSError) and not isinstance(error, WorldFailed):
            raise self._failed(error) from error

    def _failed(self, error: OSError) -> WorldFailed:
        if isinstance(error, WorldFailed):
            return error
        return WorldFailed(f"{self.target}: not opened ({reason(error)}). {_advice(error)}")

    def _release(self) -> None:
        lock, self._lock = self._lock, None
        if lock is not None:
            lock.release()

    def _give_up(self) -> None:
        """Take away what is ours; what another holds is left alone."""
        if self._lock is not None:
            with contextlib.suppress(OSError):
                self._empty()
            self._release()
            with contextlib.suppress(OSError):
                os.unlink(self.folder / LOCK_NAME)  # noqa: PTH108  the same
        elif not self._is_made:
            return
        with contextlib.suppress(OSError):
            os.rmdir(self.folder)  # noqa: PTH106  the same

    def _empty(self) -> None:
        """Everything in the folder but the lock; raises what the system refused last."""
        blobs = self.folder / BLOBS_NAME
        inside = [*blobs.iterdir()] if blobs.is_dir() else []
        for path in (*inside, *self.folder.iterdir()):
            if path.name != LOCK_NAME and not path.is_dir():
                os.unlink(path)  # noqa: PTH108  the same
        if blobs.is_dir():
            os.rmdir(blobs)  # noqa: PTH106  the same


def _advice(error: OSError) -> str:
    """What the person can do about it."""
    if error.errno == errno.ENOSPC:
        return "Make room on the disk and open it again."
    if error.errno in (errno.EACCES, errno.EROFS, errno.EPERM):
        return "Choose a folder that may be written to."
    return "Open it again, in another place if it fails once more."
