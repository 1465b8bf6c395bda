"""Drift: what moves is told with its place, what does not is not, and too little is not judged."""

from __future__ import annotations

import pytest

from valvebench.diagnose.drift import FIRST, drift_of

STEADY = [0.0, 0.02] * 10
"""Ranges of 0.02: spread 0.02/1.128 = 0.0177, middle 0.01."""


def test_from_twenty_values_nothing_is_told():
    found = drift_of(STEADY)
    assert (found.n, found.chart, found.moved_at) == (FIRST, None, None)
    assert found.words == "20 values: whether they drift is told from 21 on."


def test_steady_values_do_not_drift():
    found = drift_of(STEADY * 5)
    assert (found.moved_at, found.is_up, found.outside) == (None, None, ())
    assert found.words == "No drift shows in 100 values."


@pytest.mark.parametrize(("step", "is_up", "word"), [(0.04, True, "up"), (-0.04, False, "down")])
def test_a_step_is_found_where_the_sum_passes(step, is_up, word):
    """By hand: a step of 2.26 spreads adds 1.51 each beyond the slack of 0.75; the seventh passes the limit of 10."""
    found = drift_of([*STEADY, *[0.01 + step] * 9])
    assert (found.moved_at, found.is_up) == (FIRST + 6, is_up)
    assert found.words.startswith(f"Value 27 of 29 is where a drift {word} shows")


def test_equal_values_need_the_step_of_the_meter():
    assert drift_of([5.0] * 30).chart is None
    found = drift_of([5.0] * 20 + [5.01] * 60, least_sd=0.01)
    # one step a time, less the slack of 0.75: 0.25 each, so the fortieth is at 10 and the next past it
    assert found.moved_at in (FIRST + 39, FIRST + 40)


def test_a_value_far_off_is_named_and_is_no_drift():
    found = drift_of([*STEADY, 0.07, *STEADY])
    assert (found.outside, found.moved_at) == ((20,), None)
