"""A coil that follows a probe with one time constant."""

from __future__ import annotations

import math

import numpy as np
import pytest

from valvebench.physics.lag import lag_response, memory_of_start

TAU_S = 60.0


@pytest.mark.parametrize(
    ("n", "left"), [(1, 0.3679), (2, 0.1353), (3, 0.0498), (4, 0.0183), (5, 0.0067)], ids="after {} tau".format
)
def test_a_step_is_forgotten_by_e_for_each_time_constant(n, left):
    """1 - e^-n: 0.6321 ... 0.9933, from memory."""
    t_s = np.linspace(0.0, n * TAU_S, 7)
    followed = lag_response(t_s, np.full(7, 100.0), tau_s=TAU_S, start_celsius=0.0)
    assert followed[-1] == pytest.approx(100.0 * (1.0 - left), abs=5e-3)
    assert memory_of_start(t_s, tau_s=TAU_S)[-1] == pytest.approx(left, abs=5e-5)


def test_a_ramp_is_followed_at_rate_times_tau_behind():
    t_s = np.arange(0.0, 3600.0, 2.0)
    followed = lag_response(t_s, 20.0 + 0.05 * t_s, tau_s=TAU_S)
    assert 20.0 + 0.05 * t_s[-1] - followed[-1] == pytest.approx(3.0, abs=1e-9)


def test_uneven_steps_give_the_same_as_even_ones():
    dice = np.random.default_rng(1)
    even = np.arange(0.0, 4000.0, 1.0)
    probe = np.interp(even, [0, 1000, 1500, 4000], [20.0, 110.0, 108.0, 30.0])
    keep = np.unique(np.concatenate(([0, 1000, 1500, 3999], dice.integers(0, 4000, 900))))
    whole = lag_response(even, probe, tau_s=7.0, start_celsius=25.0)
    some = lag_response(even[keep], probe[keep], tau_s=7.0, start_celsius=25.0)
    assert some == pytest.approx(whole[keep], abs=1e-9)


@pytest.mark.parametrize("gap_s", [1e4, 1e6, 1e9])
def test_a_gap_of_many_time_constants_ends_at_the_probe(gap_s):
    t_s = np.array([0.0, 1.0, 3.0, gap_s, gap_s + 1.0])
    followed = lag_response(t_s, np.array([20.0, 20.0, 20.0, 80.0, 80.0]), tau_s=1.0, start_celsius=0.0)
    rate = 60.0 / (gap_s - 3.0)
    assert followed[3] == pytest.approx(80.0 - rate, abs=1e-9)


def test_without_lag_the_coil_is_where_the_probe_is():
    t_s, probe = np.arange(4.0), np.array([20.0, 30.0, 25.0, 40.0])
    assert lag_response(t_s, probe, tau_s=0.0) == pytest.approx(probe)
    assert lag_response(t_s, probe, tau_s=0.0, start_celsius=5.0) == pytest.approx([5.0, 30.0, 25.0, 40.0])
    assert memory_of_start(t_s, tau_s=0.0) == pytest.approx([1.0, 0.0, 0.0, 0.0])


def test_a_lag_far_below_and_far_above_the_step_stays_finite():
    t_s = np.cumsum(np.linspace(0.1, 3.0, 5000))
    probe = 20.0 + 0.01 * t_s
    assert lag_response(t_s, probe, tau_s=1e-3) == pytest.approx(probe, abs=1e-4)
    assert lag_response(t_s, probe, tau_s=1e9) == pytest.approx(np.full(5000, probe[0]), abs=1e-2)


def test_a_negative_lag_is_refused():
    with pytest.raises(ValueError, match="must not be negative"):
        lag_response(np.arange(3.0), np.arange(3.0), tau_s=-1.0)


def test_one_sample_stays_as_it_is():
    assert lag_response(np.array([5.0]), np.array([21.0]), tau_s=9.0)[0] == pytest.approx(21.0)
    assert math.isclose(lag_response(np.array([5.0]), np.array([21.0]), tau_s=9.0, start_celsius=3.0)[0], 3.0)
