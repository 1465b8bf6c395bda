"""Savers with one fault each: the fault tests must find every one of them."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Final

from valvebench.archive.saver import TEMPORARY_PREFIX, reason, sync_folder, write_all
from valvebench.model.errors import WorldFailed

Save = Callable[..., None]


def _careful(
    path: Path,
    raw: bytes,
    *,
    write: Callable[[int, bytes], object] = write_all,
    sync: bool = True,
    clean_up: bool = True,
    sync_name: bool = True,
) -> None:
    descriptor, temporary = tempfile.mkstemp(prefix=TEMPORARY_PREFIX, dir=path.parent)
    try:
        try:
            write(descriptor, raw)
            if sync:
                os.fsync(descriptor)
        finally:
            os.close(descriptor)
        os.replace(temporary, path)  # noqa: PTH105  a call that the tests watch
    except BaseException:
        if clean_up:
            with contextlib.suppress(OSError):
                os.unlink(temporary)  # noqa: PTH108  a call that the tests watch
        raise
    if sync_name:
        sync_folder(path.parent)


def _in_words(save: Callable[[Path, bytes], None]) -> Save:
    def saved(path: Path, raw: bytes, *, replace: bool = True) -> None:
        try:
            save(path, raw)
        except OSError as error:
            raise WorldFailed(f"{path}: does not confirm ({reason(error)})") from error

    return saved


def _swallowing(path: Path, raw: bytes) -> None:
    with contextlib.suppress(OSError):
        _careful(path, raw)


def _in_place(path: Path, raw: bytes) -> None:
    descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o644)
    try:
        write_all(descriptor, raw)
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
    sync_folder(path.parent)


def _sync_twice(path: Path, raw: bytes) -> None:
    def write(descriptor: int, raw: bytes) -> None:
        write_all(descriptor, raw)
        with contextlib.suppress(OSError):
            os.fsync(descriptor)

    _careful(path, raw, write=write)


FOUND_BY_SWEEP: Final = {
    "a short write is ignored": _in_words(lambda path, raw: _careful(path, raw, write=os.write)),
    "an error is swallowed": _in_words(_swallowing),
    "no clean-up": _in_words(lambda path, raw: _careful(path, raw, clean_up=False)),
    "written in place": _in_words(_in_place),
    "a sync is tried again": _in_words(_sync_twice),
}
FOUND_BY_ORDER: Final = {
    "written in place": FOUND_BY_SWEEP["written in place"],
    "the file is not synced": _in_words(lambda path, raw: _careful(path, raw, sync=False)),
    "the folder is not synced": _in_words(lambda path, raw: _careful(path, raw, sync_name=False)),
}
