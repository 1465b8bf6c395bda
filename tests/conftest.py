"""Noise fails: an unexpected log line, a thread, a timer or a window left behind is a failed test."""

from __future__ import annotations

import gc
import logging
import os
import re
import tempfile
import threading
import time
from collections.abc import Iterator

import pytest
from hypothesis import settings

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
# Neither a test nor a program it starts touches the settings of whoever runs it.
os.environ.setdefault("VALVEBENCH_SETTINGS", tempfile.mkdtemp(prefix="valvebench-settings-"))

# A shared machine stalls now and then; the time of one example says nothing here.
settings.register_profile("house", settings(), deadline=None)
settings.load_profile("house")

SETTLE_S = 5.0
QT_FIXTURES = frozenset({"qtbot", "qapp", "qtmodeltester"})


def pytest_addoption(parser):
    parser.addoption("--study", action="store_true", help="also run the long studies")


def pytest_collection_modifyitems(config, items):
    if config.getoption("--study"):
        return
    skip = pytest.mark.skip(reason="a long study; run with --study")
    for item in items:
        if item.get_closest_marker("study"):
            item.add_marker(skip)


class LogWatch(logging.Handler):
    """Keeps lines of WARNING and above that nobody said would come."""

    def __init__(self) -> None:
        super().__init__(level=logging.WARNING)
        self.unexpected: list[str] = []
        self._awaited: list[re.Pattern[str]] = []

    def expect(self, pattern: str) -> None:
        """Say before it happens that lines matching this pattern are part of the test."""
        self._awaited.append(re.compile(pattern))

    def emit(self, record: logging.LogRecord) -> None:
        line = record.getMessage()
        if not any(pattern.search(line) for pattern in self._awaited):
            self.unexpected.append(f"{record.levelname} {record.name}: {line}")


@pytest.fixture(scope="session", autouse=True)
def one_application(request) -> None:
    """A paper that is drawn makes a small application where there is none, and a window could not live in it."""
    if any(QT_FIXTURES & set(getattr(item, "fixturenames", ())) for item in request.session.items):
        request.getfixturevalue("qapp")


@pytest.fixture(autouse=True)
def log_watch() -> Iterator[LogWatch]:
    """Fail on a log line of WARNING or above unless `log_watch.expect(pattern)` announced it."""
    watch = LogWatch()
    logging.getLogger().addHandler(watch)
    yield watch
    logging.getLogger().removeHandler(watch)
    assert not watch.unexpected, "unexpected log lines:\n" + "\n".join(watch.unexpected)


@pytest.fixture(autouse=True)
def no_thread_left() -> Iterator[None]:
    """Fail when a thread that the test started is still running shortly after it."""
    before = set(threading.enumerate())
    yield
    deadline = time.monotonic() + SETTLE_S
    while (left := _new_threads(before)) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert not left, f"threads left running: {left}"


def _new_threads(before: set[threading.Thread]) -> list[threading.Thread]:
    # A thread of Qt that once ran Python stays listed as a dummy for ever; Qt's own pool is asked below.
    new = set(threading.enumerate()) - before
    return [thread for thread in new if not isinstance(thread, threading._DummyThread)]


@pytest.fixture(autouse=True)
def no_qt_left(request, monkeypatch) -> Iterator[None]:
    """Fail when a timer, a window or a pool thread of Qt outlives a test that uses Qt."""
    if not QT_FIXTURES & set(request.fixturenames):
        yield
        return
    request.getfixturevalue("qapp")
    timers = _watch_timers(monkeypatch)
    before = set(_windows())
    yield
    _settle_qt()
    assert not (running := _running(timers)), f"timers left running: {running}"
    assert not (left := _new_windows(before)), f"windows left behind: {left}"


def _watch_timers(monkeypatch) -> list[object]:
    from PySide6.QtCore import QTimer

    started: list[object] = []
    plain_start = QTimer.start

    def start(timer, *interval):
        started.append(timer)
        return plain_start(timer, *interval)

    monkeypatch.setattr(QTimer, "start", start)
    return started


def _running(timers: list[object]) -> list[object]:
    from shiboken6 import isValid

    return [timer for timer in timers if isValid(timer) and timer.isActive()]


def _windows() -> dict[int, str]:
    """The windows that exist now: address of the object in C++ (wrappers come and go) and description."""
    from PySide6.QtWidgets import QApplication
    from shiboken6 import getCppPointer

    return {getCppPointer(w)[0]: repr(w) for w in QApplication.topLevelWidgets() if w.parent() is None}


def _new_windows(before: set[int]) -> list[str]:
    if _windows().keys() - before:
        gc.collect()
        _settle_qt()
    return [text for address, text in _windows().items() if address not in before]


def _settle_qt() -> None:
    from PySide6.QtCore import QCoreApplication, QEvent, QThreadPool

    assert QThreadPool.globalInstance().waitForDone(int(1000 * SETTLE_S)), "the pool of Qt is still working"
    QCoreApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
