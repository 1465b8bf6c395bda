"""Two like devices in one run: the ratio and whether it stays the same. The truth is the test's own."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.diagnose.heat_data import HeatRun
from valvebench.diagnose.heat_matched import ratio_of
from valvebench.model.meter import Meter

FINE = Meter(percent=0.2, counts=1, step=0.001)
SIGMA_OHM = 0.005


def coil(ohm, extra=0.0, *, n=300, seed=1, hottest=110.0, correlation=0.0):
    """Copper by IEC 60034-1 up and down, with what is added: ohm, or a function of temperature."""
    t_s = np.arange(n) * 10.0
    celsius = 20.0 + (hottest - 20.0) * np.sin(np.linspace(0.0, np.pi, n))
    noise = np.random.default_rng(seed).normal(size=n) * SIGMA_OHM
    for i in range(1, n):
        noise[i] = correlation * noise[i - 1] + (1 - correlation**2) ** 0.5 * noise[i]
    added = extra(celsius) if callable(extra) else extra
    return HeatRun(celsius, ohm * (234.5 + celsius) / 254.5 + added + noise, t_s)


def found(a, b, meter=FINE):
    return ratio_of("Heron", "Gull", (a, b), meter)


def test_two_coppers_keep_their_ratio():
    result = found(coil(5.2), coil(5.0, seed=2))
    assert result.constant is True
    assert abs(result.ratio.value - 1.04) < 3 * result.ratio.u
    assert result.ratio.u < 0.001


def test_a_contact_that_grows_with_heat_tilts_it():
    assert found(coil(5.2), coil(5.2, lambda c: 0.3 * (c - 20) / 90, seed=2)).constant is False


def test_a_contact_that_grows_from_a_temperature_on_bends_it():
    """The bend is no noise with a memory."""
    assert found(coil(5.2), coil(5.2, lambda c: 0.4 * np.maximum(c - 70, 0) / 40, seed=2)).constant is False


def test_a_contact_that_stays_put_tilts_it_too():
    """0.3 ohm on 5.2 ohm: 5.8 percent at 20 degrees, 4.3 percent at 110 (hand arithmetic)."""
    assert found(coil(5.2, 0.3), coil(5.2, seed=2)).constant is False


def test_a_coarse_meter_cannot_tell():
    coarse = Meter(percent=1.0, counts=3, step=0.1)
    assert found(coil(5.2, 0.02), coil(5.2, seed=2), coarse).constant is None


def test_the_counts_of_both_count_and_the_gain_does_not():
    """One count of 0.01 ohm on 5.2 x 1.22 ohm each: 0.01/sqrt(3)/6.4 x sqrt(2) = 0.0013 (hand arithmetic)."""
    meter = Meter(percent=50.0, counts=1, step=0.01)
    assert found(coil(5.2), coil(5.2, seed=2), meter).ratio.u == pytest.approx(0.0013, rel=0.1)


def test_too_narrow_a_span_cannot_tell():
    assert found(coil(5.2, hottest=26.0), coil(5.2, hottest=26.0, seed=2)).constant is None


def test_devices_that_are_not_alike_are_not_compared():
    assert found(coil(5.2), coil(12.0)) is None


def test_devices_that_were_never_read_at_one_moment_are_not_compared():
    late = coil(5.2)
    assert found(coil(5.2), late._replace(t_s=late.t_s + 3.0)) is None


def test_an_opening_and_a_single_wild_sample_count_for_nothing():
    run = coil(5.2)
    run.ohm[40:50] = np.inf
    run.ohm[100] += 4.0
    result = found(run, coil(5.2, seed=2))
    assert result.constant is True
    assert abs(result.ratio.value - 1.0) < 3 * result.ratio.u


def test_one_that_is_open_throughout_is_not_compared():
    run = coil(5.2)
    run.ohm[:] = np.inf
    assert found(run, coil(5.2)) is None


def test_rounds_are_matched_round_by_round():
    celsius = np.array([20.0, 50.0, 80.0, 110.0, 80.0, 50.0])
    a = HeatRun(celsius, np.round(5.2 * (234.5 + celsius) / 254.5, 3))
    b = HeatRun(celsius + 0.2, np.round(5.0 * (234.5 + celsius) / 254.5, 3))
    result = found(a, b)
    assert result.constant is True
    assert abs(result.ratio.value - 1.04) < 3 * result.ratio.u
    assert found(a, b._replace(probe_celsius=celsius + 2.0)) is None


def test_many_rounds_at_few_plateaus_are_enough():
    celsius = np.repeat([20.0, 60.0, 110.0], 15)
    noise = np.random.default_rng(3).normal(size=(2, 45)) * SIGMA_OHM
    a, b = (HeatRun(celsius, 5.2 * (234.5 + celsius) / 254.5 + one) for one in noise)
    assert found(a, b).constant is True


def test_noise_with_a_memory_is_not_taken_for_a_tilt():
    """Of 100 pairs with AR(1) noise of 0.9 at most 6 may be called tilted: 1 in 100 expected, binomial 99.9 percent."""
    pairs = [(coil(5.2, seed=k, correlation=0.9), coil(5.2, seed=1000 + k, correlation=0.9)) for k in range(100)]
    assert sum(found(a, b).constant is False for a, b in pairs) <= 6
