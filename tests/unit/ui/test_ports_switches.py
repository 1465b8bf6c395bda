"""Switches at rest and under air on the Ports page.  No Qt."""

from __future__ import annotations

import pytest

from tests.fakes.ports_bench import PORTS, SWITCH, PortsBench, devices_with, variant_with
from valvebench.model.entry import SwitchTest
from valvebench.model.words import SwitchState, Verdict
from valvebench.ui.ports.set_up import Moves

LIMITED = devices_with(SWITCH | {"closed_max_ohm": 5.0})


@pytest.fixture
def bench():
    """At the switch, at rest."""
    made = PortsBench(variant=variant_with(ports=PORTS[1:2], devices=LIMITED))
    made.press("dd")
    assert made.asked.key == "switch Reel rest"
    return made


def typed(bench, **given):
    bench.view.take_moves.return_value = Moves(**given)


def test_at_rest_then_under_air_two_keys(bench):
    assert (bench.asked.name, bench.asked.hazards) == ("Is Reel open?", ())
    bench.press("+")
    assert bench.asked.name == "Does Reel close?"
    assert bench.asked.hazards
    bench.press("+")
    assert bench.bodies == [
        SwitchTest(device="Reel", state=SwitchState.OPEN, has_air=False),
        SwitchTest(device="Reel", state=SwitchState.CLOSED, has_air=True),
    ]
    assert [(row.states, row.heard, row.verdict) for row in bench.table().values()] == [
        ("at rest", "open", Verdict.PASS),
        ("with air", "closed", Verdict.PASS),
    ]


def test_pressures_and_the_contact_go_with_the_answer(bench):
    bench.ports.gauge_typed("250", "")
    bench.press("+")
    typed(bench, up_kpa="180", down_kpa="150,5", closed_ohm="0,4")
    bench.press("+")
    body = bench.bodies[-1]
    assert (body.kpa_gauge, body.up_kpa_gauge, body.down_kpa_gauge, body.closed_ohm) == (250.0, 180.0, 150.5, 0.4)
    row = bench.table()[3]
    assert (row.states, row.heard) == ("with air, up 180, down 150.5", "closed, 0.4 \u03a9")
    assert "29.5 kPa apart" in row.tip


@pytest.mark.parametrize(
    ("given", "key", "words"),
    [
        ({"up_kpa": "much"}, "+", "much"),
        ({"up_kpa": "-3"}, "+", "above nought"),
        ({"up_kpa": "150", "down_kpa": "180"}, "+", "at most the 150"),
        ({"closed_ohm": "0.4"}, "-", "while the switch is open"),
        ({"closed_ohm": "nan"}, "+", "nan"),
    ],
)
def test_what_cannot_be_is_said_and_given_back(bench, given, key, words):
    bench.press("+")
    bench.view.take_note.return_value = "stiff"
    typed(bench, **given)
    bench.press(key)
    assert words in bench.said
    assert (len(bench.bodies), bench.asked.key) == (1, "switch Reel")
    assert bench.view.set_moves.call_args.args == (Moves(**given),)
    assert bench.view.set_note.call_args.args == ("stiff",)


def test_a_write_that_fails_gives_back_what_was_typed(bench):
    bench.press("+")
    typed(bench, up_kpa="180")
    bench.store.is_full = True
    bench.press("+")
    assert bench.view.set_moves.call_args.args == (Moves(up_kpa="180"),)


def test_the_contact_above_its_limit_fails(bench):
    bench.press("+")
    typed(bench, closed_ohm="40")
    bench.press("+")
    assert bench.table()[3].verdict is Verdict.FAIL


def test_pressure_above_the_stated_one_is_no_matter_at_rest():
    bench = PortsBench(variant=variant_with(ports=[PORTS[1] | {"kpa_gauge": 200}], devices=LIMITED))
    bench.ports.gauge_typed("300", "")
    bench.press("dd")
    assert bench.asked.warning == ""
    bench.press("d")
    assert "turn it down" in bench.asked.warning


@pytest.mark.parametrize(("item", "key"), [("function Reel", "switch Reel"), ("device Reel", "switch Reel rest")])
def test_an_item_leads_to_its_own_question(bench, item, key):
    bench.press("d")
    bench.ports.choose(item)
    assert bench.asked.key == key
