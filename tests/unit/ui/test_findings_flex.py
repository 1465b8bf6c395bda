"""A flex test on Findings: its own reason in words, a calm reading beside it hides nothing; finds by hand."""

from __future__ import annotations

from collections import defaultdict

from tests.data.made_up import entries_of, job, reading, variant_of
from valvebench.bench.judging import judged_whole
from valvebench.model.flex import FlexTest
from valvebench.model.session import Ledger
from valvebench.model.words import Verdict
from valvebench.ui.findings.shown import findings_shown, page_of
from valvebench.ui.session_words import verdict_words

STEADY = (5.2, 5.3) * 15


def flex(*ohm, a="3", b="11", **more):
    return FlexTest(from_node=a, to_node=b, ohm=ohm, **more)


def findings(*bodies):
    return findings_of(*bodies)


def findings_of(*bodies, **variant):
    judged = judged_whole(Ledger(entries_of([job(), *bodies])).session(), variant_of(**variant), None)
    rows = defaultdict(list)
    for row in judged.rows:
        rows[row.key].append(row)
    return judged, findings_shown(judged, rows, is_closed=False)


def test_a_failed_flex_test_has_its_own_reason():
    judged, shown = findings(reading("3", "11", 5.2), flex(5.2, None, 5.2, flexed="the inner conductor plate"))
    assert shown.sentence == "Fail: Heron fails in the flex test"
    (reason,) = shown.reasons
    assert (reason.what, reason.verdict, reason.page) == ("Flex test of Heron", Verdict.FAIL, "Pins")
    assert reason.where == "between 3 and 11 at the case connector, the inner conductor plate flexed, entry 3"
    assert reason.reasons[0].startswith("Fail: it opened once, first at reading 2")
    assert "Open at reading 2." in reason.reasons
    assert "Hold both clips still" in reason.advice
    assert verdict_words(judged)[0] == "Fail: Heron in the flex test"


def test_readings_typed_one_by_one_are_told_as_a_stretch_of_entries():
    _, shown = findings(flex(5.2), flex(None, follows=2), flex(5.2, follows=2))
    assert "entries 2 to 4" in shown.reasons[0].where


def test_one_that_fails_cold_as_well_is_named_once():
    judged, shown = findings(reading("3", "11", 9.9), flex(5.2, None, 5.2))
    assert [reason.what for reason in shown.reasons] == ["Solenoid Heron", "Flex test of Heron"]
    assert verdict_words(judged)[0] == "Fail: Heron is outside its limits"


def test_too_few_readings_are_a_reason_too():
    _, shown = findings(flex(5.2, 5.2))
    (reason,) = shown.reasons
    assert (reason.verdict, reason.advice) == (Verdict.CANT_TELL, "Go on flexing and reading until there are 30.")


def test_a_pass_is_no_reason_and_the_page_is_pins():
    _, shown = findings(flex(*STEADY))
    assert shown.reasons == ()
    assert page_of("flex Heron") == "Pins"
