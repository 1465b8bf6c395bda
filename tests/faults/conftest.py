"""Fault tests fork, lock and kill: they need a system that can."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

collect_ignore_glob = [] if hasattr(os, "fork") else ["test_*.py"]


@pytest.fixture
def ram_path(tmp_path):
    """A folder in memory where there is one: thousands of trials need a file system, not a disk."""
    shared = Path("/dev/shm")
    if not os.access(shared, os.W_OK):
        yield tmp_path
        return
    with tempfile.TemporaryDirectory(prefix="valvebench-", dir=shared) as folder:
        yield Path(folder)
