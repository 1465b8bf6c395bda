"""An empty archive for each test, and copies of one that was filled once."""

from __future__ import annotations

import shutil

import pytest

from tests.data.archived import DayClock, session_in
from valvebench.archive.store import Store


@pytest.fixture
def store(tmp_path):
    store = Store(tmp_path / "archive", clock=DayClock("2031-09-01"))
    yield store
    store.close()


@pytest.fixture
def jobs(tmp_path):
    """Makes a closed session below a folder of its own."""

    def make(job, *bodies, **more):
        return session_in(tmp_path / "jobs", job, bodies, **more)

    return make


@pytest.fixture
def copy_of(tmp_path):
    """Opens a copy of a closed archive, which the test may change."""
    opened = []

    def copy(template):
        opened.append(Store(shutil.copytree(template, tmp_path / f"copy-{len(opened)}"), clock=DayClock("2032-01-01")))
        return opened[-1]

    yield copy
    for store in opened:
        store.close()
