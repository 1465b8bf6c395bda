"""A warmed body's truth and its logger, against hand arithmetic and the closed form of a first-order lag."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from valvebench.capture.heat_log import heat_log
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import LeadState
from valvebench.simulate.body import TrueCoil, healthy_body
from valvebench.simulate.contacts import KneeContact, OpeningContact, RunawayContact, SteadyContact
from valvebench.simulate.meter import OhmMeter, Probe, decade_ranges
from valvebench.simulate.quillon import WITHOUT_LIMITS_OHM
from valvebench.simulate.seed import dice
from valvebench.simulate.warming import Logger, Warming

FOLDER = Path(__file__).parents[3] / "resources" / "variants"
TERN = read_variant((FOLDER / "tern-body-2.json").read_bytes(), source="tern-body-2.json")
BODY = healthy_body(TERN, dice("a test"), ohm_at_20=WITHOUT_LIMITS_OHM)
METER = OhmMeter(
    name="logger",
    percent=0.2,
    counts=2,
    ranges=decade_ranges(lowest_full_ohm=60.0, lowest_step_ohm=0.01, count=2),
    leads=LeadState.FOUR_WIRE,
)
LOGGER = Logger(meter=METER, probe=Probe(), every_s=30.0)
HERON = {"Heron": ("3", "11")}
UP_AND_DOWN = Warming(corners=((0.0, 22.0), (1800.0, 94.0), (3600.0, 40.0)), lag_s=60.0)


# Contacts, by hand


def test_a_steady_contact_stays_put():
    assert [SteadyContact(ohm=0.3).ohm_at(celsius) for celsius in (-10.0, 20.0, 110.0)] == [0.3] * 3


def test_a_knee_grows_evenly_from_its_temperature_on():
    contact = KneeContact(from_celsius=50.0, ohm_per_celsius=0.006)
    assert contact.ohm_at(50.0) == 0.0
    assert contact.ohm_at(91.0) == pytest.approx(0.246)  # 41 * 0.006


def test_a_runaway_contact_doubles_with_every_like_step():
    contact = RunawayContact(ohm_at_20=0.01, per_celsius=20.0 / math.log(2.0))
    assert [contact.ohm_at(celsius) for celsius in (20.0, 40.0, 80.0)] == pytest.approx([0.01, 0.02, 0.08])


def test_an_opening_contact_lets_go_above_its_temperature_and_finds_together_below():
    coil = TrueCoil(ohm_at_20=5.09, contact=OpeningContact(above_celsius=86.0))
    assert coil.ohm_at(86.1) == math.inf
    assert coil.ohm_at(20.0) == pytest.approx(5.09)


# The lag: dT/dt = (can - T)/tau, closed forms


def test_after_a_jump_the_gap_dies_away_exponentially():
    warming = Warming(corners=((0.0, 80.0), (600.0, 80.0)), lag_s=60.0, coil_starts_celsius=20.0)
    expected = [80.0 - 60.0 * math.exp(-time_s / 60.0) for time_s in (0.0, 30.0, 60.0, 300.0)]
    assert warming.coil_celsius((0.0, 30.0, 60.0, 300.0)) == pytest.approx(expected, abs=1e-6)


def test_on_a_long_ramp_a_coil_lies_rate_times_lag_behind():
    warming = Warming(corners=((0.0, 20.0), (1800.0, 92.0)), lag_s=60.0)
    (coil,) = warming.coil_celsius((1800.0,))
    assert coil == pytest.approx(92.0 - 0.04 * 60.0, abs=1e-6)  # 72 K in 1800 s


def test_the_can_goes_straight_from_corner_to_corner():
    assert [UP_AND_DOWN.can_celsius(t) for t in (0.0, 900.0, 1800.0, 2700.0, 4000.0)] == [22.0, 58.0, 94.0, 67.0, 40.0]


@pytest.mark.parametrize(
    ("corners", "lag_s"),
    [
        pytest.param(((0.0, 20.0),), 60.0, id="one corner"),
        pytest.param(((0.0, 20.0), (0.0, 30.0)), 60.0, id="time stands still"),
        pytest.param(((0.0, 20.0), (9.0, 30.0)), 0.0, id="no lag"),
        pytest.param(((0.0, 20.0), (9.0, 30.0)), math.nan, id="not a number"),
    ],
)
def test_a_warming_that_cannot_be_is_refused(corners, lag_s):
    with pytest.raises(ValueError, match="corners"):
        Warming(corners=corners, lag_s=lag_s)


# The logger


def test_a_logger_reads_what_is_there_within_its_booklet():
    logged = LOGGER.watch(BODY, UP_AND_DOWN, HERON, dice("log"))
    truth = [BODY.devices["Heron"].ohm_at(coil) for coil in UP_AND_DOWN.coil_celsius(logged.t_s)]
    assert len(logged.t_s) == 121  # 3600 s by 30 s, both ends
    away = [abs(shown - true) for shown, true in zip(logged.ohm["Heron"], truth, strict=True)]
    assert max(away) <= 0.01  # half a step of jitter, half a step of rounding; its gain is right


def test_noise_is_the_same_for_the_same_name_only():
    noisy = Logger(meter=METER, probe=Probe(), every_s=30.0, noise_ohm=0.02)
    one, again, other = (noisy.watch(BODY, UP_AND_DOWN, HERON, dice(name)) for name in ("a", "a", "b"))
    assert one == again
    assert one != other


def test_an_opening_is_written_as_open_at_its_coil_temperature():
    body = BODY.with_device("Heron", TrueCoil(ohm_at_20=5.2, contact=OpeningContact(above_celsius=86.0)))
    logged = LOGGER.watch(body, UP_AND_DOWN, HERON, dice("log"))
    coils = UP_AND_DOWN.coil_celsius(logged.t_s)
    assert [ohm is None for ohm in logged.ohm["Heron"]] == [coil > 86.0 for coil in coils]
    assert b",OL\n" in logged.csv()


def test_the_file_is_read_back_as_it_was_written():
    """By the reader of any logger's file, which knows nothing of the simulation."""
    logged = LOGGER.watch(BODY, UP_AND_DOWN, {**HERON, "Gull": ("1", "2")}, dice("log"))
    log = heat_log(logged.csv(), source="log.csv")
    assert list(log.runs) == ["Heron", "Gull"]
    for name, run in log.runs.items():
        assert np.array_equal(run.t_s, logged.t_s)
        assert np.array_equal(run.probe_celsius, logged.probe_celsius)
        assert np.array_equal(run.ohm, logged.ohm[name])
