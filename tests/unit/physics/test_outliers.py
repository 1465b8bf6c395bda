"""Odd values: hand arithmetic and what tables print; more published numbers are in tests/external."""

from __future__ import annotations

import pytest

from valvebench.physics.outliers import grubbs_critical, highest_z, modified_z, stray_from


@pytest.mark.parametrize(
    ("x", "middle", "spread", "expected"),
    [(5.2, 5.2, 0.1, 0.0), (5.3, 5.2, 0.1, 0.6745), (4.2, 5.2, 0.1, -6.745)],
)
def test_modified_z_by_hand(x, middle, spread, expected):
    assert modified_z(x, middle, spread) == pytest.approx(expected, abs=1e-12)


def test_grubbs_for_seven():
    """2.020 (Grubbs and Beck 1972, from memory); one printed table has its digits exchanged, 2.202."""
    assert grubbs_critical(7) == pytest.approx(2.020, abs=0.0006)


@pytest.mark.parametrize(("alpha", "expected"), [(0.10, 2.176), (0.02, 2.410)])
def test_grubbs_for_ten_at_other_chances(alpha, expected):
    """One-sided 5 % and 1 % (Grubbs and Beck 1972, from memory) are two-sided 10 % and 2 %."""
    assert grubbs_critical(10, alpha=alpha) == pytest.approx(expected, abs=0.0006)


def test_a_stray_by_hand():
    """Nine others, chance 0.1 shared among ten: t for 8 degrees of freedom, one-sided 0.005: 3.355 (any t table)."""
    assert stray_from(9, 10, alpha=0.1) == pytest.approx(3.355 * (10 / 9) ** 0.5, abs=0.001)


def test_the_bound_is_reached_by_one_value_apart_from_equal_ones():
    """0 0 0 4: mean 1, sd 2, (4 - 1)/2 = 1.5 = 3/sqrt(4)."""
    assert highest_z(4) == 1.5
