"""Whatever is wrong with the log of an air test: one plain message, never a number; what is right never yields NaN."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from valvebench.diagnose.leak_decay import Vessel, decay_leak
from valvebench.diagnose.leak_record import FallingRun
from valvebench.diagnose.leak_setup import AirSetUp
from valvebench.judge.leak import judge_leak
from valvebench.model.errors import BadInput

SET_UP = AirSetUp(celsius=20.0, ambient_kpa_abs=101.325)
STARTS = st.floats(50.0, 700.0)
COUNTS = st.integers(8, 60)


def steady_fall(start, count, share):
    """A log that is right: evenly spaced, falling by a share of its start."""
    t_s = np.linspace(0.0, 60.0, count)
    return t_s, start * (1.0 - share * t_s / 60.0)


def refused(t_s, kpa, set_up=SET_UP, *, is_gauge=True):
    with pytest.raises(BadInput) as caught:
        decay_leak(FallingRun(t_s, kpa, is_gauge), vessel=Vessel(50.0), set_up=set_up)
    return str(caught.value)


@given(STARTS, COUNTS, st.floats(0.2, 3.0))
@settings(max_examples=40, deadline=None)
def test_rising(start, count, rise):
    t_s, kpa = steady_fall(start, count, -rise)
    assert "a rise from" in refused(t_s, kpa)


@given(STARTS, COUNTS, st.data())
@settings(max_examples=40, deadline=None)
def test_times_that_stand_still_or_run_back(start, count, data):
    t_s, kpa = steady_fall(start, count, 0.2)
    at = data.draw(st.integers(1, count - 1))
    t_s[at] = t_s[data.draw(st.integers(0, at - 1))]
    message = refused(t_s, kpa)
    assert "each time once" in message or "times that grow" in message


@given(STARTS, COUNTS, st.floats(10.0, 100.0), st.data())
@settings(max_examples=40, deadline=None)
def test_gaps(start, count, times, data):
    t_s, kpa = steady_fall(start, count, 0.2)
    t_s[data.draw(st.integers(2, count - 2)) :] += times * 60.0 / (count - 1)
    assert "nothing between" in refused(t_s, kpa)


@given(STARTS, COUNTS, st.data())
@settings(max_examples=40, deadline=None)
def test_below_ambient(start, count, data):
    t_s, kpa = steady_fall(start, count, 0.2)
    kpa[data.draw(st.integers(1, count - 1))] = -data.draw(st.floats(10.0, 90.0))
    assert "above ambient" in refused(t_s, kpa)


@given(STARTS, COUNTS, st.sampled_from([math.nan, math.inf, -math.inf]), st.data())
@settings(max_examples=40, deadline=None)
def test_no_number_in_a_sample(start, count, hole, data):
    t_s, kpa = steady_fall(start, count, 0.2)
    (t_s if data.draw(st.booleans()) else kpa)[data.draw(st.integers(0, count - 1))] = hole
    assert "no number in sample" in refused(t_s, kpa)


@given(STARTS, COUNTS, st.sampled_from([("psi", 1 / 6.894757), ("bar", 0.01), ("mbar", 10.0)]))
@settings(max_examples=40, deadline=None)
def test_a_wrong_unit_against_the_test_pressure(start, count, unit):
    t_s, kpa = steady_fall(start, count, 0.2)
    stated = SET_UP._replace(test_kpa_gauge=start)
    shown = kpa * unit[1]
    message = refused(t_s, shown, stated)
    assert "as stated" in message
    assert f"would fit {unit[0]}" in message


@given(STARTS, COUNTS, st.sampled_from([("psi", 6.894757), ("bar", 100.0), ("mbar", 0.1), ("mmhg", 0.1333224)]))
@settings(max_examples=40, deadline=None)
def test_a_wrong_unit_of_an_absolute_gauge_against_the_vented_reading(start, count, unit):
    """Kilopascal in a psi and the like: NIST SP 811, appendix B.8."""
    t_s, kpa = steady_fall(start, count, 0.2)
    vented = SET_UP._replace(zero_kpa=101.325 / unit[1])
    assert f"air around in {unit[0]}" in refused(t_s, (kpa + 101.325) / unit[1], vented, is_gauge=False)
    if unit[0] != "bar":  # one kilopascal is within what a gauge may be off
        assert f"air around in {unit[0]}" in refused(t_s, (kpa + 101.325) / unit[1], vented)


@given(STARTS)
@settings(max_examples=20, deadline=None)
def test_one_sample_and_none(start):
    for t_s, kpa in ((np.array([0.0]), np.array([start])), (np.array([]), np.array([]))):
        assert "two readings or more" in refused(t_s, kpa)


@given(STARTS, COUNTS)
@settings(max_examples=20, deadline=None)
def test_gauge_and_absolute_exchanged_against_the_vented_reading(start, count):
    t_s, kpa = steady_fall(start, count, 0.2)
    assert "vented" in refused(t_s, kpa + 101.325, SET_UP._replace(zero_kpa=101.3))
    refused(t_s, kpa, SET_UP._replace(zero_kpa=0.2), is_gauge=False)


@given(STARTS, st.integers(2, 60), st.floats(0.0, 0.6))
@settings(max_examples=60, deadline=None)
def test_what_is_right_gives_finite_numbers(start, count, share):
    t_s, kpa = steady_fall(start, count, share)
    found = decay_leak(FallingRun(t_s, kpa, is_gauge=True), vessel=Vessel(50.0), set_up=SET_UP)
    assert math.isfinite(found.leak_ml_min.value)
    assert 0.0 < found.leak_ml_min.u < math.inf
    assert math.isfinite(judge_leak(found, 20.0).U_ml_min)
    assert not any("--" in words for words in (*found.reasons, *found.advice)), "kept words hold in the window too"
    assert sum(line.u_ml_min**2 for line in found.lines) == pytest.approx(found.leak_ml_min.u**2, rel=1e-6)
