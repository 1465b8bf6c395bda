"""What was dropped onto the window: session, bundle, variant file, photo, log, or nothing it can take.  No Qt."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from pathlib import Path
from types import MappingProxyType
from typing import Final, NamedTuple

JOURNAL: Final = "journal.jsonl"
PICTURES: Final = frozenset({".png", ".jpg", ".jpeg"})
LOGS: Final = frozenset({".csv", ".tsv", ".txt", ".xlsx"})
BUNDLE: Final = ".zip"
TAKEN: Final = (
    "Drop a session folder, a bundle (.zip), a variant file (.json), a photo (.png, .jpg) "
    "or a logger's file (.csv, .xlsx)."
)
LOG_FIRST: Final = "A logger's file belongs to a job with solenoids: open or begin the job, then drop it again."


class Kind(Enum):
    """What a dropped thing is good for."""

    SESSION = "session"
    BUNDLE = "bundle"
    VARIANT = "variant"
    PHOTO = "photo"
    LOG = "log"
    NOTHING = "nothing"


_PLAIN: Final = MappingProxyType(
    {BUNDLE: Kind.BUNDLE, ".json": Kind.VARIANT, **dict.fromkeys(PICTURES, Kind.PHOTO)},
)


class Dropped(NamedTuple):
    """The kind of what was dropped, where it lies, and why it cannot be taken."""

    kind: Kind
    path: Path
    why: str = ""


def what_is(paths: Sequence[Path]) -> Dropped:
    """Look at the names and folders only; nothing is opened."""
    if len(paths) != 1:
        count = "Nothing with a place on this computer was" if not paths else f"{len(paths)} things were"
        return Dropped(Kind.NOTHING, Path(), f"{count} dropped: one at a time, please. {TAKEN}")
    return _one(paths[0])


def _one(path: Path) -> Dropped:
    if path.is_dir():
        return _folder(path)
    if path.name == JOURNAL:
        return Dropped(Kind.SESSION, path.parent)
    ending = path.suffix.lower()
    if ending in _PLAIN:
        return Dropped(_PLAIN[ending], path)
    if ending in LOGS:
        return Dropped(Kind.LOG, path, LOG_FIRST)
    return Dropped(Kind.NOTHING, path, f"{path.name} is none of these. {TAKEN}")


def _folder(path: Path) -> Dropped:
    if (path / JOURNAL).is_file():
        return Dropped(Kind.SESSION, path)
    return Dropped(Kind.NOTHING, path, f"The folder {path.name} holds no {JOURNAL}, so it is no session. {TAKEN}")


def as_path(text: str) -> Path:
    """A path as it was typed or pasted, also as the address of a file."""
    plain = text.strip().strip('"')
    if not plain.startswith("file:"):
        return Path(plain).expanduser()
    from urllib.parse import unquote, urlsplit

    return Path(unquote(urlsplit(plain).path))
