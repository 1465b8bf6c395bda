"""A pressure at a tap against the window of its state and fluid temperature, the gauge's doubt counted.

The gauge has counts of 1 kPa and no percent: one rectangle, so U is 1.65 / sqrt(3) kPa (GUM 4.3.7, EA-4/02 S9).
"""

from __future__ import annotations

import pytest

from tests.data.made_air import leak_test, pressure
from tests.data.made_up import entries_of, job, variant_of
from valvebench.bench.judging import judged_whole
from valvebench.judge.tap import judge_pressure
from valvebench.model.entry import Withdraw
from valvebench.model.errors import BadInput
from valvebench.model.session import Ledger
from valvebench.model.variant import Tap, TapWindow
from valvebench.model.words import Lean, Rule, Verdict

HOT = {"low_celsius": 60, "high_celsius": 100}
TAPS = [
    {
        "name": "Line",
        "shows": "the main line",
        "windows": [
            {"state": "idle", "low_kpa": 400, "high_kpa": 500, **HOT, "source": {"kind": "manual", "text": "page 31"}},
            {"state": "idle", "low_kpa": 450, "high_kpa": 600, "low_celsius": 10, "high_celsius": 40},
            {"state": "load", "low_kpa": 1200},
        ],
    },
    {"name": "Auk", "windows": [{"state": "2", "high_kpa": 20}]},
    {"name": "Brant"},
]
BODY = variant_of(taps=TAPS)


def judged(*bodies, variant=BODY, **more):
    return judged_whole(Ledger(entries_of([job(), *bodies])).session(), variant, None, **more)


def only(*bodies, **more):
    (row,) = [row for row in judged(*bodies, **more).rows if row.kind == "pressure"]
    return row


@pytest.mark.parametrize(
    ("taken", "verdict", "lean"),
    [
        pytest.param(pressure(450.0), Verdict.PASS, None, id="in the middle"),
        pytest.param(pressure(401.0), Verdict.PASS, None, id="inside by more than its doubt"),
        pytest.param(pressure(400.0), Verdict.CANT_TELL, Lean.INSIDE, id="exactly on the limit is inside, not proved"),
        pytest.param(pressure(399.5), Verdict.CANT_TELL, Lean.OUTSIDE, id="outside, not proved"),
        pytest.param(pressure(399.0), Verdict.FAIL, None, id="outside by more than its doubt"),
        pytest.param(pressure(450.0, celsius=60.0), Verdict.PASS, None, id="on the edge of its temperatures"),
        pytest.param(pressure(420.0, celsius=20.0), Verdict.FAIL, None, id="cold fluid has its own window"),
        pytest.param(pressure(420.0, celsius=50.0), Verdict.NO_LIMIT, None, id="between the two no window holds"),
        pytest.param(pressure(450.0, state=" Idle "), Verdict.PASS, None, id="capitals and blanks do not matter"),
        pytest.param(pressure(450.0, state="stall"), Verdict.NO_LIMIT, None, id="a state nobody states"),
        pytest.param(pressure(1300.0, state="load", celsius=-20.0), Verdict.PASS, None, id="a window for any warmth"),
        pytest.param(pressure(5.0, "Auk", state="2"), Verdict.PASS, None, id="one end alone"),
        pytest.param(pressure(5.0, "Brant"), Verdict.NO_LIMIT, None, id="a tap without windows"),
        pytest.param(pressure(5.0, "Lime"), Verdict.NO_LIMIT, None, id="a tap nobody knows"),
        pytest.param(
            pressure(403.0, gauge="1%+1x1"), Verdict.CANT_TELL, Lean.INSIDE, id="percent of reading counts too"
        ),
    ],
)
def test_verdict_of_a_pressure(taken, verdict, lean):
    row = only(taken)
    assert (row.verdict, row.lean) == (verdict, lean)


def test_expanded_uncertainty_of_one_rectangle():
    judged = judge_pressure(None, pressure(450.0))
    assert judged.U_kpa == pytest.approx(1.65 / 3**0.5, rel=1e-2)
    assert (judged.gauge, judged.gauge_is_assumed) == ("0%+1x1", False)
    assert judge_pressure(None, pressure(450.0, gauge=None)).gauge_is_assumed


def test_the_rule_decides_how_much_proof_is_asked_for():
    tap = Tap(name="Line", windows=(TapWindow(state="idle", low_kpa=400.0),))
    assert judge_pressure(tap, pressure(400.0), rule=Rule.PLAIN).verdict is Verdict.PASS
    assert judge_pressure(tap, pressure(400.0)).plain_verdict is Verdict.PASS


def test_what_it_says():
    row = only(pressure(450.0))
    assert row.reasons == (
        "Pass: 450.00 \u00b1 0.95 kPa, idle, 80 \u00b0C is inside 400 to 500 kPa with its doubt.",
        "It shows the main line.",
    )
    assert (row.key, row.limit_source) == ("tap Line (idle, 60 to 100 \u00b0C)", "page 31")
    assert "windows are stated for idle, load only" in only(pressure(450.0, state="stall")).reasons[0]
    cold = only(pressure(450.0, celsius=50.0)).reasons[0]
    assert "its window holds for fluid at 60 to 100 \u00b0C, 10 to 40 \u00b0C only" in cold
    assert only(pressure(5.0, "Lime")).reasons[-1] == "Did you mean Line?"
    assert only(pressure(5.0), variant=None).verdict is Verdict.NO_LIMIT


def test_every_window_is_asked_for_once_a_pressure_was_read():
    keys = [
        *("tap Line (idle, 60 to 100 \u00b0C)", "tap Line (idle, 10 to 40 \u00b0C)", "tap Line (load)", "tap Auk (2)"),
    ]
    assert not any(one.what in keys for one in judged(leak_test("P5")).missing)
    whole = judged(pressure(450.0))
    assert [one.what for one in whole.missing if one.what in keys] == keys[1:]
    assert "pressure 1 of 4 passed, 3 not taken" in whole.scope
    assert "tap" not in judged(pressure(450.0), Withdraw(entry=2)).scope


def test_pressures_count_for_no_electrical_item_and_a_fail_stands():
    whole = judged(pressure(300.0), pressure(450.0))
    assert whole.verdict is Verdict.FAIL
    assert whole.items["tap Line (idle, 60 to 100 \u00b0C)"] is Verdict.FAIL
    assert whole.scope.startswith("0 of ")


@pytest.mark.parametrize(
    ("windows", "words"),
    [
        ([{"state": "idle", "low_kpa": 500, "high_kpa": 400}], "low_kpa"),
        ([{"state": "idle", "low_celsius": 50, "high_celsius": 40}], "low_celsius"),
        ([{"state": "idle"}, {"state": "Idle "}], "one window for each state"),
        ([{"state": "idle", "high_celsius": 50}, {"state": "idle", "low_celsius": 40}], "one window for each state"),
        ([{"state": ""}], "state"),
    ],
)
def test_a_variant_whose_windows_say_two_things_is_refused(windows, words):
    with pytest.raises(BadInput, match=words):
        variant_of(taps=[{"name": "Line", "windows": windows}])


def test_a_tap_twice_is_refused_and_ranges_that_touch_are_not():
    with pytest.raises(BadInput, match="a name used once"):
        variant_of(taps=[{"name": "Line"}, {"name": "Line"}])
    windows = [{"state": "idle", "high_celsius": 50}, {"state": "idle", "low_celsius": 50}]
    assert len(variant_of(taps=[{"name": "Line", "windows": windows}]).taps[0].windows) == 2
