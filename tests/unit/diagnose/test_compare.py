"""Two sessions pair by pair, by hand arithmetic on the budgets of JCGM 100."""

from __future__ import annotations

from math import sqrt

import pytest

from tests.unit.report.samples import VARIANT, variant
from valvebench.diagnose.compare import COMMON, compare
from valvebench.diagnose.compared import Side
from valvebench.model.entry import (
    GENESIS,
    KIND_OF_BODY,
    AirTest,
    Entry,
    MeterCheck,
    OpenJob,
    Reading,
    encode_line,
    sha256_of,
)
from valvebench.model.session import fold
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, AirResult, LeadState, Place, TemperatureSource

FINE = "0.5%+5x0.01"
BASE = {
    "from_node": "1",
    "to_node": "7",
    "celsius": 20.0,
    "meter": FINE,
    "leads": LeadState.NULLED,
    "temperature": TemperatureSource.TAPED,
}


def read(ohm=None, **more):
    return Reading(**(BASE | more), ohm=ohm)


def session(*bodies, hour=8):
    entries, prev = [], GENESIS
    for n, body in enumerate((OpenJob(session=f"s-{hour}", job="T-1"), *bodies), start=1):
        at = f"2031-05-06T{hour:02d}:00:{n:02d}Z"
        line = encode_line(n=n, at=at, by="Ada", body=body, prev=prev)
        entries.append(Entry(n, at, "Ada", KIND_OF_BODY[type(body)], body, prev, prev := sha256_of(line)))
    return fold(entries)


def rows(a, b, *, hours=(8, 9), of_variant=None):
    listed = [one if isinstance(one, list) else [one] for one in (a, b)]
    sides = [Side(session(*bodies, hour=hour), of_variant) for bodies, hour in zip(listed, hours, strict=True)]
    return compare(*sides)


def row(a, b, **more):
    (only,) = rows(a, b, **more)
    return only


def test_gain_acts_on_the_difference_and_counts_once_a_reading():
    found = row(read(5.25), read(5.00))
    # Gain 0.5 % of 0.25; twice 5 x 0.01; each over sqrt(3) (JCGM 100, 4.3.7).
    by_hand = sqrt((0.005 * 0.25) ** 2 + 2 * 0.05**2) / sqrt(3)
    assert found.difference == pytest.approx(0.25)
    assert found.u_difference == pytest.approx(by_hand, rel=1e-12)
    # Two equal rectangles make a triangle: (1 - sqrt(1 - 0.9545)) sqrt(6), EA-4/02 S10.
    assert found.k == pytest.approx((1 - sqrt(1 - 0.9545)) * sqrt(6), abs=1e-3)
    assert (found.significant, found.common) == (True, COMMON)


@pytest.mark.parametrize(("ohm", "is_other"), [(5.07, False), (5.08, True)])
def test_the_whisker_decides(ohm, is_other):
    # 1.92700 sqrt(2) 0.05 / sqrt(3) = 0.07867
    assert row(read(ohm), read(5.0)).significant is is_other


def test_more_than_two_hours_apart_nothing_cancels():
    found = row(read(5.25), read(5.00), hours=(8, 11))
    meter = [0.005 * ohm + 0.05 for ohm in (5.25, 5.0)]
    warmth = [2.0 * ohm / 254.5 for ohm in (5.25, 5.0)]
    by_hand = sqrt(sum(a * a for a in (*meter, *warmth)) + 2 * 0.01**2) / sqrt(3)
    assert found.u_difference == pytest.approx(by_hand, rel=1e-12)
    assert found.common == ()
    assert "two hours" in found.why


def test_two_hours_to_the_second_still_count():
    assert row(read(5.25), read(5.0), hours=(8, 10)).common == COMMON


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"meter": "0.9%+2x0.1"}, "another meter"),
        ({"meter_id": "the other"}, "another meter"),
        ({"leads": LeadState.FOUR_WIRE}, "leads treated in another way"),
        ({"range_ohm": 400.0}, "another range"),
        ({"check_ohm": 5.0, "check_read_ohm": 5.1}, "another check resistor"),
    ],
)
def test_another_instrument_shares_nothing_and_says_which(other, words):
    found = row(read(5.25), read(5.0, **other))
    assert found.common == ()
    assert found.why.startswith(f"Not the same meter and leads ({words})")


def test_of_two_variants_neither_names_a_pair_nor_its_law():
    other = read_variant(VARIANT.replace(b'"tern-test"', b'"tern-other"'), source="test")
    a, b = session(read(5.25)), session(read(5.0), hour=9)
    (same,) = compare(Side(a, variant()), Side(b, variant()))
    (unlike,) = compare(Side(a, variant()), Side(b, other))
    assert (same.what, unlike.what) == ("1\u20137 Gull", "1\u20137")
    assert "Copper assumed" in unlike.why


def test_another_allowance_for_the_leads_shares_nothing():
    neither = {"leads": LeadState.NEITHER}
    assert row(read(5.25, **neither), read(5.0, **neither)).common == COMMON
    assert row(read(5.25, **neither), read(5.0, **neither, lead_allowance_ohm=0.4)).common == ()


def test_temperatures_apart_count_even_with_one_meter():
    found = row(read(5.25), read(5.5, celsius=40.0))
    at_20 = 5.5 * 254.5 / 274.5
    warmth = [2.0 * 5.25 / 254.5, 2.0 * at_20 / 274.5]
    gain = 0.005 * (5.25 - at_20)
    counts = [0.05, 0.05 * 254.5 / 274.5]
    by_hand = sqrt(sum(a * a for a in (*warmth, gain, *counts))) / sqrt(3)
    assert found.difference == pytest.approx(5.25 - at_20)
    assert found.u_difference == pytest.approx(by_hand, rel=1e-9)
    assert found.common == ("gain", "leads")


def test_a_temperature_known_in_another_way_does_not_cancel():
    found = row(read(5.25), read(5.0, temperature=TemperatureSource.ROOM_SHORT))
    assert found.common == ("gain", "leads")
    assert "not warm alike" in found.why


def test_straight_from_the_washer_nothing_can_be_told():
    hot = {"temperature": TemperatureSource.NOT_SOAKED}
    found = row(read(5.25, **hot), read(5.0))
    assert (found.significant, found.u_difference) == (None, None)
    assert "room" in found.why


def test_tips_taken_off_once_or_twice():
    once = row(read(5.45, leads=LeadState.SUBTRACT, lead_ohm=0.2), read(5.2, leads=LeadState.SUBTRACT, lead_ohm=0.2))
    twice = row(read(5.45, leads=LeadState.SUBTRACT, lead_ohm=0.2), read(5.3, leads=LeadState.SUBTRACT, lead_ohm=0.3))
    assert once.difference == pytest.approx(0.25)
    assert once.u_difference == pytest.approx(sqrt(0.00125**2 + 2 * 0.05**2) / sqrt(3))
    # Two readings of the tips are two more readings with counts of their own.
    assert twice.u_difference == pytest.approx(sqrt((0.005 * 0.25) ** 2 + 4 * 0.05**2) / sqrt(3))


def test_one_check_resistor_stands_in_for_the_gain():
    check = {"check_ohm": 5.0, "check_read_ohm": 5.1, "zero_read_ohm": 0.1}
    found = row(read(5.35, **check), read(5.1, **check))
    # R = 5 (i - 0.1)/5.0: 5.25 and 5.00; steps of the reading and of the resistor's reading,
    # 0.01/sqrt(12) each; the resistor's 0.1 % acts on the difference.
    step = 0.01 / sqrt(12)
    by_hand = sqrt(2 * step**2 + (1.05 * step) ** 2 + step**2 + (0.001 * 0.25) ** 2 / 3)
    assert found.difference == pytest.approx(0.25)
    assert found.u_difference == pytest.approx(by_hand, rel=1e-9)
    assert found.common == COMMON


def test_check_resistor_from_a_meter_check():
    check = MeterCheck(check_ohm=5.0, read_ohm=5.1, zero_read_ohm=0.1, leads=LeadState.NULLED, meter=FINE)
    assert row([check, read(5.35)], [check, read(5.1)]).common == COMMON
    assert row([check, read(5.35)], read(5.1)).common == ()


def test_volts_ratio():
    volts = {"check_ohm": 5.0, "volts_check": 1.0, "volts_meter": "0.5%+2x0.001"}
    found = row(read(**volts, volts_x=1.05), read(**volts, volts_x=1.0))
    counts = 5.0 * 0.002 / sqrt(3)
    by_hand = sqrt(2 * counts**2 + (1.05**2 + 1) * counts**2 + (0.001 * 0.25) ** 2 / 3)
    assert (found.a, found.b) == (pytest.approx(5.25), pytest.approx(5.0))
    assert found.u_difference == pytest.approx(by_hand, rel=1e-9)
    other = row(read(**volts, volts_x=1.05), read(**(volts | {"volts_meter": "0.5%+2x0.01"}), volts_x=1.0))
    assert other.common == ()


def test_a_large_volts_ratio_is_no_winding():
    volts = {"check_ohm": 500.0, "volts_check": 1.0}
    found = row(read(**volts, volts_x=1.0), read(**volts, volts_x=1.0), hours=(8, 12))
    assert found.significant is None
    assert "Copper" not in found.why


@pytest.mark.parametrize(
    ("range_ohm", "ohm", "is_other"), [(400.0, 5.0, True), (400.0, 399.0, None), (400.0, 2e3, None)]
)
def test_open_against_a_value(range_ohm, ohm, is_other):
    # 399 + 0.5 % + 5 counts reaches beyond 400.
    found = row(read(open=True, range_ohm=range_ohm), read(ohm))
    assert (found.significant, found.difference) == (is_other, None)


def test_open_on_both():
    opened = read(open=True, range_ohm=4e7)
    found = row(opened, opened)
    assert (found.significant, found.why) == (False, "Open on both.")


def test_nearest_temperatures_meet():
    a = [read(6.2, celsius=80.0), read(5.0, celsius=20.0)]
    (found,) = rows(a, read(5.0, celsius=20.0))
    assert found.difference == 0.0


def test_every_group_is_used_once():
    a = [read(5.0, celsius=20.0), read(6.2, celsius=80.0)]
    b = [read(6.2, celsius=79.0), read(5.1, celsius=21.0)]
    assert [one.common for one in rows(a, b)] == [COMMON, COMMON]


def test_a_sensor_at_two_temperatures_needs_its_law():
    sensor = {"from_node": "4", "to_node": "5", "meter": "1%+3x1"}
    unknown = row(read(2600.0, **sensor), read(2300.0, **sensor, celsius=23.0))
    assert (unknown.significant, unknown.u_difference) == (None, None)
    assert "not known" in unknown.why
    # Mid table 2670 ohm at 20 and 325 ohm at 80 degC (samples.py, invented): known, so carried over.
    known = row(read(2600.0, **sensor), read(2300.0, **sensor, celsius=23.0), of_variant=variant())
    assert known.what == "4\u20135 Fluid"
    assert known.b > 2500.0
    assert known.significant is False
    assert known.common == ("gain", "leads")


def test_unknown_part_at_one_temperature():
    found = row(read(2600.0, meter="1%+3x1"), read(2300.0, meter="1%+3x1"))
    assert (found.significant, found.common) == (True, COMMON)


def test_names_come_from_either_side_and_copper_is_said_when_assumed():
    assert row(read(5.0), read(5.0)).why.endswith("Copper assumed.")
    named = row(read(5.0), read(5.0), of_variant=variant())
    assert (named.what, "Copper" in named.why) == ("1\u20137 Gull", False)


def test_only_what_both_have_at_the_same_place():
    assert rows(read(5.0), read(5.0, at=AccessPoint.VEHICLE_PLUG)) == ()
    assert rows(read(5.0), read(5.0, to_node="6")) == ()


def test_the_pair_may_be_read_either_way_round():
    assert row(read(5.0), read(5.0, from_node="7", to_node="1")).difference == 0.0


def test_equal_without_any_doubt_is_no_difference():
    exact = {"u_ohm": 0.0, "leads": LeadState.FOUR_WIRE, "u_celsius": 0.0, "temperature": None}
    assert row(read(5.0, **exact), read(5.0, **exact)).significant is False


def test_ports_are_compared_by_ear():
    heard = [AirTest(port="P3", place=Place.BODY, result=result) for result in (AirResult.PASS, AirResult.FAIL)]
    found = row(*heard)
    assert (found.what, found.significant, found.difference) == ("port P3", True, None)


@pytest.mark.parametrize(
    "other",
    [
        AirTest(port="P3", place=Place.BODY, result=AirResult.FAIL, has_cover=False),
        AirTest(port="P3", place=Place.BODY, result=AirResult.NOT_POSSIBLE),
    ],
    ids=["no cover plate", "not possible"],
)
def test_an_answer_that_says_nothing_is_no_difference(other):
    passed = AirTest(port="P3", place=Place.BODY, result=AirResult.PASS)
    found = row(passed, other)
    assert (found.significant, found.why) == (None, "One of the two says nothing.")


def test_a_warm_round_is_compared_only_with_a_body_as_warm():
    rounds = [read(5.0, celsius=20.0, round=1), read(6.4, celsius=110.0, round=2)]
    (found,) = rows(rounds, [read(5.0, celsius=21.0), read(6.2, celsius=80.0)])
    assert found.a == pytest.approx(5.0)
    assert len(rows(rounds, [read(5.0, celsius=21.0), read(6.4, celsius=108.0)])) == 2
    assert len(rows([read(5.0), read(6.4, celsius=110.0)], [read(5.0), read(6.2, celsius=80.0)])) == 2


def test_the_nearest_two_are_compared_even_where_one_was_typed_in_a_round():
    (found,) = rows(read(5.0, celsius=12.0), [read(5.2, celsius=30.0, round=1), read(5.8, celsius=60.0, round=2)])
    assert found.b == pytest.approx(5.2 * 254.5 / 264.5)  # carried to 20 degrees by the conductor law
