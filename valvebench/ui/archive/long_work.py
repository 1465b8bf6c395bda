"""One piece of long work at a time, with its progress and a way out.  No Qt."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final, Protocol

from valvebench.bench.archived import Step
from valvebench.model.errors import BenchError
from valvebench.ui.archive.reach import NoArchive, Runs

STOPPED: Final = "Stopped. Nothing was changed."
STOPPING: Final = "Stopping \u2026"
NO_ARCHIVE: Final = "There is no archive yet on this computer: close a session, or bring one back from a backup."


class BusyView(Protocol):
    """What long work asks of a part of the page."""

    def show_busy(self, *, is_busy: bool) -> None:
        """Whether something is under way."""
        ...

    def say(self, words: str, *, is_problem: bool = False) -> None:
        """How far it is, or what came of it."""
        ...


class _Under:
    """What is under way: the worker writes how far it is, the window reads it; neither waits for the other."""

    def __init__(self, words: str, unit: str) -> None:
        self.words, self.unit = words, unit
        self.done = self.of = 0
        self.is_wanted = True

    def step(self, done: int, of: int) -> bool:
        """Called by the worker; whether to go on."""
        self.done, self.of = done, of
        return self.is_wanted

    def progress(self) -> str:
        """How far it is."""
        if not self.is_wanted:
            return STOPPING
        return f"{self.words}: {self.done} of {self.of} {self.unit}" if self.of else f"{self.words} \u2026"


class LongWork:
    """Begins work on its worker unless some is under way already."""

    def __init__(self, view: BusyView, worker: Runs) -> None:
        self._view, self._worker = view, worker
        self._under: _Under | None = None

    @property
    def is_busy(self) -> bool:
        """Whether something is under way."""
        return self._under is not None

    def begin(self, words: str, unit: str, work: Callable[[Step], Any], done: Callable[[Any], None]) -> None:
        """Work that is given its step; `done` has what it found, None where it was stopped."""
        if self._under is not None:
            return
        under = self._under = _Under(words, unit)
        self._view.show_busy(is_busy=True)
        self._view.say(under.progress())
        self._worker.run(lambda: work(under.step), done=lambda found: self._end(done, found), failed=self._failed)

    def tick(self) -> None:
        """A little later: say how far it is."""
        if self._under is not None:
            self._view.say(self._under.progress())

    def break_off(self) -> None:
        """It is not wanted any more; it ends at its next step."""
        if self._under is not None:
            self._under.is_wanted = False
            self._view.say(STOPPING)

    def _end(self, done: Callable[[Any], None], found: Any) -> None:
        self._under = None
        self._view.show_busy(is_busy=False)
        if found is None:
            self._view.say(STOPPED)
        else:
            done(found)

    def _failed(self, error: Exception) -> None:
        self._under = None
        self._view.show_busy(is_busy=False)
        if isinstance(error, NoArchive):
            self._view.say(NO_ARCHIVE, is_problem=True)
        elif isinstance(error, BenchError):
            self._view.say(str(error), is_problem=True)
        else:
            raise error
