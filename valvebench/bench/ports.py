"""What the use cases need from the world; the outer rooms fulfil it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Protocol

from valvebench.model.entry import Entry


class Clock(Protocol):
    """Tells the time."""

    def now(self) -> str:
        """The present moment, RFC 3339 in UTC."""
        ...


class SessionStore(Protocol):
    """A session that can be added to."""

    def entries(self) -> Sequence[Entry]:
        """All entries on disk, checked (raises EvidenceBroken)."""
        ...

    def append(self, line: bytes) -> None:
        """Put one line on disk; returns only when it is there (raises WorldFailed)."""
        ...

    def add_blob(self, raw: bytes) -> str:
        """Keep bytes under their SHA-256."""
        ...

    def blob(self, sha256: str) -> bytes | None:
        """The bytes kept under a hash, or None."""
        ...

    def release(self) -> None:
        """Let others write."""
        ...
