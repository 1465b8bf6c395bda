"""A small invented body on a desk in memory."""

from __future__ import annotations

import pytest

from tests.fakes.pins_bench import Bench


@pytest.fixture
def bench():
    return Bench().start()


@pytest.fixture
def make_bench():
    return Bench
