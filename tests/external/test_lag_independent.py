"""The lag against scipy: a transfer function for straight lines between samples, and an integrator."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.signal import lsim

from valvebench.physics.lag import lag_response

KNOTS_S = np.array([0.0, 300.0, 700.0, 900.0, 1800.0])
KNOTS_CELSIUS = np.array([22.0, 60.0, 110.0, 110.0, 50.0])


@pytest.mark.parametrize("tau_s", [0.5, 7.0, 60.0, 900.0])
def test_even_steps_against_lsim(tau_s):
    t_s = np.arange(0.0, 1801.0, 2.0)
    probe = np.interp(t_s, KNOTS_S, KNOTS_CELSIUS)
    # started from rest at nought, so the start is taken off before and put back after
    _, rise, _ = lsim(([1.0], [tau_s, 1.0]), probe - probe[0], t_s)
    assert lag_response(t_s, probe, tau_s=tau_s) == pytest.approx(probe[0] + rise, abs=1e-9)


@pytest.mark.parametrize("tau_s", [3.0, 60.0, 400.0])
def test_uneven_steps_against_an_integrator(tau_s):
    dice = np.random.default_rng(7)
    t_s = np.unique(np.concatenate((KNOTS_S, dice.uniform(0.0, 1800.0, 80))))
    probe = np.interp(t_s, KNOTS_S, KNOTS_CELSIUS)
    followed = lag_response(t_s, probe, tau_s=tau_s, start_celsius=30.0)
    celsius = 30.0
    for begin, end, first, last, ours in zip(t_s, t_s[1:], probe, probe[1:], followed[1:], strict=False):
        slope = (last - first) / (end - begin)
        walk = solve_ivp(
            lambda t, y, a=first, b=slope, t0=begin: (a + b * (t - t0) - y) / tau_s,
            (begin, end),
            [celsius],
            rtol=1e-10,
            atol=1e-10,
        )
        celsius = walk.y[0, -1]
        assert ours == pytest.approx(celsius, abs=1e-6)
