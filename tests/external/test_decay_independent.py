"""Closed forms of a leaking vessel against an independent solver of differential equations, and `fluids`.

The oracle is `scipy.integrate.solve_ivp` on the laws as ISO 6358 and laminar flow state them; the full
balance of energy is the test's own.
"""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tests.data.air_truth import emptied, emptied_and_lost
from valvebench.diagnose.leak_decay import Vessel, decay_leak
from valvebench.diagnose.leak_fit import AMBIENT, COUNT, LEFTOVER, LOG_TAU, RATE, RATIO, START, lost_kpa, pressure
from valvebench.diagnose.leak_record import FallingRun, Record
from valvebench.diagnose.leak_setup import AirSetUp
from valvebench.model.meter import Meter
from valvebench.physics.air import DRY_AIR_R, IDEAL_B, choked_constant
from valvebench.physics.decay import gap_y, orifice_y, vacuum_y

TIGHT = {"rtol": 1e-11, "atol": 1e-13, "method": "DOP853"}
RATIOS = (0.1, 0.2, 0.35, 0.499, 0.5, 0.501, 0.528)


def elliptic(ratio, b):
    """ISO 6358, written once more."""
    return 1.0 if ratio <= b else math.sqrt(max(0.0, 1.0 - ((ratio - b) / (1.0 - b)) ** 2))


def integrated(rate, y0, s, breaks):
    """Solve dy/ds = rate(y) piece by piece, so that no kink lies inside a step."""
    found, start = np.empty_like(s), y0
    for low, high in zip([0.0, *breaks], [*breaks, s[-1] + 1e-9], strict=True):
        inside = (s >= low) & (s <= high)
        times = np.unique(np.concatenate([[low], s[inside], [high]]))
        solved = solve_ivp(lambda _, y: [rate(y[0])], (low, high), [start], t_eval=times, **TIGHT)
        found[inside] = np.interp(s[inside], solved.t, solved.y[0])
        start = solved.y[0, -1]
    return found


@pytest.mark.parametrize("b", RATIOS)
@pytest.mark.parametrize(
    ("y0", "length"), [(4.0, 0.3), (4.0, 1.4), (1.6, 0.6)], ids=["choked", "across", "mostly below choke"]
)
def test_orifice(b, y0, length):
    s = np.linspace(0.0, length, 60)
    choke = math.log(b * y0)
    breaks = [choke] if 0.0 < choke < length else []
    expected = integrated(lambda y: -y * elliptic(1.0 / y, b), y0, s, breaks)
    above = expected > 1.001
    assert above.sum() > 20
    assert np.abs(orifice_y(y0, s, b) - expected)[above].max() < 1e-8


def test_an_orifice_reaches_ambient_and_stays():
    assert orifice_y(4.0, np.array([5.0, 50.0]), 0.3) == pytest.approx([1.0, 1.0], abs=1e-12)


@pytest.mark.parametrize("b", RATIOS)
def test_time_that_runs_backwards_comes_back(b):
    """A rate slightly below nought must stay on the same curve."""
    y0 = 1.7
    earlier = orifice_y(y0, np.array([-0.4]), b)[0]
    assert orifice_y(earlier, np.array([0.4]), b)[0] == pytest.approx(y0, rel=1e-10)


def test_gap():
    s = np.linspace(0.0, 1.2, 60)
    assert np.abs(gap_y(4.0, s) - integrated(lambda y: 1.0 - y * y, 4.0, s, [])).max() < 1e-8


@pytest.mark.parametrize("b", RATIOS)
@pytest.mark.parametrize("y0", [0.02, 0.6])
def test_vacuum(b, y0):
    s = np.linspace(0.0, 0.7, 60)
    breaks = [b - y0] if 0.0 < b - y0 < s[-1] else []
    expected = integrated(lambda y: elliptic(y, b), y0, s, breaks)
    assert np.abs(vacuum_y(y0, s, b) - expected)[expected < 0.999].max() < 1e-8


def test_critical_ratio_and_choked_constant_by_fluids():
    assert pytest.approx(fluids.P_critical_flow(P=1.0, k=1.4), rel=1e-12) == IDEAL_B
    # API 520 for air in critical flow, in its own units: W = C A P / sqrt(T Z / M), kg/h, mm2, kPa, K
    per_mm2_kpa = fluids.API520_C(1.4) * math.sqrt(28.9647)
    assert per_mm2_kpa / 3600.0 * 1e6 / 1e3 == pytest.approx(choked_constant(), rel=1e-4)


RATES = pytest.mark.parametrize("ml_min", [10.0, 100.0, 300.0])
LAWS = pytest.mark.parametrize("is_orifice", [True, False], ids=["orifice", "gap"])
LEFT = pytest.mark.parametrize("leftover_kelvin", [0.0, 5.0])


def a_minute(ml_min, is_orifice, leftover_kelvin):
    """Parameters and record of 50 ml that empty for a minute from 300 kPa, and the gas lost [ml/min]."""
    t_s, gauge, lost = emptied_and_lost(
        ml_min, volume_ml=50.0, kpa_gauge=300.0, law="orifice" if is_orifice else "gap", t_s=60.0, hz=5.0, tau_s=1.5,
        b=0.35, drift_kelvin=0.0, leftover_kelvin=leftover_kelvin, ambient=101.325,
    )  # fmt: skip
    ones = np.ones_like(t_s)
    record = Record(t_s, gauge + 101.325, ones, ones, t_s.size, 0.1, 1.0, 20.0, has_celsius=False)
    value = np.zeros(COUNT)
    rate = ml_min * 100.0 / (50.0 * 60.0 * 401.325)
    value[RATE] = rate if is_orifice else rate / (401.325 / 101.325 - 101.325 / 401.325)
    value[START] = 401.325 / 101.325 * 293.15 / (293.15 + leftover_kelvin)
    value[LEFTOVER] = leftover_kelvin / 293.15
    value[LOG_TAU], value[RATIO], value[AMBIENT] = math.log(1.5), 0.35, 101.325
    return value, record, lost


@RATES
@LAWS
@LEFT
def test_a_gas_that_cools_and_recovers(ml_min, is_orifice, leftover_kelvin):
    """The model of the fit against the full balance of energy: what is left goes with the square of the leak [kPa]."""
    value, record, _ = a_minute(ml_min, is_orifice, leftover_kelvin)
    told = pressure(value, record, is_orifice=is_orifice, is_gauge=False)
    assert np.abs(told - record.kpa_abs).max() < 0.005 + 2.5e-6 * ml_min**2 + 0.004 * leftover_kelvin


@RATES
@LAWS
@LEFT
def test_the_gas_lost_is_that_of_the_curve(ml_min, is_orifice, leftover_kelvin):
    """The mean is of the gas that is gone, cold as it was: at constant temperature it would be up to 0.5 % more."""
    value, record, lost = a_minute(ml_min, is_orifice, leftover_kelvin)
    told = lost_kpa(value, record, is_orifice=is_orifice) * 50.0 / 100.0
    assert told == pytest.approx(lost, rel=1e-3)


def test_a_whole_run_tells_the_gas_lost_as_its_mean():
    """300 ml/min for 20 s, the gauge fine: a mean at constant temperature would be 0.5 % too much."""
    t_s, gauge, lost = emptied_and_lost(
        300.0, volume_ml=50.0, kpa_gauge=300.0, t_s=20.0, hz=2.0, tau_s=1.5, b=0.35, law="orifice",
        drift_kelvin=0.0, leftover_kelvin=0.0, ambient=101.325,
    )  # fmt: skip
    fine = Meter(percent=0.0, counts=0.5, step=0.1)
    set_up = AirSetUp(gauge=fine, zero_kpa=0.0, celsius=20.0, ambient_kpa_abs=101.325)
    found = decay_leak(FallingRun(t_s, gauge, is_gauge=True), vessel=Vessel(50.0, held_s=15.0), set_up=set_up)
    assert found.mean_leak_ml_min.value == pytest.approx(lost, rel=2e-3)
    assert found.leak_ml_min.value == pytest.approx(300.0, rel=2e-3)


def test_the_truth_itself_keeps_its_gas():
    """No leak and no drift: the gas ends where the wall is, by the ideal gas law."""
    _, gauge = emptied(0.0, volume_ml=50.0, kpa_gauge=300.0, leftover_kelvin=20.0, t_s=60.0)
    assert gauge[-1] + 101.325 == pytest.approx(401.325 * 293.15 / 313.15, rel=1e-9)


def test_air_is_as_heavy_as_an_ideal_gas_but_for_its_compressibility():
    """air-density [worked out: CoolProp 8.0.0, air at 101.325 kPa, kg/m3]: what is left out is below 0.6 in a thousand.

    Held to 0.0004 kg/m3 it would ask for compressibility: an ideal gas is 0.00064 lighter at 0 degrees.
    """
    for celsius, dense in ((0.0, 1.2929), (15.0, 1.2254), (20.0, 1.2045)):
        assert 101325.0 / (DRY_AIR_R * (celsius + 273.15)) == pytest.approx(dense, rel=6e-4)
