"""Which questions a variant asks by ear, and which entry an answer becomes."""

from __future__ import annotations

import pytest

from tests.fakes.ports_bench import PORTS, QUESTIONS, SOLENOIDS, SWITCH, devices_with, variant_with
from valvebench.model.entry import AirTest, Note, SolenoidTest, SwitchTest
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AirResult, Flow, Place, Supply, SwitchState
from valvebench.ui.ports.questions import (
    AirSetUp,
    Answer,
    SwitchQuestion,
    answered_by,
    answers_to,
    body_of,
    questions_of,
)

GAUGE = AirSetUp(kpa_gauge=250.0, gauge_id="g")


def variant(**more):
    return read_variant(variant_with(**more), source="test")


def question(key, **more):
    return next(each for each in questions_of(variant(**more)) if each.key == key)


def test_each_expectation_is_its_own_question_ports_first():
    assert [each.key for each in questions_of(variant())] == QUESTIONS


def test_without_a_variant_nothing_is_asked():
    assert questions_of(None) == ()


def test_electronics_on_board_leave_the_ports_alone():
    keys = [each.key for each in questions_of(variant(electronics_on_board=True))]
    assert keys == QUESTIONS[:4]


def test_a_switch_that_no_port_moves_is_not_asked():
    still = {name: value for name, value in SWITCH.items() if name != "closes_with"}
    keys = [each.key for each in questions_of(variant(devices=devices_with(still)))]
    assert not any(key.startswith("switch") for key in keys)


@pytest.mark.parametrize(
    ("answer", "result"),
    [
        (Answer.PLUS, AirResult.PASS),
        (Answer.MINUS, AirResult.FAIL),
        (Answer.BLEEDS, AirResult.BLEEDS),
        (Answer.NOT_POSSIBLE, AirResult.NOT_POSSIBLE),
    ],
)
def test_a_port_is_kept_with_what_was_set(answer, result):
    assert body_of(question("port P2 1"), answer, GAUGE, note="hiss") == AirTest(
        port="P2",
        place=Place.BODY,
        result=result,
        kpa_gauge=250.0,
        selector="D",
        solenoids={"Gull": "on"},
        gauge_id="g",
        note="hiss",
    )


@pytest.mark.parametrize(
    ("at_rest", "answer", "state"),
    [
        ("open", Answer.PLUS, SwitchState.CLOSED),
        ("open", Answer.MINUS, SwitchState.OPEN),
        ("closed", Answer.PLUS, SwitchState.OPEN),
        ("closed", Answer.MINUS, SwitchState.CLOSED),
        (None, Answer.PLUS, SwitchState.CLOSED),
    ],
)
def test_yes_means_the_switch_changes_over(at_rest, answer, state):
    asked = question("switch Reel", devices=devices_with(SWITCH | {"at_rest": at_rest}))
    expected = SwitchTest(device="Reel", state=state, has_air=True, kpa_gauge=250.0)
    assert body_of(asked, answer, GAUGE, note=None) == expected


@pytest.mark.parametrize("at_rest", ["open", "closed"])
def test_at_rest_yes_means_as_stated_and_there_is_no_pressure(at_rest):
    asked = question("switch Reel rest", devices=devices_with(SWITCH | {"at_rest": at_rest}))
    yes, no = (body_of(asked, answer, GAUGE, note=None) for answer in (Answer.PLUS, Answer.MINUS))
    assert yes == SwitchTest(device="Reel", state=SwitchState(at_rest), has_air=False)
    assert no.state is not yes.state


def test_a_switch_whose_rest_is_not_stated_is_asked_under_air_only():
    devices = devices_with(SWITCH | {"at_rest": None})
    assert [q.key for q in questions_of(variant(devices=devices)) if q.key.startswith("switch")] == ["switch Reel"]


# Normally closed: held without current, flows with it; normally open the other way round.
# By the meaning of the words.
@pytest.mark.parametrize(
    ("normally", "part", "answer", "off", "on"),
    [
        ("closed", "air_off", Answer.PLUS, Flow.HOLDS, None),
        ("closed", "air_off", Answer.MINUS, Flow.FLOWS, None),
        ("closed", "air_on", Answer.PLUS, None, Flow.FLOWS),
        ("open", "air_off", Answer.PLUS, Flow.FLOWS, None),
        ("open", "air_on", Answer.PLUS, None, Flow.HOLDS),
        ("open", "air_on", Answer.MINUS, None, Flow.FLOWS),
    ],
)
def test_yes_means_air_does_what_the_solenoid_should(normally, part, answer, off, on):
    asked = question(f"solenoid Gull {part}", devices=devices_with(SOLENOIDS[0] | {"normally": normally}))
    body = body_of(asked, answer, GAUGE, note=None)
    assert (body.device, body.click, body.air_off, body.air_on, body.kpa_gauge) == ("Gull", True, off, on, 250.0)


def test_click_yes_and_no():
    bodies = [body_of(question("solenoid Knot click"), a, GAUGE, note=None) for a in (Answer.PLUS, Answer.MINUS)]
    fed = {"device": "Knot", "tries": 3, "supply": Supply.RATED_VOLTAGE}
    assert bodies == [SolenoidTest(click=True, heard=3, **fed), SolenoidTest(click=False, heard=0, **fed)]


# LOOK and TRADE: rated voltage is for one that is switched on and off; a bare supply harms every other.
@pytest.mark.parametrize(
    ("duty", "supply", "limit"),
    [
        ("on_off", Supply.RATED_VOLTAGE, None),
        ("linear", Supply.LIMITED_CURRENT, 0.9),
        ("pulsed", Supply.LIMITED_CURRENT, 0.9),
        (None, Supply.LIMITED_CURRENT, 0.9),
    ],
)
def test_rated_voltage_is_for_on_off_only(duty, supply, limit):
    devices = devices_with(SOLENOIDS[0] | {"duty": duty, "max_ampere": 0.9})
    for part in ("click", "air_on"):
        body = body_of(question(f"solenoid Gull {part}", devices=devices), Answer.PLUS, GAUGE, note=None)
        assert (body.supply, body.limit_ampere) == (supply, limit)
    off = body_of(question("solenoid Gull air_off", devices=devices), Answer.PLUS, GAUGE, note=None)
    assert (off.supply, off.limit_ampere) == (None, None)


def test_only_a_port_can_bleed():
    assert Answer.BLEEDS in answers_to(question("port P3 0"))
    assert answers_to(question("switch Reel")) == {Answer.PLUS, Answer.MINUS}


@pytest.mark.parametrize("key", QUESTIONS)
def test_every_answer_is_found_again(key):
    asked = question(key)
    for answer in answers_to(asked):
        assert answered_by(body_of(asked, answer, GAUGE, note=None), variant()) == (key,)


@pytest.mark.parametrize(
    ("body", "keys"),
    [
        pytest.param(
            AirTest(port="P2", place=Place.BODY, result=AirResult.PASS, solenoids={"Gull": "on"}),
            ("port P2 1",),
            id="selector-left-out-on-the-command-line",
        ),
        pytest.param(
            AirTest(port="P2", place=Place.BODY, result=AirResult.PASS, selector="D"), (), id="solenoid-left-out"
        ),
        pytest.param(
            AirTest(port="P2", place=Place.BODY, result=AirResult.PASS, selector="R"), (), id="another-setting"
        ),
        pytest.param(AirTest(port="P9", place=Place.BODY, result=AirResult.PASS), (), id="no-such-port"),
        pytest.param(SwitchTest(device="Reel", state=SwitchState.OPEN), ("switch Reel rest",), id="a-switch-at-rest"),
        pytest.param(SwitchTest(device="Reel", state=SwitchState.OPEN, selector="R"), (), id="a-switch-in-a-position"),
        pytest.param(
            SwitchTest(device="Reel", state=SwitchState.CLOSED, has_air=True), ("switch Reel",), id="air-no-gauge"
        ),
        pytest.param(
            SolenoidTest(device="Gull", click=True, heard=3, tries=3, air_off=Flow.HOLDS),
            ("solenoid Gull click", "solenoid Gull air_off"),
            id="clicks-counted-and-air",
        ),
        pytest.param(
            SolenoidTest(device="Gull", click=True, air_off=Flow.HOLDS, air_on=Flow.FLOWS),
            ("solenoid Gull air_off", "solenoid Gull air_on"),
            id="both-at-once",
        ),
        pytest.param(Note(text="x"), (), id="a-note"),
    ],
)
def test_entries_from_elsewhere_count_for_their_question(body, keys):
    assert answered_by(body, variant()) == keys


def test_a_pulsed_linear_or_unstated_solenoid_needs_a_current_limit():
    for duty, needs in (("linear", True), ("pulsed", True), (None, True), ("on_off", False)):
        asked = question("solenoid Gull click", devices=devices_with(SOLENOIDS[0] | {"duty": duty}))
        assert asked.needs_current_limit is needs
    assert not question("solenoid Gull air_off").needs_current_limit


def test_a_switch_knows_the_port_that_moves_it():
    asked = question("switch Reel", ports=PORTS[:1], devices=devices_with(SWITCH | {"closes_with": "P1"}))
    assert isinstance(asked, SwitchQuestion)
    assert asked.port.name == "P1"
