"""An empty archive for each test, and one with a few sessions."""

from __future__ import annotations

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
