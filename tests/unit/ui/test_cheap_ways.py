"""What would decide, told before it is done; the limits are those of the invented body: 5 to 6 ohm."""

from __future__ import annotations

import json
from dataclasses import replace

import msgspec
import pytest

from tests.fakes.pins_bench import AT_20, VARIANT
from valvebench.judge.ways import WayKind
from valvebench.model.entry import MeterCheck
from valvebench.model.meter import Check
from valvebench.model.words import LeadState, TemperatureSource, Verdict
from valvebench.ui.pins.cheap_ways import ways_shown
from valvebench.ui.resistor import known_resistor

# Ten counts of 0.1 ohm are a doubt wider than the band of 5 to 6 ohm: alone it decides nothing.
COARSE = replace(AT_20, meter="0.9%+10x0.1", leads=LeadState.NEITHER)


@pytest.fixture
def coarse(make_bench):
    return make_bench(set_up=COARSE).start()


def shown(bench, **given):
    return ways_shown(bench.pins.at_hand(), bench.desk.variant, **given)


def kinds(ways):
    return [row.kind for row in ways.rows]


# -- when there is a list ----------------------------------------------------------------------


def test_a_meter_that_can_decide_needs_no_list(bench):
    assert shown(bench) is None


def test_a_decided_reading_does_not_look_the_whole_session_through(bench):
    """It is asked for after every reading: the cost must not grow with the session."""
    bench.pins.typed("5.5")
    assert shown(bench, known_now=lambda: pytest.fail("looked up for nothing")) is None


def test_a_meter_that_cannot_is_told_before_the_first_reading(coarse):
    ways = shown(coarse)
    assert ways.title == "To decide Gull"
    assert kinds(ways) == [WayKind.NULL, WayKind.CHECK, WayKind.VOLTS, WayKind.FINER]


def test_a_typed_reading_that_is_proved_needs_none(bench):
    bench.pins.typed("5.5")
    assert shown(bench) is None


def test_a_typed_reading_too_close_to_a_limit_does(bench):
    bench.pins.typed("5.97")
    assert [row.effect.split(": ")[1] for row in shown(bench).rows] == ["still too close"] * 3


def test_a_reading_that_a_resistor_would_decide_says_so_if_the_value_stays(bench):
    """5.92 with 0.10 of doubt reaches over 6; nulled leads and 0.01 ohm steps leave the check 0.05 (by hand)."""
    bench.pins.typed("5.92")
    rows = {row.kind: row for row in shown(bench).rows}
    assert rows[WayKind.CHECK].effect.endswith("decides, if the value stays")


def test_a_reading_kept_undecided_is_spoken_of_when_one_comes_back(bench):
    bench.key_in("5.97")
    bench.pins.previous()
    assert bench.pins.at_hand().verdict is Verdict.CANT_TELL
    assert bench.pins.at_hand().ohm == pytest.approx(5.97)
    assert shown(bench) is not None


def test_one_kept_at_another_plateau_is_not_the_one_at_hand(bench):
    """5.97 ohm kept at 20 degrees says nothing of a reading at 60."""
    bench.key_in("5.97")
    bench.pins.set_set_up(replace(AT_20, celsius=60.0))
    bench.pins.previous()
    assert bench.pins.at_hand().verdict is Verdict.NOT_TAKEN
    assert shown(bench) is None


def test_a_kept_pass_needs_no_list_even_with_a_meter_that_could_not(bench):
    bench.key_in("5.5")
    bench.pins.set_set_up(COARSE)
    bench.pins.choose("device Gull")
    assert shown(bench) is None


def test_isolation_and_not_soaked_have_none(coarse):
    coarse.pins.pin_chosen("1")
    coarse.pins.pin_chosen("case")
    assert shown(coarse) is None
    coarse.pins.set_set_up(replace(COARSE, temperature=TemperatureSource.NOT_SOAKED))
    coarse.pins.choose("device Gull")
    assert shown(coarse) is None


def test_open_on_too_low_a_range_asks_for_a_range_alone(bench):
    bench.pins.set_set_up(replace(AT_20, range_ohm=4.0))
    bench.pins.keep_open()
    bench.pins.choose("device Gull")
    ways = shown(bench)
    assert (ways.rows, ways.pointer.split(" and")[0]) == ((), "Set a range above 6.00 \u03a9")


# -- what it says ------------------------------------------------------------------------------


def test_each_way_has_its_key_and_what_it_would_do(coarse):
    """Check resistor: two steps 0.1/sqrt12 and 2 K of temperature, 0.02495 at 5.5: twice 0.0480 (by hand)."""
    rows = {row.kind: row for row in shown(coarse).rows}
    assert {kind: row.key for kind, row in rows.items()} == {
        WayKind.NULL: "F2",
        WayKind.CHECK: "F3",
        WayKind.VOLTS: "F4",
        WayKind.FINER: "F2",
    }
    assert rows[WayKind.CHECK].effect == "\u00b1 0.096 \u03a9: can decide"
    assert rows[WayKind.NULL].effect.endswith("still too wide")


def test_it_begins_with_the_first_way_that_decides(coarse):
    ways = shown(coarse)
    assert ways.rows[ways.first].kind is WayKind.CHECK


def test_the_whisker_it_promises_stands_around_the_value_at_hand(coarse):
    coarse.pins.typed("5.6")
    ghost = shown(coarse).rows[1].ghost
    assert ghost.value == pytest.approx(5.5)  # half the leads' allowance of 0.2 ohm is taken off
    assert ghost.expanded == pytest.approx(0.096, abs=1e-3)
    assert ghost.words == "\u00b1 0.096 \u03a9 with: check resistor, same leads"


def test_a_resistor_at_hand_is_named(coarse):
    rows = shown(coarse, known_now=lambda: Check(ohm=4.7, read_ohm=4.7)).rows
    assert rows[1].words == "Check resistor 4.70 \u03a9, same leads"


def test_the_last_resistor_of_the_session_is_the_one_at_hand(coarse):
    assert known_resistor(coarse.desk.session.items) is None
    coarse.desk.record(MeterCheck(check_ohm=4.7, read_ohm=4.9, check_pct=1.0, zero_read_ohm=0.2))
    assert known_resistor(coarse.desk.session.items).ohm == 4.7
    assert known_resistor(coarse.desk.session.items).pct == 1.0


def test_comparing_needs_no_other_meter_and_is_always_pointed_to(coarse):
    assert shown(coarse).pointer == "Or compare with another body, same meter, same hour."
    devices = tuple(msgspec.structs.replace(one, matched_set="linear") for one in coarse.desk.variant.devices)
    coarse.desk.variant = msgspec.structs.replace(coarse.desk.variant, devices=devices)
    assert shown(coarse).pointer == "Or compare with Heron, or with another body, same meter, same hour."


def test_where_no_single_way_is_enough_the_joint_one_is_named(coarse):
    """Twenty degrees of doubt are 0.41 ohm whatever the meter; 5.8 ohm is 0.2 from its limit (by hand)."""
    coarse.pins.set_set_up(replace(COARSE, temperature=TemperatureSource.IR_BARE))
    coarse.pins.typed("5.9")
    ways = shown(coarse)
    words = "Check resistor, same leads, together with a taped probe, does: \u00b1 0.099 \u03a9."
    assert ways.pointer == f"None alone decides. {words}"
    assert ways.rows[ways.first].ghost.expanded == min(row.ghost.expanded for row in ways.rows)


def test_where_nothing_is_enough_only_comparing_is_left(coarse):
    coarse.pins.typed("6.09")
    assert shown(coarse).pointer == "None alone decides: compare with another body, same meter, same hour."


def test_a_sensor_is_pointed_to_a_bath(make_bench):
    """2670 ohm at 3.6 % a kelvin: 2 kelvin are 0.19 k, wider than the band; 1 kelvin is not (by hand)."""
    variant = json.loads(VARIANT)
    points = [[20, 2540, 2800], [80, 300, 350]]
    variant["devices"][0] = {"name": "Fluid", "kind": "temperature_sensor", "between": ["1", "3"], "points": points}
    bench = make_bench(variant=json.dumps(variant).encode(), set_up=replace(AT_20, meter="0.1%+1x0.1")).start()
    ways = shown(bench)
    assert WayKind.VOLTS not in kinds(ways)
    assert "one still bath, within 1 \u00b0C" in ways.pointer


def test_electronics_on_board_are_never_fed(coarse):
    coarse.desk.variant = msgspec.structs.replace(coarse.desk.variant, electronics_on_board=True)
    assert WayKind.VOLTS not in kinds(shown(coarse))
