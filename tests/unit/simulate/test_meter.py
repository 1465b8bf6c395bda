"""The simulated meter and probe stay inside their booklets."""

from __future__ import annotations

import pytest

from valvebench.model.meter import parse_meter
from valvebench.model.words import LeadState
from valvebench.simulate.meter import OhmMeter, Probe, decade_ranges, decimal_steps
from valvebench.simulate.quillon import COARSE_METER, FINE_METER, ROOM_THERMOMETER, TAPED_PROBE
from valvebench.simulate.seed import dice

RANGES = decade_ranges(lowest_full_ohm=600.0, lowest_step_ohm=0.01, count=6)


def meter(**more):
    facts = {"name": "a meter", "percent": 1.0, "counts": 3, "ranges": RANGES} | more
    return OhmMeter(**facts)


def test_ranges_go_up_to_60_megohm():
    assert [r.full_ohm for r in RANGES] == [600.0, 6e3, 6e4, 6e5, 6e6, 6e7]
    assert [r.step_ohm for r in RANGES] == [0.01, 0.1, 1.0, 10.0, 100.0, 1000.0]


def test_steps_are_plain_decimals():
    assert decimal_steps(531, 0.01) == 5.31
    assert decimal_steps(53, 0.1) == 5.3
    assert decimal_steps(24, 0.5) == 12.0
    assert decimal_steps(7, 1000.0) == 7000.0


@pytest.mark.parametrize("one", [FINE_METER, COARSE_METER], ids=lambda one: one.name)
@pytest.mark.parametrize("true_ohm", [0.3, 5.17, 13.5, 399.0, 2670.0, 47e3, 2e6, 5e7])
def test_the_display_stays_inside_percent_and_counts(one, true_ohm):
    chance = dice("a hundred readings")
    at_tips = true_ohm + (one.lead_ohm if one.leads is LeadState.NEITHER else 0.0)
    for _ in range(100):
        shown = one.show(true_ohm, chance)
        spec = parse_meter(one.accuracy(shown.on))
        # The booklet's percent are of the displayed value.
        assert abs(shown.ohm - at_tips) <= 0.01 * spec.percent * shown.ohm + spec.counts * spec.step + 1e-9 * true_ohm
        assert shown.ohm <= shown.on.full_ohm * 1.001


def test_over_the_highest_range_it_is_open_there():
    shown = FINE_METER.show(4e8, dice("x"))
    assert (shown.ohm, shown.on.full_ohm) == (None, 6e7)


def test_the_accuracy_of_a_range_names_its_step():
    assert FINE_METER.accuracy(RANGES[0]) == "0.9%+2x0.01"
    assert FINE_METER.accuracy(RANGES[1]) == "0.9%+2x0.1"


def test_leads_said_to_be_nulled_and_not_nulled_add_what_they_have():
    kept = meter(lead_ohm=0.2, leads=LeadState.NULLED, rest_ohm=0.35)
    nulled = meter(lead_ohm=0.2, leads=LeadState.NULLED)
    assert kept.show(5.0, dice("x")).ohm - nulled.show(5.0, dice("x")).ohm == pytest.approx(0.35, abs=0.011)
    assert kept.shorted_ohm() == pytest.approx(0.35)


def test_leads_count_unless_they_were_nulled():
    neither = meter(lead_ohm=0.2, leads=LeadState.NEITHER).show(5.0, dice("x")).ohm
    nulled = meter(lead_ohm=0.2, leads=LeadState.NULLED).show(5.0, dice("x")).ohm
    assert neither - nulled == pytest.approx(0.2, abs=0.011)
    assert meter(lead_ohm=0.2, leads=LeadState.SUBTRACT).shorted_ohm() == pytest.approx(0.2)
    assert meter(lead_ohm=0.2).shorted_ohm() == 0.0


@pytest.mark.parametrize("error", [{"gain": 0.011}, {"gain": -0.011}, {"offset_counts": 2.5}])
def test_a_meter_worse_than_its_booklet_is_refused(error):
    with pytest.raises(ValueError, match="booklet"):
        meter(**error)


@pytest.mark.parametrize(("probe", "half_width"), [(TAPED_PROBE, 2.0), (ROOM_THERMOMETER, 8.0)])
def test_probes_stay_inside_what_is_claimed_of_them(probe, half_width):
    chance = dice("probe")
    assert all(abs(probe.show(23.0, chance) - 23.0) <= half_width for _ in range(100))


def test_a_probe_shows_its_steps():
    assert Probe(offset_celsius=0.0, step_celsius=0.5).show(21.0, dice("x")) % 0.5 == 0.0
