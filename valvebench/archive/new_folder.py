"""A new folder with files in it: all of them or none, and never one that was there before."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Callable, Iterable
from itertools import count
from pathlib import Path

from valvebench.archive.saver import advice, reason, save, sync_folder
from valvebench.model.errors import WorldFailed

Make = Callable[[], bytes]
Step = Callable[[str], bool]


def save_folder(root: Path, name: str, files: Iterable[tuple[str, Make]], *, step: Step) -> Path | None:
    """Make the folder `name`, or `name-2` and so on, and write each file once its bytes are made.

    `step` hears the name of each file before it is made and says whether to go on; when it does not,
    what was written is taken away again and None returned (raises WorldFailed; nothing then stands).
    """
    folder = _new_folder(root, name)
    written: list[Path] = []
    is_whole = False
    try:
        if _write_all(folder, files, written, step):
            sync_folder(root)
            is_whole = True
    except OSError as error:
        raise _failed(folder, error) from error
    finally:
        if not is_whole:
            _take_away(folder, written)
    return folder if is_whole else None


def _write_all(folder: Path, files: Iterable[tuple[str, Make]], written: list[Path], step: Step) -> bool:
    for file_name, make in files:
        if not step(file_name):
            return False
        written.append(folder / file_name)
        save(written[-1], make(), replace=False)
    return True


def _new_folder(root: Path, name: str) -> Path:
    for number in count(1):
        folder = root / (name if number == 1 else f"{name}-{number}")
        try:
            os.mkdir(folder)  # noqa: PTH102  the fault tests watch the os calls
        except FileExistsError:
            continue
        except OSError as error:
            raise _failed(folder, error) from error
        return folder
    raise AssertionError("count never ends")  # pragma: no cover


def _failed(folder: Path, error: OSError) -> WorldFailed:
    return WorldFailed(f"{folder}: not written ({reason(error)}). {advice(error)}")


def _take_away(folder: Path, written: Iterable[Path]) -> None:
    for path in written:
        with contextlib.suppress(OSError):
            path.unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        folder.rmdir()
