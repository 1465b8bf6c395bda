"""Moving the band to the coil and correcting the reading to the reference are one question."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest

from valvebench.judge import decide
from valvebench.judge.resistance import judge
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.words import LeadState, Rule
from valvebench.physics.conductor import resistance_at

CASES = 10_000
CONDUCTORS = (234.5, 235.0, 225.0)


def tenths(rng, low, high, places):
    return Decimal(rng.randint(int(low * 10**places), int(high * 10**places))) / 10**places


def bands(seed):
    """Decimal limits, guards, temperatures and readings; a third sit on a limit or on a guard line."""
    rng = random.Random(seed)
    for _ in range(CASES):
        low, width, guard = tenths(rng, 1, 30, 2), tenths(rng, 0.01, 5, 2), tenths(rng, 0, 3, 3)
        high = low + width
        anywhere = tenths(rng, float(low) - 2.0, float(high) + 2.0, 3)
        special = (low, high, low + guard, high - guard, low - guard, high + guard)
        value = rng.choice(special) if rng.random() < 0.35 else anywhere
        celsius, ref, k = tenths(rng, -40, 150, 1), tenths(rng, 0, 40, 0), rng.choice(CONDUCTORS)
        yield (*tuple(float(x) for x in (low, high, guard, value, celsius, ref)), k)


def exactly(value, guard, low, high):
    """The zones of JCGM 106 in exact decimals, limits and guard lines counted inside."""
    value, guard, low, high = (Decimal(repr(x)) for x in (value, guard, low, high))
    if low + guard <= value <= high - guard:
        return decide.PASS
    return decide.FAIL if value < low - guard or value > high + guard else decide.CANT_TELL


def test_moved_band_and_corrected_reading_never_disagree():
    seen = set()
    for low, high, guard, value, celsius, ref, k in bands(seed=20310504):
        at_ref = decide.decide(value, guard=guard, low=low, high=high)
        factor = resistance_at(1.0, from_celsius=ref, to_celsius=celsius, k_celsius=k)
        moved = [resistance_at(x, from_celsius=ref, to_celsius=celsius, k_celsius=k) for x in (value, guard, low, high)]
        at_coil = decide.decide(moved[0], guard=moved[1], low=moved[2], high=moved[3])
        assert (at_coil.verdict, at_coil.plain) == (at_ref.verdict, at_ref.plain), (low, high, guard, value, factor)
        assert at_ref.verdict == exactly(value, guard, low, high)
        seen.add(at_ref.verdict)
    assert seen == {decide.PASS, decide.FAIL, decide.CANT_TELL}


@pytest.mark.parametrize("rule", Rule)
def test_a_judged_reading_says_the_same_against_its_moved_limits(rule):
    """What the answer prints as limits at the coil decides as the answer did at the reference."""
    rng = random.Random(7)
    for _ in range(500):
        low = float(tenths(rng, 4, 8, 1))
        limits = Limits(low_ohm=low, high_ohm=low + 1.0, ref_celsius=25.0, k_celsius=rng.choice(CONDUCTORS))
        celsius, ohm = float(tenths(rng, -20, 140, 1)), float(tenths(rng, 4, 14, 2))
        measured = Measured(ohm=ohm, celsius=celsius, meter="0.5%+2x0.01", leads=LeadState.NULLED)
        found = judge(measured, limits, rule=rule)
        factor = found.ohm / found.ohm_at_ref
        again = decide.decide(
            found.ohm,
            guard=found.guard_ohm * factor,
            low=found.low_ohm_at_celsius,
            high=found.high_ohm_at_celsius,
        )
        assert decide.VERDICTS[again.verdict] is found.verdict
        assert decide.VERDICTS[again.plain] is found.plain_verdict


@pytest.mark.parametrize("celsius", [-40.0, 0.0, 23.4, 60.0, 110.0, 150.0])
@pytest.mark.parametrize("limit", [5.0, 6.0, 4.9, 5.5, 0.3])
def test_a_reading_exactly_on_a_moved_limit_is_inside(limit, celsius):
    """Limits count as inside, at any coil temperature."""
    ohm = resistance_at(limit, from_celsius=20.0, to_celsius=celsius, k_celsius=234.5)
    measured = Measured(ohm=ohm, celsius=celsius, u_celsius=0.0, u_ohm=0.0, leads=LeadState.FOUR_WIRE)
    for limits in (Limits(low_ohm=limit), Limits(high_ohm=limit), Limits(low_ohm=limit, high_ohm=limit)):
        assert judge(measured, limits).verdict.value == "pass"
