"""What the whole circuit lets one expect between two nodes: sums and parallels by hand."""

from __future__ import annotations

import math

import pytest

from tests.data.made_up import variant_of
from valvebench.judge.expectation import Circuit, ExpectedState, high_ohm, low_ohm, middle_ohm

VALUE, OPEN, UNKNOWN = ExpectedState.VALUE, ExpectedState.OPEN, ExpectedState.UNKNOWN


def coil(name, a, b, low=5.0, high=6.0, **more):
    return {"name": name, "kind": "solenoid", "between": [a, b], "low_ohm": low, "high_ohm": high, **more}


def other(name, kind, a, b, **more):
    return {"name": name, "kind": kind, "between": [a, b], **more}


def circuit(*devices, celsius=20.0):
    return Circuit(variant_of(devices=list(devices), ports=[], solenoid_chart={}), celsius)


A, B = coil("A", "1", "3"), coil("B", "2", "3", low=9.0, high=11.0)


@pytest.mark.parametrize(
    ("devices", "pair", "state", "ohm", "path"),
    [
        pytest.param([A, B], "13", VALUE, 5.5, ("A",), id="one coil: middle of 5 and 6"),
        pytest.param([A, B], "12", VALUE, 15.5, ("A", "B"), id="two in series: 5.5 + 10"),
        pytest.param([A, coil("C", "3", "1")], "13", VALUE, 2.75, ("A", "C"), id="two alike side by side"),
        pytest.param([A, B], "14", OPEN, None, (), id="nothing wired"),
        pytest.param([A, other("R", "switch", "3", "4", at_rest="open")], "14", OPEN, None, (), id="an open switch"),
        pytest.param(
            [A, other("R", "switch", "3", "4", at_rest="closed")], "14", VALUE, 5.5, ("A",), id="a closed switch joins"
        ),
        pytest.param([A, other("L", "link", "3", "4")], "14", VALUE, 5.5, ("A",), id="a link joins"),
        pytest.param([A, other("L", "link", "1", "3")], "13", VALUE, 0.0, (), id="a link across"),
        pytest.param([A, other("D", "diode", "1", "3")], "13", UNKNOWN, None, ("A",), id="a diode across"),
        pytest.param([A, other("S", "solenoid", "3", "4")], "14", UNKNOWN, None, (), id="a coil without limits"),
        pytest.param(
            [A, other("S", "solenoid", "3", "4")], "13", VALUE, 5.5, ("A",), id="an unknown branch does not matter"
        ),
        pytest.param([A, other("S", "switch", "3", "4")], "14", UNKNOWN, None, (), id="a switch of unknown state"),
        pytest.param([A, other("E", "electronics", "3", "4")], "14", OPEN, None, (), id="electronics are left out"),
        pytest.param([coil("A", "1", "3", high=None)], "13", UNKNOWN, None, (), id="only one limit has no middle"),
    ],
)
def test_expected(devices, pair, state, ohm, path):
    found = circuit(*devices).expected(*pair)
    assert (found.state, found.path) == (state, path)
    assert found.ohm == (None if ohm is None else pytest.approx(ohm, rel=1e-12))


def test_expected_at_the_coil_temperature():
    """5.5 ohm of copper at 20 degrees is 5.5 x 314.5/254.5 at 80."""
    found = circuit(A, celsius=80.0).expected("1", "3")
    assert found.ohm == pytest.approx(5.5 * 314.5 / 254.5, rel=1e-12)


@pytest.mark.parametrize(
    ("devices", "pair", "low", "high"),
    [
        pytest.param([A, B], "12", 14.0, 17.0, id="series: 5 + 9, 6 + 11"),
        pytest.param([A, coil("C", "1", "3")], "13", 2.5, 3.0, id="side by side: halves"),
        pytest.param([A, B], "14", None, None, id="not wired"),
        pytest.param([A, other("L", "link", "1", "3")], "13", None, None, id="shorted by a link"),
        pytest.param([coil("A", "1", "3", high=None), B], "12", 14.0, None, id="one without an upper limit"),
        pytest.param([A, other("S", "solenoid", "3", "4")], "14", None, None, id="one without limits"),
    ],
)
def test_limits_of_a_pair(devices, pair, low, high):
    limits = circuit(*devices).limits(*pair)
    assert limits.low_ohm == (None if low is None else pytest.approx(low, rel=1e-12))
    assert limits.high_ohm == (None if high is None else pytest.approx(high, rel=1e-12))
    assert limits.k_celsius is None


@pytest.mark.parametrize("celsius", [0.0, 20.0, 110.0])
def test_two_copper_coils_move_like_copper(celsius):
    """1/(k + T) to third order of half a kelvin."""
    limits = circuit(A, B, celsius=celsius).limits("1", "2")
    assert limits.slope_per_celsius == pytest.approx(1.0 / (234.5 + celsius), rel=1e-9)
    assert limits.low_ohm == pytest.approx(14.0 * (234.5 + celsius) / 254.5, rel=1e-12)
    assert limits.source == "from the limits of A, B"


def test_what_is_open_does_not_move():
    assert circuit(A, B).limits("1", "4").slope_per_celsius == 0.0


@pytest.mark.parametrize(
    ("kind", "given", "found"),
    [
        ("solenoid", {"low_ohm": 5.0, "high_ohm": 6.0}, (5.0, 6.0, 5.5)),
        ("solenoid", {"low_ohm": 5.0}, (5.0, None, None)),
        ("temperature_sensor", {"points": [[20, 2540, 2800]]}, (2540.0, 2800.0, 2670.0)),
        ("temperature_sensor", {}, (None, None, None)),
        ("link", {}, (0.0, 0.0, 0.0)),
        ("switch", {"at_rest": "closed"}, (0.0, 0.0, 0.0)),
        ("switch", {"at_rest": "open"}, (None, None, None)),
        ("diode", {}, (None, None, None)),
    ],
)
def test_bounds_of_one_device(kind, given, found):
    device = variant_of(devices=[other("X", kind, "1", "2", **given)], ports=[], solenoid_chart={}).devices[0]
    for bound, expected in zip((low_ohm, high_ohm, middle_ohm), found, strict=True):
        ohm = bound(device, 20.0)
        assert math.isnan(ohm) if expected is None else ohm == pytest.approx(expected, rel=1e-12)
