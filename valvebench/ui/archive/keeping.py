"""Keeps the session at hand in the archive once it is closed, and what is added to it afterwards.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Final, NamedTuple, Protocol

from valvebench.bench.archived import Added
from valvebench.bench.archiving import is_anchored, lacks_anchor, own_anchor
from valvebench.model.errors import BenchError
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
        self._is_owed = False
        self._owed: set[Path] = set()

    def opened(self, keeper: Keeper, folder: Path) -> None:
        """A session stands open; one that was closed before is only followed for what is added."""
        at = self._at = _At(keeper, folder)
        self._is_owed = False
        self._seen = len(keeper.desk.session.entries) if keeper.desk.is_closed else 0
        keeper.listen(lambda: self._look(at))

    def note(self) -> None:
        """List the session at hand among those that are not closed, where there is an archive.

        One that is closed and lies there already, but was left before it could say so, says it now.
        """
        at = self._at
        if at is None:
            return
        if not at.keeper.desk.is_closed:
            self._runner.run(lambda: self._reach.archive().add(at.folder), done=_nothing, failed=_leave_it)
            return
        session = at.keeper.desk.session

        def work() -> str | None:
            archive = self._reach.archive()
            return archive.id if lacks_anchor(archive, session, ident=session.job.session.lower()) else None

        def done(archive_id: str | None) -> None:
            if archive_id is not None:
                self._anchor(at, archive_id, failed=_leave_it)

        self._runner.run(work, done=done, failed=_leave_it)

    def _look(self, at: _At) -> None:
        """After each change: what is closed, or said after closing, goes into the archive."""
        desk = at.keeper.desk
        if not desk.is_closed or len(desk.session.entries) == self._seen:
            return
        is_new, self._seen, self._is_owed = self._seen == 0, len(desk.session.entries), True

        def work() -> tuple[Added, str, Path]:
            archive = self._reach.archive(may_make=True)
            return archive.add(at.folder), archive.id, self._reach.place

        self._runner.run(
            work,
            done=lambda found: self._added(at, found[1], found[2] if is_new else None),
            failed=lambda error: self._not_added(at, error),
        )

    def _added(self, at: _At, archive_id: str, place: Path | None) -> None:
        if place is not None:
            self._tell(KEPT.format(job=at.keeper.desk.job.job, place=place), is_problem=False)
        self._anchor(at, archive_id, failed=lambda error: self._no_anchor(at, error))

    def _anchor(self, at: _At, archive_id: str, *, failed: Callable[[Exception], None]) -> None:
        """The session says that it is kept, once; of one that was left it is said at the end or the next opening."""
        if self._at is not at:
            return
        self._is_owed = not is_anchored(at.keeper.desk.session, archive_id)
        if self._is_owed:
            at.keeper.keep(own_anchor(archive_id), kept=lambda *_: self._changed(), failed=failed)

    def _not_added(self, at: _At, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        if self._at is at:
            self._seen = 0
        words = NOT_KEPT.format(job=at.keeper.desk.job.job, why=error, folder=at.folder)
        self._tell(words, is_problem=True)

    def _no_anchor(self, at: _At, error: Exception) -> None:
        if not isinstance(error, BenchError):
            raise error
        self._tell(NO_ANCHOR.format(job=at.keeper.desk.job.job, why=error), is_problem=True)

    def left(self) -> None:
        """Nobody is followed any more; what is under way comes to its end, what is owed is done by `finish`."""
        at, self._at = self._at, None
        if at is not None and (self._is_owed or at.keeper.is_closing):
            self._owed.add(at.folder)

    def finish(self) -> None:
        """The window closes, and nothing is under way: what was closed in it is kept, and says so.

        Waits for the disk.  What fails here is told to nobody: the next opening does it, or the page Archive.
        """
        while self._owed:
            folder = self._owed.pop()
            with suppress(BenchError):
                self._reach.archives.keep(self._reach.archive(may_make=True), folder)


def _nothing(_: object) -> None:
    """It is listed: the page shows it."""


def _leave_it(error: Exception) -> None:
    """A list of open sessions is a help and no evidence: where it cannot be kept nobody is held up."""
    if not isinstance(error, (BenchError, NoArchive)):
        raise error
