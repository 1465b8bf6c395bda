"""Entries -> rows: what counts together, which meter check serves, what the spread of repeats is."""

from __future__ import annotations

import math

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.judge.rows import pooled_sd, rows_of, taken_readings
from valvebench.model.entry import AirTest, Correct, FluidFound, MeterCheck, Note, SolenoidTest, SwitchTest, Withdraw
from valvebench.model.words import AirResult, LeadState, Place, Rule, SwitchState, Verdict

VARIANT = variant_of()
HERON = ("3", "11")


def rows(*bodies, rule=None):
    return rows_of(session_of(*bodies), VARIANT, rule=rule)


def row(*bodies, **more):
    (only,) = rows(*bodies, **more)
    return only


def groups(*bodies):
    return [one.entries for one in rows(*bodies)]


def heron(ohm=5.2, **given):
    return reading(*HERON, ohm, **given)


def check(**given):
    return MeterCheck(
        **{"check_ohm": 5.0, "read_ohm": 5.05, "meter": "0.5%+2x0.01", "leads": LeadState.NULLED, **given}
    )


@pytest.mark.parametrize(
    ("other", "together"),
    [
        pytest.param(heron(5.21), True, id="another value"),
        pytest.param(reading("11", "3", 5.2), True, id="turned round"),
        pytest.param(heron(celsius=22.0), True, id="two degrees warmer"),
        pytest.param(heron(celsius=22.1), False, id="more than two degrees warmer [common practice, no source]"),
        pytest.param(heron(meter="0.5%+2x0.1"), False, id="another meter"),
        pytest.param(heron(meter_id="blue"), False, id="another instrument"),
        pytest.param(heron(leads="four_wire"), False, id="another lead state"),
        pytest.param(heron(leads="neither", lead_allowance_ohm=0.3), False, id="another allowance"),
        pytest.param(heron(range_ohm=400.0), False, id="another range"),
        pytest.param(heron(at="vehicle_plug"), False, id="another access point"),
        pytest.param(heron(temperature="room_2h"), False, id="another way to know the temperature"),
        pytest.param(heron(temperature=None, celsius_accuracy=1.0), False, id="another accuracy of it"),
        pytest.param(heron(u_ohm=0.01), False, id="another doubt"),
        pytest.param(heron(rule="plain"), False, id="another rule"),
        pytest.param(heron(check_ohm=5.0, check_read_ohm=5.0), False, id="a check resistor"),
        pytest.param(reading("4", "11", 5.2), False, id="another pair"),
        pytest.param(reading(*HERON, open=True, range_ohm=400.0), False, id="open"),
    ],
)
def test_like_conditions_count_together(other, together):
    assert len(rows(heron(), other)) == (1 if together else 2)


def test_a_group_is_judged_as_repeats_at_its_mean_temperature():
    """5.2 ohm at 21 and 5.4 ohm at 23 degrees: each carried to 22 by (k + 22)/(k + t), then the mean."""
    one = row(heron(5.2, celsius=21.0), heron(5.4, celsius=23.0))
    at_22 = (5.2 * 256.5 / 255.5 + 5.4 * 256.5 / 257.5) / 2
    assert one.entries == (2, 3)
    assert one.celsius == 22.0
    assert one.shown_ohm == pytest.approx(at_22, rel=1e-12)
    assert {line.term: line.u_ohm for line in one.judgement.budget}["repeats"] == pytest.approx(
        0.01 / math.sqrt(2) * 254.5 / 256.5, rel=1e-12
    )


def test_repeats_within_a_reading_and_readings_of_a_pair_are_one():
    split = row(*(heron(ohm) for ohm in (5.20, 5.21, 5.22, 5.23, 5.24)))
    whole = row(heron(None, repeats_ohm=[5.20, 5.21, 5.22, 5.23, 5.24]))
    assert split.judgement.u_ohm_at_ref == pytest.approx(whole.judgement.u_ohm_at_ref, rel=1e-12)
    assert split.shown_ohm == whole.shown_ohm == pytest.approx(5.22)


def test_open_twice_is_one_row_and_stays_open():
    one = row(reading(*HERON, open=True, range_ohm=400.0), reading(*HERON, open=True, range_ohm=400.0))
    assert one.entries == (2, 3)
    assert one.verdict is Verdict.FAIL


def test_a_volts_ratio_counts_alone():
    volts = {"volts_x": 0.52, "volts_check": 0.5, "check_ohm": 5.0}
    assert groups(reading(*HERON, **volts), reading(*HERON, **volts)) == [(2,), (3,)]


def test_a_sensor_is_split_at_half_a_degree():
    warm = [reading("12", "6", 2600.0, celsius=celsius) for celsius in (20.0, 20.5, 21.1)]
    assert groups(*warm) == [(2, 3), (4,)]


def test_plateaus_do_not_creep():
    """Two degrees are counted from the first of a group, not from neighbour to neighbour."""
    assert groups(*(heron(celsius=20.0 + 1.5 * n) for n in range(4))) == [(2, 3), (4, 5)]


@pytest.mark.parametrize(
    ("before", "serves"),
    [
        pytest.param([check()], True, id="just before"),
        pytest.param([check(), Note(text="x"), heron(5.1)], True, id="still the same set-up"),
        pytest.param([check(), heron(leads="four_wire")], False, id="the leads changed between"),
        pytest.param([check(), heron(meter="1%+3x0.1")], False, id="the meter changed between"),
        pytest.param([check(), heron(range_ohm=400.0)], True, id="the range changed between, and back"),
        pytest.param([check(leads=LeadState.FOUR_WIRE)], False, id="made in another lead state"),
        pytest.param([check(meter="0.9%+2x0.1")], False, id="made with another meter"),
        pytest.param([check(meter="0,5 % + 2 x 0,01")], True, id="the same meter spelt otherwise"),
        pytest.param([check(meter_id="blue")], False, id="made with a named instrument"),
        pytest.param([check(range_ohm=400.0)], False, id="made on another range"),
        pytest.param([check(), Withdraw(entry=2)], False, id="withdrawn"),
        pytest.param([], False, id="none"),
    ],
)
def test_meter_check_serves_until_leads_or_meter_change(before, serves):
    last = rows(*before, reading("4", "11", 5.1))[-1]
    assert last.judgement.ohm == pytest.approx(5.0 * 5.1 / 5.05 if serves else 5.1, rel=1e-12)


def test_the_last_of_two_meter_checks_serves():
    one = row(check(read_ohm=5.5), check(read_ohm=5.05), heron(5.1))
    assert one.judgement.ohm == pytest.approx(5.0 * 5.1 / 5.05, rel=1e-12)


@pytest.mark.parametrize(
    ("given", "ohm"),
    [
        ({"read_ohm": 5.25, "zero_read_ohm": 0.25, "leads": LeadState.NEITHER}, 4.85),
        ({"read_ohm": 5.25, "lead_ohm": 0.25, "leads": LeadState.SUBTRACT}, 4.85),
    ],
    ids=["zero of its own", "tips' reading"],
)
def test_zero_of_a_meter_check(given, ohm):
    """R = 5 (5.1 - 0.25)/(5.25 - 0.25)."""
    leads = given["leads"].value
    tips = {"lead_ohm": 0.25} if leads == "subtract" else {}
    assert row(check(**given), heron(5.1, leads=leads, **tips)).judgement.ohm == pytest.approx(ohm, rel=1e-12)


def test_an_assumed_meter_may_be_checked_too():
    one = row(check(meter=None), heron(5.1, meter=None))
    assert one.judgement.ohm == pytest.approx(5.0 * 5.1 / 5.05, rel=1e-12)


def test_a_reading_with_its_own_check_resistor_keeps_it():
    one = row(check(), heron(5.1, check_ohm=5.0, check_read_ohm=5.2))
    assert one.judgement.ohm == pytest.approx(5.0 * 5.1 / 5.2, rel=1e-12)


def pairs_of_repeats(count, spread):
    return [heron(None, repeats_ohm=[5.0, 5.0 + spread], celsius=20.0 + 3.0 * n) for n in range(count)]


@pytest.mark.parametrize(
    ("count", "spread", "pooled"),
    [
        pytest.param(9, 0.2, None, id="nine degrees of freedom are not enough [common practice, no source]"),
        pytest.param(10, 0.2, 0.2 / math.sqrt(2), id="ten: root of the mean variance, by hand"),
        pytest.param(10, 0.0, 0.01 / math.sqrt(12), id="never finer than the display"),
    ],
)
def test_pooled_spread(count, spread, pooled):
    found = pooled_sd(taken_readings(session_of(*pairs_of_repeats(count, spread)), VARIANT))
    assert list(found.values()) == ([pytest.approx(pooled, rel=1e-12)] if pooled else [])


def test_pooled_spread_goes_into_the_budget():
    bodies = pairs_of_repeats(10, 0.2)
    budget = {line.term: line.u_ohm for line in rows(*bodies)[0].judgement.budget}
    assert budget["repeats"] == pytest.approx(0.2 / math.sqrt(2) / math.sqrt(2), rel=1e-12)


def test_a_row_says_what_it_is_about():
    one = row(heron(5.2))
    assert (one.key, one.what, one.kind, one.from_node, one.to_node) == ("device Heron", "Heron", "solenoid", *HERON)
    assert (one.at, one.celsius, one.shown_ohm) == ("case_connector", 20.0, 5.2)
    assert one.limit_source == "manual: shop manual, page 12"
    assert one.reasons == one.judgement.reasons
    assert one.lean is None
    assert row(heron(5.5)).lean is not None


def test_a_correction_is_counted_and_marked():
    body = {"from": "3", "to": "11", "celsius": 20.0, "ohm": 9.0, "meter": "0.5%+2x0.01", "leads": "nulled"}
    one = row(heron(5.2), Correct(entry=2, why="slip", body=body))
    assert (one.verdict, one.is_corrected, one.entries) == (Verdict.FAIL, True, (2,))


@pytest.mark.parametrize(
    ("asked", "in_reading", "used"),
    [(None, None, Rule.PROVED), (None, "plain", Rule.PLAIN), (Rule.PROVED5, "plain", Rule.PROVED5)],
    ids=["default", "the reading's own", "overruled"],
)
def test_rule(asked, in_reading, used):
    assert row(heron(5.2, rule=in_reading), rule=asked).judgement.rule is used


def test_undecided_rows_get_advice():
    assert row(heron(5.5)).judgement.advice
    assert not row(heron(5.2)).judgement.advice
    one = row(reading("12", "6", open=True, range_ohm=400.0))
    assert one.judgement.advice == ("Set a range above 2.80 k\u03a9 and read again.",)


def test_tests_by_ear_are_rows_in_the_order_of_their_entries():
    bodies = [
        AirTest(port="P4", place=Place.BODY, result=AirResult.BLEEDS),
        heron(5.2),
        SwitchTest(device="Reel", state=SwitchState.OPEN),
        FluidFound(colour="brown"),
        SolenoidTest(device="Heron", click=True),
        Note(text="x"),
    ]
    found = rows(*bodies)
    assert [(one.entries, one.key, one.kind) for one in found] == [
        ((2,), "port P4", "air"),
        ((3,), "device Heron", "solenoid"),
        ((4,), "device Reel", "switch"),
        ((6,), "function Heron", "solenoid"),
    ]
    assert found[0].port == "P4"
    assert found[0].lean is None
    assert all(one.verdict is Verdict.PASS for one in found)


def test_no_variant_no_limits():
    (one,) = rows_of(session_of(heron(5.2)), None)
    assert one.verdict is Verdict.NO_LIMIT
    assert one.limit_source is None
