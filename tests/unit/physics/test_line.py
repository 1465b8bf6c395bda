"""Weighted least squares: hand arithmetic; the published fits are in tests/external."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.physics.line import fit_columns, fit_line, line_at

X = np.array([1.0, 2.0, 3.0, 4.0])


def test_points_on_a_line_are_found_exactly():
    fit = fit_line(X, 3.0 + 0.5 * X)
    assert fit.value == pytest.approx([3.0, 0.5])
    assert fit.sd == pytest.approx(0.0, abs=1e-12)


def test_three_points_by_hand():
    """y = 0, 0, 3 at x = -1, 0, 1: slope 3/2, height 1, residuals 1/2, -1, 1/2, s^2 = 3/2, u(slope)^2 = s^2/2."""
    fit = fit_line(np.array([-1.0, 0.0, 1.0]), np.array([0.0, 0.0, 3.0]))
    assert fit.value == pytest.approx([1.0, 1.5])
    assert fit.residual == pytest.approx([0.5, -1.0, 0.5])
    assert fit.sd**2 == pytest.approx(1.5)
    assert fit.covariance == pytest.approx(np.array([[0.5, 0.0], [0.0, 0.75]]))


def test_a_weight_of_two_counts_like_the_same_point_twice():
    y = np.array([1.0, 2.5, 2.0, 4.0])
    twice = fit_line(np.append(X, X[1]), np.append(y, y[1]))
    weighted = fit_line(X, y, weight=np.array([1.0, 2.0, 1.0, 1.0]))
    assert weighted.value == pytest.approx(twice.value)


def test_the_height_moves_along_the_line():
    y = np.array([1.0, 2.5, 2.0, 4.0])
    here, there = fit_line(X, y), fit_line(X, y, about=20.0)
    assert there.value[0] == pytest.approx(here.value[0] + 20.0 * here.value[1])
    assert line_at(there, 2.5, about=20.0) == pytest.approx(line_at(here, 2.5))
    # in the middle the doubt is the mean's alone (GUM H.3.4)
    assert line_at(here, 2.5)[1] == pytest.approx(here.sd / 2.0)


def test_too_few_points_and_columns_that_are_one_are_refused():
    with pytest.raises(ValueError, match="2 observations cannot fix 2 parameters"):
        fit_line(X[:2], X[:2])
    with pytest.raises(ValueError, match="depend on one another"):
        fit_columns(np.column_stack([X, 2.0 * X]), X)
    with pytest.raises(ValueError, match="depend on one another"):
        fit_line(np.ones(4), X)
