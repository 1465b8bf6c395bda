"""What is taken for granted of a decay: heat left from filling, drift, noise of a display that hardly moves."""

from __future__ import annotations

import numpy as np
import pytest

from valvebench.diagnose.leak_decay import Vessel, decay_leak, drift_kelvin, leftover_kelvin
from valvebench.diagnose.leak_record import FallingRun, record_of
from valvebench.diagnose.leak_setup import AirSetUp, shown_step
from valvebench.model.leak import LeakLaw
from valvebench.model.meter import Meter


def test_the_longer_the_supply_was_open_the_less_heat_is_left():
    assert leftover_kelvin(0.0) == 25.0
    assert 1.0 < leftover_kelvin(5.0) < 25.0
    assert leftover_kelvin(30.0) == 1.0
    assert leftover_kelvin(None) == 3.0


@pytest.mark.parametrize(
    ("stated", "has_record", "kelvin"), [(None, False, 1 / 3**0.5), (None, True, 0.1), (2.0, True, 2 / 3**0.5)]
)
def test_drift_of_the_wall(stated, has_record, kelvin):
    assert drift_kelvin(Vessel(50.0, drift_celsius=stated), has_record=has_record) == pytest.approx(kelvin)


@pytest.mark.parametrize(("step", "unit_kpa"), [(1.0, 1.0), (0.1, 1.0), (0.1, 100.0), (0.5, 6.894757)])
def test_the_step_of_a_display_is_seen(step, unit_kpa):
    shown = np.round(np.random.default_rng(4).uniform(20.0, 40.0, 200) / step) * step
    assert shown_step(shown * unit_kpa, unit_kpa) == pytest.approx(step * unit_kpa)


def test_few_readings_show_no_step():
    assert shown_step(np.array([300.0, 290.0]), 1.0) is None


def record(kpa, gauge):
    return record_of(FallingRun(np.arange(kpa.size, dtype=float), kpa, is_gauge=True), gauge, AirSetUp())


def test_a_display_that_stands_still_tells_its_rounding_once():
    """300 equal readings know the fall no better than two: each end to 1/sqrt(12) of a step."""
    gauge = Meter(percent=0.0, counts=1.0, step=1.0)
    still = record(np.full(300, 300.0), gauge)
    lively = record(np.round(300.0 + 3.0 * np.random.default_rng(1).normal(size=300)), gauge)
    assert still.floor_kpa == pytest.approx(12**-0.5 * (300 / 2) ** 0.5, rel=1e-6)
    assert lively.floor_kpa < 1.2 * 12**-0.5


def test_few_typed_readings_have_the_counts_of_the_gauge():
    """GUM 4.3.7: one count of 1 kPa either way is 1/sqrt(3)."""
    assert record(np.array([300.0, 299.0]), Meter(percent=0.0, counts=1.0, step=1.0)).floor_kpa == pytest.approx(
        3**-0.5
    )


def test_what_is_said_of_the_law_never_contradicts_itself():
    """A run that looks like a gap and is not sure of it must not be called alike for both."""
    t_s, kpa = np.array([0.0, 30.0, 40.0]), np.array([250.0, 200.0, 190.0])
    fine = AirSetUp(gauge=Meter(percent=0.5, counts=1.0, step=0.01))
    found = decay_leak(FallingRun(t_s, kpa, is_gauge=True), vessel=Vessel(50.0), set_up=fine)
    assert found.law is LeakLaw.GAP
    (said,) = (reason for reason in found.reasons if reason.startswith("Law not settled"))
    assert "neither a hole nor a gap is ruled out" in said
