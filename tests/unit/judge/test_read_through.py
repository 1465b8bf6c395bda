"""What tells only of a contact or a diode, not of its device.  The body is invented; common practice, no source."""

from __future__ import annotations

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.diagnose.compare import compare
from valvebench.diagnose.compared import Side
from valvebench.diagnose.heat_rounds import device_in_round, rounds_in
from valvebench.diagnose.matched import matched_sets, sets_of_variant
from valvebench.judge.read_through import why_mute

BODY = variant_of(
    devices=[
        {"name": name, "kind": "solenoid", "between": [pin, "11"], "low_ohm": 12, "high_ohm": 15, "matched_set": "m"}
        for name, pin in (("Gull", "1"), ("Heron", "2"), ("Knot", "3"))
    ]
    + [
        {"name": "Dot", "kind": "diode", "between": ["1", "11"], "across": "Gull", "anode": "1"},
        {
            "name": "Fluid",
            "kind": "temperature_sensor",
            "between": ["12", "6"],
            "points": [[20, 2540, 2800], [80, 300, 350]],
            "in_series_with": "Stork",
        },
        {"name": "Stork", "kind": "switch", "between": ["4", "case"]},
    ],
    selector_codes=[
        {"position": "P", "switches": {"Stork": "closed"}},
        {"position": "D", "switches": {"Stork": "open"}},
    ],
    isolation=None,
    ports=[],
    solenoid_chart={},
)


def opened(selector=None, **more):
    return reading("12", "6", open=True, range_ohm=6e7, selector=selector, **more)


@pytest.mark.parametrize(
    ("taken", "why"),
    [
        (opened(), "Stork, which it is read through, is not known to be closed"),
        (opened("D"), "not known to be closed"),
        (reading("1", "11", 0.6), "swap the clips"),
        (opened("P"), ""),
        (opened("D", at="device_terminals"), ""),
        (reading("12", "6", 2600.0, selector="D"), ""),
        (reading("11", "1", 13.5), ""),
        (reading("2", "11", 13.5), ""),
        (reading("1", "case", 13.5), ""),
    ],
)
def test_what_says_nothing_of_its_device_says_why(taken, why):
    assert why in why_mute(BODY, taken)
    assert bool(why_mute(BODY, taken)) is bool(why)
    assert why_mute(None, taken) == ""


def test_it_is_no_odd_one_of_a_matched_set():
    usual = [reading(pin, "11", 13.5) for pin in ("2", "3")]
    named = sets_of_variant(BODY)
    (found,) = matched_sets(session_of(*usual, reading("11", "1", 13.5), reading("1", "11", 0.6)), BODY, named)
    assert sorted(member.name for member in found.members) == ["Gull", "Heron", "Knot"]


def test_it_is_held_against_no_other_body():
    old = Side(session_of(opened("D"), reading("1", "11", 0.6), reading("2", "11", 13.5)), BODY)
    new = Side(session_of(opened("P"), reading("11", "1", 13.5), reading("2", "11", 13.6)), BODY)
    assert [row.what for row in compare(old, new)] == ["2\u201311 Heron"]


def test_it_is_no_part_of_a_heat_run():
    with_diode, coil = reading("1", "11", 0.6, round=1), reading("11", "1", 13.5, round=1)
    assert (device_in_round(BODY, with_diode), device_in_round(BODY, coil)) == (None, "Gull")
    (found,) = rounds_in(session_of(with_diode, coil), BODY)["Gull"]
    assert found.rounds.entries == (3,)
