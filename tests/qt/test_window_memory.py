"""A window stands at the next start where it was left, and a broken place costs nothing else."""

from __future__ import annotations

import json

import pytest

from valvebench.ui import app as ui_app
from valvebench.ui.settings import read_settings
from valvebench.ui.window_memory import WindowMemory


@pytest.fixture
def start(qtbot, program):
    """Start the program's window with its memory; what goes to the log is kept in `log`."""

    def begin(log=None):
        window = ui_app.make_window(program)
        memory = WindowMemory(window, window.settings, log=(log if log is not None else []).append)
        qtbot.addWidget(window)
        memory.restore()
        return window

    return begin


def leave(window) -> None:
    window.close()
    window.runner.wait()


def kept(program):
    raw = program.settings_file().read()
    return None if raw is None else read_settings(raw)[0].window


def test_size_and_place_come_back(start, qtbot, program):
    first = start()
    first.show()
    before = first.geometry()
    first.resize(before.width() - 20, before.height() - 10)
    left = first.geometry()
    leave(first)
    assert start().geometry() == left


@pytest.mark.parametrize(("show", "shown"), [("showMaximized", "maximised"), ("showFullScreen", "full_screen")])
def test_a_large_window_comes_back_large(start, program, show, shown):
    first = start()
    getattr(first, show)()
    leave(first)
    assert kept(program)["shown"] == shown
    second = start()
    assert (second.isMaximized(), second.isFullScreen()) == (shown == "maximised", shown == "full_screen")


def test_a_window_never_shown_keeps_nothing(start, program):
    leave(start())
    assert kept(program) is None


def test_a_broken_place_is_said_in_the_log_and_the_other_settings_hold(start, program):
    program.settings_file().write(json.dumps({"by": "Ada", "window": {"x": "far"}}).encode())
    log: list[str] = []
    window = start(log)
    assert len(log) == 1
    assert window.settings.now.by == "Ada"
    assert window.settings.problem == ""
