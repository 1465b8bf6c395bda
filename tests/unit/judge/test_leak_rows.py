"""A measured leak as a row of a session: where its limit holds, what it proves, and what does not hide it.

Finds are made up; the factor is 2 (normal doubt, PHYSICS: 95.45 %).
"""

from __future__ import annotations

import msgspec
import pytest

from tests.data.made_air import leak_test, seat_test, vacuum_test
from tests.data.made_up import VARIANT, entries_of, job, variant_of
from valvebench.bench.judging import judged_whole
from valvebench.judge.leak_rows import leak_key
from valvebench.judge.targets import wanted_air
from valvebench.model.air_tests import LeakTest
from valvebench.model.entry import AirTest, Correct, Restore, Withdraw
from valvebench.model.errors import BadReading
from valvebench.model.session import Ledger
from valvebench.model.words import AirResult, Lean, Place, Rule, Verdict

PORTS = [
    *VARIANT["ports"],
    {"name": "P6", "method": "steady", "kpa_gauge": 250, "max_ml_min": 400},
    {"name": "P7", "method": "vacuum", "kpa_gauge": 30, "max_ml_min": 400, "expect": [{"reaction": "holds"}]},
    {"name": "P8", "method": "decay"},
]
BODY = variant_of(ports=PORTS)


def judged(*bodies, variant=BODY, rule=None, **asked):
    return judged_whole(Ledger(entries_of([job(**asked), *bodies])).session(), variant, rule)


def leaks(whole):
    return [row for row in whole.rows if row.kind == "leak"]


def only(*bodies, **more):
    (row,) = leaks(judged(*bodies, **more))
    return row


def heard(port, result=AirResult.PASS):
    return AirTest(port=port, place=Place.BODY, result=result)


@pytest.mark.parametrize(
    ("test", "verdict", "lean"),
    [
        pytest.param(leak_test("P6", 384.0), Verdict.PASS, None, id="400 less 2 times 8: on the guard line"),
        pytest.param(leak_test("P6", 385.0), Verdict.CANT_TELL, Lean.INSIDE, id="within its doubt of the limit"),
        pytest.param(leak_test("P6", 416.5), Verdict.FAIL, None, id="proved above"),
        pytest.param(leak_test("P6", 500.0, at=200.0), Verdict.FAIL, None, id="too much at less pressure already"),
        pytest.param(
            leak_test("P6", 300.0, at=200.0), Verdict.CANT_TELL, Lean.INSIDE, id="enough at less proves nothing"
        ),
        pytest.param(leak_test("P6", 300.0, at=300.0), Verdict.PASS, None, id="enough at more pressure even"),
        pytest.param(
            leak_test("P6", 500.0, at=300.0), Verdict.CANT_TELL, Lean.OUTSIDE, id="too much at more proves nothing"
        ),
        pytest.param(leak_test("P6", 500.0, at=252.0), Verdict.FAIL, None, id="within 1 % of its pressure"),
        pytest.param(leak_test("P6", None), Verdict.CANT_TELL, None, id="no number"),
        pytest.param(
            vacuum_test("P6", 100.0), Verdict.CANT_TELL, Lean.INSIDE, id="a vacuum against a limit for pressure"
        ),
        pytest.param(vacuum_test("P7", 100.0), Verdict.PASS, None, id="a vacuum against its own limit"),
        pytest.param(
            leak_test("P7", 100.0), Verdict.CANT_TELL, Lean.INSIDE, id="pressure against a limit for a vacuum"
        ),
        pytest.param(leak_test("P8", 100.0), Verdict.NO_LIMIT, None, id="a port without a limit"),
        pytest.param(
            leak_test("P8", 100.0, max_ml_min=90.0), Verdict.CANT_TELL, Lean.OUTSIDE, id="a limit given with the test"
        ),
        pytest.param(leak_test("P6", 100.0, max_ml_min=50.0), Verdict.PASS, None, id="the variant's limit goes first"),
    ],
)
def test_verdict_of_a_leak(test, verdict, lean):
    row = only(test)
    assert (row.verdict, row.lean) == (verdict, lean)
    assert row.reasons[0].startswith(
        {"fail": "Fail", "pass": "Pass", "no_limit": "No limit"}.get(verdict.value, "Can't")
    )


def test_what_it_says_beside_the_verdict():
    row = only(leak_test("P6", 300.0, at=200.0))
    assert row.reasons[0] == (
        "Can't tell: 300 \u00b1 16 ml/min at 200 kPa above the air around, but the limit of 400 ml/min is stated for "
        "250 kPa above the air around."
    )
    assert row.advice == ("Test P6 at 250 kPa, where its limit holds.",)
    assert "Most of the doubt: restriction 100 %." in row.reasons
    assert (row.key, row.what, row.port, row.entries) == ("leak P6", "P6, leak", "P6", (2,))


def test_a_rule_of_the_session_or_of_the_test_decides_how_much_proof_is_asked_for():
    assert only(leak_test("P6", 390.0, rule=Rule.PLAIN)).verdict is Verdict.PASS
    assert only(leak_test("P6", 390.0, rule=Rule.PLAIN), rule=Rule.PROVED).verdict is Verdict.CANT_TELL


def test_a_port_nobody_knows_is_asked_about():
    row = only(leak_test("P66", 100.0))
    assert row.verdict is Verdict.NO_LIMIT
    assert row.reasons[-1] == "P66 is no port of this variant: was the right one tested?"
    assert only(leak_test("P66", 100.0), variant=None).verdict is Verdict.NO_LIMIT


def test_an_answer_by_ear_never_hides_a_leak_that_fails():
    whole = judged(heard("P6"), leak_test("P6", 500.0), heard("P6"))
    assert (whole.items["leak P6"], whole.items["port P6"]) == (Verdict.FAIL, Verdict.PASS)
    assert whole.verdict is Verdict.FAIL
    assert "air 1 of 2 passed, 1 failed" in whole.scope


def test_a_better_test_settles_what_the_first_could_not_tell_and_a_fail_stands():
    assert judged(leak_test("P6", 390.0), leak_test("P6", 390.0, u=2.0)).items["leak P6"] is Verdict.PASS
    assert judged(leak_test("P6", 500.0), leak_test("P6", 100.0)).items["leak P6"] is Verdict.FAIL


def test_a_measured_port_is_asked_for_where_air_is():
    keys = [one.key for one in wanted_air(BODY)]
    assert [key for key in keys if key.startswith("leak ")] == [leak_key(name) for name in ("P6", "P7", "P8")]
    assert "port P7" in keys  # something is expected by ear too
    assert "port P6" not in keys
    assert "port P5" in keys
    missing = [one.what for one in judged(heard("P6"), require_air=True).missing]
    assert "leak P6" in missing
    assert "leak P6" not in [one.what for one in judged(leak_test("P6", 100.0), require_air=True).missing]
    assert "leak P6" not in [one.what for one in judged(heard("P6")).missing]


def test_correct_withdraw_and_restore():
    entries = [leak_test("P6", 500.0), Withdraw(entry=2)]
    assert leaks(judged(*entries)) == []
    assert only(*entries, Restore(entry=2)).verdict is Verdict.FAIL
    body = msgspec.to_builtins(leak_test("P6", 100.0))
    row = only(leak_test("P6", 500.0), Correct(entry=2, why="wrong hose", body=body))
    assert (row.verdict, row.is_corrected) == (Verdict.PASS, True)


# -- at the seat of a solenoid -----------------------------------------------------------------


def seated(**said):
    """The made-up body, its solenoid Gull with what is stated of its seat."""
    return variant_of(devices=[{**one, **said} if one["name"] == "Gull" else one for one in VARIANT["devices"]])


SEATED = seated(max_seat_ml_min=24, seat_kpa_gauge=250)


@pytest.mark.parametrize(
    ("test", "verdict", "lean"),
    [
        pytest.param(seat_test("Gull", 22.0), Verdict.PASS, None, id="24 less 2 times 1: on the guard line"),
        pytest.param(seat_test("Gull", 22.5), Verdict.CANT_TELL, Lean.INSIDE, id="within its doubt of the limit"),
        pytest.param(seat_test("Gull", 27.0), Verdict.FAIL, None, id="proved above"),
        pytest.param(seat_test("Gull", 20.0, at=200.0), Verdict.CANT_TELL, Lean.INSIDE, id="enough at less pressure"),
        pytest.param(seat_test("Gull", None), Verdict.CANT_TELL, None, id="no number"),
    ],
)
def test_verdict_of_a_leak_at_a_seat(test, verdict, lean):
    row = only(test, variant=SEATED)
    assert (row.verdict, row.lean) == (verdict, lean)
    assert (row.key, row.what, row.port) == ("seat Gull", "Gull, leak at its seat", None)


def test_a_seat_without_a_limit_has_none_and_a_stranger_is_asked_about():
    assert only(seat_test("Gull"), variant=seated()).verdict is Verdict.NO_LIMIT
    row = only(seat_test("Gul"), variant=SEATED)
    assert (row.verdict, row.reasons[-1]) == (
        Verdict.NO_LIMIT,
        "Gul is no solenoid of this variant: was the right one tested?",
    )


@pytest.mark.parametrize(("normally", "words"), [("closed", "shut without current"), ("open", "only while current")])
def test_when_a_seat_is_shut_is_said(normally, words):
    row = only(seat_test("Gull"), variant=seated(max_seat_ml_min=24, normally=normally))
    assert words in row.reasons[-1]


def test_a_port_of_the_same_name_is_another_item_and_both_count_as_air():
    ports = [*PORTS, {"name": "Gull", "method": "steady", "kpa_gauge": 250, "max_ml_min": 400}]
    variant = variant_of(ports=ports)
    whole = judged(leak_test("Gull", 500.0), seat_test("Gull"), variant=variant)
    assert (whole.items["leak Gull"], whole.items["seat Gull"]) == (Verdict.FAIL, Verdict.NO_LIMIT)
    assert "air 0 of 2 passed, 1 failed" in whole.scope


@pytest.mark.parametrize(("port", "device", "found"), [(None, None, "neither"), ("P6", "Gull", "both")])
def test_a_leak_is_that_of_a_port_or_of_a_seat(port, device, found):
    with pytest.raises(BadReading, match=found):
        leak_test(port, device=device)


def test_an_entry_from_before_seats_were_tested_reads_as_it_did():
    before = {name: value for name, value in msgspec.to_builtins(leak_test("P6")).items() if name != "device"}
    assert msgspec.convert(before, LeakTest) == leak_test("P6")
