"""Wiring from hand-made readings; every expected value is a sum done by hand."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from valvebench.diagnose.wiring import WiredKind, find_wiring, kind_of
from valvebench.diagnose.wiring_readings import Table, WireReading
from valvebench.diagnose.wiring_tree import Part, Tree, unproved

OL = math.inf
# 1, 2 and 3 hang on 4 by 5.2, 5.3 and 12.0 ohm.
STAR = {
    "1 2": 10.5,
    "1 3": 17.2,
    "1 4": 5.2,
    "2 3": 17.3,
    "2 4": 5.3,
    "3 4": 12.0,
    **dict.fromkeys(("1 case", "2 case", "3 case", "4 case"), OL),
}


def readings(values):
    return [WireReading(*pair.split(), ohm) for pair, ohm in values.items()]


def wiring(values, pins="1 2 3 4", **more):
    return find_wiring(pins.split(), readings(values), **more)


def devices(found):
    return {frozenset(one.between): round(one.ohm, 2) for one in found.devices}


def changed(values, **to):
    return {**values, **{pair.replace("_", " "): ohm for pair, ohm in to.items()}}


def test_a_star_with_its_common_pin():
    found = wiring(STAR)
    assert devices(found) == {frozenset("14"): 5.2, frozenset("24"): 5.3, frozenset("34"): 12.0}
    assert found.nets == (("1", "2", "3", "4"), ("case",))
    assert found.is_done
    assert not found.cannot_tell
    assert not found.contradictions


def test_like_coils_are_named():
    found = wiring(STAR)
    assert [one.matched_with for one in found.devices] == [(("2", "4"),), (("1", "4"),), ()]


def test_the_order_of_readings_does_not_matter():
    turned = dict(reversed(STAR.items()))
    assert devices(wiring(turned)) == devices(wiring(STAR))


def test_a_case_return_is_a_star_on_the_casting():
    found = wiring({"1 2": 25.0, "1 case": 12.0, "2 case": 13.0}, pins="1 2")
    assert devices(found) == {frozenset(("1", "case")): 12.0, frozenset(("2", "case")): 13.0}
    assert found.on_case == ("1", "2")


def test_nothing_read_asks_for_the_first_pair():
    found = wiring({}, pins="1 2 3")
    assert found.next
    assert not found.is_done
    assert not found.devices
    assert found.nets == (("1",), ("2",), ("3",), ("case",))


def test_three_parts_to_a_joint_are_also_a_triangle():
    """Star 5, 5, 8: sums 10, 13, 13; the triangle is its star-delta transform."""
    found = wiring({"1 2": 10.0, "1 3": 13.0, "2 3": 13.0, "1 case": OL, "2 case": OL, "3 case": OL}, pins="1 2 3")
    (unclear,) = found.cannot_tell
    assert set(unclear.between) == {"1", "2", "3"}
    assert [len(circuit) for circuit in unclear.either] == [3, 3]
    assert sorted(devices(found).values()) == [5.0, 5.0, 8.0]


def test_two_parts_in_a_row_behind_the_common_pin():
    """1 -5- 2 -5- 3 -7- 4: from 1 it reads 5, 10, 17."""
    values = {"1 2": 5.0, "1 3": 10.0, "1 4": 17.0, "2 3": 5.0, "2 4": 12.0, "3 4": 7.0}
    found = wiring({**values, **{f"{pin} case": OL for pin in "1234"}})
    assert devices(found) == {frozenset("12"): 5.0, frozenset("23"): 5.0, frozenset("34"): 7.0}


def test_one_behind_the_other_is_asked_for():
    values = {"1 2": 5.0, "1 3": 10.0, "1 4": 17.0, "2 3": 5.0, "2 4": 12.0, **{f"{pin} case": OL for pin in "1234"}}
    assert [{step.black, step.red} for step in wiring(values).next] == [{"3", "4"}]


def test_a_linked_common_is_one_answer():
    values = {"1 2": 5.0, "1 3": 10.0, "1 4": 5.0, "2 3": 5.0, "2 4": 0.05, "3 4": 5.0}
    found = wiring({**values, **{f"{pin} case": OL for pin in "1234"}})
    assert {one.kind for one in found.devices} == {WiredKind.COIL_LIKE, WiredKind.LINK}
    assert all("joined" in one.why for one in found.cannot_tell)
    assert found.cannot_tell


@pytest.mark.parametrize(
    ("pair", "ohm"),
    [
        pytest.param("1_2", 105.0, id="ten times"),
        pytest.param("1_3", 1.72, id="a tenth"),
        pytest.param("2_4", 53.0, id="ten times, a part itself"),
        pytest.param("1_3", OL, id="open"),
    ],
)
def test_a_slip_is_named_with_the_pair_to_repeat(pair, ohm):
    found = wiring(changed(STAR, **{pair: ohm}))
    named = [frozenset(one.between) for one in found.contradictions]
    assert frozenset(pair.split("_")) in named
    assert frozenset(pair.split("_")) in [frozenset((step.black, step.red)) for step in found.next]
    assert found.cannot_tell


def test_a_repeat_settles_it():
    bad = readings(changed(STAR, **{"1_2": 105.0}))
    again = [WireReading("1", "2", 10.5), WireReading("1", "2", 10.5)]
    found = find_wiring(tuple("1234"), [*bad, *again])
    assert devices(found) == devices(wiring(STAR))
    assert [one.is_settled for one in found.contradictions] == [True]
    assert found.is_done


def test_open_on_a_low_range_proves_nothing():
    found = find_wiring(["1", "2"], [WireReading("1", "2", OL, 400.0)])
    assert {"1", "2"} in [{step.black, step.red} for step in found.next] or not found.is_done
    assert find_wiring(["1", "2"], [WireReading("1", "2", OL, 6e7)]).nets == (("1",), ("2",), ("case",))


def test_megohms_are_damp_and_no_part():
    found = wiring({"1 2": 8e6, "1 case": OL, "2 case": OL}, pins="1 2")
    assert not found.devices
    assert found.is_done


def test_coils_are_brought_to_one_temperature():
    """Copper, k 234.5 degC (IEC 60028): 5.000 ohm at 20 is 5.0 x 334.5/254.5 = 6.572 at 100."""
    taken = [WireReading("1", "2", 5.0, None, 20.0), WireReading("1", "2", 6.572, None, 100.0)]
    found = find_wiring(["1", "2"], [*taken, WireReading("1", "case", OL), WireReading("2", "case", OL)])
    assert not found.contradictions
    assert found.devices[0].ohm == pytest.approx(5.0, abs=0.001)


def test_lone_pins_are_asked_twice_on_the_way():
    values = {"1 2": 5.2, "3 1": OL, "4 1": OL, "3 4": OL, "case 1": OL, "case 3": OL, "case 4": OL}
    found = wiring(values)
    assert [{step.black, step.red} for step in found.next] == [{"3", "4"}]


def test_the_step_of_the_meter_is_seen_in_the_values():
    table = Table(readings({"1 2": 2540.0, "1 3": 2550.0, "2 3": 5.2}), resolution_ohm=0.01)
    assert table.step(2540.0) == pytest.approx(10.0)
    assert table.step(5.2) == pytest.approx(0.1)


@pytest.mark.parametrize(
    ("ohm", "kind"),
    [(0.1, "link"), (5.2, "coil_like"), (38.0, "coil_like"), (900.0, "sensor_like"), (120.0, "unknown")],
)
def test_kinds_by_their_size(ohm, kind):
    """Magnitudes from memory."""
    assert kind_of(ohm).value == kind


@pytest.mark.parametrize(
    ("across", "is_told"),
    [
        pytest.param({}, False, id="not read"),
        pytest.param({"1 2": 17.6}, True, id="5.2 + 12.4: side by side"),
        pytest.param({"1 2": 7.2}, False, id="12.4 - 5.2: behind, as far as this pair tells"),
        pytest.param({"1 2": OL}, False, id="open"),
    ],
)
def test_side_by_side_is_told_by_the_pair_across(across, is_told):
    tree = Tree(parts=(Part("3", "1", 5.2), Part("3", "2", 12.4)))
    found = unproved(tree, Table(readings(across), resolution_ohm=0.1))
    assert [(one.hub, one.short, one.long) for one in found] == ([] if is_told else [("3", "1", "2")])


def test_steps_of_ten_ohm_hide_what_5_ohm_would_tell():
    tree = Tree(parts=(Part("3", "1", 5.2), Part("3", "2", 2400.0)))
    table = Table(readings({"1 2": 2400.0, "3 2": 2410.0, "1 3": 5.2}), resolution_ohm=0.1)
    assert [one.long for one in unproved(tree, table)] == ["2"]


def test_like_coils_cannot_hide_behind_each_other():
    """5.3 - 5.2 leaves 0.1 ohm: no part."""
    tree = Tree(parts=(Part("3", "1", 5.2), Part("3", "2", 5.3)))
    assert not unproved(tree, Table((), resolution_ohm=0.1))


SHOWN = st.one_of(st.sampled_from([0.0, 0.1, 5.2, 10.4, OL]), st.floats(0.0, 1e9))


@given(
    st.lists(
        st.tuples(st.permutations(["1", "2", "3", "4", "case"]), SHOWN, st.sampled_from([None, 400.0, 6e7])),
        max_size=20,
    )
)
def test_any_readings_give_an_answer_with_finite_parts(taken):
    found = find_wiring(tuple("1234"), [WireReading(*nodes[:2], ohm, range_ohm) for nodes, ohm, range_ohm in taken])
    assert all(math.isfinite(one.ohm) and one.ohm >= 0 for one in found.devices)
    assert {node for net in found.nets for node in net} == {"1", "2", "3", "4", "case"}


def test_steps_of_a_sensor_range_put_it_behind_no_coil():
    """Sensor 4050 and coils 3.2 and 28.5 on 4, kilohms in steps of 10: 4050 + 3.2 shows 4060 with the tips."""
    values = {"1 2": 4080.0, "1 3": 4060.0, "1 4": 4050.0, "2 3": 31.7, "2 4": 28.5, "3 4": 3.2}
    found = wiring({**values, **{f"{pin} case": OL for pin in "1234"}}, resolution_ohm=0.1)
    assert devices(found) == {frozenset("14"): 4050.0, frozenset("24"): 28.5, frozenset("34"): 3.2}
