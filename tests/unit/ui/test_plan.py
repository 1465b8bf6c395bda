"""Which pair comes next."""

from __future__ import annotations

import json

import pytest

from tests.fakes.pins_bench import VARIANT
from valvebench.model.variant_rules import read_variant
from valvebench.ui.pins.plan import Pair, Plan

GULL, HERON, CASE = Pair("1", "3"), Pair("2", "3"), Pair("1", "case")


@pytest.fixture
def plan():
    return Plan(read_variant(VARIANT, source="test"))


def test_devices_come_in_the_order_of_the_variant_then_isolation(plan):
    order = []
    for _ in range(plan.count):
        order.append(plan.pair)
        plan.step(1)
    assert order == [GULL, HERON, CASE]
    assert plan.keys == ("device Gull", "device Heron", "isolation 1 2 3")


def test_steps_go_round_the_end(plan):
    plan.step(-1)
    assert plan.pair == CASE
    plan.step(1)
    assert plan.pair == GULL


def test_it_goes_on_to_what_still_needs_a_reading(plan):
    plan.go_on(lambda key: key == "isolation 1 2 3")
    assert plan.pair == CASE


def test_it_goes_on_past_the_end_to_what_was_skipped(plan):
    plan.step(2)
    plan.go_on(lambda key: key == "device Gull")
    assert plan.pair == GULL


def test_it_stays_where_nothing_is_needed(plan):
    plan.step(1)
    plan.go_on(lambda _: False)
    assert plan.pair == HERON


def test_it_begins_at_the_first_that_needs_a_reading(plan):
    plan.begin(lambda key: key == "device Heron", lambda _: True)
    assert plan.pair == HERON


def test_it_begins_at_the_first_that_failed_when_all_is_read(plan):
    plan.begin(lambda _: False, lambda key: key.startswith("isolation"))
    assert plan.pair == CASE


def test_it_begins_at_the_top_when_all_is_well(plan):
    plan.begin(lambda _: False, lambda _: False)
    assert plan.pair == GULL


def test_after_a_pair_by_hand_previous_comes_back_to_where_it_was(plan):
    plan.step(1)
    plan.choose("4", "1")
    assert plan.pair == Pair("4", "1")
    plan.step(-1)
    assert plan.pair == HERON


def test_after_a_pair_by_hand_it_goes_on_with_the_next(plan):
    plan.choose("4", "1")
    plan.go_on(lambda key: key == "device Heron")
    assert plan.pair == HERON


def test_without_a_variant_there_is_no_pair_but_one_by_hand(plan):
    plan = Plan(None)
    plan.step(1)
    plan.go_on(lambda _: True)
    assert (plan.pair, plan.count) == (None, 0)
    plan.choose("1", "2")
    assert plan.pair == Pair("1", "2")


DIODES = json.dumps(
    {
        **json.loads(VARIANT),
        "devices": [
            {"name": name, "kind": "solenoid", "between": [pin, "3"], "low_ohm": 5.0, "high_ohm": 6.0}
            for name, pin in (("Gull", "1"), ("Heron", "2"))
        ]
        + [
            {"name": "Dot", "kind": "diode", "between": ["1", "3"], "across": "Gull", "anode": "1"},
            {"name": "Dab", "kind": "diode", "between": ["3", "2"], "across": "Heron", "anode": "3"},
        ],
    }
).encode()


@pytest.fixture
def polar():
    return Plan(read_variant(DIODES, source="test"))


def test_red_is_asked_for_where_a_diode_blocks(polar):
    assert polar.pair == Pair("3", "1")
    polar.step(1)
    assert polar.pair == Pair("2", "3")


def test_the_other_way_round_is_a_pair_of_its_own(polar):
    polar.choose("1", "3")
    assert polar.pair == Pair("1", "3")
    polar.choose("3", "1")
    assert polar.pair == Pair("3", "1")
    polar.step(1)
    assert polar.pair == Pair("2", "3")


def test_without_a_diode_both_orders_are_one_pair(plan):
    plan.choose("3", "2")
    assert plan.pair == HERON
