"""A heat run against copper.

The truth is the test's own: copper by IEC 60034-1, a lag, what is added, and seeded noise.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

from valvebench.diagnose.heat_data import HeatRun, HeatSetUp, in_blocks, usable
from valvebench.diagnose.heat_run import analyse
from valvebench.model.errors import BadInput
from valvebench.model.heat import HeatKind
from valvebench.model.meter import Meter
from valvebench.physics.lag import lag_response

FINE = Meter(percent=0.2, counts=1, step=0.001)
PROBE_KELVIN = 0.5
LAG_S, COPPER_OHM, SIGMA_OHM = 60.0, 5.0, 0.01


def made(extra=0.0, *, n=360, turns=True, start=None, seed=1):
    """One hour, 22 to 110 and back to 50 degrees, or straight up; `extra` is ohm or a function of coil temperature."""
    t_s = np.linspace(0.0, 3600.0, n)
    probe = np.interp(t_s, [0, 2000, 3600], [22.0, 110.0, 50.0]) if turns else 22.0 + t_s * 0.025
    coil = lag_response(t_s, probe, tau_s=LAG_S, start_celsius=start)
    ohm = COPPER_OHM * (234.5 + coil) / 254.5 + (extra(coil) if callable(extra) else extra)
    return HeatRun(probe, ohm + np.random.default_rng(seed).normal(size=n) * SIGMA_OHM, t_s)


def found(run, **options):
    return analyse(run, HeatSetUp(meter=FINE, celsius_half_width=PROBE_KELVIN, **options))


def within(sized, truth, times=3.0):
    return abs(sized.value - truth) <= times * sized.u


def from_on(start, ohm, hottest=110.0):
    return lambda coil: ohm * np.maximum(coil - start, 0.0) / (hottest - start)


def test_copper_is_called_copper():
    result = found(made())
    assert result.kind is HeatKind.COPPER
    assert (result.series_ohm, result.excess_ohm_at_hottest, result.grows_from_celsius) == (None, None, None)
    assert within(result.slope_over_copper, 1.0)
    assert within(result.r20_ohm, COPPER_OHM)
    assert within(result.lag_s, LAG_S)
    assert result.residual_ohm == pytest.approx(SIGMA_OHM, rel=0.15)
    assert result.separable
    assert result.events == ()


@pytest.mark.parametrize("start", [None, 30.0], ids=["soaked", "not soaked"])
def test_a_contact_that_stays_put_has_its_size(start):
    result = found(made(0.3, start=start), is_soaked=start is None)
    assert result.kind is HeatKind.FIXED_SERIES
    assert within(result.series_ohm, 0.3)
    assert within(result.r20_ohm, COPPER_OHM)
    assert within(result.at_20_ohm, COPPER_OHM + 0.3)


def test_a_contact_that_grows_has_a_start_and_no_negative_series():
    result = found(made(from_on(70.0, 0.3)))
    assert result.kind is HeatKind.GROWS_WITH_HEAT
    assert result.series_ohm is None
    assert within(result.grows_from_celsius, 70.0)
    assert within(result.excess_ohm_at_hottest, 0.3 * (result_hottest() - 70.0) / 40.0)


@pytest.mark.parametrize("ohm", [0.15, 0.4, 0.8, 2.0])
def test_a_contact_that_grows_is_seen_however_large_it_is(ohm):
    """What a fit without it leaves over is then no noise, and must not count as such."""
    result = found(made(from_on(70.0, ohm)))
    assert result.kind is HeatKind.GROWS_WITH_HEAT
    assert within(result.grows_from_celsius, 70.0)
    assert within(result.excess_ohm_at_hottest, ohm * (result_hottest() - 70.0) / 40.0)


def result_hottest():
    """The coil's hottest on the way of `made`."""
    t_s = np.linspace(0.0, 3600.0, 3601)
    probe = np.interp(t_s, [0, 2000, 3600], [22.0, 110.0, 50.0])
    return float(lag_response(t_s, probe, tau_s=LAG_S).max())


def test_a_contact_that_grows_from_the_coldest_has_no_start_and_says_why():
    """PHYSICS: 0.8 ohm from 20 to 110 degrees on 5.2 ohm would read as -2.3 ohm in series with a tiny residual."""
    result = found(made(from_on(20.0, 0.8)), is_soaked=True)
    assert (result.kind, result.grows_from_celsius, result.series_ohm) == (HeatKind.GROWS_WITH_HEAT, None, None)
    assert any("grows from the coldest reading on" in reason for reason in result.reasons)


def test_a_part_that_grows_and_one_that_stays_put_are_both_named():
    result = found(made(lambda coil: 0.3 + from_on(70.0, 0.3)(coil)))
    assert result.kind is HeatKind.GROWS_WITH_HEAT
    assert within(result.series_ohm, 0.3)
    assert within(result.grows_from_celsius, 70.0)


@pytest.mark.parametrize("extra", [0.0, 0.3])
def test_a_ramp_at_one_rate_cannot_be_separated(extra):
    result = found(made(extra, turns=False, start=30.0))
    assert (result.kind, result.separable) == (HeatKind.NOT_SEPARABLE, False)
    assert (result.series_ohm, result.lag_s) == (None, None)
    assert any("cools" in advice for advice in result.advice)


def test_rounds_at_settled_temperatures_need_no_lag():
    celsius = np.array([22, 45, 70, 95, 110, 96, 71, 46, 23.0])
    ohm = np.round(COPPER_OHM * (234.5 + celsius) / 254.5 + 0.6, 2)
    result = found(HeatRun(celsius, ohm))
    assert (result.kind, result.lag_s) == (HeatKind.FIXED_SERIES, None)
    assert within(result.series_ohm, 0.6)


def test_a_single_wild_sample_counts_for_nothing():
    run = made(0.3)
    run.ohm[100] += 40.0
    result = found(run)
    assert (result.left_out, result.events) == (1, ())
    assert within(result.series_ohm, 0.3)


def test_an_opening_and_a_step_are_events_with_time_and_temperature():
    run = made()
    run.ohm[150:155] = np.inf
    run.ohm[155:] += 5 * SIGMA_OHM
    run.ohm[280:] -= 8 * SIGMA_OHM
    kinds = [(event.kind, event.heating) for event in found(run).events]
    assert ("open", True) in kinds
    assert ("step", False) in kinds
    opened = next(event for event in found(run).events if event.kind == "open")
    assert opened.t_s == pytest.approx(run.t_s[150])
    assert opened.probe_celsius == pytest.approx(run.probe_celsius[150])
    assert opened.probe_celsius - opened.coil_celsius == pytest.approx(0.044 * LAG_S, abs=0.5)


def test_an_over_range_value_is_an_opening():
    run = made()
    run.ohm[30] = 9.9e37
    assert [event.kind for event in found(run).events] == ["open"]


def test_the_meter_is_assumed_from_its_step_and_that_is_said():
    run = made()
    tenths = analyse(run._replace(ohm=np.round(run.ohm, 1)))
    assert (tenths.meter, tenths.meter_is_assumed) == ("1%+3x0.1", True)
    assert any("Name the meter" in advice for advice in tenths.advice)


def broken(change):
    run = made(n=40)
    t_s, probe, ohm = run.t_s.copy(), run.probe_celsius.copy(), run.ohm.copy()
    change(t_s, probe, ohm)
    return HeatRun(probe, ohm, t_s)


def _reversed(t, p, r):
    t[:] = t[::-1].copy()


def _back(t, p, r):
    t[7] = t[5]


def _twice(t, p, r):
    t[7] = t[6]


def _all_open(t, p, r):
    r[:] = np.nan


def _constant(t, p, r):
    r[:] = 5.2


def _few(t, p, r):
    r[6:] = np.inf


def _narrow(t, p, r):
    p[:] = np.linspace(22.0, 28.0, 40)


def _no_probe(t, p, r):
    p[3] = np.nan


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (_reversed, "run backwards from first to last"),
        (_back, r"sample 8"),
        (_twice, "twice"),
        (_all_open, "open in every sample"),
        (_constant, "5.2 in every sample"),
        (_few, "6 readings that are not open"),
        (_narrow, "6.0 degrees from coldest to hottest"),
        (_no_probe, "no number in sample 4"),
    ],
    ids=lambda x: x.__name__.strip("_") if callable(x) else "",
)
def test_each_fault_of_a_run_has_its_own_message(change, message):
    with pytest.raises(BadInput) as caught:
        found(broken(change))
    assert re.search(message, str(caught.value)), str(caught.value)


def test_many_samples_become_few_means_with_the_same_answer():
    run = made(0.3, n=40_000)
    samples = usable(run)
    blocks = in_blocks(samples, samples.is_value)
    assert blocks.t_s.size == 2000
    assert blocks.weight.sum() == 40_000
    result = found(run)
    assert within(result.series_ohm, 0.3)
    assert result.lag_s.u < 0.2
