"""The cheapest thing that would settle an undecided reading."""

from __future__ import annotations

import json

import pytest

from tests.unit.report.samples import session_of
from valvebench.judge.advice import advice_for, ways_to_decide
from valvebench.judge.resistance import judge
from valvebench.judge.rows import rows_of
from valvebench.model.entry import Reading
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import Check
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import LeadState, Rule, TemperatureSource, Verdict

BAND = Limits(low_ohm=5.0, high_ohm=6.0)
NULL, TAPE, RESISTOR, VOLTS = "Nulling the leads", "A contact probe", "A check resistor", "A volts ratio"


def measured(ohm=None, **given):
    return Measured(ohm=ohm, **{"celsius": 20.0, "temperature": TemperatureSource.TAPED, **given})


@pytest.mark.parametrize(
    ("reading", "limits", "words"),
    [
        pytest.param(measured(5.95, meter="0.1%+1x0.001"), Limits(low_ohm=5.0, high_ohm=5.95), NULL, id="leads first"),
        pytest.param(
            measured(
                5.5, celsius=60.0, temperature=TemperatureSource.IR_BARE, meter="0.1%+1x0.01", leads=LeadState.NULLED
            ),
            Limits(low_ohm=4.5, high_ohm=5.0),
            TAPE,
            id="temperature where it is vague",
        ),
        pytest.param(
            measured(5.5, meter="0.9%+2x0.1", leads=LeadState.NULLED),
            Limits(low_ohm=5.3, high_ohm=5.7),
            RESISTOR,
            id="resistor",
        ),
        pytest.param(
            measured(5.5, meter="0.9%+2x0.1", leads=LeadState.NULLED),
            Limits(low_ohm=5.43, high_ohm=5.57),
            VOLTS,
            id="volts",
        ),
        pytest.param(
            measured(
                5.5, celsius=60.0, temperature=TemperatureSource.IR_BARE, meter="0.9%+2x0.1", leads=LeadState.NULLED
            ),
            Limits(low_ohm=4.5, high_ohm=5.0),
            RESISTOR,
            id="resistor and probe together",
        ),
    ],
)
def test_cheapest_way(reading, limits, words):
    assert judge(reading, limits).verdict is Verdict.CANT_TELL
    (advice,) = advice_for(reading, limits)
    assert advice.startswith(words)
    assert "would decide it" in advice


ONLY_BY_VOLTS = {"meter": "0.9%+2x0.1", "leads": LeadState.NULLED}
"""At 5.5 ohm, limits 5.43 and 5.57: of the usual ways only the volts ratio decides, as above."""


def test_a_part_that_may_not_be_fed_is_advised_no_volts_ratio():
    reading, limits = measured(5.5, **ONLY_BY_VOLTS), Limits(low_ohm=5.43, high_ohm=5.57)
    (advice,) = advice_for(reading, limits, may_feed=False)
    assert VOLTS not in advice
    assert VOLTS not in (ways_to_decide(reading, limits, may_feed=False) or "")
    assert ways_to_decide(reading, limits).startswith(VOLTS)


@pytest.mark.parametrize(
    ("kind", "more", "is_advised"),
    [
        ("solenoid", {}, True),
        ("solenoid", {"electronics_on_board": True}, False),
        ("switch", {}, False),
        (None, {}, False),
    ],
)
def test_in_a_session_it_is_advised_only_where_the_page_offers_it(kind, more, is_advised):
    """A solenoid without electronics on board; of a pair nobody has described it is not known to be one."""
    limits = {"low_ohm": 5.43, "high_ohm": 5.57}
    device = {
        "name": "Gull",
        "kind": kind,
        "between": ["1", "2"],
        **(limits if kind == "solenoid" else {"at_rest": "open"}),
    }
    raw = {
        "format": 1,
        "key": "t",
        "title": "invented",
        "pins": [{"name": "1"}, {"name": "2"}],
        "devices": [device],
        **more,
    }
    variant = read_variant(json.dumps(raw).encode(), source="test") if kind else None
    reading = Reading(
        from_node="1",
        to_node="2",
        ohm=5.5,
        celsius=20.0,
        temperature=TemperatureSource.TAPED,
        **ONLY_BY_VOLTS,
        **limits,
    )
    (row,) = rows_of(session_of(reading), variant)
    assert any(VOLTS in words for words in row.judgement.advice) is is_advised


def test_two_things_together_are_said_together():
    reading = measured(
        5.5, celsius=60.0, temperature=TemperatureSource.IR_BARE, meter="0.9%+2x0.1", leads=LeadState.NULLED
    )
    (advice,) = advice_for(reading, Limits(low_ohm=4.5, high_ohm=5.0))
    assert "together with a contact probe" in advice


@pytest.mark.parametrize(
    ("reading", "limits"),
    [
        (measured(open=True, range_ohm=400.0), BAND),
        (measured(5.5), Limits()),
        (measured(5.5, temperature=TemperatureSource.NOT_SOAKED), BAND),
    ],
    ids=["open", "no limits", "not soaked"],
)
def test_nothing_to_advise(reading, limits):
    assert advice_for(reading, limits) == ()


def test_a_band_too_narrow_for_this_meter_is_said_with_widths():
    reading = measured(5.5, meter="0.9%+2x0.1", leads=LeadState.NULLED)
    (advice,) = advice_for(reading, Limits(low_ohm=5.499, high_ohm=5.501))
    assert advice.startswith("This meter cannot decide here: the band is 0.002")
    assert "matched set" in advice


def test_a_value_on_the_limit_is_compared_with_a_good_body():
    reading = measured(6.0, meter="0.1%+1x0.001", leads=LeadState.FOUR_WIRE)
    (advice,) = advice_for(reading, BAND)
    assert "too close to the limit" in advice


def test_a_volts_ratio_and_a_meter_check_are_not_advised_again():
    volts = measured(volts_x=0.6, volts_check=0.5, check_ohm=5.0, volts_meter="0.5%+9x0.01")
    assert judge(volts, BAND).verdict is Verdict.CANT_TELL
    (advice,) = advice_for(volts, BAND)
    assert VOLTS not in advice
    reading = measured(5.7, meter="1%+3x0.5")
    check = Check(ohm=5.0, read_ohm=5.0, zero_ohm=0.2)
    (advice,) = advice_for(reading, BAND, check=check)
    assert RESISTOR not in advice


@pytest.mark.parametrize("rule", [Rule.PROVED, Rule.PROVED5])
def test_what_is_advised_would_decide(rule):
    """The advised reading, taken, is decided."""
    limits = Limits(low_ohm=5.3, high_ohm=5.7)
    assert advice_for(measured(5.5, meter="0.9%+2x0.1", leads=LeadState.NULLED), limits, rule=rule)[0].startswith(
        RESISTOR
    )
    taken = measured(5.7, check_ohm=5.5, check_read_ohm=5.7, zero_read_ohm=0.2, meter="0.9%+2x0.1")
    assert judge(taken, limits, rule=rule).verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("reading", "limits", "words"),
    [
        (measured(5.5, meter="0.1%+1x0.001"), Limits(low_ohm=5.4, high_ohm=5.6), NULL),
        (measured(5.5, meter="1%+3x0.1", leads=LeadState.NULLED), Limits(low_ohm=5.2, high_ohm=5.6), RESISTOR),
        (
            measured(5.5, meter="0.1%+1x0.001", leads=LeadState.FOUR_WIRE, temperature=TemperatureSource.IR_BARE),
            Limits(low_ohm=5.2, high_ohm=5.8),
            TAPE,
        ),
        (measured(5.5), Limits(low_ohm=5.4999, high_ohm=5.5001), None),
        (
            measured(5.5, temperature=TemperatureSource.IR_BARE),
            Limits(low_ohm=2000.0, high_ohm=2000.1, k_celsius=None, slope_per_celsius=-0.04),
            None,
        ),
        (measured(5.5), Limits(low_ohm=5.0), NULL),
    ],
    ids=["leads", "resistor", "probe", "hopeless", "hopeless sensor", "one limit"],
)
def test_ways_before_the_first_reading(reading, limits, words):
    found = ways_to_decide(reading, limits)
    assert found is None if words is None else found.startswith(words)


SENSOR = Limits(low_ohm=2540.0, high_ohm=2800.0, k_celsius=None, slope_per_celsius=-0.0364)


def test_a_sensor_is_read_in_a_bath():
    """2670 ohm, 3.64 % a kelvin: 2 degrees are 194 ohm, 1 degree 97 ohm, half the band is 130 ohm (by hand)."""
    reading = measured(2670.0, temperature=None, celsius_accuracy=2.0, meter="0.1%+1x0.1", leads=LeadState.NULLED)
    assert judge(reading, SENSOR).verdict is Verdict.CANT_TELL
    (advice,) = advice_for(reading, SENSOR)
    assert advice.startswith("A temperature known within 1 degrees")


def test_no_bath_where_the_temperature_is_known_that_well():
    reading = measured(2670.0, temperature=None, celsius_accuracy=0.5, meter="0.1%+1x0.1", leads=LeadState.NULLED)
    (advice,) = advice_for(reading, Limits(low_ohm=2669.0, high_ohm=2671.0, k_celsius=None, slope_per_celsius=-0.0364))
    assert advice.startswith("This meter cannot decide here")
