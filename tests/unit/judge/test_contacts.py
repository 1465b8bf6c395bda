"""A sensor that is read through a park/neutral contact.  The body is invented; common practice, no source."""

from __future__ import annotations

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.judge.book import Book
from valvebench.judge.contacts import needs_selector
from valvebench.judge.expectation import Circuit, ExpectedState
from valvebench.judge.rows import rows_of
from valvebench.judge.session import judge_session
from valvebench.judge.targets import target_of
from valvebench.model.words import Verdict

PASS, FAIL, CANT_TELL, NOT_USABLE = Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL, Verdict.NOT_USABLE
NO_LIMIT, NOT_FINISHED = Verdict.NO_LIMIT, Verdict.NOT_FINISHED
FLUID = {
    "name": "Fluid",
    "kind": "temperature_sensor",
    "between": ["12", "6"],
    "points": [[20, 2540, 2800], [80, 300, 350]],
    "in_series_with": "Stork",
}
STORK = {"name": "Stork", "kind": "switch", "between": ["1", "case"]}
CODES = [
    {"position": "P", "switches": {"Stork": "closed"}},
    {"position": "N", "switches": {"Stork": "closed"}},
    {"position": "D", "switches": {"Stork": "open"}},
    {"position": "3", "switches": {"Stork": "either"}},
]


def body(*devices, codes=CODES):
    bare = {"isolation": None, "ports": [], "solenoid_chart": {}}
    return variant_of(devices=list(devices) or [FLUID, STORK], selector_codes=codes, **bare)


BODY = body()


def opened(**more):
    return reading("12", "6", open=True, range_ohm=6e7, **more)


def read(ohm, **more):
    """A value at a temperature that is known."""
    return reading("12", "6", ohm, temperature=None, u_celsius=0.0, **more)


def row(taken, variant=BODY):
    (found,) = rows_of(session_of(taken), variant)
    return found


def test_open_with_the_contact_closed_is_a_fail_of_sensor_contact_or_wire():
    found = row(opened(selector="P"))
    assert found.verdict is FAIL
    assert found.reasons[-1] == "Stork, which it is read through, is closed in P: the sensor, Stork or a wire is open."


@pytest.mark.parametrize(
    ("selector", "reason"),
    [
        ("D", "Not usable: Stork, which this sensor is read through, is open in D, so open is no fault."),
        (None, "Not usable: this sensor is read through Stork, and nothing says how that stood: open may be no fault."),
        ("3", "Not usable: this sensor is read through Stork, and no table says how that stands in 3."),
        ("L", "Not usable: this sensor is read through Stork, and no table says how that stands in L."),
    ],
    ids=["open there", "not stated", "does not matter there", "no such position"],
)
def test_open_is_never_a_fail_unless_the_contact_is_known_closed(selector, reason):
    found = row(opened(selector=selector))
    assert (found.verdict, found.reasons[0]) == (NOT_USABLE, reason)
    assert found.advice == ("Move the selector to P or N, say so, and read again.",)
    assert (found.lean, found.judgement.plain_verdict) == (None, None)


@pytest.mark.parametrize("selector", ["P", None, "3"])
def test_a_value_is_judged_as_ever(selector):
    assert row(read(2670.0, selector=selector)).verdict is PASS
    assert row(read(9000.0, selector=selector)).verdict is FAIL


def test_a_value_where_the_contact_ought_to_be_open_is_said_to_be_odd():
    found = row(read(2670.0, selector="D"))
    assert found.verdict is PASS
    assert found.reasons[-1] == "It reads a value though Stork ought to be open in D: check lever and Stork."


@pytest.mark.parametrize(
    "taken",
    [
        opened(at="device_terminals"),
        reading("Fluid.1", "Fluid.2", open=True, range_ohm=6e7),
    ],
    ids=["said so", "by its own names"],
)
def test_at_the_sensors_own_terminals_the_contact_is_not_in_the_way(taken):
    assert row(taken).verdict is FAIL


def test_a_sensor_without_such_a_contact_is_judged_as_before():
    plain = {key: value for key, value in FLUID.items() if key != "in_series_with"}
    assert row(opened(), body(plain, STORK)).verdict is FAIL
    assert row(opened(selector="D"), body(plain, STORK)).verdict is FAIL


def test_a_range_below_the_sensor_stays_undecided_where_the_contact_is_closed():
    low = reading("12", "6", open=True, range_ohm=200.0, selector="P")
    assert row(low).verdict is CANT_TELL


def test_a_contact_the_table_does_not_have_stands_as_it_is_at_rest():
    for at_rest, verdict in (("closed", FAIL), ("open", NOT_USABLE), (None, NOT_USABLE)):
        found = row(opened(), body(FLUID, {**STORK, "at_rest": at_rest}, codes=[]))
        assert found.verdict is verdict
    assert found.advice == ("Close Stork and read again, or read at the sensor's own terminals.",)


def test_an_open_reading_that_says_nothing_leaves_the_sensor_to_be_read():
    judged = judge_session(session_of(opened(selector="D")), BODY)
    assert judged.verdict is NOT_FINISHED
    assert "Fluid" in [one.what for one in judged.missing]
    settled = judge_session(session_of(opened(selector="D"), read(2670.0, selector="P")), BODY)
    assert settled.verdict is PASS


def test_positions_are_never_taken_together():
    taken = [read(2670.0, selector=selector) for selector in ("P", "N", "P")]
    rows = rows_of(session_of(*taken), BODY)
    assert [found.entries for found in rows] == [(2, 4), (3,)]
    book = Book(session_of(*taken[:2]), BODY)
    book.take(session_of(*taken).items[-1])
    assert book.rows() == rows


@pytest.mark.parametrize(
    ("selector", "low", "high"), [("P", None, 10.0), ("D", 1e5, None), ("3", None, None), (None, None, None)]
)
def test_a_resistance_of_a_selector_switch_is_held_against_its_position(selector, low, high):
    limits = target_of(BODY, reading("1", "case", 0.3, selector=selector)).limits
    assert (limits.low_ohm, limits.high_ohm) == (low, high)


def test_which_readings_ask_for_the_lever():
    assert [needs_selector(BODY, device) for device in BODY.devices] == [True, True]
    assert not needs_selector(body(codes=[]), BODY.devices[0])
    assert not needs_selector(None, BODY.devices[0])
    assert not needs_selector(BODY, None)


@pytest.mark.parametrize(
    ("selector", "state", "ohm", "why"),
    [
        ("P", ExpectedState.VALUE, 2670.0, "Fluid is read through Stork, which is closed in P."),
        ("D", ExpectedState.OPEN, None, "Fluid is read through Stork, which is open in D: open is no fault."),
        (
            None,
            ExpectedState.UNKNOWN,
            None,
            "Fluid is read through Stork, and nothing says how that stands: open may be no fault.",
        ),
    ],
)
def test_what_the_circuit_expects_of_it_and_why(selector, state, ohm, why):
    found = Circuit(BODY, 20.0, selector=selector).expected("12", "6")
    assert (found.state, found.why) == (state, why)
    assert found.ohm == (None if ohm is None else pytest.approx(ohm))
    assert Circuit(BODY, 20.0, selector=selector).expected("1", "12").why == ""


def test_a_switch_of_the_table_joins_in_its_position():
    coil = {"name": "A", "kind": "solenoid", "between": ["1", "2"], "low_ohm": 5.0, "high_ohm": 6.0}
    variant = body(coil, STORK)
    assert Circuit(variant, 20.0, selector="P").expected("2", "case").ohm == pytest.approx(5.5)
    assert Circuit(variant, 20.0, selector="D").expected("2", "case").state is ExpectedState.OPEN
    assert Circuit(variant, 20.0).expected("2", "case").state is ExpectedState.UNKNOWN
