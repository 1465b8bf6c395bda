"""The real starter on a fresh copy of the checkout: killed in the middle, started again, idle the third time."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[3]
KILLED_AFTER_S = 6


@pytest.mark.study
@pytest.mark.skipif(sys.platform == "win32", reason="kills a process group")
def test_interrupted_repeated_and_in_a_path_with_spaces(tmp_path):
    copy = tmp_path / "my bench" / "valve bench"
    subprocess.run(["git", "clone", "--quiet", str(ROOT), str(copy)], check=True)
    words = [sys.executable, "resources/start.py", "test", "--collect-only", "--quiet", "tests/unit/house"]
    first = subprocess.Popen(words, cwd=copy, start_new_session=True, stdout=subprocess.DEVNULL)
    time.sleep(KILLED_AFTER_S)
    os.killpg(first.pid, signal.SIGKILL)
    first.wait()
    assert not (copy / ".venv" / "done-test").exists()
    again = subprocess.run(words, cwd=copy, capture_output=True, text=True, check=False)
    assert "test_start.py" in again.stdout, again.stdout + again.stderr
    assert (copy / ".venv" / "done-test").exists()
    log = (copy / ".venv" / "start.log").read_bytes()
    subprocess.run(words, cwd=copy, check=False, capture_output=True)
    assert (copy / ".venv" / "start.log").read_bytes() == log
