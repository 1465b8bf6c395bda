"""One reading judged: correction, doubt, capability, states and reasons."""

from __future__ import annotations

import math

import pytest

from valvebench.judge.resistance import at_value, judge, shown_for
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import Check, Instrument, Meter, VoltsRatio
from valvebench.model.words import ItemState, LeadState, Lean, Rule, TemperatureSource, Verdict

BAND = Limits(low_ohm=5.0, high_ohm=6.0)
FINE = {"meter": "0.1%+1x0.001", "leads": LeadState.FOUR_WIRE}


def judged(ohm=None, limits=BAND, *, rule=Rule.PROVED, **given):
    return judge(Measured(ohm=ohm, **{"celsius": 20.0, "u_celsius": 0.0, **FINE, **given}), limits, rule=rule)


@pytest.mark.parametrize(
    ("ohm", "verdict", "lean"),
    [
        (5.5, Verdict.PASS, None),
        (5.0, Verdict.CANT_TELL, Lean.INSIDE),
        (6.003, Verdict.CANT_TELL, Lean.OUTSIDE),
        (6.5, Verdict.FAIL, None),
        (0.0, Verdict.FAIL, None),
    ],
)
def test_cold_reading(ohm, verdict, lean):
    found = judged(ohm)
    assert (found.verdict, found.lean) == (verdict, lean)
    assert found.rule is Rule.PROVED
    assert found.limits is BAND


def test_numbers_of_a_warm_reading_by_hand():
    """6.178781925 ohm at 80 degrees is 5 ohm at 20 (k = 234.5); u(T) = 2/root 3, R/(k + T) at the reference."""
    found = judged(6.178781925, celsius=80.0, u_celsius=None, celsius_accuracy=2.0)
    assert found.ohm == 6.178781925
    assert found.ohm_at_ref == pytest.approx(5.0, rel=1e-9)
    assert found.ref_celsius == 20.0
    meter = (0.001 * 6.178781925 + 0.001) / math.sqrt(3) * 254.5 / 314.5
    temperature = 5.0 / 314.5 * 2 / math.sqrt(3)
    assert found.u_ohm_at_ref == pytest.approx(math.hypot(meter, temperature), rel=1e-9)
    # the temperature is 6.3 times the meter: one rectangle dominates
    assert found.is_dominated
    assert found.U_ohm_at_ref == pytest.approx(0.9545 * math.sqrt(3) * found.u_ohm_at_ref, rel=1e-12)
    assert found.low_ohm_at_celsius == pytest.approx(5.0 * 314.5 / 254.5, rel=1e-12)
    assert found.high_ohm_at_celsius == pytest.approx(6.0 * 314.5 / 254.5, rel=1e-12)
    assert [line.term for line in found.budget] == ["meter", "temperature"]
    assert sum(line.share for line in found.budget) == pytest.approx(1.0)
    assert found.guard_ohm == found.U_ohm_at_ref


def test_without_limits_there_is_no_verdict_but_a_value():
    found = judged(5.2, Limits())
    assert (found.verdict, found.plain_verdict) == (Verdict.NO_LIMIT, Verdict.NO_LIMIT)
    assert (found.lean, found.p_inside, found.can_decide) == (None, None, None)
    assert found.ohm_at_ref == 5.2
    assert found.u_ohm_at_ref > 0
    assert found.low_ohm_at_celsius is None


@pytest.mark.parametrize(
    ("limits", "ohm", "verdict"),
    [
        (Limits(low_ohm=5.0), 9.0, Verdict.PASS),
        (Limits(low_ohm=5.0), 1.0, Verdict.FAIL),
        (Limits(high_ohm=5.0), 1.0, Verdict.PASS),
        (Limits(high_ohm=5.0), 9.0, Verdict.FAIL),
    ],
    ids=["only low: high passes", "only low: low fails", "only high: low passes", "only high: high fails"],
)
def test_one_limit_can_always_be_decided(limits, ohm, verdict):
    found = judged(ohm, limits)
    assert found.verdict is verdict
    assert found.can_decide is True


@pytest.mark.parametrize(
    ("given", "able"),
    [
        pytest.param({"meter": "0.9%+2x0.1", "leads": LeadState.NULLED}, True, id="tenths, band of 1 ohm"),
        pytest.param({"meter": "1%+5x0.1", "leads": LeadState.NEITHER}, False, id="five counts of a tenth"),
        pytest.param({"meter": "0.5%+5x0.01", "leads": LeadState.NULLED}, True, id="hundredths"),
    ],
)
def test_can_this_meter_decide(given, able):
    """U - L > 2 w in mid-band (JCGM 106 7.6): widths by hand 0.49, 0.97 and 0.13 ohm against half a band of 0.5."""
    for ohm in (4.0, 5.5, 30.0):
        assert judged(ohm, **given).can_decide is able


@pytest.mark.parametrize(
    "given",
    [
        {"volts_x": 0.6, "volts_check": 0.5, "check_ohm": 5.0},
        {"ohm": 5.4, "check_ohm": 5.0, "check_read_ohm": 5.2, "zero_read_ohm": 0.2},
        {"ohm": 5.4, "leads": LeadState.SUBTRACT, "lead_ohm": 0.2},
        {"repeats_ohm": (5.4, 5.5, 5.6)},
    ],
    ids=["volts ratio", "check resistor", "tips", "repeats"],
)
def test_capability_knows_every_way_to_read(given):
    given = dict(given)
    assert judged(given.pop("ohm", None), **given).can_decide is True
    assert (
        judged(
            None if "volts_x" in given or "repeats_ohm" in given else 5.4, Limits(low_ohm=5.5, high_ohm=5.5001), **given
        ).can_decide
        is False
    )


@pytest.mark.parametrize(
    ("ohm", "given", "state"),
    [
        (0.0, {}, ItemState.BELOW_RESOLUTION),
        (0.0004, {}, ItemState.BELOW_RESOLUTION),
        (0.0005, {}, ItemState.VALUE),
        (0.2, {"leads": LeadState.SUBTRACT, "lead_ohm": 0.2}, ItemState.BELOW_RESOLUTION),
        (0.21, {"leads": LeadState.SUBTRACT, "lead_ohm": 0.2}, ItemState.VALUE),
        (5.0, {}, ItemState.VALUE),
    ],
    ids=["nothing", "less than half a step", "half a step", "no more than the tips", "more than the tips", "a value"],
)
def test_below_resolution_is_a_state(ohm, given, state):
    found = judged(ohm, **given)
    assert found.state is state
    assert any("below what it can resolve" in words for words in found.reasons) is (state is ItemState.BELOW_RESOLUTION)


def test_below_resolution_still_proves_a_short():
    found = judged(0.0, Limits(low_ohm=5.0, high_ohm=6.0))
    assert (found.state, found.verdict) == (ItemState.BELOW_RESOLUTION, Verdict.FAIL)


@pytest.mark.parametrize(
    ("limits", "range_ohm", "verdict", "plain", "advice"),
    [
        (BAND, 400.0, Verdict.FAIL, Verdict.FAIL, ""),
        (Limits(low_ohm=2540.0, high_ohm=2800.0, k_celsius=None), 400.0, Verdict.CANT_TELL, None, "above 2.80 k"),
        (Limits(low_ohm=1e6, k_celsius=None), 400.0, Verdict.CANT_TELL, None, "above 1.00 M"),
        (Limits(low_ohm=1e6, k_celsius=None), 6e7, Verdict.PASS, Verdict.PASS, ""),
        (Limits(), 400.0, Verdict.NO_LIMIT, Verdict.NO_LIMIT, ""),
    ],
    ids=["coil", "sensor, range too low", "isolation, range too low", "isolation", "no limit"],
)
def test_open_on_a_range(limits, range_ohm, verdict, plain, advice):
    found = judge(Measured(celsius=20.0, open=True, range_ohm=range_ohm), limits)
    assert (found.verdict, found.plain_verdict, found.state) == (verdict, plain, ItemState.OPEN)
    assert found.range_ohm == range_ohm
    assert (found.ohm, found.can_decide, found.p_inside, found.U_ohm_at_ref) == (None, None, None, None)
    assert advice in " ".join(found.advice)
    assert bool(found.advice) is (verdict is Verdict.CANT_TELL)
    assert any("no more" in words for words in found.reasons)


def test_open_is_held_against_limits_at_the_coil_temperature():
    """10 ohm at 20 degrees is 12.36 ohm at 80: open on a 12 ohm range proves nothing there."""
    limits = Limits(high_ohm=10.0)
    assert judge(Measured(celsius=20.0, open=True, range_ohm=12.0), limits).verdict is Verdict.FAIL
    assert judge(Measured(celsius=80.0, open=True, range_ohm=12.0), limits).verdict is Verdict.CANT_TELL


def test_not_soaked_is_not_usable_and_says_what_to_do():
    found = judged(5.5, u_celsius=None, temperature=TemperatureSource.NOT_SOAKED)
    assert found.verdict is Verdict.NOT_USABLE
    assert found.ohm == 5.5
    assert (found.ohm_at_ref, found.plain_verdict, found.can_decide, found.lean) == (None, None, None, None)
    assert "soaked" in found.reasons[0]
    assert found.advice


def test_reference_not_stated_is_assumed_and_said():
    stated, assumed = judged(5.5), judged(5.5, Limits(low_ohm=5.0, high_ohm=6.0, is_ref_stated=False))
    assert assumed.u_ohm_at_ref > stated.u_ohm_at_ref
    assert [line.term for line in assumed.budget] == ["meter", "temperature", "reference not stated"]
    assert any("20 degrees assumed" in words for words in assumed.reasons)
    assert not any("20 degrees assumed" in words for words in stated.reasons)


def test_a_band_that_does_not_move_with_copper():
    found = judged(5.5, Limits(low_ohm=5.0, high_ohm=6.0, k_celsius=None), celsius=80.0)
    assert found.ohm_at_ref == found.ohm == 5.5
    assert found.ref_celsius is None
    assert (found.low_ohm_at_celsius, found.high_ohm_at_celsius) == (5.0, 6.0)
    assert [line.term for line in found.budget] == ["meter"]


@pytest.mark.parametrize("slope", [-0.04, 0.04], ids=["falling", "rising"])
def test_a_sensor_widens_with_its_own_slope(slope):
    """5.5 ohm x 0.04 /K x 1 K = 0.22 ohm."""
    limits = Limits(low_ohm=5.0, high_ohm=6.0, k_celsius=None, slope_per_celsius=slope)
    found = judged(5.5, limits, u_celsius=1.0)
    assert {line.term: line.u_ohm for line in found.budget}["temperature"] == pytest.approx(0.22, rel=1e-12)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"meter": None}, "Assumed meter: 1%+3x0.1"),
        ({"meter_is_assumed": True}, "Assumed meter: 0.1%+1x0.001"),
        ({"leads": LeadState.NEITHER}, "Leads neither nulled nor taken off: 0.1"),
        ({"u_celsius": None}, "plus or minus 10 degrees"),
        ({"u_celsius": None, "temperature": TemperatureSource.UNKNOWN}, "plus or minus 10 degrees"),
    ],
)
def test_what_was_assumed_is_said(given, words):
    assert any(words in reason for reason in judged(5.5, **given).reasons)


@pytest.mark.parametrize("words", ["Assumed meter", "Leads neither", "plus or minus", "20 degrees assumed"])
def test_what_was_not_assumed_is_not_said(words):
    assert not any(words in reason for reason in judged(5.5).reasons)


@pytest.mark.parametrize(
    ("ohm", "rule", "words"),
    [
        (5.5, Rule.PROVED, "Pass: the whole interval lies inside the limits."),
        (6.5, Rule.PROVED, "Fail: the whole interval lies outside the limits."),
        (6.0, Rule.PROVED, "Can't tell: the reading lies inside"),
        (6.003, Rule.PROVED5, "Can't tell: the reading lies outside"),
        (6.0, Rule.PLAIN, "Pass by plain comparison"),
        (6.003, Rule.PLAIN, "Fail by plain comparison"),
    ],
)
def test_headline(ohm, rule, words):
    found = judged(ohm, rule=rule)
    assert found.reasons[0].startswith(words)
    assert any("chance" in reason for reason in found.reasons) is (found.verdict is Verdict.CANT_TELL)
    assert "Most of the doubt comes from the meter." in found.reasons[1]


def test_no_doubt_has_no_widest_part():
    found = judged(5.5, u_ohm=0.0)
    assert (found.U_ohm_at_ref, found.verdict) == (0.0, Verdict.PASS)
    assert not any("Most of the doubt" in reason for reason in found.reasons)


def test_headline_of_an_interval_wider_than_the_band():
    assert judged(5.5, meter="1%+9x0.1").reasons[0].startswith("Can't tell: the interval is wider")
    assert judged(5.5, Limits()).reasons[0].startswith("No limit")


def test_the_plain_rule_has_no_guard_but_keeps_the_doubt():
    found = judged(6.0, rule=Rule.PLAIN)
    assert (found.verdict, found.guard_ohm) == (Verdict.PASS, 0.0)
    assert found.U_ohm_at_ref > 0


@pytest.mark.parametrize(
    ("count", "dof"), [(1, None), (2, None), (4, None), (5, 4.0)], ids=["one", "two pooled", "four pooled", "five"]
)
def test_degrees_of_freedom_of_repeats(count, dof):
    repeats = (5.4, 5.6, 5.5, 5.45, 5.55)[:count]
    given = {"repeats_ohm": repeats} if count > 1 else {"ohm": 5.4}
    found = judge(Measured(celsius=20.0, u_celsius=0.0, u_ohm=1e-9, leads=LeadState.FOUR_WIRE, **given), BAND)
    assert found.nu_eff == (pytest.approx(dof) if dof else None)
    assert found.ohm == pytest.approx(math.fsum(repeats) / count)


def test_pooled_spread_serves_two_to_four_repeats():
    measured = Measured(celsius=20.0, u_celsius=0.0, repeats_ohm=(5.4, 5.6), u_ohm=0.0, leads=LeadState.FOUR_WIRE)
    assert judge(measured, BAND, pooled_sd_ohm=0.02).u_ohm_at_ref == pytest.approx(0.02 / math.sqrt(2), rel=1e-12)


def test_a_meter_check_serves_where_the_reading_has_none():
    measured = Measured(celsius=20.0, u_celsius=0.0, ohm=5.5, meter="1%+3x0.01")
    found = judge(measured, BAND, check=Check(ohm=5.0, read_ohm=5.2, zero_ohm=0.2))
    assert found.ohm == pytest.approx(5.3, rel=1e-12)
    assert {line.term for line in found.budget} >= {"check resistor", "tips reading step"}


VOLTS = VoltsRatio(volts_x=0.5, volts_check=0.25, meter=Meter(percent=0.5, counts=2.0, step=0.001))


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ({}, 5.6),
        ({"leads": LeadState.SUBTRACT, "lead_ohm": 0.25}, 5.75),
        ({"leads": LeadState.FOUR_WIRE}, 5.5),
        ({"check": Check(ohm=5.0, read_ohm=10.25, zero_ohm=0.25)}, 11.25),
        ({"check": Check(ohm=5.0, read_ohm=5.0), "volts": VOLTS}, 5.5),
    ],
    ids=["allowance of 0.2", "tips", "four wires", "check resistor", "volts"],
)
def test_what_the_meter_would_show_for_five_and_a_half_ohm(given, shown):
    assert shown_for(Instrument(meter=Meter(percent=1.0, counts=2.0, step=0.1), **given), 5.5) == pytest.approx(
        shown, rel=1e-12
    )


def test_a_volts_ratio_as_it_would_stand_for_another_value():
    instrument = Instrument(meter=VOLTS.meter, check=Check(ohm=5.0, read_ohm=5.0), volts=VOLTS)
    assert at_value(instrument, 4.0).volts.volts_x == pytest.approx(0.2, rel=1e-12)
    plain = Instrument(meter=VOLTS.meter)
    assert at_value(plain, 4.0) is plain
