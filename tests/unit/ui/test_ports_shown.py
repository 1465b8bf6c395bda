"""Words of the Ports page."""

from __future__ import annotations

import pytest

from tests.fakes.ports_bench import PORTS, SOLENOIDS, SWITCH, devices_with, variant_with
from valvebench.judge.rows import heard_row
from valvebench.model.entry import AirTest, Note, SolenoidTest, SwitchTest
from valvebench.model.session import Item
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AirResult, Flow, Place, SwitchState
from valvebench.ui.ports.heard import heard_shown
from valvebench.ui.ports.questions import questions_of
from valvebench.ui.ports.shown import question_shown


def variant(**more):
    return read_variant(variant_with(**more), source="test")


def ports(*changed):
    return [port | more for port, more in zip(PORTS, changed, strict=False)] + PORTS[len(changed) :]


def shown(key, **more):
    body = variant(**more)
    question = next(each for each in questions_of(body) if each.key == key)
    return question_shown(question, body, None)


def test_the_plain_setting_beside_others_is_the_rest():
    expect = [{"reaction": "holds"}, {"selector": "D", "reaction": "bleeds"}]
    body = ports({"expect": expect})
    states = [shown(f"port P1 {number}", ports=body).states for number in (0, 1)]
    assert states == ["Any setting that is not asked on its own", "Selector D"]


@pytest.mark.parametrize(
    ("expectation", "words"),
    [
        ({"reaction": "holds"}, "Air holds"),
        ({"reaction": "comes_out", "at": "P3"}, "Air comes out at P3."),
        ({"reaction": "clicks"}, "A click"),
        ({"reaction": "bleeds"}, "It bleeds by design"),
        ({"reaction": "thud"}, "A dull thud"),
    ],
)
def test_every_reaction_is_a_sentence(expectation, words):
    assert shown("port P1 0", ports=ports({"expect": [expectation]})).expect.startswith(words)


@pytest.mark.parametrize(
    ("feeds", "name"), [("Auk", "P1, clutch Auk"), ("line", "P1, line"), (None, "P1")], ids=["clutch", "line", "none"]
)
def test_what_a_port_feeds(feeds, name):
    assert shown("port P1 0", ports=ports({"feeds": feeds})).name == name


def test_nothing_stated_is_said():
    asked = shown("port P3 0")
    assert asked.expect == "Nothing is stated here: compare with a known good body."
    assert "P3" in asked.sentence


@pytest.mark.parametrize(
    ("method", "words"), [("steady", "a steady gauge test"), ("vacuum", "a vacuum test"), ("decay", "a decay test")]
)
def test_a_port_to_be_measured_is_heard_first(method, words):
    assert words in shown("port P1 0", ports=ports({"method": method})).pressure


def test_a_switch_in_words():
    assert shown("switch Reel").name == "Does Reel close?"
    assert shown("switch Reel", devices=devices_with(SWITCH | {"at_rest": "closed"})).name == "Does Reel open?"
    assert "Nothing is stated" in shown("switch Reel", devices=devices_with(SWITCH | {"at_rest": None})).expect


def test_a_solenoid_in_words():
    never = "Current-limited supply, never rated voltage."
    assert shown("solenoid Gull click").pressure == f"{never} No highest current is stated: none is proposed."
    assert shown("solenoid Knot click").pressure == "At its rated voltage, shortly."
    limited = devices_with(SOLENOIDS[0] | {"max_ampere": 0.9, "duty": None})
    assert "duty is not stated" in shown("solenoid Gull click", devices=limited).pressure
    assert shown("solenoid Gull click", devices=limited).pressure.endswith("At most 0.9 A, as the variant states.")
    assert "duty not stated" in shown("solenoid Gull click", devices=limited).place
    assert shown("solenoid Gull air_off").name == "Gull off: does air hold?"
    assert shown("solenoid Gull air_on").name == "Gull on: does air flow?"
    assert [icon for icon, _ in shown("solenoid Gull air_on").hazards] == ["electricity", "air"]
    assert [icon for icon, _ in shown("solenoid Gull air_off").hazards] == ["air"]


P1 = {"port": "P1", "place": Place.CASE}


@pytest.mark.parametrize(
    ("body", "cells"),
    [
        (AirTest(**P1, result=AirResult.PASS, kpa_gauge=250), ("P1", "", "250", "thud, holds", "as expected")),
        (AirTest(port="P9", place=Place.BODY, result=AirResult.FAIL), ("P9", "", "", "not stated", "differs")),
        (SwitchTest(device="Reel", state=SwitchState.OPEN), ("Reel", "at rest", "", "open", "open")),
        (
            SwitchTest(device="Reel", state=SwitchState.OPEN, kpa_gauge=200),
            ("Reel", "with air", "200", "closed", "open"),
        ),
        (SwitchTest(device="Gull", state=SwitchState.OPEN), ("Gull", "at rest", "", "not stated", "open")),
        (SolenoidTest(device="Gull", click=False), ("Gull", "by function", "", "clicks", "no click")),
        (
            SolenoidTest(device="Gull", click=True, air_off=Flow.HOLDS, air_on=Flow.FLOWS),
            ("Gull", "by function", "", "off: holds, on: flows", "off: holds, on: flows"),
        ),
        (
            SolenoidTest(device="Knot", click=True, air_on=Flow.FLOWS),
            ("Knot", "by function", "", "not stated", "on: flows"),
        ),
    ],
)
def test_a_line_of_the_table(body, cells):
    kind = {AirTest: "air", SwitchTest: "switch", SolenoidTest: "solenoid"}[type(body)]
    row = heard_row(variant(), Item(n=2, kind=kind, at="", by="", body=body))
    line = heard_shown(2, body, row, variant())
    assert (line.what, line.states, line.kpa, line.expected, line.heard) == cells


def test_a_line_without_a_variant_and_of_another_kind():
    body = SolenoidTest(device="Gull", click=True)
    assert heard_shown(2, body, None, None).heard == "keeping"
    assert heard_shown(2, AirTest(**P1, result=AirResult.PASS), None, None).expected == "not stated"
    assert heard_shown(2, Note(text="x"), None, variant()) is None


def test_comes_out_in_the_table():
    body = variant(ports=ports({"expect": [{"reaction": "comes_out", "at": "P3"}]}))
    assert heard_shown(2, AirTest(**P1, result=AirResult.PASS), None, body).expected == "out at P3"
