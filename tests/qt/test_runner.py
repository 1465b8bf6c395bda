"""The worker beside the window: answers in the window's thread, and no garbage collected beside it."""

from __future__ import annotations

import gc
import threading
import time

import pytest
import shiboken6

from valvebench.ui.runner import QtRunner


@pytest.fixture
def runner(qtbot):
    made = QtRunner()
    yield made
    made.forget()


def test_answers_come_in_the_order_asked_and_in_the_windows_thread(runner, qtbot):
    told: list[tuple[int, bool]] = []
    here = threading.current_thread()
    for number in range(5):
        runner.run(
            lambda n=number: n,
            done=lambda n: told.append((n, threading.current_thread() is here)),
            failed=pytest.fail,
        )
    qtbot.waitUntil(lambda: len(told) == 5)
    assert told == [(number, True) for number in range(5)]


def test_an_error_of_the_work_reaches_the_one_who_asked(runner, qtbot):
    told: list[Exception] = []
    runner.run(lambda: 1 / 0, done=pytest.fail, failed=told.append)
    qtbot.waitUntil(lambda: bool(told))
    assert isinstance(told[0], ZeroDivisionError)


def test_no_garbage_is_collected_in_the_worker(runner, qtbot):
    """A Qt object that dies in the worker takes the program with it."""
    threads: set[threading.Thread] = set()

    def seen(phase: str, _: object) -> None:
        if phase == "start":
            threads.add(threading.current_thread())

    def litter() -> None:
        for _ in range(50_000):
            cycle: list[object] = []
            cycle.append(cycle)

    done: list[object] = []
    gc.callbacks.append(seen)
    try:
        runner.run(litter, done=done.append, failed=pytest.fail)
        qtbot.waitUntil(lambda: bool(done))
    finally:
        gc.callbacks.remove(seen)
    assert threads <= {threading.main_thread()}
    assert gc.isenabled()


def test_the_collector_is_on_again_after_work_that_nobody_waits_for(runner):
    runner.run(lambda: None, done=pytest.fail, failed=pytest.fail)
    assert not gc.isenabled()
    runner.forget()
    assert gc.isenabled()


def test_the_collector_is_on_again_after_a_runner_that_went_in_the_middle_of_its_work(runner, qtbot):
    gone = QtRunner()
    gone.run(lambda: time.sleep(0.05), done=pytest.fail, failed=pytest.fail)
    shiboken6.delete(gone)
    assert gc.isenabled()


def test_the_collector_stays_off_until_the_last_of_two_runners_is_done(runner, qtbot):
    other, started = QtRunner(), threading.Event()
    runner.run(started.wait, done=lambda _: None, failed=pytest.fail)
    other.run(lambda: None, done=pytest.fail, failed=pytest.fail)
    other.forget()
    assert not gc.isenabled()
    started.set()
    runner.forget()
    assert gc.isenabled()


def test_short_work_is_waited_for_but_never_long(runner, qtbot):
    release = threading.Event()
    assert runner.soon(lambda: "here", within_ms=5_000) == "here"
    begin = time.monotonic()
    assert runner.soon(lambda: release.wait(10), within_ms=20) is None
    assert time.monotonic() - begin < 5
    release.set()
    told: list[str] = []
    runner.run(lambda: "next", done=told.append, failed=pytest.fail)
    qtbot.waitUntil(lambda: told == ["next"])


def test_short_work_that_fails_finds_nothing_and_troubles_nobody(runner):
    assert runner.soon(lambda: 1 / 0, within_ms=5_000) is None


def test_what_is_dropped_is_neither_waited_for_nor_told(runner, qtbot):
    go_on, told = threading.Event(), []
    runner.run(lambda: go_on.wait(10), done=lambda _: told.append("dropped"), failed=pytest.fail)
    begun = time.perf_counter()
    runner.drop()
    assert time.perf_counter() - begun < 1.0
    go_on.set()
    runner.run(lambda: "next", done=told.append, failed=pytest.fail)
    qtbot.waitUntil(lambda: bool(told))
    assert told == ["next"]
