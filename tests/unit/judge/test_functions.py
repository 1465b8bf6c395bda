"""A solenoid by function: clicks, and air through it off and on.  Common practice, no source."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from tests.data.made_up import entries_of, job, variant_of
from valvebench.judge.book import Book
from valvebench.judge.functions import function_rows, judge_function, with_coils
from valvebench.judge.row import Row
from valvebench.judge.rows import rows_of
from valvebench.model.entry import Reading, SolenoidTest
from valvebench.model.errors import BadInput
from valvebench.model.session import Item, Ledger
from valvebench.model.variant import Solenoid
from valvebench.model.words import Duty, Flow, Supply, SwitchState, Verdict

PASS, FAIL, CANT_TELL = Verdict.PASS, Verdict.FAIL, Verdict.CANT_TELL
HOLDS, FLOWS = Flow.HOLDS, Flow.FLOWS
BETWEEN = ("8", "case")
CLOSED = Solenoid(name="Plover", between=BETWEEN, normally=SwitchState.CLOSED)
OPEN = Solenoid(name="Plover", between=BETWEEN, normally=SwitchState.OPEN)
ON_OFF = Solenoid(name="Plover", between=BETWEEN, duty=Duty.ON_OFF)
LINEAR = Solenoid(name="Plover", between=BETWEEN, duty=Duty.LINEAR, max_ampere=1.0)


def tried(*, click=True, **given):
    return SolenoidTest(device="Plover", click=click, **given)


@pytest.mark.parametrize(
    ("solenoid", "click", "off", "on", "verdict"),
    [
        pytest.param(CLOSED, False, None, None, FAIL, id="no click"),
        pytest.param(CLOSED, True, None, None, PASS, id="a click, no air"),
        pytest.param(CLOSED, True, HOLDS, FLOWS, PASS, id="normally closed"),
        pytest.param(CLOSED, True, FLOWS, None, FAIL, id="leaks at its seat"),
        pytest.param(CLOSED, True, None, HOLDS, FAIL, id="does not open"),
        pytest.param(CLOSED, True, HOLDS, None, PASS, id="half of it"),
        pytest.param(CLOSED, True, FLOWS, HOLDS, FAIL, id="the other way round"),
        pytest.param(CLOSED, True, FLOWS, FLOWS, FAIL, id="stuck open"),
        pytest.param(CLOSED, True, HOLDS, HOLDS, FAIL, id="stuck closed"),
        pytest.param(OPEN, True, FLOWS, HOLDS, PASS, id="normally open"),
        pytest.param(OPEN, True, HOLDS, None, FAIL, id="normally open, but holds"),
        pytest.param(ON_OFF, True, FLOWS, HOLDS, PASS, id="rest not stated, but it changes"),
        pytest.param(ON_OFF, True, FLOWS, FLOWS, FAIL, id="rest not stated, and a switched one never changes"),
        pytest.param(LINEAR, True, FLOWS, FLOWS, CANT_TELL, id="rest not stated, and a linear one may bleed in both"),
        pytest.param(ON_OFF, True, FLOWS, None, PASS, id="rest not stated, half of it: it clicks"),
        pytest.param(None, True, FLOWS, FLOWS, PASS, id="no variant: it clicks"),
        pytest.param(CLOSED, False, HOLDS, FLOWS, CANT_TELL, id="no click heard, yet air changes"),
        pytest.param(CLOSED, False, HOLDS, HOLDS, FAIL, id="no click, and nothing changes"),
    ],
)
def test_click_and_air(solenoid, click, off, on, verdict):
    whole = judge_function(solenoid, [tried(click=click, air_off=off, air_on=on)])
    assert whole.verdict is verdict
    assert whole.reasons[0].startswith({PASS: "Pass: ", FAIL: "Fail: ", CANT_TELL: "Can't tell: "}[verdict])
    apart = [tried(click=click), tried(click=click, air_off=off), tried(click=click, air_on=on)]
    assert judge_function(solenoid, apart) == whole, "one key an answer says the same as all in one entry"


def test_a_click_with_air_that_does_not_change_is_a_stuck_valve():
    found = judge_function(CLOSED, [tried(heard=3, tries=3), tried(air_off=HOLDS), tried(air_on=HOLDS)])
    assert "stuck closed" in found.reasons[0]
    assert "click alone" in found.next_steps[0]


@pytest.mark.parametrize(
    ("counts", "verdict", "words"),
    [
        ([(3, 3)], PASS, "Pass: it clicks, 3 of 3 times."),
        ([(2, 3)], CANT_TELL, "Can't tell: 2 of 3 clicks were heard."),
        ([(0, 3)], FAIL, "Fail: no click at 3 tries."),
        ([(3, 3), (9, 10)], CANT_TELL, "Can't tell: 12 of 13 clicks were heard."),
        ([(0, 3), (3, 3)], FAIL, "Fail: no click at one of the tries."),
    ],
)
def test_clicks_are_counted(counts, verdict, words):
    found = judge_function(ON_OFF, [tried(click=heard > 0, heard=heard, tries=tries) for heard, tries in counts])
    assert (found.verdict, found.reasons[0]) == (verdict, words)


def test_a_slip_is_no_verdict():
    found = judge_function(CLOSED, [tried(air_off=HOLDS), tried(air_off=FLOWS)])
    assert found.verdict is CANT_TELL
    assert "slip" in found.next_steps[0]


def test_air_that_fails_goes_before_clicks_that_were_missed():
    assert judge_function(CLOSED, [tried(heard=2, tries=3), tried(air_off=FLOWS)]).verdict is FAIL


def test_what_the_supply_may_have_done_is_said():
    fed = [tried(supply=Supply.RATED_VOLTAGE), tried(supply=Supply.LIMITED_CURRENT, limit_ampere=1.5)]
    found = judge_function(LINEAR, fed)
    assert found.verdict is PASS
    assert ["rated voltage" in found.reasons[1], "1.5 A, above the 1 A" in found.reasons[2]] == [True, True]
    assert len(judge_function(ON_OFF, fed).reasons) == 1


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"heard": 2}, "tries: found nothing"),
        ({"tries": 2}, "heard: found nothing"),
        ({"heard": 4, "tries": 3}, "at most the 3 tries"),
        ({"heard": 0, "tries": 3}, "0 heard of 3"),
        ({"heard": 2, "tries": 3, "click": False}, "2 heard of 3"),
    ],
)
def test_a_count_that_cannot_be_is_refused(given, words):
    with pytest.raises(BadInput) as caught:
        tried(**given)
    assert words in str(caught.value)


# -- rows ------------------------------------------------------------------------------------------


def item(n, body, kind="solenoid", **given):
    return Item(n=n, kind=kind, at="", by="", body=body, **given)


def test_one_row_for_each_solenoid():
    other = SolenoidTest(device="Heron", click=True)
    rows = function_rows(None, [item(2, tried()), item(3, other), item(4, tried(air_off=HOLDS), is_corrected=True)])
    assert [(row.key, row.kind, row.entries) for row in rows] == [
        ("function Plover", "solenoid", (2, 4)),
        ("function Heron", "solenoid", (3,)),
    ]
    assert [row.is_corrected for row in rows] == [True, False]


VARIANT = variant_of(
    devices=[{"name": "Plover", "kind": "solenoid", "between": ["8", "case"], "low_ohm": 12.0, "high_ohm": 15.0}],
    ports=[],
    solenoid_chart={},
)
COIL = {"from_node": "8", "to_node": "case", "celsius": 20.0, "celsius_accuracy": 1.0, "meter": "0.5%+5x0.01"}


# By hand: 13.5 ohm with 0.12 ohm of doubt lies inside 12 to 15; 30 ohm does not; open is open.
@pytest.mark.parametrize(
    ("coil", "words", "step"),
    [
        pytest.param({"ohm": 13.5}, "coil passed in ohm: the fault is mechanical", "its own terminals", id="sound"),
        pytest.param({"open": True, "range_ohm": 6e7}, "coil reads open: the fault is electrical", "break", id="open"),
        pytest.param({"ohm": 30.0}, "coil failed in ohm too", "Settle the coil", id="failed"),
        pytest.param(None, "not known for sure", "Read its coil", id="not read"),
    ],
)
def test_no_click_is_told_by_its_coil(coil, words, step):
    read = [] if coil is None else [item(2, Reading(**COIL, **coil), kind="reading")]
    *_, row = rows_of(SimpleNamespace(items=[*read, item(3, tried(click=False))]), VARIANT)
    assert (row.key, row.verdict) == ("function Plover", FAIL)
    assert words in row.reasons[-1]
    assert step in row.advice[-1]


def test_a_coil_read_later_speaks_of_the_click_at_once():
    entries = entries_of([job(), tried(click=False), Reading(**COIL, ohm=13.5)])
    ledger = Ledger(entries[:2])
    book = Book(ledger.session(), VARIANT)
    assert "not known" in book.rows_of_item("function Plover")[0].reasons[-1]
    ledger.take(entries[2])
    changed = {row.key: row for row in book.take(ledger.items[3])}
    assert "mechanical" in changed["function Plover"].reasons[-1]
    assert book.rows_of_item("function Plover") == (changed["function Plover"],)


def test_a_coil_says_nothing_of_a_solenoid_that_clicks():
    row = Row(entries=(1,), key="function Plover", what="Plover", kind="solenoid", verdict=PASS, reasons=("Pass",))
    assert with_coils([row], {}) == (row,)
