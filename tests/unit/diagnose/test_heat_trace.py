"""A run as curves: expected values are the truth the run was made from, by the conductor law and exact lag."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.diagnose.heat_data import HeatRun, HeatSetUp
from valvebench.diagnose.heat_run import analyse
from valvebench.diagnose.heat_trace import heating, trace_of
from valvebench.model.heat import HeatKind
from valvebench.model.meter import parse_meter

K = 234.5
T_S = np.arange(0.0, 3600.0, 10.0)
PROBE = np.interp(T_S, [0, 1500, 1800, 3600], [22.0, 110.0, 110.0, 45.0])
"""Warms, holds and cools; invented."""
TAU_S = 60.0


def followed(start):
    """The lag of one time constant by small steps, not by our own closed form."""
    fine = np.arange(0.0, 3600.0, 0.5)
    probe, coil = np.interp(fine, T_S, PROBE), np.empty(fine.size)
    coil[0] = start
    for at in range(1, fine.size):
        coil[at] = coil[at - 1] + 0.5 / TAU_S * (0.5 * (probe[at - 1] + probe[at]) - coil[at - 1])
    return np.interp(T_S, fine, coil)


def run_of(start=22.0, *, series=0.0, excess=lambda _: 0.0, seed=1):
    coil = followed(start)
    ohm = 5.2 * (K + coil) / (K + 20) + series + excess(coil)
    noise = np.random.default_rng(seed).normal(0, 0.003, coil.size)
    return HeatRun(PROBE, ohm + noise, T_S), coil


def test_the_coil_is_where_it_was():
    run, coil = run_of()
    trace = trace_of(run, analyse(run, HeatSetUp(is_soaked=True)), is_soaked=True)
    assert np.abs(trace.coil_celsius - coil).max() < 1.0


def test_the_start_of_a_coil_that_was_warmer_than_its_probe_is_found_again():
    run, coil = run_of(start=40.0)
    trace = trace_of(run, analyse(run))
    assert trace.coil_celsius[0] == pytest.approx(40.0, abs=1.5)
    assert np.abs(trace.coil_celsius - coil).max() < 1.5


def test_the_fitted_line_goes_through_the_readings_and_the_copper_line_below_a_growing_part():
    run, _ = run_of(excess=lambda coil: 0.01 * np.maximum(coil - 70, 0))
    found = analyse(run)
    assert found.kind is HeatKind.GROWS_WITH_HEAT
    trace = trace_of(run, found)
    at = np.array([30.0, 60.0, 100.0])
    truth = 5.2 * (K + at) / (K + 20) + 0.01 * np.maximum(at - 70, 0)
    assert trace.fitted(at) == pytest.approx(truth, abs=0.05)
    assert trace.copper(at) == pytest.approx(5.2 * (K + at) / (K + 20), abs=0.05)


def test_a_growing_part_without_a_start_takes_the_nearest_shape():
    run, _ = run_of(excess=lambda coil: 0.02 * np.expm1((coil - 22) / 20.0))
    found = analyse(run)
    assert found.kind is HeatKind.GROWS_WITH_HEAT
    trace = trace_of(run, found)
    assert np.nanmax(np.abs(trace.fitted(trace.celsius) - run.ohm)) < 0.1


def test_an_unknown_lag_leaves_the_probe_to_stand_for_the_coil():
    t_s = np.arange(0.0, 1000.0, 10.0)
    probe = 22 + 0.08 * t_s
    noise = np.random.default_rng(3).normal(0, 0.02, t_s.size)
    run = HeatRun(probe, 5.2 * (K + probe - 5) / (K + 20) + noise, t_s)
    found = analyse(run)
    assert found.kind is HeatKind.NOT_SEPARABLE
    trace = trace_of(run, found)
    assert trace.coil_celsius is None
    assert trace.celsius is trace.probe_celsius


def test_rounds_are_their_own_coil_and_have_no_time():
    probe = np.array([20.0, 40, 60, 80, 60, 40, 20])
    run = HeatRun(probe, 5.2 * (K + probe) / (K + 20) + np.array([0, 0.01, 0, 0.01, 0, 0, 0.01]))
    trace = trace_of(run, analyse(run))
    assert (trace.t_s, trace.coil_celsius.tolist()) == (None, probe.tolist())
    assert trace.is_heating.tolist() == [True, True, True, True, False, False, False]


def test_openings_are_gaps():
    run, _ = run_of()
    run.ohm[100:103] = np.inf
    run.ohm[200] = 1e6
    trace = trace_of(run, analyse(run))
    assert np.flatnonzero(np.isnan(trace.ohm)).tolist() == [100, 101, 102, 200]


def test_it_says_where_a_long_run_warms_and_cools():
    celsius = np.concatenate([np.linspace(20, 100, 60_000), np.linspace(100, 30, 40_000)])
    flags = heating(celsius)
    assert flags[:59_000].all()
    assert not flags[61_000:].any()
    assert heating(np.array([20.0])).tolist() == [True]


def test_a_curve_through_every_one_of_five_coarse_readings_proves_no_growth():
    """Three temperatures, five readings of plain copper to a hundredth: some curve meets all of them."""
    probe = np.array([20.0, 60, 90, 60, 20])
    run = HeatRun(probe, np.round(5.2 * (K + probe) / (K + 20), 2))
    found = analyse(run, HeatSetUp(meter=parse_meter("0.5%+2x0.01")))
    assert found.kind is HeatKind.COPPER
