"""A plan of steps becomes entries with their times."""

from __future__ import annotations

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from valvebench.model.entry import AirTest, MeterCheck, Reading, SolenoidTest, SwitchTest
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, AirResult, Flow, LeadState, Place, SwitchState, TemperatureSource
from valvebench.simulate.body import healthy_body
from valvebench.simulate.meter import OhmMeter, Probe, decade_ranges
from valvebench.simulate.quillon import FINE_METER, WITHOUT_LIMITS_OHM
from valvebench.simulate.seed import dice
from valvebench.simulate.taking import (
    BlowPort,
    ClickSolenoid,
    ReadCheck,
    ReadPair,
    SetUp,
    TrySwitch,
    carry_out,
    pairs_at,
    take,
)

FOLDER = Path(__file__).parents[3] / "resources" / "variants"
TERN = read_variant((FOLDER / "tern-body-2.json").read_bytes(), source="tern-body-2.json")
BODY = healthy_body(TERN, dice("a test"), ohm_at_20=WITHOUT_LIMITS_OHM)
START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def set_up(body=BODY, **more):
    facts = {"meter": FINE_METER, "probe": Probe(), "temperature": TemperatureSource.TAPED} | more
    return SetUp(body=body, **facts)


def done(step, **more):
    return take(step, set_up(**more), dice("x"))


def test_a_reading_says_with_what_it_was_taken():
    reading = done(ReadPair(from_node="1", to_node="2", celsius=23.0))
    assert isinstance(reading, Reading)
    assert (reading.meter, reading.meter_id, reading.leads) == ("0.9%+2x0.01", "bench meter", LeadState.NULLED)
    assert reading.temperature is TemperatureSource.TAPED
    assert reading.range_ohm == 600.0


def test_a_reading_says_where_it_was_taken():
    own = ReadPair(from_node="Heron.1", to_node="Heron.2", celsius=23.0, at=AccessPoint.DEVICE_TERMINALS)
    assert done(own).at is AccessPoint.DEVICE_TERMINALS
    assert done(ReadPair(from_node="3", to_node="11", celsius=23.0)).at is AccessPoint.CASE_CONNECTOR


def test_over_range_is_recorded_as_open_with_its_range():
    reading = done(ReadPair(from_node="1", to_node="case", celsius=23.0))
    assert (reading.ohm, reading.open, reading.range_ohm) == (None, True, 6e7)
    assert reading.meter == "0.9%+2x0.01"


def test_a_stated_accuracy_takes_the_place_of_the_word():
    reading = done(ReadPair(from_node="12", to_node="6", celsius=23.0, celsius_accuracy=0.5))
    assert (reading.temperature, reading.celsius_accuracy) == (None, 0.5)


def test_leads_to_take_off_are_read_first():
    ranges = decade_ranges(lowest_full_ohm=600.0, lowest_step_ohm=0.01, count=6)
    meter = OhmMeter(name="m", percent=1.0, counts=3, ranges=ranges, lead_ohm=0.2, leads=LeadState.SUBTRACT)
    assert done(ReadPair(from_node="1", to_node="2", celsius=23.0), meter=meter).lead_ohm == pytest.approx(0.2)


def test_a_check_resistor_is_read_with_the_same_leads():
    check = done(ReadCheck(check_ohm=5.0))
    assert isinstance(check, MeterCheck)
    # by hand: gain 0.2 % of 5 ohm is one count of 0.01, and the last digit is restless by one count
    assert check.read_ohm == pytest.approx(5.01, abs=0.0101)
    assert (check.zero_read_ohm, check.leads, check.range_ohm) == (0.0, LeadState.NULLED, 600.0)


def test_a_check_resistor_over_the_range_is_refused():
    with pytest.raises(ValueError, match="over the range"):
        done(ReadCheck(check_ohm=1e9))


@pytest.mark.parametrize(
    ("port", "leaks", "expected"),
    [
        pytest.param("P3", False, AirResult.PASS, id="holds"),
        pytest.param("P7", True, AirResult.BLEEDS, id="leaks"),
        pytest.param("P8", False, AirResult.BLEEDS, id="bleeds-by-design"),
    ],
)
def test_air_at_a_port(port, leaks, expected):
    test = done(BlowPort(port=port), body=BODY.with_leak(port) if leaks else BODY)
    assert isinstance(test, AirTest)
    assert (test.result, test.place) == (expected, Place.BODY)
    assert test.kpa_gauge == TERN.port_named(port).kpa_gauge


def test_air_is_blown_as_the_variant_asks():
    test = done(BlowPort(port="P7"))
    assert (test.selector, test.solenoids) == ("R", {"Plover": "on"})


@pytest.mark.parametrize(
    ("kpa_gauge", "leak", "state"),
    [(None, None, SwitchState.OPEN), (250.0, None, SwitchState.CLOSED), (250.0, "P3", SwitchState.OPEN)],
)
def test_a_pressure_switch(kpa_gauge, leak, state):
    body = BODY.with_leak(leak) if leak else BODY
    test = done(TrySwitch(device="Reel", kpa_gauge=kpa_gauge), body=body)
    assert isinstance(test, SwitchTest)
    assert test.state is state


@pytest.mark.parametrize(("name", "off", "on"), [("Gull", Flow.FLOWS, Flow.HOLDS), ("Knot", Flow.HOLDS, Flow.FLOWS)])
def test_a_solenoid_by_function(name, off, on):
    test = done(ClickSolenoid(device=name))
    assert isinstance(test, SolenoidTest)
    assert (test.click, test.air_off, test.air_on) == (True, off, on)


@pytest.mark.parametrize(
    "step", [BlowPort(port="P99"), TrySwitch(device="Gull"), ClickSolenoid(device="Reel"), "a word"], ids=repr
)
def test_a_step_that_cannot_be_done_is_refused(step):
    with pytest.raises((TypeError, ValueError)):
        done(step)


def test_steps_follow_each_other_at_their_pace():
    steps = pairs_at(23.0, [("1", "2"), ("4", "5"), ("3", "11")])
    timed = carry_out(set_up(), steps, start=START, pace_s=20.0, chance=dice("x"))
    assert [one.at for one in timed] == [START, START + timedelta(seconds=20), START + timedelta(seconds=40)]
    assert [one.body.from_node for one in timed] == ["1", "4", "3"]


def test_a_solenoid_that_says_nothing_of_its_air_is_only_clicked():
    coil = {"name": "Stint", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 5.0, "high_ohm": 6.0}
    data = {"format": 1, "key": "tiny", "title": "Tiny (invented)", "pins": [{"name": "1"}, {"name": "2"}]}
    variant = read_variant(json.dumps({**data, "devices": [coil]}).encode(), source="tiny")
    test = done(ClickSolenoid(device="Stint"), body=healthy_body(variant, dice("a test"), ohm_at_20={}))
    assert (test.click, test.air_off, test.air_on) == (True, None, None)
