"""The odd one of a matched set, by hand arithmetic."""

from __future__ import annotations

import json
from math import sqrt

import pytest

from tests.unit.report.samples import session_of
from valvebench.diagnose.matched import TOO_FEW, matched_sets, sets_of_variant
from valvebench.model.entry import Reading
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, LeadState

NAMES = ("Gull, left", "Heron", "Curlew", "Plover", "Knot")


def variant(names=NAMES):
    devices = [
        {"name": name, "kind": "solenoid", "between": [str(n), "9"], "low_ohm": 4.0, "high_ohm": 6.0}
        | {"matched_set": "linear", "source": {"kind": "memory"}}
        for n, name in enumerate(names, start=1)
    ]
    pins = [{"name": str(n)} for n in range(1, 10)]
    raw = {"format": 1, "key": "tern-set", "title": "invented", "pins": pins, "devices": devices}
    return read_variant(json.dumps(raw).encode(), source="test")


def read(pin, ohm, **more):
    base = {"celsius": 20.0, "meter": "0.5%+5x0.01", "leads": LeadState.SUBTRACT, "lead_ohm": 0.0}
    return Reading(from_node=str(pin), to_node="9", ohm=ohm, **(base | more))


def sets(*bodies):
    return matched_sets(session_of(*bodies), variant(), sets_of_variant(variant()))


def members(*bodies):
    (only,) = sets(*bodies)
    return only.members


def test_modified_z_by_hand():
    given = {"u_ohm": 0.001, "leads": LeadState.FOUR_WIRE, "lead_ohm": None}
    found = members(*(read(n, ohm, **given) for n, ohm in enumerate((5.0, 5.1, 5.2, 5.3, 6.2), start=1)))
    # Median 5.2; deviations 0.2 0.1 0 0.1 1.0, their median 0.1; z = 0.6745 d / 0.1 (Iglewicz and Hoaglin).
    assert [m.modified_z for m in found] == pytest.approx([-1.349, -0.6745, 0.0, 0.6745, 6.745], abs=1e-9)
    assert [m.is_odd for m in found] == [False, False, False, False, True]


@pytest.mark.parametrize(("ohm", "is_odd"), [(5.2, False), (5.21, True)])
def test_counts_of_the_meter_are_the_floor(ohm, is_odd):
    found = members(read(1, 5.1), read(2, 5.1), read(3, 5.1), read(4, ohm))
    # The tips' reading is one for all; the counts are not: u = 0.05/sqrt(3) = 0.0289; odd beyond 3.5 u = 0.101.
    u_ohm = 0.05 / sqrt(3)
    assert found[3].modified_z == pytest.approx((ohm - 5.1) / u_ohm, rel=1e-6)
    assert found[3].is_odd is is_odd


@pytest.mark.parametrize("leads", [LeadState.NEITHER, LeadState.NULLED, LeadState.FOUR_WIRE])
def test_the_percent_and_the_leads_are_common_to_all_and_no_part_of_the_floor(leads):
    way = {"leads": leads, "lead_ohm": None}
    (only,) = sets(*(read(n, ohm, **way) for n, ohm in enumerate((5.1, 5.1, 5.1, 5.2), start=1)))
    # 5 counts of 0.01 alone: u = 0.05/sqrt(3); the floor of the MAD is 0.6745 u.
    assert only.floor_ohm == pytest.approx(0.6745 * 0.05 / sqrt(3), rel=1e-9)
    assert [m.expanded_ohm for m in only.members] == pytest.approx([0.9545 * 0.05] * 4, rel=1e-9)


def test_another_meter_is_no_part_of_the_set():
    found = sets(read(1, 5.0), read(2, 5.0), read(3, 5.0), read(4, 5.3, meter="1%+3x0.1"))
    assert sorted(len(one.members) for one in found) == [1, 3]


def test_members_of_other_references_are_held_at_one_temperature():
    given = {"low_ohm": 1.0, "high_ohm": 9.0, "ref_celsius": 60.0, "k_celsius": 234.5}
    found = members(read(1, 5.0, **given), read(2, 5.0), read(3, 5.0))
    assert [m.ohm for m in found] == pytest.approx([5.0] * 3)


def test_two_cannot_say_which():
    (only,) = sets(read(1, 5.0), read(2, 6.0))
    assert only.why == TOO_FEW
    assert {m.is_odd for m in only.members} == {None}


def test_a_name_with_a_comma_belongs_to_its_set():
    assert [m.name for m in members(read(1, 5.0), read(2, 5.0), read(3, 5.0))] == list(NAMES[:3])


def test_each_temperature_is_a_set_of_its_own():
    cold = [read(n, 5.0) for n in (1, 2, 3)]
    hot = [read(n, 6.18, celsius=80.0) for n in (1, 2, 3)]
    assert [round(one.celsius) for one in sets(*cold, *hot)] == [20, 80]


def test_access_points_are_not_mixed():
    plug = [read(n, 5.6, at=AccessPoint.VEHICLE_PLUG) for n in (1, 2, 3)]
    found = sets(*plug, *(read(n, 5.0) for n in (1, 2, 3, 4)))
    assert sorted(len(one.members) for one in found) == [3, 4]
    assert not any(m.is_odd for one in found for m in one.members)
    assert {one.name for one in found} == {"linear", "linear (vehicle plug)"}


def test_all_readings_of_a_member_count():
    found = members(read(1, 5.0), read(1, 5.2, celsius=23.0), read(2, 5.0), read(3, 5.0))
    assert found[0].ohm == pytest.approx((5.0 + 5.2 * 254.5 / 257.5) / 2)


def test_open_ones_are_not_in_the_set():
    opened = Reading(from_node="4", to_node="9", open=True, range_ohm=400.0, celsius=20.0)
    assert len(members(read(1, 5.0), read(2, 5.0), read(3, 5.0), opened)) == 3
