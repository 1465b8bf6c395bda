"""Keeps the session at hand in the archive once it is closed, and what is added to it afterwards.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Final, NamedTuple, Protocol

from valvebench.bench.archived import Added
from valvebench.model.entry import Anchor
from valvebench.model.errors import BenchError
from valvebench.model.words import AnchorKind
from valvebench.ui.archive.reach import NoArchive, Reach, Runs
from valvebench.ui.keeper import Keeper

KEPT: Final = "Job {job} is closed and kept in the archive of this computer: {place}"
NOT_KEPT: Final = (
    "Job {job} is closed, but not in the archive yet: {why} It lies in {folder}; the page Archive tries once more."
)
NO_ANCHOR: Final = "Job {job} is kept in the archive, but its own record does not say so. {why}"


class Tell(Protocol):
    """A line for the person."""

    def __call__(self, words: str, *, is_problem: bool) -> None:
        """Show it."""
        ...


class _At(NamedTuple):
    """The session at hand: who keeps its entries, and where it lies."""

    keeper: Keeper
    folder: Path


class Keeping:
    """Follows the session at hand; whatever is done to the archive is done beside the window."""

    def __init__(self, reach: Reach, runner: Runs, *, tell: Tell, changed: Callable[[], None]) -> None:
        self._reach, self._runner, self._tell, self._changed = reach, runner, tell, changed
        self._at: _At | None = None
        self._seen = 0

    def opened(self, keeper: Keeper, folder: Path) -> None:
        """A session stands open; one that was closed before is only followed for what is added."""
        at = self._at = _At(keeper, folder)
        self._seen = len(keeper.desk.session.entries) if keeper.desk.is_closed else 0
        keeper.listen(lambda: self._look(at))

    def note_open(self) -> None:
        """List the session at hand among those that are not closed, where there is an archive."""
        at = self._at
        if at is not None and not at.keeper.desk.is_closed:
            self._runner.run(lambda: self._reach.archive().add(at.folder), done=_nothing, failed=_leave_it)

    def _look(self, at: _At) -> None:
        """After each change: what is closed, or said after closing, goes into the archive."""
        desk = at.keeper.desk
        if not desk.is_closed or len(desk.session.entries) == self._seen:
            return
        is_new, self._seen = self._seen == 0, len(desk.session.entries)

        def work() -> tuple[Added, str, Path]:
            archive = self._reach.archive(may_make=True)
            return archive.add(at.folder), archive.id, self._reach.place

        self._runner.run(
            work,
            done=lambda found: self._added(at, found[1], found[2] if is_new else None),
            failed=lambda error: self._not_added(at, error),
        )

    def _added(self, at: _At, archive_id: str, place: Path | None) -> None:
        job, to = at.keeper.desk.job.job, f"archive {archive_id}"
        if place is not None:
            self._tell(KEPT.format(job=job, place=place), is_problem=False)
        anchors = at.keeper.desk.session.anchors
        is_told = any(one.kind is AnchorKind.OWN_ARCHIVE and one.to == to for one in anchors)
        if self._at is at and not is_told:
            at.keeper.keep(
                Anchor(kind=AnchorKind.OWN_ARCHIVE, to=to),
                kept=lambda *_: self._changed(),
                failed=lambda error: self._no_anchor(at, error),
            )

    def _not_added(self, at: _At, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._seen = 0
        words = NOT_KEPT.format(job=at.keeper.desk.job.job, why=error, folder=at.folder)
        self._tell(words, is_problem=True)

    def _no_anchor(self, at: _At, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._tell(NO_ANCHOR.format(job=at.keeper.desk.job.job, why=error), is_problem=True)

    def left(self) -> None:
        """Nobody is followed any more; what is under way comes to its end."""
        self._at = None


def _nothing(_: object) -> None:
    """It is listed: the page shows it."""


def _leave_it(error: Exception) -> None:
    """A list of open sessions is a help and no evidence: where it cannot be kept nobody is held up."""
    if not isinstance(error, (BenchError, NoArchive)):
        raise error
