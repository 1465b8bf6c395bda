"""Definitions of loop and straightness, by hand."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.physics.sweep import off_best_line, off_terminal_line, width_in_current

AMPERE = np.linspace(0.0, 1.0, 101)


def test_a_shifted_branch_is_as_wide_as_the_shift():
    widths = width_in_current(AMPERE, 10 * (AMPERE - 0.06), 10 * (AMPERE - 0.02), np.linspace(0.5, 9, 20))
    assert widths == pytest.approx(np.full(20, 0.04), abs=1e-12)


def test_a_parabola_lies_a_quarter_off_its_ends_and_an_eighth_off_the_best_line():
    """x^2 on 0..1: 1/4 from its chord at the middle, 1/8 from the parallel half-way between."""
    curves = np.array([AMPERE**2, 8.0 * AMPERE**2])
    assert off_terminal_line(AMPERE, curves) == pytest.approx([0.25, 2.0])
    assert off_best_line(AMPERE, curves) == pytest.approx([0.125, 1.0], abs=1e-9)


def test_a_straight_line_is_straight():
    curves = (3.0 * AMPERE - 7.0)[None]
    assert off_terminal_line(AMPERE, curves)[0] == pytest.approx(0.0, abs=1e-12)
    assert off_best_line(AMPERE, curves)[0] == pytest.approx(0.0, abs=1e-9)
