"""What was heard at a port."""

from __future__ import annotations

import pytest

from tests.data.made_up import variant_of
from valvebench.judge.air import air_items, item_of, judge_air
from valvebench.model.entry import AirTest
from valvebench.model.errors import BadInput
from valvebench.model.words import AirResult, Place, Verdict

VARIANT = variant_of()
PASS, FAIL, NO_LIMIT, NOT_TAKEN = Verdict.PASS, Verdict.FAIL, Verdict.NO_LIMIT, Verdict.NOT_TAKEN
NOT_USABLE = Verdict.NOT_USABLE


def air(result, port="P3", **given):
    return AirTest(port=port, place=Place.BODY, result=AirResult(result), **given)


@pytest.mark.parametrize(
    ("port", "result", "verdict"),
    [
        ("P3", "pass", PASS),
        ("P3", "fail", FAIL),
        ("P3", "bleeds", FAIL),
        ("P3", "not_possible", NOT_TAKEN),
        ("P4", "pass", PASS),
        ("P4", "fail", FAIL),
        ("P4", "bleeds", PASS),
        ("P4", "not_possible", NOT_TAKEN),
        ("P5", "pass", PASS),
        ("P5", "fail", FAIL),
        ("P5", "bleeds", NO_LIMIT),
        ("P5", "not_possible", NOT_TAKEN),
        ("P9", "bleeds", NO_LIMIT),
        ("P9", "fail", FAIL),
    ],
    ids=["holds", "holds", "holds", "holds", "bleeds", "bleeds", "bleeds", "bleeds"] + ["nothing stated"] * 6,
)
def test_port(port, result, verdict):
    heard = judge_air(VARIANT, air(result, port))
    assert heard.verdict is verdict
    assert heard.reasons[-1].startswith("No expectation" if port in {"P5", "P9"} else "Expected: ")


def test_without_a_variant():
    assert judge_air(None, air("bleeds")).verdict is NO_LIMIT
    assert judge_air(None, air("pass")).verdict is PASS


# TRADE 1 (8): without a cover plate most body ports cannot hold.  Common practice, no source.
@pytest.mark.parametrize(
    ("port", "result", "with_plate", "without"),
    [
        pytest.param("P3", "fail", FAIL, NOT_USABLE, id="ought to hold and does not"),
        pytest.param("P3", "bleeds", FAIL, NOT_USABLE, id="ought to hold and bleeds"),
        pytest.param("P3", "pass", PASS, PASS, id="holds even without the plate"),
        pytest.param("P4", "bleeds", PASS, NOT_USABLE, id="bleeds by design: it would anyway"),
        pytest.param("P4", "pass", PASS, NOT_USABLE, id="bleeds by design, said in other words"),
        pytest.param("P5", "bleeds", NO_LIMIT, NOT_USABLE, id="nothing stated"),
        pytest.param("P3", "not_possible", NOT_TAKEN, NOT_TAKEN, id="not tried"),
    ],
)
def test_the_cover_plate_decides_what_an_answer_can_say(port, result, with_plate, without):
    assert judge_air(VARIANT, air(result, port, has_cover=True)).verdict is with_plate
    heard = judge_air(VARIANT, air(result, port, has_cover=False))
    assert heard.verdict is without
    assert ("cover plate" in heard.reasons[0]) is (without is NOT_USABLE)


OUT = variant_of(ports=[{"name": "P3", "expect": [{"reaction": "comes_out", "at": "P4"}]}, {"name": "P4"}])


@pytest.mark.parametrize(
    ("result", "at", "verdict", "words"),
    [
        ("pass", "P4", PASS, "did what was expected"),
        ("fail", "P9", FAIL, "air came out at P9"),
        ("pass", "P9", NOT_USABLE, "none is expected"),
    ],
)
def test_where_the_air_comes_out(result, at, verdict, words):
    heard = judge_air(OUT, air(result, came_out_at=at))
    assert heard.verdict is verdict
    assert words in heard.reasons[0]


def test_out_where_it_ought_to_hold_is_no_pass():
    assert judge_air(VARIANT, air("pass", came_out_at="P9")).verdict is NOT_USABLE


def test_air_does_not_come_out_where_it_goes_in_and_a_case_has_no_cover_plate():
    with pytest.raises(BadInput, match="another port") as caught:
        AirTest(port="P3", place=Place.CASE, result=AirResult.FAIL, came_out_at="P3", has_cover=False)
    assert "cover plate belongs to the body" in str(caught.value)


EXPECT = [
    {"reaction": "bleeds"},
    {"selector": "D", "solenoids": {"Heron": "off"}, "reaction": "holds"},
    {"selector": "D", "solenoids": {"Heron": "on"}, "reaction": "comes_out", "at": "P4"},
    {"selector": "R", "reaction": "thud"},
]
CHOOSY = variant_of(ports=[{"name": "P3", "expect": EXPECT}, {"name": "P4"}])
D_OFF, D_ON, IN_R, REST = (
    "port P3 (selector D, Heron off)",
    "port P3 (selector D, Heron on)",
    "port P3 (selector R)",
    "port P3 (any other setting)",
)


def test_each_setting_is_an_item_of_its_own():
    assert [item.key for item in air_items(CHOOSY.port_named("P3"))] == [REST, D_OFF, D_ON, IN_R]
    assert [item.key for item in air_items(CHOOSY.port_named("P4"))] == ["port P4"]


# By the meaning of the words: what was set and what is asked for must be the same thing.
@pytest.mark.parametrize(
    ("given", "key", "reactions"),
    [
        pytest.param({"selector": "D", "solenoids": {"Heron": "on"}}, D_ON, ["comes_out"], id="as asked"),
        pytest.param({"selector": "D", "solenoids": {"Heron": "off"}}, D_OFF, ["holds"], id="as asked, off"),
        pytest.param({}, REST, ["bleeds"], id="nothing set is what the plain question asks"),
        pytest.param({"selector": "N"}, REST, ["bleeds"], id="no setting of its own"),
        pytest.param({"selector": "R", "solenoids": {"Gull": "on"}}, IN_R, ["thud"], id="more set than asked"),
        pytest.param(
            {"selector": "D", "solenoids": {"Heron": "on", "Gull": "on"}}, D_ON, ["comes_out"], id="the most detailed"
        ),
        pytest.param({"selector": "D"}, "port P3", ["bleeds", "holds", "comes_out"], id="Heron not said"),
        pytest.param({"solenoids": {"Heron": "off"}}, "port P3", ["bleeds", "holds", "thud"], id="selector not said"),
    ],
)
def test_an_answer_belongs_to_the_setting_it_was_given_for(given, key, reactions):
    item = item_of(CHOOSY, air("pass", **given))
    assert (item.key, [each.reaction.value for each in item.expected]) == (key, reactions)


TWO = variant_of(
    ports=[
        {
            "name": "P3",
            "expect": [
                {"selector": "D", "solenoids": {"Heron": "on"}, "reaction": "holds"},
                {"selector": "D", "solenoids": {"Heron": "off"}, "reaction": "bleeds"},
            ],
        }
    ]
)
HOLDS = variant_of(
    ports=[
        {
            "name": "P3",
            "expect": [{"selector": "D", "reaction": "holds"}, {"selector": "R", "reaction": "thud"}],
        }
    ]
)


@pytest.mark.parametrize(
    ("variant", "given", "result", "verdict"),
    [
        pytest.param(TWO, {"solenoids": {"Heron": "on"}}, "bleeds", FAIL, id="bleeds where it should hold"),
        pytest.param(TWO, {"solenoids": {"Heron": "off"}}, "bleeds", PASS, id="bleeds where it should"),
        pytest.param(TWO, {"selector": "D"}, "bleeds", Verdict.NOT_USABLE, id="right for one, wrong for the other"),
        pytest.param(TWO, {}, "pass", Verdict.NOT_USABLE, id="as expected, but of which"),
        pytest.param(TWO, {}, "fail", FAIL, id="differs, whichever was asked"),
        pytest.param(TWO, {}, "not_possible", NOT_TAKEN, id="not possible"),
        pytest.param(HOLDS, {}, "bleeds", FAIL, id="neither may bleed"),
        pytest.param(HOLDS, {}, "pass", Verdict.NOT_USABLE, id="as expected, neither named"),
        pytest.param(HOLDS, {"selector": "N"}, "bleeds", NO_LIMIT, id="nothing is stated for that"),
    ],
)
def test_an_answer_that_does_not_say_what_was_set_proves_only_what_it_can(variant, given, result, verdict):
    assert judge_air(variant, air(result, **given)).verdict is verdict


def test_what_is_missing_from_such_an_answer_is_said():
    heard = judge_air(TWO, air("pass"))
    assert heard.reasons[0].startswith("Not usable: the answer does not say what was set")
    assert heard.reasons[1:] == (
        "Expected: air holds, selector D, Heron on; or bleeds by design, selector D, Heron off.",
    )


@pytest.mark.parametrize(("result", "verdict"), [("pass", PASS), ("bleeds", NO_LIMIT), ("fail", FAIL)])
def test_two_things_stated_for_one_setting_are_one_item(result, verdict):
    both = [{"selector": "D", "reaction": "holds"}, {"selector": "D", "reaction": "bleeds"}]
    variant = variant_of(ports=[{"name": "P3", "expect": both}])
    assert [item.key for item in air_items(variant.port_named("P3"))] == ["port P3"]
    assert judge_air(variant, air(result, selector="D")).verdict is verdict


def test_another_setting_does_not_answer_for_the_one_that_is_stated():
    only = variant_of(ports=[{"name": "P3", "expect": [{"selector": "D", "reaction": "holds"}]}])
    assert item_of(only, air("pass")).key == "port P3"
    assert item_of(only, air("pass", selector="R")) == ("port P3 (selector R)", (), True)


def test_the_expectation_is_said_in_words():
    words = judge_air(CHOOSY, air("fail", selector="D", solenoids={"Heron": "on"})).reasons[-1]
    assert words == "Expected: air comes out at P4, selector D, Heron on."
