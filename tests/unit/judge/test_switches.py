"""What a switch did at rest and under air.  Common practice, no source."""

from __future__ import annotations

import pytest

from tests.data.made_up import variant_of
from valvebench.judge.rows import heard_row
from valvebench.judge.session import item_verdicts
from valvebench.judge.switches import judge_switch
from valvebench.model.entry import SwitchTest
from valvebench.model.errors import BadInput
from valvebench.model.session import Item
from valvebench.model.words import SwitchState, Verdict

VARIANT = variant_of()
PASS, FAIL, NO_LIMIT = Verdict.PASS, Verdict.FAIL, Verdict.NO_LIMIT
REEL = {"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open", "closes_with": "P3"}
LIMITED = variant_of(devices=[REEL | {"closed_max_ohm": 5.0}], solenoid_chart={}, ports=[{"name": "P3"}])


def closed(**given):
    return SwitchTest(device="Reel", state=SwitchState.CLOSED, **given)


CLOSED = variant_of(
    devices=[{"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "closed", "closes_with": "P3"}],
    solenoid_chart={},
    ports=[{"name": "P3"}],
)
BARE = variant_of(
    devices=[{"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open"}],
    solenoid_chart={},
    ports=[],
)
UNKNOWN = variant_of(
    devices=[{"name": "Reel", "kind": "switch", "between": ["9", "case"]}], solenoid_chart={}, ports=[]
)


@pytest.mark.parametrize(
    ("variant", "state", "given", "verdict"),
    [
        pytest.param(VARIANT, "open", {}, PASS, id="open at rest"),
        pytest.param(VARIANT, "closed", {}, FAIL, id="closed at rest, should be open"),
        pytest.param(VARIANT, "closed", {"kpa_gauge": 250.0}, PASS, id="air closes it"),
        pytest.param(VARIANT, "open", {"kpa_gauge": 250.0}, FAIL, id="air does not close it"),
        pytest.param(VARIANT, "open", {"kpa_gauge": 0.0}, PASS, id="no pressure is at rest"),
        pytest.param(CLOSED, "closed", {}, PASS, id="closed at rest"),
        pytest.param(CLOSED, "open", {"kpa_gauge": 250.0}, PASS, id="air opens it"),
        pytest.param(BARE, "closed", {"kpa_gauge": 250.0}, NO_LIMIT, id="nothing says that air moves it"),
        pytest.param(UNKNOWN, "open", {}, NO_LIMIT, id="nothing says how it stands"),
        pytest.param(VARIANT, "open", {"selector": "R"}, NO_LIMIT, id="a selector position has no code here"),
        pytest.param(None, "open", {}, NO_LIMIT, id="no variant"),
    ],
)
def test_switch(variant, state, given, verdict):
    assert judge_switch(variant, SwitchTest(device="Reel", state=SwitchState(state), **given)).verdict is verdict


def test_a_switch_test_of_something_else_has_no_limit():
    assert judge_switch(VARIANT, SwitchTest(device="Heron", state=SwitchState.OPEN)).verdict is NO_LIMIT


def test_air_can_be_said_without_a_gauge():
    under_air = SwitchTest(device="Reel", state=SwitchState.CLOSED, has_air=True)
    assert judge_switch(VARIANT, under_air).reasons == ("Pass: closed with air, as it should be.",)


def test_pressures_up_and_down_are_shown_with_how_far_they_lie_apart():
    test = closed(kpa_gauge=250.0, up_kpa_gauge=180.0, down_kpa_gauge=150.0)
    heard = judge_switch(VARIANT, test)
    assert (heard.verdict, heard.reasons[-1]) == (
        PASS,
        "It changes at 180 kPa going up and 150 kPa coming down, 30 kPa apart.",
    )
    assert judge_switch(VARIANT, closed(up_kpa_gauge=180.0)).reasons[-1] == "It changes at 180 kPa going up."


# By hand: a tenths meter with leads not taken off doubts about 0.4 ohm, so that 5 ohm at most is proved by 1,
# refuted by 9 and left open by 5.0.
@pytest.mark.parametrize(
    ("ohm", "verdict"), [(1.0, PASS), (9.0, FAIL), (5.0, Verdict.CANT_TELL)], ids=["below", "above", "on the line"]
)
def test_the_closed_contact_counts_against_its_limit(ohm, verdict):
    heard = judge_switch(LIMITED, closed(has_air=True, closed_ohm=ohm))
    assert heard.verdict is verdict
    assert any("at most 5 ohm is stated" in reason for reason in heard.reasons)
    assert bool(heard.next_steps) is (verdict is Verdict.CANT_TELL)


def test_a_contact_without_a_stated_limit_proves_nothing_and_a_wrong_state_goes_first():
    assert judge_switch(CLOSED, closed(closed_ohm=0.4)).verdict is NO_LIMIT
    wrong = judge_switch(LIMITED, closed(closed_ohm=0.4))
    assert (wrong.verdict, wrong.reasons[0]) == (FAIL, "Fail: closed at rest, it should be open.")


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"has_air": False, "kpa_gauge": 250.0}, "no pressure at rest"),
        ({"up_kpa_gauge": 150.0, "down_kpa_gauge": 180.0}, "at most the 150"),
        ({"state": SwitchState.OPEN, "closed_ohm": 0.4}, "nothing while the switch is open"),
    ],
)
def test_what_cannot_be_is_refused(given, words):
    with pytest.raises(BadInput) as caught:
        SwitchTest(**({"device": "Reel", "state": SwitchState.CLOSED} | given))
    assert words in str(caught.value)


def test_under_air_is_an_item_of_its_own():
    rest, air = SwitchTest(device="Reel", state=SwitchState.OPEN), closed(kpa_gauge=250.0, closed_ohm=5.0)
    rows = [heard_row(LIMITED, Item(n=n, kind="switch", at="", by="", body=body)) for n, body in ((2, rest), (3, air))]
    assert [(row.key, row.verdict) for row in rows] == [("device Reel", PASS), ("function Reel", Verdict.CANT_TELL)]
    assert item_verdicts(rows)["function Reel"] is Verdict.CANT_TELL, "right at rest settles nothing under air"
    assert rows[1].advice
