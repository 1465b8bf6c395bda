"""The archive that the settings name, opened when somebody first asks for it.  No Qt."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

if TYPE_CHECKING:
    from valvebench.bench.archive_open import Look
    from valvebench.bench.ports import Archive, Archives


class NoArchive(Exception):
    """There is no archive yet: the first session that is closed makes it."""


class Runs(Protocol):
    """Runs work beside the window."""

    def run(self, work: Callable[[], Any], *, done: Callable[[Any], None], failed: Callable[[Exception], None]) -> None:
        """Run `work`; then call `done` with its result or `failed` with its error."""
        ...


class Places(NamedTuple):
    """Where sessions may lie on this computer: those opened last, and the folder of jobs; and how one is read."""

    recent: Callable[[], tuple[Path, ...]]
    jobs: Callable[[], Path]
    look: Look

    def folder_of(self, archive: Archive, ident: str) -> Path:
        """The folder of an archived session, written among the jobs where it is nowhere else (raises BenchError)."""
        from valvebench.bench.archive_open import folder_of, plain

        jobs = self.jobs()
        job = plain(archive.show(ident).session.job)
        inside = sorted(jobs.iterdir()) if jobs.is_dir() else []
        like = [one for one in inside if job in plain(one.name)]
        return folder_of(archive, ident, places=(*self.recent(), *like), root=jobs, look=self.look)


class Reach:
    """One archive at a time, asked from workers only: opening it may take a while."""

    def __init__(self, archives: Callable[[], Archives], folder: Callable[[], str]) -> None:
        self._make, self._folder = archives, folder
        self._archives: Archives | None = None
        self._opened: tuple[Path, Archive] | None = None
        self._lock = threading.Lock()

    @property
    def archives(self) -> Archives:
        """The way to archives."""
        if self._archives is None:
            self._archives = self._make()
        return self._archives

    @property
    def place(self) -> Path:
        """Where it lies, or would lie."""
        named = self._folder()
        return Path(named) if named else self.archives.default

    def archive(self, *, may_make: bool = False) -> Archive:
        """The archive (raises NoArchive where there is none and none may be made, BenchError)."""
        with self._lock:
            where = self.place
            if not may_make and not self.archives.is_there(where):
                self._let_go()
                raise NoArchive
            if self._opened is None or self._opened[0] != where:
                self._let_go()
                self._opened = where, self.archives.open(where, may_make=may_make)
            return self._opened[1]

    def close(self) -> None:
        """Let go of the archive, as when the window closes."""
        with self._lock:
            self._let_go()

    def _let_go(self) -> None:
        opened, self._opened = self._opened, None
        if opened is not None:
            opened[1].close()
