"""One writer for a session: a lock that the system drops when the program dies."""

from __future__ import annotations

import contextlib
import errno
import os
import sys
from pathlib import Path
from typing import Final

from valvebench.model.errors import WorldFailed

LOCK_NAME: Final = "lock"
_HELD: Final = (errno.EWOULDBLOCK, errno.EAGAIN, errno.EACCES, errno.EDEADLK)


class SessionLock:
    """Held from construction until `release` (raises WorldFailed where another holds it)."""

    def __init__(self, folder: Path) -> None:
        self._descriptor: int | None = os.open(folder / LOCK_NAME, os.O_RDWR | os.O_CREAT, 0o644)
        try:
            _take(self._descriptor)
        except OSError as error:
            self.release()
            if error.errno not in _HELD:
                raise
            raise WorldFailed(
                f"{folder}: this session is open in another window or command. Close it there, then try again."
            ) from error

    def release(self) -> None:
        """Let others write; a second call does nothing."""
        descriptor, self._descriptor = self._descriptor, None
        if descriptor is not None:
            with contextlib.suppress(OSError):  # closed all the same, and the lock with it
                os.close(descriptor)


if sys.platform == "win32":
    import msvcrt

    def _take(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)

else:
    import fcntl

    def _take(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
