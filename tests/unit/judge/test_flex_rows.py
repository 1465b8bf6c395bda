"""The verdict of a flex test: a contact that moves fails whatever the limits, a calm reading hides nothing.

Finds are made up; the rule is the one of the guide (flex.md).
"""

from __future__ import annotations

import msgspec
import pytest

from tests.data.made_up import entries_of, job, reading, variant_of
from valvebench.bench.judging import judged_whole
from valvebench.judge.flex import judge_flex
from valvebench.model.entry import Correct, Withdraw
from valvebench.model.flex import FlexEvent, FlexFound, FlexTest
from valvebench.model.heat import Sized
from valvebench.model.session import Ledger
from valvebench.model.words import Lean, Verdict

VARIANT = variant_of()
CALM = FlexFound(n=40, middle_ohm=5.25, spread_ohm=0.0125, meter="0.5%+5x0.01", is_enough=True)
OPEN = FlexEvent(kind="open", sample=17)
STEP = FlexEvent(kind="step", sample=21, size_ohm=Sized(value=0.5, u=0.125))
PLATE = "the inner conductor plate"


def found(**changes):
    return msgspec.structs.replace(CALM, **changes)


@pytest.mark.parametrize(
    ("what", "verdict", "lean"),
    [
        pytest.param(CALM, Verdict.PASS, None, id="steady-and-enough"),
        pytest.param(found(n=29, is_enough=False), Verdict.CANT_TELL, Lean.INSIDE, id="too-few"),
        pytest.param(found(open_n=1, events=(OPEN,)), Verdict.FAIL, None, id="one-opening"),
        pytest.param(found(n=4, open_n=1, events=(OPEN,), problem="too few"), Verdict.FAIL, None, id="open-in-four"),
        pytest.param(found(events=(STEP,)), Verdict.FAIL, None, id="a-step-beyond-its-U"),
        pytest.param(
            found(events=(msgspec.structs.replace(STEP, size_ohm=Sized(value=0.25, u=0.125)),)),
            Verdict.CANT_TELL,
            Lean.OUTSIDE,
            id="a-step-of-just-its-U-proves-nothing",
        ),
        pytest.param(
            found(events=(msgspec.structs.replace(STEP, kind="jump", size_ohm=Sized(value=-0.5, u=0.125)),)),
            Verdict.FAIL,
            None,
            id="a-jump-down-counts-too",
        ),
        pytest.param(found(problem="on hold"), Verdict.CANT_TELL, Lean.INSIDE, id="held-display"),
        pytest.param(found(is_restless=True, problem="x"), Verdict.CANT_TELL, Lean.OUTSIDE, id="restless"),
        pytest.param(found(n=5, open_n=5, problem="x"), Verdict.CANT_TELL, Lean.OUTSIDE, id="all-open"),
    ],
)
def test_verdict_of_a_find(what, verdict, lean):
    judged = judge_flex(what, PLATE)
    assert (judged.verdict, judged.lean) == (verdict, lean)
    assert PLATE in judged.reasons[0]


def test_the_words_say_what_when_and_how_much():
    judged = judge_flex(found(open_n=1, events=(OPEN, STEP)), PLATE)
    assert judged.reasons[0] == (
        "Fail: it opened once, first at reading 17, it stepped once, first at reading 21 by 0.50 \u00b1 0.25 \u03a9, "
        "while the inner conductor plate was flexed, whatever the limits."
    )


def flex(*ohm, a="3", b="11", **more):
    return FlexTest(from_node=a, to_node=b, ohm=ohm, **more)


def judged(*bodies):
    return judged_whole(Ledger(entries_of([job(), *bodies])).session(), VARIANT, None)


def flexed(whole):
    return [row for row in whole.rows if row.kind == "flex"]


STEADY = (5.2, 5.3) * 15


def test_a_flex_test_is_a_row_of_its_own_with_the_name_of_its_device():
    (row,) = flexed(judged(flex(*STEADY)))
    assert (row.key, row.what, row.from_node, row.to_node) == ("flex Heron", "Heron, flex test", "3", "11")
    assert (row.verdict, row.entries, row.at) == (Verdict.PASS, (2,), "case_connector")


def test_a_calm_reading_never_hides_a_fail_nor_does_a_calm_flex_test():
    whole = judged(reading("3", "11", 5.2), flex(5.2, 5.2, None, 5.2), reading("3", "11", 5.2), flex(*STEADY))
    assert (whole.items["device Heron"], whole.items["flex Heron"]) == (Verdict.PASS, Verdict.FAIL)
    assert whole.verdict is Verdict.FAIL
    assert "flex test 0 of 1 passed, 1 failed" in whole.scope


def test_a_flex_test_counts_for_no_electrical_item():
    whole = judged(flex(*STEADY))
    assert "Heron" in [one.what for one in whole.missing]
    assert whole.scope.startswith("0 of ")


def test_readings_typed_one_by_one_are_one_series():
    bodies = [flex(5.2), *(flex(ohm, follows=2) for ohm in (*STEADY[1:], None))]
    (row,) = flexed(judged(*bodies))
    assert row.entries == tuple(range(2, 33))
    assert (row.verdict, row.flex.found.events[0].sample) == (Verdict.FAIL, 31)


def test_another_place_flexed_is_another_row_and_both_count():
    whole = judged(flex(*STEADY), flex(5.2, None, 5.2, flexed=PLATE))
    assert [row.flex.flexed for row in flexed(whole)] == ["the harness at the plug", PLATE]
    assert whole.items["flex Heron"] is Verdict.FAIL


def test_a_withdrawn_reading_leaves_the_series_and_a_corrected_one_counts_as_it_is_now():
    bodies = [flex(5.2), *(flex(ohm, follows=2) for ohm in (*STEADY[1:], None))]
    assert flexed(judged(*bodies, Withdraw(entry=32)))[0].verdict is Verdict.PASS
    (row,) = flexed(
        judged(*bodies, Correct(entry=32, why="typed wrong", body=msgspec.to_builtins(flex(5.2, follows=2))))
    )
    assert (row.verdict, row.is_corrected) == (Verdict.PASS, True)


def test_a_node_that_nobody_knows_is_asked_about():
    (row,) = flexed(judged(flex(*STEADY, b="77")))
    assert "77 is no pin, joint or terminal of this variant" in row.reasons[-1]


def test_a_pair_without_a_device_is_named_by_its_nodes():
    (row,) = flexed(judged(flex(*STEADY, a="4", b="case")))
    assert (row.key, row.what) == ("flex 4 and case", "4 and case, flex test")
