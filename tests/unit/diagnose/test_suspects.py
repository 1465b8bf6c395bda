"""What to test first: order by the words of a complaint, moved by results.

The weights are made up where a number is worked out by hand; those of the program are common practice, no source, so
that only their order is held, and that as TRADE has it: the vehicle first, and of a complaint when hot both families.
"""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest

from tests.data.made_air import leak_test
from tests.data.made_up import heat_test, reading, session_of
from tests.data.suspects_body import BODY, DATA, body
from tests.fakes.explained import found as answered
from tests.fakes.explained import one as answer
from valvebench.bench.judging import judged_whole
from valvebench.bench.suspecting import evidence_of
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explained import HeatSaid, HeatWord, Place
from valvebench.diagnose.suspected import State
from valvebench.diagnose.suspects import suspects
from valvebench.diagnose.suspects_told import understood
from valvebench.diagnose.suspects_weights import Cause, read_weights
from valvebench.model.entry import AirTest, FluidFound, SolenoidTest
from valvebench.model.flex import FlexTest
from valvebench.model.heat import HeatKind, Sized
from valvebench.model.words import AirResult, Feel, When
from valvebench.model.words import Place as Where

RAW = (Path(__file__).parents[3] / "resources" / "suspects.json").read_bytes()
WEIGHTS = read_weights(RAW, source="suspects.json")
HERON = ("2", "7")


def suspected(shift="1-2", when=None, feel=None, bodies=(), explained=None, variant=BODY, weights=WEIGHTS):
    session = session_of(*bodies)
    told = understood(shift, when, feel, variant).told
    rows = judged_whole(session, variant, None).rows
    return suspects(variant, told, weights, evidence_of(session, rows, explained))


def one(found, cause, name=None):
    return next(s for s in found.suspects if s.cause is cause and (name is None or s.where == (name,)))


def place(found, cause, name=None):
    return found.suspects.index(one(found, cause, name))


def weight(cause, name=None, **words):
    return one(suspected(**words), cause, name).weight


# -- which they are ------------------------------------------------------------------------


def test_circuits_of_the_shift_and_nothing_of_others():
    """1-2 by the chart: Crake applies, Dipper releases, Heron switches."""
    found = suspected("1-2")
    named = {(s.cause, s.where[0]) for s in found.suspects if s.where and s.cause is not Cause.WIRING}
    assert named == {
        *((cause, "Heron") for cause in (Cause.SOLENOID_CONTACT, Cause.SOLENOID_WINDING, Cause.SOLENOID_STICKS)),
        *((cause, clutch) for cause in (Cause.CLUTCH_CIRCUIT, Cause.VALVE_BORE) for clutch in ("Crake", "Dipper")),
        (Cause.TEMPERATURE_SENSOR, "Fluid"),
    }


def test_each_says_why_and_what_to_do():
    for each in suspected("1-2", "hot", "late").suspects:
        assert each.why
        assert all(reason.endswith(".") for reason in each.why)
        assert each.tests


def test_a_solenoid_is_told_with_the_clutch_it_goes_with():
    words = " ".join(one(suspected("1-2"), Cause.SOLENOID_STICKS).why)
    assert "Heron switches from off to on in 1-2" in words
    assert "with clutch Crake, which applies" in words


def test_tests_lead_to_pair_port_and_solenoid():
    found = suspected("1-2")
    keys = {test.key for each in found.suspects for test in each.tests}
    assert keys >= {
        "device Heron",
        "function Heron",
        "heat Heron",
        "flex Heron",
        "port P1",
        "port P2",
        "port P4",
        "fluid",
    }
    assert not keys & {"device Gull", "port P3"}


def test_without_a_solenoid_chart_no_solenoid_is_guessed():
    found = suspected("1-2", variant=body(solenoid_chart={}))
    assert not [s for s in found.suspects if "solenoid" in s.cause.value]
    assert "which solenoids switch is not known" in found.cant_tell[0]


# -- order by the words of the complaint ---------------------------------------------------


@pytest.mark.parametrize("when", [None, *(when.value for when in When)])
@pytest.mark.parametrize("feel", [None, *(feel.value for feel in Feel)])
def test_the_vehicle_first_and_falling_weight(when, feel):
    found = suspected("2-3", when, feel)
    weights = [s.weight for s in found.suspects]
    assert weights == sorted(weights, reverse=True)
    firsts = [s.in_vehicle for s in found.suspects]
    assert firsts == sorted(firsts, reverse=True)


def test_when_hot_neither_family_is_assumed():
    """TRADE 1: thin hot oil past worn bores, rings and seals; copper, joints and terminals that gain resistance."""
    bench = [s for s in suspected("1-2", "hot").suspects if not s.in_vehicle]
    first_three = list(dict.fromkeys(s.cause for s in bench))[:3]
    assert set(first_three) == {Cause.SOLENOID_CONTACT, Cause.CLUTCH_CIRCUIT, Cause.VALVE_BORE}


@pytest.mark.parametrize(
    ("cause", "more", "less"),
    [
        pytest.param(
            Cause.SOLENOID_CONTACT, {"when": "hot"}, {"when": "cold"}, id="a contact gains resistance with heat"
        ),
        pytest.param(Cause.CLUTCH_CIRCUIT, {"when": "hot"}, {"when": "cold"}, id="thin oil leaks"),
        pytest.param(Cause.VALVE_BORE, {"when": "hot"}, {"when": "cold"}, id="a worn bore leaks hot"),
        pytest.param(Cause.SOLENOID_STICKS, {"when": "cold"}, {"when": "hot"}, id="thick oil holds a plunger"),
        pytest.param(Cause.SOLENOID_WINDING, {"when": "always"}, {"when": "sometimes"}, id="an open winding stays"),
        pytest.param(Cause.WIRING, {"when": "sometimes"}, {"when": "always"}, id="a chafed wire comes and goes"),
        pytest.param(Cause.FLUID_CONDITION, {"feel": "shudder"}, {"feel": "bind"}, id="old fluid shudders"),
        pytest.param(Cause.FLUID_LEVEL, {"feel": "slip"}, {"feel": "bind"}, id="a low level slips"),
        pytest.param(Cause.ACCUMULATOR, {"feel": "harsh"}, {"feel": "slip"}, id="no cushion"),
        pytest.param(Cause.LEVER_SWITCH, {"shift": "N-D"}, {"shift": "1-2"}, id="the lever matters when it is moved"),
        pytest.param(Cause.ADAPTATION, {"feel": "bump"}, {"feel": "none"}, id="learned values bump"),
    ],
)
def test_the_words_of_a_complaint_move_a_cause(cause, more, less):
    assert weight(cause, **more) > weight(cause, **less)


def test_the_side_of_the_shift_counts():
    """A flare is of what applies too late; a bind-up of what releases too late."""
    assert weight(Cause.CLUTCH_CIRCUIT, "Crake", feel="flare") > weight(Cause.CLUTCH_CIRCUIT, "Dipper", feel="flare")
    assert weight(Cause.VALVE_BORE, "Dipper", feel="bind") > weight(Cause.VALVE_BORE, "Crake", feel="bind")


def test_the_number_by_hand():
    """Made-up weights: base 0.5, hot x 2, late x 1.5, and late on the side that applies x 2: 3; 1 + 3/(1 + 3) = 1.75.

    A failed test x 4 gives 12, in the bench's first step: 3 + 12/13.
    """
    ones = {cause.value: {"base": 1.0, "why": "made up, a one"} for cause in Cause}
    ones["valve_bore"] = {"base": 0.5, "when": {"hot": 2.0}, "feel": {"late": 1.5}, "why": "made up, by hand"}
    data = {**msgspec.json.decode(RAW), "causes": ones, "applies": {"feel": {"late": 2.0}, "why": "made up, by hand"}}
    weights = read_weights(msgspec.json.encode(data), source="made up")
    found = suspected("1-2", "hot", "late", weights=weights)
    assert one(found, Cause.VALVE_BORE, "Crake").weight == 1.75
    leaks = AirTest(port="P2", place=Where.BODY, result=AirResult.FAIL)
    found = suspected("1-2", "hot", "late", bodies=[leaks], weights=weights)
    assert one(found, Cause.VALVE_BORE, "Crake").weight == round(3 + 12 / 13, 4)


# -- results move it -----------------------------------------------------------------------


def test_a_solenoid_proved_good_drops_to_the_end():
    before = suspected("1-2", "always")
    after = suspected("1-2", "always", bodies=[reading(*HERON, 5.5)])
    for cause in (Cause.SOLENOID_CONTACT, Cause.SOLENOID_WINDING):
        assert one(after, cause).state is State.PROVED_GOOD
        assert one(after, cause).weight < one(before, cause).weight
        assert one(after, cause).entries == (2,)
    assert {s.cause for s in after.suspects[-2:]} == {Cause.SOLENOID_CONTACT, Cause.SOLENOID_WINDING}


def test_cold_a_contact_of_a_hot_complaint_is_not_proved_good():
    found = one(suspected("1-2", "hot", bodies=[reading(*HERON, 5.5)]), Cause.SOLENOID_CONTACT)
    assert found.state is State.NOT_YET
    assert found.weight < weight(Cause.SOLENOID_CONTACT, when="hot")
    assert "only a heat run tells" in found.why[0]


@pytest.mark.parametrize(
    ("hottest", "when", "state"),
    [
        pytest.param(110.0, "hot", State.PROVED_GOOD, id="copper only up to where it gets hot"),
        pytest.param(45.0, "hot", State.NOT_YET, id="not warmed enough"),
        pytest.param(110.0, "sometimes", State.NOT_YET, id="at times: it was not flexed"),
    ],
)
def test_a_heat_run_of_copper(hottest, when, state):
    run = heat_test("Heron", 5.5, hottest_celsius=hottest)
    assert one(suspected("1-2", when, bodies=[run]), Cause.SOLENOID_CONTACT).state is state


def test_a_contact_that_grows_with_heat_comes_first():
    run = heat_test(
        "Heron",
        5.5,
        kind=HeatKind.GROWS_WITH_HEAT,
        slope_over_copper=Sized(value=2.0, u=0.01),
        excess_ohm_at_hottest=Sized(value=1.5, u=0.02),
        grows_from_celsius=Sized(value=60.0, u=2.0),
    )
    found = suspected("1-2", "hot", bodies=[reading(*HERON, 5.5), run])
    assert found.suspects[0].cause is Cause.SOLENOID_CONTACT
    assert found.suspects[0].state is State.POINTS_AT_IT
    assert place(found, Cause.SOLENOID_WINDING) > place(found, Cause.SOLENOID_STICKS)


def test_bad_at_the_connector_and_good_at_its_own_terminals_is_the_contact():
    own = reading("Heron.1", "Heron.2", 5.5, at="device_terminals")
    found = suspected("1-2", "always", bodies=[reading(*HERON, 7.0), own])
    assert one(found, Cause.SOLENOID_CONTACT).state is State.POINTS_AT_IT
    assert one(found, Cause.SOLENOID_WINDING).state is State.PROVED_GOOD
    assert "fails at the connector and not at its own terminals" in one(found, Cause.SOLENOID_CONTACT).why[0]


@pytest.mark.parametrize(
    ("bodies", "cause", "state"),
    [
        pytest.param(
            [AirTest(port="P2", place=Where.BODY, result=AirResult.FAIL)], Cause.VALVE_BORE, State.POINTS_AT_IT
        ),
        pytest.param(
            [AirTest(port="P1", place=Where.CASE, result=AirResult.FAIL)], Cause.CLUTCH_CIRCUIT, State.POINTS_AT_IT
        ),
        pytest.param(
            [AirTest(port="P2", place=Where.BODY, result=AirResult.PASS)], Cause.VALVE_BORE, State.PROVED_GOOD
        ),
        pytest.param(
            [AirTest(port="P2", place=Where.BODY, result=AirResult.NOT_POSSIBLE)], Cause.VALVE_BORE, State.NOT_YET
        ),
        pytest.param(
            [leak_test("P2", 240.0, max_ml_min=100.0)],
            Cause.VALVE_BORE,
            State.POINTS_AT_IT,
            id="a leak above its limit",
        ),
    ],
)
def test_a_port_that_feeds_the_clutch(bodies, cause, state):
    assert one(suspected("1-2", "always", bodies=bodies), cause, "Crake").state is state


def test_by_ear_a_hot_leak_is_not_ruled_out():
    found = one(
        suspected("1-2", "hot", bodies=[AirTest(port="P2", place=Where.BODY, result=AirResult.PASS)]),
        Cause.VALVE_BORE,
        "Crake",
    )
    assert found.state is State.NOT_YET
    assert "thin hot oil finds a leak that air by ear does not" in found.why[0]


def test_a_circuit_is_not_proved_good_by_one_of_its_ports():
    more = {"name": "P5", "place": "body", "feeds": "Crake", "expect": [{"reaction": "holds"}]}
    variant = body(ports=[*DATA["ports"], more])
    one_port = [AirTest(port="P2", place=Where.BODY, result=AirResult.PASS)]
    both = [*one_port, AirTest(port="P5", place=Where.BODY, result=AirResult.PASS)]
    states = [
        one(suspected("1-2", "always", bodies=bodies, variant=variant), Cause.VALVE_BORE, "Crake").state
        for bodies in (one_port, both)
    ]
    assert states == [State.NOT_YET, State.PROVED_GOOD]


def test_bad_at_its_own_terminals_is_the_winding_and_says_nothing_of_the_contact():
    own = reading("Heron.1", "Heron.2", 7.0, at="device_terminals")
    found = suspected("1-2", "always", bodies=[reading(*HERON, 7.0), own])
    assert one(found, Cause.SOLENOID_WINDING).state is State.POINTS_AT_IT
    assert one(found, Cause.SOLENOID_CONTACT).state is State.NOT_YET


def test_a_heat_run_outside_its_limits_alone_is_the_winding():
    found = suspected("1-2", "hot", bodies=[heat_test("Heron", 7.0)])
    assert one(found, Cause.SOLENOID_WINDING).state is State.POINTS_AT_IT
    assert one(found, Cause.SOLENOID_CONTACT).state is State.NOT_YET


@pytest.mark.parametrize(
    ("bodies", "state"),
    [
        pytest.param([reading(*HERON, 5.5)], State.NOT_YET, id="cold only"),
        pytest.param([reading(*HERON, 6.5, celsius=80.0)], State.PROVED_GOOD, id="read hot"),
        pytest.param([heat_test("Heron", 5.5)], State.PROVED_GOOD, id="warmed"),
    ],
)
def test_a_winding_of_a_hot_complaint_is_proved_good_hot(bodies, state):
    assert one(suspected("1-2", "hot", bodies=bodies), Cause.SOLENOID_WINDING).state is state


def test_a_steady_flex_test_alone_proves_no_contact():
    steady = FlexTest(from_node="2", to_node="7", ohm=(5.5,) * 30, flexed="the harness")
    found = one(suspected("1-2", "always", bodies=[steady]), Cause.SOLENOID_CONTACT)
    assert found.state is State.NOT_YET
    assert found.weight < weight(Cause.SOLENOID_CONTACT, when="always")


def test_read_at_the_vehicle_plug_alone_it_says_so():
    found = suspected("1-2", "always", bodies=[reading(*HERON, 7.0, at="vehicle_plug")])
    assert one(found, Cause.SOLENOID_CONTACT).why[0] == "Heron at the vehicle plug: Fail."
    assert one(found, Cause.WIRING).state is State.POINTS_AT_IT


def test_good_and_undecided_together_are_not_proved():
    found = suspected("1-2", bodies=[FluidFound(colour="clear red", smell="none", debris="glitter, perhaps")])
    assert one(found, Cause.FLUID_CONDITION).state is State.NOT_YET


def test_what_fails_elsewhere_is_told_and_not_suspected():
    found = suspected("1-2", bodies=[AirTest(port="P3", place=Where.BODY, result=AirResult.FAIL)])
    assert [s for s in found.suspects if s.state is State.POINTS_AT_IT] == []
    assert found.elsewhere == ("port P3: Fail",)


@pytest.mark.parametrize(
    ("found_so", "cause", "state"),
    [
        pytest.param({"level": "low"}, Cause.FLUID_LEVEL, State.POINTS_AT_IT, id="low"),
        pytest.param({"level": "right"}, Cause.FLUID_LEVEL, State.PROVED_GOOD, id="right"),
        pytest.param({"level": "not checked"}, Cause.FLUID_LEVEL, State.NOT_YET, id="not checked"),
        pytest.param({"level": "not low"}, Cause.FLUID_LEVEL, State.NOT_YET, id="free words that deny"),
        pytest.param({"smell": "burnt"}, Cause.FLUID_CONDITION, State.POINTS_AT_IT, id="burnt"),
        pytest.param({"smell": "not burnt"}, Cause.FLUID_CONDITION, State.NOT_YET, id="not burnt"),
        pytest.param({"debris": "friction flakes"}, Cause.FLUID_CONDITION, State.POINTS_AT_IT, id="flakes"),
        pytest.param({"colour": "clear red"}, Cause.FLUID_CONDITION, State.NOT_YET, id="colour alone"),
        pytest.param(
            {"colour": "clear red", "smell": "none", "debris": "none"},
            Cause.FLUID_CONDITION,
            State.PROVED_GOOD,
            id="all",
        ),
    ],
)
def test_what_was_found_in_the_vehicle(found_so, cause, state):
    found = suspected("1-2", bodies=[FluidFound(**found_so)])
    assert one(found, cause).state is state
    if state is State.POINTS_AT_IT:
        assert found.suspects[0].cause is cause


def test_the_newest_word_on_the_level_stands():
    found = suspected("1-2", bodies=[FluidFound(level="low"), FluidFound(level="right")])
    assert one(found, Cause.FLUID_LEVEL).state is State.PROVED_GOOD


def test_a_solenoid_that_does_not_click_sticks():
    found = suspected("1-2", bodies=[reading(*HERON, 5.5), SolenoidTest(device="Heron", click=False)])
    assert one(found, Cause.SOLENOID_STICKS).state is State.POINTS_AT_IT


# -- joined with the explanations ----------------------------------------------------------


def test_what_explains_the_readings_points():
    answers = answered(answer(Fault.TERMINAL_RESISTIVE, "2", p=0.9), answer(Fault.VALUE_HIGH, "Heron", p=0.1))
    found = suspected("1-2", "always", bodies=[reading(*HERON, 7.0)], explained=answers)
    assert found.suspects[0].cause is Cause.SOLENOID_CONTACT
    assert one(found, Cause.SOLENOID_WINDING).state is State.NOT_YET


def test_what_cannot_be_told_apart_points_at_both():
    same = (Place(Fault.TERMINAL_RESISTIVE, ("2",)),)
    answers = answered(answer(Fault.VALUE_HIGH, "Heron", p=0.9, same=same))
    found = suspected("1-2", "always", bodies=[reading(*HERON, 7.0)], explained=answers)
    states = {s.cause: s.state for s in found.suspects}
    assert states[Cause.SOLENOID_CONTACT] is states[Cause.SOLENOID_WINDING] is State.POINTS_AT_IT


def test_an_answer_below_half_points_at_nothing():
    answers = answered(answer(Fault.TERMINAL_RESISTIVE, "2", p=0.45))
    assert one(suspected("1-2", explained=answers), Cause.SOLENOID_CONTACT).state is State.NOT_YET


def test_a_reading_that_the_leads_explain_blames_no_solenoid():
    answers = answered(answer(Fault.LEADS, p=0.9))
    found = suspected("1-2", "always", bodies=[reading(*HERON, 7.0)], explained=answers)
    assert [s for s in found.suspects if s.state is State.POINTS_AT_IT] == []
    assert "something else explains the readings better" in one(found, Cause.SOLENOID_WINDING).why[0]


def test_a_solenoid_that_parts_from_its_set_as_it_warms_points():
    answers = answered(answer(Fault.HEALTHY, p=0.6), heat=(HeatSaid("Heron", HeatWord.PARTS, None, 90.0, (4, 5)),))
    found = one(suspected("1-2", "hot", explained=answers), Cause.SOLENOID_CONTACT)
    assert found.state is State.POINTS_AT_IT
    assert found.entries == (4, 5)


# -- free words ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("when", "feel", "found"),
    [
        ("hot, after a long drive", "bind-up", (When.HOT, Feel.BIND)),
        ("First shift of the day", "No shift", (When.COLD, Feel.NONE)),
        ("sometimes", "stuck in one gear", (When.SOMETIMES, Feel.STUCK)),
    ],
)
def test_words_of_the_trade_are_understood(when, feel, found):
    assert understood("1-2", when, feel, BODY).told[1:] == found


def test_what_is_not_understood_is_said_and_not_weighed():
    found = understood("1-2", "on Tuesdays", "odd", BODY)
    assert found.told[1:] == (None, None)
    assert [line.partition(" is none")[0] for line in found.left] == ["when: 'on Tuesdays'", "feel: 'odd'"]
    assert understood("downshift", None, None, BODY).told is None
    assert understood(None, "hot", None, BODY).left == ("Say which shift or event: 5-6, N-D, lock-up.",)
