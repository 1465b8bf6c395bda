"""What checking a session from outside found."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from valvebench.model.words import AnchorKind


@dataclass(frozen=True, kw_only=True)
class ChainProblem:
    """Something that is not as it was written, and on which line (0: not a line)."""

    line: int
    what: str


@dataclass(frozen=True, kw_only=True)
class Verified:
    """Whether a session is as it was written; `notes` say what could not be seen."""

    ok: bool
    entries: int
    head: str | None
    tail: int
    is_closed: bool
    anchors: tuple[dict[str, Any], ...]
    problems: tuple[ChainProblem, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class Bundled:
    """A bundle that was written: where, how large, its SHA-256, and the head it carries."""

    path: Path
    size_bytes: int
    sha256: str
    files: int
    entries: int
    head: str


def anchored_text(kinds: Iterable[AnchorKind]) -> str:
    """How far outside the shop the head is known."""
    given = set(kinds)
    if not given:
        return "Not anchored: the head was given to nobody."
    if given == {AnchorKind.OWN_ARCHIVE}:
        return "Kept by the shop only."
    return f"Anchored: {', '.join(sorted(kind.value.replace('_', ' ') for kind in given))}."
