"""What fails most: counts by hand, intervals by an independent library."""

from __future__ import annotations

import pytest
from scipy.stats import binomtest

from valvebench.diagnose.failures import By, Cell, Cells, counted, total_of, warnings_of
from valvebench.physics.outliers import share_interval

CELLS = Cells(
    devices=(
        Cell("tern", "Heron", "Counter", "B-1", 30, 12),
        Cell("tern", "Heron", "Harbour", "B-1", 10, 0),
        Cell("tern", "Gull", "Counter", "B-1", 1, 1),
        Cell("skua", "Heron", "Counter", "", 40, 4),
    ),
    sessions=(
        Cell("tern", "", "Counter", "B-1", 31, 13),
        Cell("tern", "", "Harbour", "B-1", 10, 0),
        Cell("skua", "", "Counter", "", 40, 4),
    ),
)


@pytest.mark.parametrize(("hits", "n"), [(0, 1), (1, 1), (0, 10), (12, 40), (17, 71), (999, 1000)])
def test_the_interval_by_another_library(hits, n):
    wanted = binomtest(hits, n).proportion_ci(confidence_level=0.95, method="exact")
    assert share_interval(hits, n, confidence=0.95) == pytest.approx((wanted.low, wanted.high), abs=1e-9)


def test_devices_are_told_apart_by_variant_and_one_of_one_does_not_lead():
    found = counted(CELLS, By.DEVICE)
    assert [(one.of, one.name, one.sessions, one.failed) for one in found] == [
        ("tern", "Heron", 40, 12),
        ("skua", "Heron", 40, 4),
        ("tern", "Gull", 1, 1),
    ]


def test_suppliers_and_batches():
    assert [(one.name, one.sessions, one.failed) for one in counted(CELLS, By.SUPPLIER)] == [
        ("Counter", 71, 17),
        ("Harbour", 10, 0),
    ]
    assert [(one.of, one.name, one.sessions, one.failed) for one in counted(CELLS, By.BATCH)] == [
        ("Counter", "B-1", 31, 13),
        ("Counter", "", 40, 4),
        ("Harbour", "B-1", 10, 0),
    ]
    assert total_of(counted(CELLS, By.VARIANT)) == (81, 17)


def test_few_sessions_are_said():
    said = warnings_of(counted(CELLS, By.DEVICE))
    assert len(said) == 2
    assert said[1].startswith("1 of 3 lines rest on fewer than 10 sessions")
    assert len(warnings_of(counted(CELLS, By.SUPPLIER))) == 1
