"""Rows -> the verdict of a session with its scope."""

from __future__ import annotations

import pytest

from tests.data.made_up import reading, session_of, variant_of
from valvebench.judge.session import judge_session, session_sentence
from valvebench.model.entry import AirTest, SolenoidTest, SwitchTest
from valvebench.model.words import AirResult, Place, Rule, SwitchState, Verdict

SOLENOID = {"kind": "solenoid", "low_ohm": 4.9, "high_ohm": 5.5}
TWO = variant_of(
    devices=[
        {**SOLENOID, "name": "Heron", "between": ["3", "11"]},
        {**SOLENOID, "name": "Gull", "between": ["4", "11"]},
    ],
    ports=[{"name": "P3"}, {"name": "P4"}],
    isolation=None,
)
ISOLATED = variant_of(
    devices=[{**SOLENOID, "name": "Heron", "between": ["3", "11"]}], ports=[], isolation={"min_ohm": 1e6}
)
UNLIMITED = variant_of(
    devices=[{"kind": "solenoid", "name": "Heron", "between": ["3", "11"]}], ports=[], isolation=None
)
GOOD, ON_LIMIT, BAD = 5.2, 5.5, 7.0


def heron(ohm=GOOD, **given):
    return reading("3", "11", ohm, **given)


def gull(ohm=GOOD, **given):
    return reading("4", "11", ohm, **given)


def air(port, result, **given):
    return AirTest(port=port, place=Place.BODY, result=AirResult(result), **given)


def judged(*bodies, variant=TWO, rule=None, **about):
    return judge_session(session_of(*bodies, **about), variant, rule=rule)


@pytest.mark.parametrize(
    ("bodies", "verdict", "scope"),
    [
        pytest.param([heron(), gull()], "pass", "2 of 2 electrical; air not required", id="pass"),
        pytest.param([], "not_finished", "0 of 2 electrical, 2 not taken; air not required", id="nothing taken"),
        pytest.param([heron()], "not_finished", "1 of 2 electrical, 1 not taken; air not required", id="half"),
        pytest.param(
            [heron(BAD)], "fail", "0 of 2 electrical, 1 failed, 1 not taken; air not required", id="fail goes first"
        ),
        pytest.param(
            [heron(ON_LIMIT), gull()], "cant_tell", "1 of 2 electrical, 1 can't tell; air not required", id="can't tell"
        ),
        pytest.param(
            [heron(ON_LIMIT)],
            "not_finished",
            "0 of 2 electrical, 1 can't tell, 1 not taken; air not required",
            id="not finished before can't tell",
        ),
        pytest.param(
            [heron(), gull(temperature="not_soaked")],
            "not_finished",
            "1 of 2 electrical, 1 not usable; air not required",
            id="not usable is not finished",
        ),
        pytest.param(
            [heron(), gull(), reading("3", "4", 10.4)],
            "pass",
            "3 of 3 electrical; air not required",
            id="an extra reading through two coils: 2 x 4.9 to 2 x 5.5 by hand",
        ),
        pytest.param(
            [heron(), gull(), air("P3", "pass")], "pass", "2 of 2 electrical; air 1 of 1 passed", id="some air"
        ),
        pytest.param(
            [heron(), gull(), air("P3", "pass"), air("P4", "fail")],
            "fail",
            "2 of 2 electrical; air 1 of 2 passed, 1 failed",
            id="air fails",
        ),
        pytest.param(
            [heron(), gull(), SolenoidTest(device="Heron", click=False)],
            "fail",
            "2 of 2 electrical; air not required",
            id="no click fails",
        ),
    ],
)
def test_verdict_with_scope(bodies, verdict, scope):
    found = judged(*bodies)
    assert (found.verdict, found.scope) == (Verdict(verdict), scope)


@pytest.mark.parametrize(
    ("bodies", "verdict", "scope"),
    [
        ([], "not_finished", "air not taken"),
        ([air("P3", "pass"), air("P4", "pass")], "pass", "air 2 of 2 passed"),
        ([air("P3", "pass"), air("P4", "not_possible")], "not_finished", "air 1 of 2 passed"),
        ([air("P3", "pass"), air("P4", "bleeds")], "pass", "air 1 of 2 passed"),
        ([air("P3", "pass")], "not_finished", "air 1 of 2 passed"),
    ],
    ids=["none", "both", "one not possible", "one without limit", "one not tried"],
)
def test_air_that_is_asked_for(bodies, verdict, scope):
    found = judged(heron(), gull(), *bodies, require_air=True)
    assert found.verdict is Verdict(verdict)
    assert found.scope.endswith(scope)


BOTH = variant_of(
    devices=[{**SOLENOID, "name": "Heron", "between": ["3", "11"]}],
    ports=[
        {
            "name": "P3",
            "expect": [
                {"selector": "D", "solenoids": {"Heron": "on"}, "reaction": "holds"},
                {"selector": "D", "solenoids": {"Heron": "off"}, "reaction": "bleeds"},
            ],
        }
    ],
    isolation=None,
)
ON, OFF = {"selector": "D", "solenoids": {"Heron": "on"}}, {"selector": "D", "solenoids": {"Heron": "off"}}
ON_KEY, OFF_KEY = "port P3 (selector D, Heron on)", "port P3 (selector D, Heron off)"


@pytest.mark.parametrize(
    ("bodies", "missing", "verdict", "scope"),
    [
        pytest.param([], [ON_KEY, OFF_KEY], "not_finished", "air not taken", id="neither"),
        pytest.param([air("P3", "pass", **ON)], [OFF_KEY], "not_finished", "air 1 of 2 passed", id="one of two"),
        pytest.param([air("P3", "pass", **ON), air("P3", "bleeds", **OFF)], [], "pass", "air 2 of 2 passed", id="both"),
        pytest.param(
            [air("P3", "bleeds", **ON), air("P3", "bleeds", **OFF)],
            [],
            "fail",
            "air 1 of 2 passed, 1 failed",
            id="bleeds where it should hold",
        ),
        pytest.param(
            [air("P3", "pass")],
            [ON_KEY, OFF_KEY],
            "not_finished",
            "air 0 of 3 passed, 1 not usable",
            id="an older answer that does not say what was set answers neither",
        ),
        pytest.param(
            [air("P3", "fail")],
            [ON_KEY, OFF_KEY],
            "fail",
            "air 0 of 3 passed, 1 failed",
            id="but a fail stands whichever was asked",
        ),
    ],
)
def test_each_setting_of_a_port_is_asked_for(bodies, missing, verdict, scope):
    found = judged(heron(), *bodies, variant=BOTH, require_air=True)
    assert [one.key for one in found.missing] == missing
    assert found.verdict is Verdict(verdict)
    assert found.scope.endswith(scope)


def test_an_answer_that_answers_nothing_does_not_make_a_session_without_air_unfinished():
    found = judged(heron(), air("P3", "pass"), variant=BOTH)
    assert (found.verdict, found.missing) == (Verdict.PASS, ())
    assert found.scope == "1 of 1 electrical; air 0 of 1 passed, 1 not usable"


@pytest.mark.parametrize(
    ("cold", "hot", "verdict"),
    [
        pytest.param(GOOD, GOOD * 344.5 / 254.5, "pass", id="good cold and hot"),
        pytest.param(GOOD, 9.0, "fail", id="a cold pass does not hide a hot fail"),
        pytest.param(GOOD, ON_LIMIT * 344.5 / 254.5, "cant_tell", id="nor a hot can't tell"),
        pytest.param(BAD, GOOD * 344.5 / 254.5, "fail", id="nor a hot pass a cold fail"),
    ],
)
def test_each_temperature_answers_for_itself(cold, hot, verdict):
    assert judged(heron(cold), heron(hot, celsius=110.0), gull()).verdict is Verdict(verdict)


@pytest.mark.parametrize(
    ("first", "second", "verdict"),
    [
        pytest.param(
            heron(ON_LIMIT), heron(GOOD, leads="four_wire"), "pass", id="a better reading settles a can't tell"
        ),
        pytest.param(heron(GOOD), heron(ON_LIMIT, leads="four_wire", celsius=24.0), "pass", id="in either order"),
        pytest.param(heron(GOOD), heron(BAD, leads="four_wire"), "fail", id="but a fail stands"),
        pytest.param(
            heron(GOOD), heron(ON_LIMIT * 260 / 254.5, celsius=25.5), "cant_tell", id="more than 5 degrees apart"
        ),
        pytest.param(
            heron(GOOD), heron(GOOD, leads="four_wire", temperature="not_soaked"), "pass", id="one that is not usable"
        ),
    ],
)
def test_two_rows_of_one_item_at_one_temperature(first, second, verdict):
    assert judged(first, second, gull()).items["device Heron"] is Verdict(verdict)


def test_one_reading_of_the_common_covers_the_net():
    alone = judged(heron(), variant=ISOLATED)
    assert alone.verdict is Verdict.NOT_FINISHED
    assert [one.key for one in alone.missing] == ["isolation 3 11"]
    done = judged(heron(), reading("11", "case", open=True, range_ohm=6e7), variant=ISOLATED)
    assert (done.verdict, done.missing) == (Verdict.PASS, ())
    assert done.rows[-1].covers == ("3", "11")


@pytest.mark.parametrize(
    ("range_ohm", "verdict"), [(6e7, "pass"), (400.0, "cant_tell")], ids=["60 megohm range", "400 ohm range"]
)
def test_isolation_needs_a_range_that_proves_it(range_ohm, verdict):
    found = judged(heron(), reading("3", "case", open=True, range_ohm=range_ohm), variant=ISOLATED)
    assert found.verdict is Verdict(verdict)


def test_isolation_of_a_net_fails_by_any_of_its_pins():
    found = judged(
        heron(), reading("11", "case", open=True, range_ohm=6e7), reading("3", "case", 200.0), variant=ISOLATED
    )
    assert found.verdict is Verdict.FAIL
    assert [row.key for row in found.failed()] == ["isolation 3 11"]


@pytest.mark.parametrize(
    ("bodies", "variant", "verdict"),
    [
        ([heron()], UNLIMITED, "no_limit"),
        ([heron()], None, "no_limit"),
        ([], None, "not_finished"),
        ([heron(temperature="not_soaked")], None, "not_finished"),
    ],
    ids=["no limits", "no variant", "nothing at all", "nothing usable"],
)
def test_without_limits(bodies, variant, verdict):
    assert judged(*bodies, variant=variant).verdict is Verdict(verdict)


def test_electronics_on_board():
    variant = variant_of(electronics_on_board=True)
    found = judged(air("P4", "bleeds"), variant=variant)
    assert found.verdict is Verdict.PASS
    assert found.scope == "electrical not asked for: electronics on board; air 1 of 1 passed"
    assert found.missing == ()


def test_a_switch_is_done_by_its_test_as_well_as_by_ohms():
    variant = variant_of(
        devices=[{"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open"}],
        ports=[],
        solenoid_chart={},
        isolation=None,
    )
    for body in (SwitchTest(device="Reel", state=SwitchState.OPEN), reading("9", "case", open=True, range_ohm=6e7)):
        assert judged(body, variant=variant).verdict is Verdict.PASS


def test_the_sentence_names_verdict_and_scope_and_never_a_good_body():
    sentence = session_sentence(judged(heron(), gull()))
    assert sentence == "Pass: 2 of 2 electrical; air not required"
    assert "good" not in sentence


def test_the_rule_is_handed_on():
    assert judged(heron(ON_LIMIT), gull()).rule is Rule.PROVED
    plain = judged(heron(ON_LIMIT), gull(), rule=Rule.PLAIN)
    assert (plain.rule, plain.verdict) == (Rule.PLAIN, Verdict.PASS)
