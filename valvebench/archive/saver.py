"""The one way a whole file reaches the disk: beside the old one, synced, then renamed.

After `save` returns the new content survives a power cut; when it raises, the old content is
untouched.  A sync that failed is never tried again on the same file.
"""

from __future__ import annotations

import contextlib
import errno
import os
from pathlib import Path
from typing import Final

from valvebench.model.errors import WorldFailed

TEMPORARY_PREFIX: Final = ".save-"
_NEW_FILE: Final = os.O_RDWR | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)


def save(path: Path, raw: bytes, *, replace: bool = True) -> None:
    """Write a file atomically and durably (raises WorldFailed; the old file then stands).

    With `replace=False` an existing file is never overwritten.
    """
    try:
        _write(path, raw, replace=replace)
    except OSError as error:
        raise WorldFailed(f"{path}: not saved ({reason(error)}). The old file is unchanged. {advice(error)}") from error
    try:
        sync_folder(path.parent)
    except OSError as error:
        raise _unsure(path, error, replace=replace) from error


def _unsure(path: Path, error: OSError, *, replace: bool) -> WorldFailed:
    """The name of the new file is not confirmed: take a first file away, say so where that cannot be."""
    if not replace:
        with contextlib.suppress(OSError):
            os.unlink(path)  # noqa: PTH108  the fault tests watch the os calls
            return WorldFailed(f"{path}: not saved ({reason(error)}). {advice(error)}")
    return WorldFailed(f"{path}: written, but the disk does not confirm it ({reason(error)}). {advice(error)}")


def _write(path: Path, raw: bytes, *, replace: bool) -> None:
    temporary = str(path.parent / f"{TEMPORARY_PREFIX}{os.urandom(8).hex()}")
    descriptor = _new_file(temporary)
    try:
        _fill(descriptor, raw)
        _put_in_place(temporary, path, replace=replace)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)  # noqa: PTH108  the fault tests watch the os calls
        raise


def write_new(path: Path, raw: bytes) -> None:
    """A new file in a folder of our own that nobody looks at yet, synced; its name is not (raises OSError)."""
    _fill(_new_file(str(path)), raw)


def _new_file(path: str) -> int:
    # Made with the rights a new file gets from the user's umask, unlike the library's private ones.
    return os.open(path, _NEW_FILE, 0o666)


def _fill(descriptor: int, raw: bytes) -> None:
    try:
        write_all(descriptor, raw)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def _put_in_place(temporary: str, path: Path, *, replace: bool) -> None:
    if replace:
        os.replace(temporary, path)  # noqa: PTH105  the fault tests watch the os calls
        return
    if path.exists():
        raise FileExistsError(f"{path} is there already")
    os.rename(temporary, path)  # noqa: PTH104  the fault tests watch the os calls


def write_all(descriptor: int, raw: bytes) -> None:
    """Write every byte; a short write is not an error, only a reason to go on."""
    view = memoryview(raw)
    while view:
        view = view[os.write(descriptor, view) :]


def sync_folder(folder: Path) -> None:
    """Make the names in a folder durable; some systems have no such call and need none."""
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)


def reason(error: OSError) -> str:
    """What the system said, without numbers."""
    return error.strerror or str(error)


def advice(error: OSError) -> str:
    """What the person can do about it."""
    if error.errno == errno.ENOSPC:
        return "Make room on the disk and save again."
    if error.errno in (errno.EACCES, errno.EROFS, errno.EPERM):
        return "Choose a folder that may be written to."
    return "Save again, under another name if it fails once more."
