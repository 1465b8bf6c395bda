"""A session of the archive as a folder to open: where it lies already, else as the archive kept it."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Final

from valvebench.bench.archived import Asked, Listed
from valvebench.bench.ports import Archive
from valvebench.bench.view import SessionView
from valvebench.model.entry import OpenJob
from valvebench.model.errors import BenchError

Look = Callable[[Path], SessionView]
_MOST_LIKE: Final = 20


def same_code(one: str | None, other: str | None) -> bool:
    """Whether two numbers are the same but for their signs and small letters; an empty one is like none."""
    left, right = (plain(text) for text in (one, other))
    return bool(left) and left == right


def plain(text: str | None) -> str:
    """A number without its signs, in small letters."""
    return "".join(sign for sign in (text or "").casefold() if sign.isalnum())


def folder_of(archive: Archive, ident: str, *, places: Iterable[Path], root: Path, look: Look) -> Path:
    """The folder of an archived session (raises BenchError).

    A folder among `places` that still holds it, with all that the archive has of it, is taken as it is; else the
    archive writes it below `root`, as it was kept.
    """
    shown = archive.show(ident)
    for folder in places:
        if _holds(folder, shown.head, shown.entries, look):
            return folder
    name = f"archived-{_file_name(shown.session.job)}-{shown.session.id[:8]}"
    names = (name if count == 1 else f"{name}-{count}" for count in range(1, 10_000))
    return archive.write_folder(ident, next(root / one for one in names if not (root / one).exists()))


def _holds(folder: Path, head: str, entries: int, look: Look) -> bool:
    """Whether a folder holds the session that was closed with this head; one that cannot be read does not."""
    try:
        session = look(folder).session
    except (BenchError, OSError):
        return False
    return session.is_closed and session.head == head and len(session.entries) >= entries


def _file_name(job: str) -> str:
    return "".join(sign if sign.isalnum() else "-" for sign in job).strip("-")[:60] or "job"


def earlier_of(archive: Archive, job: OpenJob) -> Listed | None:
    """The session that a comeback belongs to: the latest of the job it names, else of the same serial.

    A part number alone names a make of part and no part, so nothing is taken by it.
    """
    found = _latest(archive, job.comeback_of, lambda one: one.job, job)
    return found or _latest(archive, job.serial, lambda one: one.serial, job)


def _latest(archive: Archive, text: str | None, number: Callable[[Listed], str | None], job: OpenJob) -> Listed | None:
    """The latest other session with just this number."""
    if not text:
        return None
    found = archive.find(Asked(text=text, most=_MOST_LIKE)).sessions
    like = [one for one in found if same_code(number(one), text) and not same_code(one.job, job.job)]
    return max(like, key=lambda one: one.closed_at, default=None)
