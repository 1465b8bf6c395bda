"""A session kept in memory, with a disk that can refuse."""

from __future__ import annotations

from valvebench.model.entry import Entry, decode_line, sha256_of
from valvebench.model.errors import WorldFailed


class SessionStore:
    """Holds lines and blobs; `is_full` makes it refuse the next of either."""

    def __init__(self, *lines: bytes, blobs: tuple[bytes, ...] = ()) -> None:
        self.lines = list(lines)
        self.blobs = {sha256_of(raw): raw for raw in blobs}
        self.is_full = False
        self.is_released = False

    def entries(self) -> tuple[Entry, ...]:
        return tuple(decode_line(line, source="memory") for line in self.lines)

    def append(self, line: bytes) -> None:
        self._check()
        self.lines.append(line)

    def add_blob(self, raw: bytes) -> str:
        self._check()
        self.blobs[sha256_of(raw)] = raw
        return sha256_of(raw)

    def blob(self, sha256: str) -> bytes | None:
        return self.blobs.get(sha256)

    def release(self) -> None:
        self.is_released = True

    def _check(self) -> None:
        if self.is_full:
            raise WorldFailed("no space left")
