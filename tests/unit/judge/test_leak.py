"""A leak against the most that is allowed: one-sided, on the limit is inside."""

from __future__ import annotations

import math

import msgspec
import pytest

from valvebench.judge.leak import WATCHED, is_look, judge_leak, next_look_s, watched
from valvebench.model.heat import Sized
from valvebench.model.leak import LeakFound, LeakLine, LeakMethod
from valvebench.model.words import Lean, Rule, Verdict


def found(value=10.0, u=0.5, **changed):
    """A leak with a normal doubt; k is 2."""
    whole = LeakFound(
        method=LeakMethod.DECAY,
        n=9,
        leak_ml_min=Sized(value=value, u=u),
        at_kpa_gauge=300.0,
        from_kpa_gauge=300.0,
        to_kpa_gauge=280.0,
        ref_celsius=20.0,
        ref_kpa_abs=100.0,
        lines=(LeakLine(term="volume", u_ml_min=u),),
        gauge="1%+1x1 (kPa)",
    )
    return msgspec.structs.replace(whole, **changed)


@pytest.mark.parametrize(
    ("limit", "rule", "verdict", "lean"),
    [
        pytest.param(11.0, Rule.PROVED, Verdict.PASS, None, id="on the guard line [ILAC-G8:09/2019 4.2.2]"),
        pytest.param(10.875, Rule.PROVED, Verdict.CANT_TELL, Lean.INSIDE, id="inside the guard zone"),
        pytest.param(9.125, Rule.PROVED, Verdict.CANT_TELL, Lean.OUTSIDE, id="outside, not proved"),
        pytest.param(8.75, Rule.PROVED, Verdict.FAIL, None, id="proved outside"),
        pytest.param(10.875, Rule.PROVED5, Verdict.PASS, None, id="1.645 u suffices at 5 % risk"),
        pytest.param(10.0, Rule.PLAIN, Verdict.PASS, None, id="exactly on the limit is inside"),
        pytest.param(9.875, Rule.PLAIN, Verdict.FAIL, None, id="plain"),
        pytest.param(None, Rule.PROVED, Verdict.NO_LIMIT, None, id="no limit"),
    ],
)
def test_verdict_of_10_with_1(limit, rule, verdict, lean):
    judged = judge_leak(found(), limit, rule=rule)
    assert (judged.verdict, judged.lean) == (verdict, lean)


def test_no_number_is_never_pass():
    nothing = found(leak_ml_min=None, lines=())
    assert judge_leak(nothing, 1000.0).verdict is Verdict.CANT_TELL
    assert judge_leak(nothing, None).verdict is Verdict.NO_LIMIT


@pytest.mark.parametrize(("limit", "lean"), [(100.0, Lean.INSIDE), (1.0, Lean.OUTSIDE)])
def test_a_run_too_fast_to_trust_is_at_best_cant_tell(limit, lean):
    judged = judge_leak(found(is_capped=True), limit)
    assert (judged.verdict, judged.lean) == (Verdict.CANT_TELL, lean)


def test_one_rectangle_that_dominates_has_its_own_factor():
    flat = found(lines=(LeakLine(term="temperature drift", u_ml_min=0.5, is_rectangular=True),))
    assert judge_leak(flat, 20.0).k_coverage == pytest.approx(1.653, abs=5e-4)  # EA-4/02 S9


def test_looking_again_and_again_widens_the_noise_alone():
    noisy = found(u_noise_ml_min=0.5)
    assert judge_leak(noisy, 20.0, is_one_of_many=True).U_ml_min == pytest.approx(1.35)
    assert judge_leak(found(), 20.0, is_one_of_many=True).U_ml_min == pytest.approx(1.0)


def test_nan_is_not_usable():
    assert judge_leak(found(value=float("nan")), 20.0).verdict is Verdict.NOT_USABLE


@pytest.mark.parametrize(
    ("since", "now", "wanted"), [(0, 4.9, False), (4.9, 5, True), (5, 9.9, False), (19, 21, True), (41, 79, False)]
)
def test_looks_stand_at_doubling_times(since, now, wanted):
    assert is_look(since, now) is wanted


def test_a_run_that_was_watched_says_so_in_its_budget():
    """U squared = (2 x 0.3)^2 + (2.7 x 0.4)^2, whoever judges it later: the rule of looks in the lines themselves."""
    lines = (LeakLine(term="volume", u_ml_min=0.3), LeakLine(term="noise", u_ml_min=0.4))
    plain = found(lines=lines, u_noise_ml_min=0.4)
    kept = watched(plain)
    by_hand = math.hypot(2 * 0.3, 2.7 * 0.4)
    assert judge_leak(kept, 20.0).U_ml_min == pytest.approx(by_hand)
    assert judge_leak(plain, 20.0, is_one_of_many=True).U_ml_min == pytest.approx(by_hand)
    assert kept.leak_ml_min.u == pytest.approx(by_hand / 2)
    assert kept.reasons[-1] == WATCHED
    assert watched(msgspec.structs.replace(plain, leak_ml_min=None)).leak_ml_min is None


@pytest.mark.parametrize(("now", "then"), [(0.0, 5.0), (5.0, 10.0), (12.0, 20.0), (100.0, 160.0)])
def test_the_next_look(now, then):
    assert next_look_s(now) == then
