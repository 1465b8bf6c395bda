"""Work off the window's thread: one worker, one writer, answers in the window's thread."""

from __future__ import annotations

import gc
import itertools
import threading
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from typing import Any, Protocol

from PySide6.QtCore import QObject, QRunnable, QThreadPool, Signal, Slot

Work = Callable[[], Any]
Done = Callable[[Any], None]
Failed = Callable[[Exception], None]


class Runner(Protocol):
    """Runs plain work and hands the answer back."""

    def run(self, work: Work, *, done: Done, failed: Failed) -> None:
        """Run `work`; then call `done` with its result or `failed` with its error."""
        ...


class _Job(QRunnable):
    def __init__(self, work: Work, number: int, finished: Callable[[int, object, object], None]) -> None:
        super().__init__()
        self._work, self._number, self._finished = work, number, finished

    def run(self) -> None:
        """On the worker's thread: no widget is touched here."""
        try:
            result, error = self._work(), None
        except Exception as raised:  # noqa: BLE001  every error of a worker reaches the one who asked
            result, error = None, raised
        with suppress(RuntimeError):  # the runner has gone meanwhile: nobody waits for the answer
            self._finished(self._number, result, error)


class _CollectorPause:
    """No garbage is collected while work is under way: it would be collected in the worker's thread too.

    One for the whole program, since the collector is one too: with a pause for each runner, one that
    left in the middle of its work would leave the collector off, and the next would take that for
    how it was found.

    WORKAROUND: a Qt object that dies in another thread is deleted later by a pending call, which
    then finds it gone and the program with it (PySide6 6.11.3); remove when that is mended.
    """

    def __init__(self) -> None:
        self._under_way: set[tuple[int, int]] = set()
        self._was_on = False

    def begin(self, runner: int, number: int) -> None:
        """Work begins; called in the window's thread."""
        if not self._under_way:
            self._was_on = gc.isenabled()
            gc.disable()
        self._under_way.add((runner, number))

    def end(self, runner: int, number: int) -> None:
        """Work is over and its answer has reached the window's thread."""
        self._leave({(runner, number)})

    def end_all(self, runner: int) -> None:
        """The worker of this runner has nothing left to do."""
        self._leave({work for work in self._under_way if work[0] == runner})

    def _leave(self, over: set[tuple[int, int]]) -> None:
        was_paused = bool(self._under_way)
        self._under_way -= over
        if was_paused and not self._under_way and self._was_on:
            gc.enable()


_collector = _CollectorPause()
_runners = itertools.count(1)


class QtRunner(QObject):
    """One worker thread, so that writes keep their order."""

    _finished = Signal(int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._waiting: dict[int, tuple[Done, Failed]] = {}
        self._count = 0
        self._runner = next(_runners)
        self._finished.connect(self._answer)
        # the window may go in the middle of work; by then no method of this object can be called any more
        self.destroyed.connect(partial(_come_to_an_end, self._pool, self._runner))

    def run(self, work: Work, *, done: Done, failed: Failed) -> None:
        """Run `work` beside the window; the answer comes in the window's thread."""
        self._count += 1
        self._waiting[self._count] = (done, failed)
        _collector.begin(self._runner, self._count)
        self._pool.start(_Job(work, self._count, self._finished.emit))

    def soon(self, work: Work, *, within_ms: int) -> Any:
        """What short work finds, waited for at most so long; None where that is too short, or where it fails.

        For what stands before the window does: later nobody is made to wait.
        """
        found: list[Any] = []
        is_there = threading.Event()

        def act() -> None:
            try:
                found.append(work())
            finally:
                is_there.set()

        self.run(act, done=_leave_it, failed=_leave_it)
        is_there.wait(within_ms / 1000)
        return found[0] if found else None

    @Slot(int, object, object)
    def _answer(self, number: int, result: object, error: object) -> None:
        _collector.end(self._runner, number)
        if number not in self._waiting:
            return
        done, failed = self._waiting.pop(number)
        if isinstance(error, Exception):
            failed(error)
        else:
            done(result)

    def forget(self) -> None:
        """Let everything that was begun come to its end, and tell nobody: those who asked are leaving."""
        self.wait()
        self._waiting.clear()

    def drop(self) -> None:
        """Tell nobody of what was begun, and wait for none of it: only for work that touches nothing of the world."""
        self._waiting.clear()

    def wait(self) -> None:
        """Let everything that was begun come to its end, as before the window closes."""
        _come_to_an_end(self._pool, self._runner)


def _leave_it(_: object) -> None:
    """Nobody waits for this answer any more."""


def _come_to_an_end(pool: QThreadPool, runner: int, _gone: object = None) -> None:
    pool.waitForDone()
    _collector.end_all(runner)
