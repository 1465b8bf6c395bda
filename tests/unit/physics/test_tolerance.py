"""Tolerance factors: what tables print, and the coverage they promise, integrated anew."""

from __future__ import annotations

import math

import pytest
from scipy import integrate, optimize, special

from valvebench.physics.tolerance import exact_k1, howe_k2, mean_half_width

USUAL = {"coverage": 0.9, "confidence": 0.95}


@pytest.mark.parametrize(("n", "k2"), [(5, 4.275), (10, 2.839), (20, 2.310), (30, 2.140)])
def test_two_sided_table(n, k2):
    """Eisenhart, Hastay and Wallis (1947), from memory."""
    assert howe_k2(n, **USUAL) == pytest.approx(k2, abs=0.0011)


def test_twelve_values_as_the_guide_has_them():
    """Chi-square for 11 degrees of freedom, 5 % below: 4.575 (printed in any table, from memory)."""
    assert howe_k2(12, **USUAL) == pytest.approx(1.6449 * math.sqrt(11 * 13 / 12 / 4.575), abs=3e-4)


@pytest.mark.parametrize(("n", "k1"), [(5, 3.407), (10, 2.355), (20, 1.926), (30, 1.777)])
def test_one_sided_table(n, k1):
    """Odeh and Owen (1980), from memory."""
    assert exact_k1(n, **USUAL) == pytest.approx(k1, abs=0.0006)


def test_one_sided_beside_the_approximation_of_the_handbook():
    """n = 43, 0.90, 0.99: Natrella 1.8752 (e-Handbook 7.2.6.3), exactly 1.8740."""
    exact = exact_k1(43, coverage=0.90, confidence=0.99)
    assert exact == pytest.approx(1.8740, abs=0.0001)
    assert exact < 1.8751896


@pytest.mark.parametrize("n", [3, 5, 10, 30])
def test_the_confidence_is_what_it_says(n):
    """Over the mean's place u, the chance that k2 s holds the share: without any formula for k2."""
    k2 = howe_k2(n, **USUAL)

    def density(u):
        half = optimize.brentq(lambda r: special.ndtr(u + r) - special.ndtr(u - r) - 0.9, 0, 60)
        return math.exp(-0.5 * n * u * u) * special.chdtrc(n - 1, (n - 1) * (half / k2) ** 2)

    confidence = 2 * math.sqrt(n / (2 * math.pi)) * integrate.quad(density, 0, 8 / math.sqrt(n))[0]
    assert confidence == pytest.approx(0.95, abs=0.003)


def test_half_width_of_a_mean_by_hand():
    """t for 9 degrees of freedom, 95 %: 2.262 (GUM table G.2); 2.262 x 1 / sqrt(10)."""
    assert mean_half_width(10, 1.0, confidence=0.95) == pytest.approx(2.262 / math.sqrt(10), abs=0.0002)
