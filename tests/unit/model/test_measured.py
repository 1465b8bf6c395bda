"""A reading without place: what is refused, in which words, and what is taken for granted."""

from __future__ import annotations

import math

import pytest

from valvebench.model.errors import BadReading
from valvebench.model.measured import Measured, repeats_sd
from valvebench.model.meter import Check
from valvebench.model.words import LeadState, TemperatureSource

COLD = {"celsius": 20.0}


def problems_of(**given):
    with pytest.raises(BadReading) as caught:
        Measured(**given)
    return {problem.where: problem for problem in reversed(caught.value.problems)}


@pytest.mark.parametrize(
    ("given", "where", "words"),
    [
        ({"ohm": math.nan}, "ohm", "finite"),
        ({"ohm": math.inf}, "ohm", "finite"),
        ({"ohm": 5.0, "celsius": math.nan}, "celsius", "finite"),
        ({"ohm": 5.0, "celsius": -50.1}, "celsius", "-50 to 180"),
        ({"ohm": 5.0, "celsius": 180.1}, "celsius", "-50 to 180"),
        ({}, "reading", "one of ohm"),
        ({"ohm": 5.0, "open": True, "range_ohm": 400.0}, "reading", "one of ohm"),
        ({"ohm": 5.0, "volts_x": 1.0, "volts_check": 1.0, "check_ohm": 5.0}, "reading", "one of ohm"),
        ({"open": True}, "range-ohm", "range it was open on"),
        ({"open": True, "range_ohm": 0.0}, "range-ohm", "range it was open on"),
        ({"ohm": -1.1}, "ohm", "0 to 1e12"),
        ({"ohm": 2e12}, "ohm", "0 to 1e12"),
        ({"repeats_ohm": (5.0, math.nan)}, "ohm", "0 to 1e12"),
        ({"ohm": 5.0, "leads": LeadState.SUBTRACT}, "lead-ohm", "tips shorted"),
        ({"ohm": 5.0, "leads": LeadState.NULLED, "lead_ohm": 0.2}, "lead-ohm", "no lead resistance"),
        ({"ohm": 5.0, "leads": LeadState.FOUR_WIRE, "lead_ohm": 0.2}, "lead-ohm", "no lead resistance"),
        ({"ohm": 5.0, "lead_ohm": 0.2}, "lead-ohm", "no lead resistance"),
        ({"ohm": 5.0, "check_ohm": 5.0}, "check-read", "both"),
        ({"ohm": 5.0, "check_read_ohm": 5.0}, "check-ohm", "both"),
        ({"ohm": 5.0, "check_ohm": 5.0, "check_read_ohm": 5.2}, "check-ohm", "tips shorted"),
        ({"ohm": 5.0, "check_ohm": 0.0, "check_read_ohm": 5.2, "zero_read_ohm": 0.2}, "check-ohm", "above zero"),
        ({"ohm": 5.0, "check_ohm": 5.0, "check_read_ohm": 0.2, "zero_read_ohm": 0.2}, "check-read", "tips alone"),
        ({"volts_x": 1.0, "check_ohm": 5.0}, "volts-check", "above zero"),
        ({"volts_check": 1.0, "check_ohm": 5.0}, "volts-x", "above zero"),
        ({"volts_x": 0.0, "volts_check": 1.0, "check_ohm": 5.0}, "volts-x", "above zero"),
        ({"volts_x": 1.0, "volts_check": 1.0}, "check-ohm", "ratio"),
        ({"volts_x": 1.0, "volts_check": 1.0, "check_ohm": 0.0}, "check-ohm", "ratio"),
        ({"ohm": 5.0, "meter": "good"}, "meter", "percent, counts and step"),
        ({"ohm": 5.0, "volts_meter": "good"}, "volts-meter", "percent, counts and step"),
        ({"ohm": 5.0, "celsius_accuracy": 2.0, "u_celsius": 1.0}, "temperature", "one of"),
        ({"ohm": 5.0, "celsius_accuracy": 2.0, "temperature": TemperatureSource.TAPED}, "temperature", "one of"),
        ({"ohm": 5.0, "low_ohm": 6.0, "high_ohm": 5.0}, "low", "not above high"),
        ({"ohm": 5.0, "ref_celsius": 20.0, "ref_not_stated": True}, "ref-celsius", "not stated"),
        ({"ohm": 5.0, "ref_celsius": 300.0}, "ref-celsius", "-50 to 180"),
        ({"ohm": 5.0, "k_celsius": 50.0}, "k", "234.5"),
    ],
    ids=lambda value: value if isinstance(value, str) else "-".join(value) or "nothing",
)
def test_refused_with_place_and_expectation(given, where, words):
    problems = problems_of(**(COLD | given))
    assert words in problems[where].expected
    assert problems[where].found


def test_a_hot_number_asks_for_the_unit():
    assert "Fahrenheit" in problems_of(ohm=5.0, celsius=212.0)["celsius"].what_to_do
    assert "Fahrenheit" not in problems_of(ohm=5.0, celsius=-90.0)["celsius"].what_to_do


def test_taking_the_leads_off_twice_is_explained():
    problem = problems_of(celsius=20.0, ohm=5.0, leads=LeadState.NULLED, lead_ohm=0.2)["lead-ohm"]
    assert problem.found == "0.2 with leads 'nulled'"
    assert "twice" in problem.what_to_do


def test_everything_wrong_is_said_at_once():
    problems = problems_of(celsius=500.0, lead_ohm=0.1, low_ohm=6.0, high_ohm=5.0, meter="good")
    assert problems.keys() == {"celsius", "reading", "lead-ohm", "meter", "low"}


@pytest.mark.parametrize("celsius", [-50.0, 180.0], ids="{} is the end of the conductor law [common practice]".format)
@pytest.mark.parametrize("ohm", [-1.0, 0.0, 1e12])
def test_the_ends_are_inside(celsius, ohm):
    assert Measured(celsius=celsius, ohm=ohm).displayed_ohm == ohm


@pytest.mark.parametrize(
    ("given", "half_width"),
    [
        ({}, 10.0),
        ({"temperature": TemperatureSource.TAPED}, 2.0),
        ({"temperature": TemperatureSource.ROOM_2H}, 3.0),
        ({"temperature": TemperatureSource.ROOM_SHORT}, 8.0),
        ({"temperature": TemperatureSource.IR_TAPE}, 3.0),
        ({"temperature": TemperatureSource.IR_BARE}, 20.0),
        ({"temperature": TemperatureSource.UNKNOWN}, 10.0),
        ({"temperature": TemperatureSource.NOT_SOAKED}, None),
        ({"celsius_accuracy": 0.5}, 0.5),
    ],
    ids=lambda value: f"{value} [common practice, no source]" if isinstance(value, dict) else str(value),
)
def test_half_width_of_the_temperature(given, half_width):
    assert Measured(ohm=5.0, celsius=20.0, **given).half_width_celsius() == half_width


def test_defaults_are_the_assumed_meter_and_leads_not_taken_off():
    measured = Measured(ohm=5.0, celsius=20.0)
    instrument = measured.instrument()
    assert instrument.meter.text() == "1%+3x0.1"
    assert instrument.leads is LeadState.NEITHER
    assert instrument.lead_allowance_ohm == 0.2
    assert instrument.check is None
    assert measured.meter_key() == "1%+3x0.1"
    assert Measured(ohm=5.0, celsius=20.0, meter_id="bench").meter_key() == "bench"


def test_its_own_check_resistor_goes_before_the_meter_check():
    given = {"check_ohm": 5.0, "check_read_ohm": 5.2, "zero_read_ohm": 0.2}
    session_check = Check(ohm=10.0, read_ohm=10.2, zero_ohm=0.2)
    own = Measured(ohm=5.0, celsius=20.0, **given).instrument(check=session_check)
    assert own.check == Check(ohm=5.0, read_ohm=5.2, zero_ohm=0.2)
    assert Measured(ohm=5.0, celsius=20.0).instrument(check=session_check).check == session_check


@pytest.mark.parametrize(
    ("meter", "text"), [(None, "0.5%+2x0.001"), ("0.1%+1x0.0001", "0.1%+1x0.0001")], ids=["from memory", "stated"]
)
def test_volt_meter(meter, text):
    given = {"volts_x": 1.0, "volts_check": 1.1, "check_ohm": 5.0, "volts_meter": meter}
    assert Measured(celsius=20.0, **given).instrument().volts.meter.text() == text


@pytest.mark.parametrize(
    ("repeats", "pooled", "sd"),
    [
        ((5.0, 5.2), None, None),
        ((5.0, 5.2), 0.07, 0.07),
        ((5.0, 5.2, 5.0, 5.2), 0.07, 0.07),
        ((1.0, 2.0, 3.0, 4.0, 5.0), 0.07, math.sqrt(2.5)),
    ],
    ids=["none known", "two pooled", "four pooled", "five speak for themselves: root(10/4) by hand"],
)
def test_spread_of_repeats(repeats, pooled, sd):
    assert repeats_sd(repeats, pooled) == sd


def test_repeats_stand_for_their_mean():
    measured = Measured(celsius=20.0, repeats_ohm=(5.0, 5.5, 6.0), ohm=5.0)
    assert measured.displayed_ohm == 5.5
    assert measured.instrument().repeats == 3
