"""Work off the window's thread: one worker, one writer, answers in the window's thread."""

from __future__ import annotations

import gc
from collections.abc import Callable
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
        self._finished(self._number, result, error)


class _CollectorPause:
    """No garbage is collected while work is under way: it would be collected in the worker's thread too.

    WORKAROUND: a Qt object that dies in another thread is deleted later by a pending call, which
    then finds it gone and the program with it (PySide6 6.11.3); remove when that is mended.
    """

    def __init__(self) -> None:
        self._under_way: set[int] = set()
        self._was_on = False

    def begin(self, number: int) -> None:
        """Work begins; called in the window's thread."""
        if not self._under_way:
            self._was_on = gc.isenabled()
            gc.disable()
        self._under_way.add(number)

    def end(self, number: int) -> None:
        """Work is over and its answer has reached the window's thread."""
        self._under_way.discard(number)
        if not self._under_way and self._was_on:
            gc.enable()

    def end_all(self) -> None:
        """The worker has nothing left to do."""
        for number in tuple(self._under_way):
            self.end(number)


class QtRunner(QObject):
    """One worker thread, so that writes keep their order."""

    _finished = Signal(int, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._waiting: dict[int, tuple[Done, Failed]] = {}
        self._count = 0
        self._collector = _CollectorPause()
        self._finished.connect(self._answer)

    def run(self, work: Work, *, done: Done, failed: Failed) -> None:
        """Run `work` beside the window; the answer comes in the window's thread."""
        self._count += 1
        self._waiting[self._count] = (done, failed)
        self._collector.begin(self._count)
        self._pool.start(_Job(work, self._count, self._finished.emit))

    @Slot(int, object, object)
    def _answer(self, number: int, result: object, error: object) -> None:
        self._collector.end(number)
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

    def wait(self) -> None:
        """Let everything that was begun come to its end, as before the window closes."""
        self._pool.waitForDone()
        self._collector.end_all()
