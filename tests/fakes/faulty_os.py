"""The file calls of `os`, made to fail, to be short or to kill at the k-th call; and written down.

Only ever armed in a forked child: nothing is put back.
"""

from __future__ import annotations

import errno
import fcntl
import os
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, NamedTuple, Self

CALLS: Final = (
    "open",
    "write",
    "pwrite",
    "fsync",
    "fdatasync",
    "close",
    "replace",
    "rename",
    "link",
    "unlink",
    "remove",
    "rmdir",
    "ftruncate",
    "truncate",
    "mkdir",
)
MODES: Final = ("EIO", "ENOSPC", "EIO-sticky", "ENOSPC-sticky", "short", "half", "die-before", "die-after")
"""`short` writes one byte and says so; `half` writes half and then the disk is full."""
DIED: Final = 9
REAL: Final = {name: getattr(os, name) for name in CALLS}


class FaultyOs:
    """Stands in for the calls; from the k-th on things go wrong in the way the mode says."""

    def __init__(self, k: int, mode: str) -> None:
        self.k, self.mode = k, mode
        self.calls = 0
        self.hits = 0
        self.wrong: list[str] = []
        self._failed_files: set[tuple[int, int]] = set()
        self._failed_descriptors: set[int] = set()

    def arm(self) -> None:
        for name in CALLS:
            setattr(os, name, self._stand_in(name))

    def disarm(self) -> None:
        for name in CALLS:
            setattr(os, name, REAL[name])

    def _stand_in(self, name: str) -> Callable[..., Any]:
        def call(*given: Any, **named: Any) -> Any:
            self.calls += 1
            self._watch(name, given)
            if self.calls == self.k or ("sticky" in self.mode and self.calls > self.k):
                return self._go_wrong(name, given, named)
            return REAL[name](*given, **named)

        return call

    def _go_wrong(self, name: str, given: tuple[Any, ...], named: dict[str, Any]) -> Any:
        if self.mode in ("short", "half"):
            return self._short(name, given, named)
        self.hits += 1
        if self.mode == "die-before":
            os._exit(DIED)
        if self.mode == "die-after":
            REAL[name](*given, **named)
            os._exit(DIED)
        if name == "close":
            REAL[name](*given, **named)  # a close that fails has closed all the same (close(2), Linux)
        if name == "fsync" and _is_file(given[0]):
            self._failed_descriptors.add(given[0])
            self._failed_files.add(_identity(given[0]))
        code = errno.ENOSPC if "ENOSPC" in self.mode else errno.EIO
        raise OSError(code, os.strerror(code))

    def _short(self, name: str, given: tuple[Any, ...], named: dict[str, Any]) -> Any:
        if name != "write":
            return REAL[name](*given, **named)
        self.hits += 1
        raw = bytes(given[1])
        if self.mode == "short":
            return REAL["write"](given[0], raw[:1])
        REAL["write"](given[0], raw[: len(raw) // 2])
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    def _watch(self, name: str, given: tuple[Any, ...]) -> None:
        """A sync that failed is not tried again, and its file never gets a name that counts."""
        if name == "fsync" and given[0] in self._failed_descriptors:
            self.wrong.append("fsync called again after it failed")
        if name in ("replace", "rename") and _identity(given[0]) in self._failed_files:
            self.wrong.append("a file whose fsync failed was put in place")
        if name == "close":
            self._failed_descriptors.discard(given[0])
        if name in ("unlink", "remove") and os.path.lexists(given[0]):
            self._failed_files.discard(_identity(given[0]))  # the number of the file may be used again


def _identity(file: Any) -> tuple[int, int]:
    found = os.stat(file)  # noqa: PTH116  a name or a descriptor
    return found.st_dev, found.st_ino


def _is_file(descriptor: int) -> bool:
    # A folder holds no pages of ours: the rule (PostgreSQL handbook, data_sync_retry) is about data.
    return stat.S_ISREG(os.fstat(descriptor).st_mode)


class Step(NamedTuple):
    """One call that changes what is on disk: its name, the file or folder, and what it did."""

    call: str
    path: str
    other: str = ""
    raw: bytes = b""
    offset: int = 0


class RecordingOs:
    """Does every call for real and writes down those that change the disk, with paths."""

    def __init__(self) -> None:
        self.steps: list[Step] = []

    def __enter__(self) -> Self:
        for name in CALLS:
            stand_in = getattr(self, f"_{name}", None)
            if stand_in is not None:
                setattr(os, name, stand_in)
        return self

    def __exit__(self, *_: object) -> None:
        for name in CALLS:
            setattr(os, name, REAL[name])

    def _open(self, path: Any, flags: int, *rest: Any, **named: Any) -> int:
        is_new = bool(flags & os.O_CREAT) and not os.path.lexists(path)
        descriptor: int = REAL["open"](path, flags, *rest, **named)
        if is_new:
            self.steps.append(Step("create", os.fspath(path)))
        return descriptor

    def _file(self, descriptor: int) -> str:
        """The name the file has now: it may have been renamed since it was opened."""
        return str(Path(f"/proc/self/fd/{descriptor}").readlink())

    def _write(self, descriptor: int, raw: Any) -> int:
        is_append = bool(fcntl.fcntl(descriptor, fcntl.F_GETFL) & os.O_APPEND)
        offset = os.fstat(descriptor).st_size if is_append else os.lseek(descriptor, 0, os.SEEK_CUR)
        count: int = REAL["write"](descriptor, raw)
        if stat.S_ISREG(os.fstat(descriptor).st_mode):
            self.steps.append(Step("write", self._file(descriptor), raw=bytes(raw)[:count], offset=offset))
        return count

    def _ftruncate(self, descriptor: int, length: int) -> None:
        REAL["ftruncate"](descriptor, length)
        self.steps.append(Step("truncate", self._file(descriptor), offset=length))

    def _fsync(self, descriptor: int) -> None:
        REAL["fsync"](descriptor)
        is_folder = stat.S_ISDIR(os.fstat(descriptor).st_mode)
        self.steps.append(Step("sync-folder" if is_folder else "sync", self._file(descriptor)))

    def _replace(self, source: Any, target: Any) -> None:
        REAL["replace"](source, target)
        self.steps.append(Step("rename", os.fspath(source), os.fspath(target)))

    def _rename(self, source: Any, target: Any) -> None:
        REAL["rename"](source, target)
        self.steps.append(Step("rename", os.fspath(source), os.fspath(target)))

    def _unlink(self, path: Any) -> None:
        REAL["unlink"](path)
        self.steps.append(Step("unlink", os.fspath(path)))

    def _mkdir(self, path: Any, *rest: Any, **named: Any) -> None:
        REAL["mkdir"](path, *rest, **named)
        self.steps.append(Step("mkdir", os.fspath(path)))
