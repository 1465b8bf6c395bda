"""Files that the person named, read whole or from their beginning."""

from __future__ import annotations

from pathlib import Path

from valvebench.archive.saver import reason
from valvebench.model.errors import WorldFailed


def read_file(path: Path) -> bytes:
    """The bytes of a file the person named (raises WorldFailed)."""
    try:
        return path.read_bytes()
    except OSError as error:
        raise _not_read(path, error) from error


def read_start(path: Path, most_bytes: int) -> bytes:
    """The first bytes of a file the person named (raises WorldFailed)."""
    try:
        with path.open("rb") as file:
            return file.read(most_bytes)
    except OSError as error:
        raise _not_read(path, error) from error


def _not_read(path: Path, error: OSError) -> WorldFailed:
    return WorldFailed(f"{path}: cannot be read ({reason(error)}). Check the name of the file.")
