"""A learned band: hand arithmetic, and what it refuses to tell; all values are made up here but the weights."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.special import ndtr

from valvebench.diagnose.band import Asked, learn_band

USUAL = Asked(0.9, 0.95)
FIVE = (5.0, 5.1, 5.2, 5.3, 5.4)
WEIGHTS = (148, 154, 158, 160, 161, 162, 166, 170, 182, 195, 236)
"""Of eleven men, Shapiro and Wilk (1965); W = 0.79; from memory."""
TWO_HEAPS = (5.00, 5.01, 5.00, 5.01, 5.02, 5.28, 5.29, 5.30, 5.30, 5.29)
TEN = (5.14, 5.16, 5.17, 5.18, 5.19, 5.20, 5.21, 5.22, 5.24, 5.26)


def learned(*values, asked=USUAL):
    return learn_band(np.array(values, float), range(2, 2 + len(values)), asked)


def test_five_values_by_hand():
    """Squares 0.04 0.01 0 0.01 0.04 over 4: sd 0.1581; deviations 0.2 0.1 0 0.1 0.2, median 0.1; k2 4.275 (table)."""
    band = learned(*FIVE)
    assert (band.n, band.used, band.outliers) == (5, 5, ())
    assert (band.mean, band.median, band.mad) == pytest.approx((5.2, 5.2, 0.1))
    assert band.sd == pytest.approx(0.025**0.5)
    assert band.k2 == pytest.approx(4.275, abs=0.001)
    assert (band.low, band.high) == pytest.approx((5.2 - 4.275 * 0.15811, 5.2 + 4.275 * 0.15811), abs=2e-4)
    assert band.high_alone == pytest.approx(5.2 + 3.407 * 0.15811, abs=2e-4)  # k1 from Odeh and Owen, from memory
    assert band.grubbs.g == pytest.approx(0.2 / 0.15811, abs=1e-4)
    assert band.grubbs.critical == pytest.approx(1.715, abs=0.0011)
    assert any("Only 5 values" in warning for warning in band.warnings)


def test_weights_of_men_are_far_from_normal():
    """Median 162, deviations 0 1 2 4 4 8 8 14 20 33 74, their median 8; 0.6745 x 74/8 = 6.239."""
    band = learned(*WEIGHTS)
    assert band.normality.statistic == pytest.approx(0.79, abs=0.005)
    assert band.normality.p < 0.01
    assert (band.median, band.mad) == (162, 8)
    assert [(one.row, one.value) for one in band.outliers] == [(12, 236)]
    assert band.outliers[0].modified_z == pytest.approx(6.239, abs=0.001)
    assert (band.n, band.used) == (11, 11)
    assert any("far from normal" in warning for warning in band.warnings)


def test_one_wild_value_moves_no_limit():
    calm, wild = learned(*TEN), learned(*TEN, 52.0)
    assert (wild.low, wild.high, wild.k2) == pytest.approx((calm.low, calm.high, calm.k2))
    assert wild.n == 11
    assert wild.mean == pytest.approx((sum(TEN) + 52) / 11)
    assert wild.grubbs.row == wild.outliers[0].row == 12
    assert wild.warnings[0] == "Row 12 lies too far off for chance: left out, the band is from the other 10."


@pytest.mark.parametrize(
    ("values", "says"),
    [
        pytest.param((5.2,), "1 value: a band takes at least 3", id="one"),
        pytest.param((5.2, 5.3), "2 values: a band takes at least 3", id="two"),
        pytest.param((5.1,) * 12, "All values are equal", id="equal"),
        pytest.param(
            (5.1, 5.1, 5.2, 5.2, 5.3, 5.3, 12.0, 12.5), "2 of 8 values lie too far off", id="two kinds of part"
        ),
    ],
)
def test_no_band_but_a_reason(values, says):
    band = learned(*values)
    assert (band.low, band.high, band.k2, band.low_alone) == (None, None, None, None)
    assert says in band.warnings[0]


def test_equal_values_have_no_spread_that_rounding_makes():
    band = learned(*(0.1,) * 7)
    assert (band.sd, band.grubbs, band.normality) == (0.0, None, None)


@pytest.mark.parametrize(
    ("values", "says"),
    [
        pytest.param((*(5.2,) * 7, 5.3, 5.1, 5.3), "More than half of the values are equal", id="half equal"),
        pytest.param((*(5.2,) * 7, 5.3, 5.1, 5.3), "step they were read with", id="coarse step"),
        pytest.param((0.1, 0.2, 0.3, 0.5, 0.9), "below nought", id="below nought"),
        pytest.param((*TEN, 5.36), "Row 12 is odd, and counted", id="odd"),
        pytest.param((*TWO_HEAPS, 5.85), "Row 12 is odd by Grubbs", id="odd by one test alone"),
        pytest.param(np.geomspace(1, 10, 40), "far from normal", id="skewed"),
    ],
)
def test_what_has_to_be_known(values, says):
    assert any(says in warning for warning in learned(*values).warnings)


def test_good_values_need_no_warning():
    assert learned(*TEN).warnings == ()


def test_too_many_for_the_test_of_shape():
    band = learned(*np.linspace(5.0, 5.4, 5001))
    assert band.normality is None
    assert any("not tested" in warning for warning in band.warnings)


@pytest.mark.parametrize("n", [6, 15])
def test_the_confidence_survives_what_is_left_out(n):
    """Of 1000 bands from normal values 950 hold their share, give or take 3 standard errors (7 each) and a little."""
    rng = np.random.default_rng(11)
    held = []
    for _ in range(1000):
        band = learned(*rng.normal(size=n))
        if band.low is not None:
            held.append(ndtr(band.high) - ndtr(band.low) >= 0.9)
    assert len(held) > 980
    assert np.mean(held) > 0.925


def test_more_is_asked_for_and_the_band_widens():
    assert learned(*TEN, asked=Asked(0.99, 0.95)).high > learned(*TEN).high
    assert learned(*TEN, asked=Asked(0.9, 0.99)).high > learned(*TEN).high
