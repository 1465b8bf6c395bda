"""A Pass is never said of an interval that leaves the limits, a Fail never of one that touches them."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from valvebench.judge.resistance import judge
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.words import LeadState, Rule, Verdict

ROUNDING = 2e-9  # decimal limits may not suffer from the last binary digits; a thousand-millionth is allowed


def decimals(low, high, places):
    return st.integers(int(low * 10**places), int(high * 10**places)).map(lambda n: n / 10**places)


LEADS = st.sampled_from([{"leads": LeadState.NULLED}, {}, {"leads": LeadState.SUBTRACT, "lead_ohm": 0.2}])
READING = st.fixed_dictionaries(
    {
        "celsius": decimals(-50, 180, 1),
        "meter": st.sampled_from(["0.9%+2x0.1", "0.5%+5x0.01", "0.1%+2x0.001", "0%+0x0.1", None]),
        "celsius_accuracy": decimals(0, 20, 1),
    }
)
SHOWN = st.one_of(
    decimals(0, 60, 2).map(lambda ohm: {"ohm": ohm}),
    st.lists(decimals(4, 9, 2), min_size=2, max_size=8).map(lambda repeats: {"repeats_ohm": tuple(repeats)}),
)
LIMITS = st.builds(
    Limits,
    low_ohm=st.one_of(st.none(), decimals(0, 20, 2)),
    high_ohm=st.one_of(st.none(), decimals(20, 50, 2)),
    is_ref_stated=st.booleans(),
    k_celsius=st.sampled_from([234.5, 225.0, None]),
    slope_per_celsius=st.sampled_from([0.0, -0.04]),
)


@given(reading=READING, shown=SHOWN, leads=LEADS, limits=LIMITS, rule=st.sampled_from([Rule.PROVED, Rule.PROVED5]))
@settings(max_examples=500, deadline=None, derandomize=True)
def test_pass_and_fail_are_proved(reading, shown, leads, limits, rule):
    found = judge(Measured(**reading, **shown, **leads), limits, rule=rule)
    if not limits.is_stated:
        assert found.verdict is Verdict.NO_LIMIT
        return
    low, high = limits.low_ohm, limits.high_ohm
    width = found.U_ohm_at_ref if rule is Rule.PROVED else found.guard_ohm
    slack = ROUNDING * abs(found.ohm_at_ref)
    reaches = found.ohm_at_ref - width, found.ohm_at_ref + width
    is_inside = (low is None or reaches[0] >= low - slack) and (high is None or reaches[1] <= high + slack)
    is_outside = (low is not None and reaches[1] < low + slack) or (high is not None and reaches[0] > high - slack)
    assert found.verdict is not Verdict.PASS or is_inside
    assert found.verdict is not Verdict.FAIL or is_outside
    assert (found.lean is None) == (found.verdict is not Verdict.CANT_TELL)
    assert 0.0 <= found.p_inside <= 1.0


@given(reading=READING, shown=SHOWN, leads=LEADS, rule=st.sampled_from([Rule.PROVED, Rule.PROVED5]))
@settings(max_examples=150, deadline=None, derandomize=True)
def test_the_verdict_turns_exactly_where_the_interval_meets_the_limit(reading, shown, leads, rule):
    """Limits put just inside and just outside both ends of the interval that the answer itself states."""
    measured = Measured(**reading, **shown, **leads)
    alone = judge(measured, Limits(), rule=rule)
    value, width = alone.ohm_at_ref, alone.guard_ohm
    for share in (0.5, 0.99, 1.01, 2.0):
        reach = share * width + (1e-6 if share > 1 else -1e-6) * (abs(value) + width)
        is_covered = share > 1
        expected = Verdict.PASS if is_covered else Verdict.CANT_TELL
        for limits in (Limits(high_ohm=value + reach), Limits(low_ohm=value - reach)):
            assert judge(measured, limits, rule=rule).verdict is expected
        expected = Verdict.FAIL if is_covered else Verdict.CANT_TELL
        for limits in (Limits(high_ohm=value - reach), Limits(low_ohm=value + reach)):
            assert judge(measured, limits, rule=rule).verdict is expected


@given(reading=READING, shown=SHOWN, leads=LEADS, limits=LIMITS)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_more_proof_never_turns_a_verdict_round(reading, shown, leads, limits):
    """What the strict rule proves, the laxer rules say too."""
    measured = Measured(**reading, **shown, **leads)
    strict, lax, plain = (
        judge(measured, limits, rule=rule).verdict for rule in (Rule.PROVED, Rule.PROVED5, Rule.PLAIN)
    )
    if strict is not Verdict.CANT_TELL:
        assert lax is strict
    if lax is not Verdict.CANT_TELL:
        assert plain is lax


@given(range_ohm=decimals(1, 1000, 1), limits=LIMITS)
@settings(max_examples=200, deadline=None, derandomize=True)
def test_open_proves_only_above_its_range(range_ohm, limits):
    found = judge(Measured(celsius=20.0, open=True, range_ohm=range_ohm), limits)
    low, high = limits.low_ohm, limits.high_ohm
    if found.verdict is Verdict.PASS:
        assert high is None
        assert range_ohm > low
    if found.verdict is Verdict.FAIL:
        assert range_ohm > high
    assert found.ohm is None
