"""A sweep against the hysteresis its solenoid may have, in percent of the span; finds are made up, the factor is 2."""

from __future__ import annotations

import copy

import pytest

from tests.data.made_air import sweep_test
from tests.data.made_up import VARIANT, entries_of, job, variant_of
from valvebench.bench.judging import judged_whole
from valvebench.judge.sweep import judge_sweep
from valvebench.model.session import Ledger
from valvebench.model.words import Lean, Rule, Verdict

DEVICES = copy.deepcopy(VARIANT["devices"])
DEVICES[0]["max_hysteresis_pct"] = 4.0
BODY = variant_of(devices=DEVICES)


def judged(*bodies, variant=BODY):
    return judged_whole(Ledger(entries_of([job(), *bodies])).session(), variant, None)


def only(*bodies, **more):
    (row,) = [row for row in judged(*bodies, **more).rows if row.kind == "sweep"]
    return row


@pytest.mark.parametrize(
    ("test", "verdict", "lean"),
    [
        pytest.param(sweep_test("Heron", 3.0), Verdict.PASS, None, id="4 less 2 times 0.5: on the guard line"),
        pytest.param(sweep_test("Heron", 3.25), Verdict.CANT_TELL, Lean.INSIDE, id="too close"),
        pytest.param(sweep_test("Heron", 5.25), Verdict.FAIL, None, id="proved above"),
        pytest.param(sweep_test("Heron", 0.5), Verdict.PASS, None, id="not resolved, and well below"),
        pytest.param(sweep_test("Heron", 1.0, u=2.0), Verdict.CANT_TELL, Lean.INSIDE, id="not resolved proves nothing"),
        pytest.param(sweep_test("Gull", 9.0), Verdict.NO_LIMIT, None, id="a solenoid without a limit"),
        pytest.param(sweep_test("Kite", 9.0), Verdict.NO_LIMIT, None, id="a solenoid nobody knows"),
        pytest.param(sweep_test("Heron", 4.0, noise_kpa=7.0), Verdict.PASS, None, id="noisy: by the mean, 3 %"),
    ],
)
def test_verdict_of_a_sweep(test, verdict, lean):
    row = only(test)
    assert (row.verdict, row.lean) == (verdict, lean)


def test_what_it_says():
    row = only(sweep_test("Heron", 3.0))
    assert row.reasons[0] == (
        "Pass: hysteresis (largest width) 3.0 \u00b1 1.0 % of the span, below the 4 % allowed with its doubt."
    )
    assert (row.key, row.what, row.limit_source) == ("sweep Heron", "Heron, sweep", "shop manual, page 12")
    noisy = only(sweep_test("Heron", 4.0, noise_kpa=7.0)).reasons[0]  # 1.4 % of the span, a third of 4 % is 1.33 %
    assert "mean over 10 to 90 %" in noisy
    assert "not resolved" in only(sweep_test("Heron", 1.0)).reasons[0]  # exactly twice its u does not stand out
    assert "not resolved" not in only(sweep_test("Heron", 1.125)).reasons[0]


def test_the_rule_decides_how_much_proof_is_asked_for():
    found = sweep_test("Heron", 4.0).found
    assert judge_sweep(found, 4.0, rule=Rule.PLAIN).verdict is Verdict.PASS
    assert judge_sweep(found, 4.0).plain_verdict is Verdict.PASS


def test_a_sweep_is_an_item_of_its_own_and_none_is_asked_for():
    whole = judged(sweep_test("Heron", 9.0))
    assert whole.verdict is Verdict.FAIL
    assert "sweep 0 of 1 passed, 1 failed" in whole.scope
    assert whole.scope.startswith("0 of ")
    assert not any(one.kind == "sweep" for one in judged().wanted)
