"""Control charts: what a handbook prints, and hand arithmetic."""

from __future__ import annotations

import pytest

from valvebench.physics.control_charts import MOST_RANGE_OVER_MEAN, RANGE_OVER_SD, cusum, individuals

FLOW = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
"""NIST/SEMATECH e-Handbook 6.3.2.2: ten batches."""


def test_factors_as_every_table_prints_them():
    assert pytest.approx(1.128, abs=0.0005) == RANGE_OVER_SD
    assert pytest.approx(3.267, abs=0.0006) == MOST_RANGE_OVER_MEAN


def test_ten_batches_as_the_handbook_prints_them():
    """Mean 50.81, mean range 1.8778, limits 45.8159 and 55.8041 with d2 rounded to 1.128 (a third of 0.0004 of 5)."""
    chart = individuals(FLOW)
    assert chart.middle == pytest.approx(50.81, abs=0.005)
    assert chart.mean_range == pytest.approx(1.8778, abs=0.00005)
    assert (chart.low, chart.high) == pytest.approx((45.8159, 55.8041), abs=0.002)


def test_the_step_of_a_meter_is_the_least_spread():
    """Three equal values and a step of 0.01: limits 0.03 either side."""
    chart = individuals([5.0, 5.0, 5.0], least_sd=0.01)
    assert (chart.low, chart.high, chart.mean_range) == pytest.approx((4.97, 5.03, 0.0), abs=1e-12)
    assert chart.high_range == pytest.approx(0.03686, abs=0.0001)  # 3.267 x 1.128 x 0.01


def test_sums_by_hand():
    """Target 10, slack 1: 13 adds 2, 12 adds 1, 9 takes 2; below the target 7 leaves 2, 5 adds 4."""
    found = cusum([13.0, 12.0, 9.0, 7.0, 5.0], target=10.0, slack=1.0, limit=5.0)
    assert found.high == (2.0, 3.0, 1.0, 0.0, 0.0)
    assert found.low == (0.0, 0.0, 0.0, 2.0, 6.0)
    assert found.first == 4


def test_a_sum_on_the_limit_is_no_signal():
    assert cusum([13.0], target=10.0, slack=1.0, limit=2.0).first is None
