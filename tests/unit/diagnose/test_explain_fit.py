"""Integrating doubts: a shortcut says what the whole computation says, and the whole is that of a Gaussian."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from valvebench.diagnose.explain_catalogue import Predicted
from valvebench.diagnose.explain_fit import Shared, fit

COMPONENTS, READINGS, DOUBTS = 40, 9, 20


@pytest.fixture
def made():
    """Made-up components: each doubt moves none, one or several of the readings, some readings do not count."""
    dice = np.random.default_rng(9)
    moves = dice.random((COMPONENTS, READINGS, DOUBTS)) < dice.random((COMPONENTS, 1, DOUBTS)) ** 2
    doubts = np.where(moves, dice.normal(0.0, 3.0, moves.shape), 0.0)
    variance = dice.uniform(0.5, 2.0, (COMPONENTS, READINGS))
    used = dice.random((COMPONENTS, READINGS)) < 0.8
    residual = dice.normal(0.0, 4.0, (COMPONENTS, READINGS))
    return Predicted(np.ones((COMPONENTS, READINGS)), doubts, variance), residual, used, np.full(READINGS, -9.0)


def test_the_density_is_that_of_the_whole_covariance(made):
    predicted, residual, used, out = made
    found = fit(predicted, residual, used, np.ones(DOUBTS), out)
    for i in range(COMPONENTS):
        kept = used[i]
        columns = predicted.doubts[i][kept]
        whole = np.diag(predicted.variance[i][kept]) + columns @ columns.T
        expected = multivariate_normal(np.zeros(kept.sum()), whole).logpdf(residual[i][kept]) if kept.any() else 0.0
        assert found.log_density[i] == pytest.approx(expected, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("scale", [1.0, 3.0])
def test_doubts_that_one_reading_has_alone_may_be_taken_as_its_noise(made, scale):
    predicted, residual, used, out = made
    scaled = np.arange(DOUBTS) % 3 > 0
    some = np.arange(0, COMPONENTS, 2)
    whole = fit(predicted, residual, used, np.where(scaled, scale, 1.0), out)
    short = Shared(predicted, residual, used, scaled).fit(some, scale, out)
    np.testing.assert_allclose(short.log_density, whole.log_density[some], rtol=1e-9)
    np.testing.assert_allclose(short.log_wild, whole.log_wild[some], rtol=1e-7)
    assert (short.is_far == whole.is_far[some]).all()
