"""One small file of the program's own, such as its settings: read, written through the saver, set aside."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path
from typing import Final

from valvebench.archive.saver import reason, save
from valvebench.model.errors import WorldFailed

ASIDE_SUFFIX: Final = ".damaged"
_LARGEST_BYTES: Final = 4 * 1024 * 1024


class KeptFile:
    """A file whose folder is made at the first write."""

    def __init__(self, path: Path, *, save: Callable[[Path, bytes], None] = save) -> None:
        self.path, self._save = path, save

    def read(self) -> bytes | None:
        """The bytes; None where there is no such file yet (raises WorldFailed)."""
        try:
            with self.path.open("rb") as file:
                return file.read(_LARGEST_BYTES)
        except FileNotFoundError:
            return None
        except OSError as error:
            raise WorldFailed(f"{self.path}: cannot be read ({reason(error)}).") from error

    def write(self, raw: bytes) -> None:
        """Put new bytes in place of the old ones (raises WorldFailed; the old ones then stand)."""
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise WorldFailed(f"{self.path.parent}: cannot be made ({reason(error)}).") from error
        self._save(self.path, raw)

    def set_aside(self) -> Path:
        """Move the file out of the way and tell where it is now (raises WorldFailed)."""
        aside = self.path.with_name(self.path.name + ASIDE_SUFFIX)
        try:
            os.replace(self.path, aside)  # noqa: PTH105  the fault tests watch the os calls
        except OSError as error:
            raise WorldFailed(f"{self.path}: cannot be set aside ({reason(error)}).") from error
        return aside
