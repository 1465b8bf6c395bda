"""A difference that two rectangles dominate."""

from __future__ import annotations

from math import sqrt

import pytest

from valvebench.physics.two_rectangles import combine_difference, trapezoid_k
from valvebench.physics.uncertainty import Line, rectangle


@pytest.mark.parametrize(
    ("shape", "coverage", "k", "within"),
    [
        # From memory: EA-4/02 S10 states k = 1.83 for half-widths of 50 and 25 micrometres (shape 1/3) and 95 %.
        pytest.param(1 / 3, 0.95, 1.83, 0.005, id="EA-4/02 S10"),
        # Triangle of half-width a: P(|x| < t a) = 1 - (1-t)^2, u = a/sqrt(6).
        pytest.param(0.0, 0.9545, (1 - sqrt(0.0455)) * sqrt(6), 1e-12, id="triangle, by integration"),
        pytest.param(0.0, 0.90, (1 - sqrt(0.10)) * sqrt(6), 1e-12, id="triangle at 90 %"),
        # Rectangle: P(|x| < t a) = t, u = a/sqrt(3); EA-4/02 S9 rounds it to 1.65.
        pytest.param(1.0, 0.9545, 0.9545 * sqrt(3), 1e-12, id="rectangle, EA-4/02 S9"),
        pytest.param(1.0, 0.90, 0.90 * sqrt(3), 1e-12, id="rectangle at 90 %"),
    ],
)
def test_the_factor_of_a_trapezoid(shape, coverage, k, within):
    assert trapezoid_k(shape, coverage) == pytest.approx(k, abs=within)


def test_the_two_formulas_meet_where_the_interval_ends_at_the_edge_of_the_top():
    # (1-p)(1+shape) = 1-shape at shape = p/(2-p).
    edge = 0.9545 / (2 - 0.9545)
    assert trapezoid_k(edge - 1e-9, 0.9545) == pytest.approx(trapezoid_k(edge + 1e-9, 0.9545), abs=1e-8)


def test_two_equal_rectangles_are_a_triangle():
    doubt = combine_difference([rectangle("counts", 0.05), rectangle("counts", 0.05)])
    assert doubt.u == pytest.approx(0.05 * sqrt(2 / 3))
    assert doubt.k95 == pytest.approx(1.92700, abs=1e-5)  # (1 - sqrt(0.0455)) sqrt(6)
    assert doubt.k90 == pytest.approx(1.67489, abs=1e-5)  # (1 - sqrt(0.1)) sqrt(6)


def test_one_wide_rectangle_stays_one():
    doubt = combine_difference([rectangle("counts", 0.5), rectangle("counts", 0.05)])
    assert doubt.k95 == pytest.approx(0.9545 * sqrt(3))


@pytest.mark.parametrize(("third", "k"), [(0.3, 1.92700), (0.31, 2.0)])
def test_a_third_line_of_some_size_makes_a_bell_of_it(third, k):
    # Two of u = 1 are sqrt(2) together; 3.33 times 0.300 sqrt(2) is 0.999 of it, 3.33 times 0.310 sqrt(2) is 1.032.
    lines = [Line("counts", 1.0, is_rectangular=True)] * 2
    other = Line("temperature", third * sqrt(2), is_rectangular=True)
    assert combine_difference([*lines, other]).k95 == pytest.approx(k, abs=1e-5)


@pytest.mark.parametrize("lines", [[], [Line("given", 0.1, is_rectangular=False)]])
def test_without_two_rectangles_the_usual_factor(lines):
    assert combine_difference(lines).k95 == 2.0
