"""The guards of conftest.py catch what they are there for: each little test below must fail."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[2]

CASES = """
import logging, threading, time, warnings
import pytest

def test_good_quiet(): pass
def test_good_expected_line(log_watch):
    log_watch.expect("cable")
    logging.getLogger("meter").warning("cable came off")
def test_good_thread_that_ends():
    threading.Thread(target=time.sleep, args=(0.05,)).start()
def test_good_window_closed(qtbot):
    from PySide6.QtWidgets import QLabel
    label = QLabel(); qtbot.addWidget(label); label.show()
def test_bad_line(): logging.getLogger("meter").warning("cable came off")
def test_bad_warning(): warnings.warn("old", DeprecationWarning)
def test_bad_thread():
    threading.Thread(target=time.sleep, args=(20,), daemon=True).start()
KEPT = []
def test_bad_timer(qapp):
    from PySide6.QtCore import QTimer
    timer = QTimer(); KEPT.append(timer); timer.start(100000)
def test_bad_window(qapp):
    from PySide6.QtWidgets import QLabel
    label = QLabel(); KEPT.append(label)
def test_bad_qt_message(qtbot):
    from PySide6.QtCore import qWarning
    qWarning("out of paint")
@pytest.mark.study
def test_skipped_study(): assert False
"""


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    folder = tmp_path_factory.mktemp("noise")
    shutil.copy(TESTS / "conftest.py", folder)
    shutil.copy(TESTS.parent / "pyproject.toml", folder)
    (folder / "test_noise.py").write_text(CASES, encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-v", "-p", "no:cacheprovider", "-p", "no:xdist", "test_noise.py"]
    env = {**os.environ, "QT_QPA_PLATFORM": "offscreen"}
    answer = subprocess.run(command, cwd=folder, env=env, capture_output=True, text=True, check=False)
    found = re.findall(r"::test_(\w+) (PASSED|FAILED|ERROR|SKIPPED)", answer.stdout)
    assert found, answer.stdout + answer.stderr
    return {name: {outcome for seen, outcome in found if seen == name} for name, _ in found}


@pytest.mark.parametrize("name", ["quiet", "expected_line", "thread_that_ends", "window_closed"])
def test_what_is_clean_passes(outcomes, name):
    assert outcomes[f"good_{name}"] == {"PASSED"}


@pytest.mark.parametrize("name", ["line", "warning", "thread", "timer", "window", "qt_message"])
def test_what_is_left_behind_fails(outcomes, name):
    assert outcomes[f"bad_{name}"] & {"FAILED", "ERROR"}


def test_long_studies_wait_for_their_option(outcomes):
    assert outcomes["skipped_study"] == {"SKIPPED"}
