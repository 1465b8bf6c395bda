"""What each cheap way would do, before it is done.

The numbers are worked out by hand beside each table, after JCGM 100:2008: a rectangle of half-width a
counts a/sqrt(3), a display step d counts d/sqrt(12), two-sided 95.45 % is k = 2.
"""

from __future__ import annotations

import pytest

from valvebench.judge.resistance import judge
from valvebench.judge.ways import WayKind, all_ways, cheap_ways, outlook
from valvebench.model.limits import Limits
from valvebench.model.measured import Measured
from valvebench.model.meter import Check
from valvebench.model.words import LeadState, TemperatureSource, Verdict

BAND = Limits(low_ohm=4.75, high_ohm=5.25)
SENSOR = Limits(low_ohm=2540.0, high_ohm=2800.0, k_celsius=None, slope_per_celsius=-0.0364)


def measured(ohm=5.2, **given):
    """A 0.1 ohm meter, tips of 0.2 ohm taken off; the temperature is exact: only meter and leads count."""
    known = {"celsius": 20.0, "u_celsius": 0.0, "meter": "0.9%+2x0.1", "leads": LeadState.SUBTRACT, "lead_ohm": 0.2}
    return Measured(ohm=ohm, **{**known, **given})


def ways(reading, limits=BAND, **given):
    return {way.kind: way for way in cheap_ways(reading.instrument(), reading, limits, **given)}


def seen(kind, *, ohm=None, limits=BAND, **given):
    way = ways(measured(), limits, **given)[kind]
    return outlook(way.instrument, way.measured, limits, ohm=ohm)


def test_now_it_is_a_third_of_an_ohm():
    """The published example of the trade: 0.9 % of 5 and two counts twice, u = 0.1654, U = 0.331."""
    reading = measured()
    now = outlook(reading.instrument(), reading, BAND, ohm=5.0)
    assert now.middle_U_ohm == pytest.approx(0.331, abs=5e-4)
    assert now.here_U_ohm == now.middle_U_ohm  # 5 ohm is the middle of the band
    assert (now.can_decide, now.verdict) == (False, Verdict.CANT_TELL)


@pytest.mark.parametrize(
    ("kind", "expanded_ohm", "can_decide"),
    [
        pytest.param(WayKind.NULL, 0.30556, False, id="nulled: 0.245/sqrt3 and one count 0.1/sqrt3"),
        pytest.param(WayKind.CHECK, 0.08185, True, id="check resistor: two steps 0.1/sqrt12, 0.005/sqrt3"),
        pytest.param(WayKind.VOLTS, 0.02253, True, id="volts: 0.002 V/sqrt3 twice at 5 ohm a 0.75 V, 0.005/sqrt3"),
        pytest.param(WayKind.FINER, 0.06137, True, id="a tenth of the step: 0.045/sqrt3, 0.02/sqrt3 twice"),
    ],
)
def test_what_each_way_leaves_of_the_doubt(kind, expanded_ohm, can_decide):
    found = seen(kind)
    assert found.middle_U_ohm == pytest.approx(expanded_ohm, abs=2e-5)
    assert found.can_decide is can_decide
    assert (found.here_U_ohm, found.verdict) == (None, None)


def test_a_reading_too_close_to_a_limit_stays_undecided_where_one_in_mid_band_is_decided():
    """5.2 + 0.082 reaches over 5.25."""
    found = seen(WayKind.CHECK, ohm=5.2)
    assert (found.can_decide, found.verdict) == (True, Verdict.CANT_TELL)


def test_what_was_promised_is_what_comes():
    """Read with the check resistor as promised, the reading is worth what was said."""
    promised = seen(WayKind.CHECK, ohm=5.0)
    taken = measured(5.2, check_ohm=5.0, check_read_ohm=5.2, zero_read_ohm=0.2)
    judged = judge(taken, BAND)
    assert judged.verdict is promised.verdict is Verdict.PASS
    assert judged.U_ohm_at_ref == pytest.approx(promised.here_U_ohm)


def test_a_resistor_that_is_at_hand_is_the_one_that_is_counted():
    """A resistor of 10 ohm for 5 ohm: half its reading's step, half the tips' step, the whole of the reading's."""
    step = 0.1 / 12**0.5
    half_tolerance = 0.01 * 10 / 3**0.5 * 0.5
    by_hand = 2 * (step**2 + 2 * (0.5 * step) ** 2 + half_tolerance**2) ** 0.5
    assert seen(WayKind.CHECK, known=Check(ohm=10.0, read_ohm=10.0, pct=1.0)).middle_U_ohm == pytest.approx(by_hand)


def test_the_order_is_the_cheapest_first():
    reading = measured(u_celsius=None, temperature=TemperatureSource.IR_BARE)
    assert list(ways(reading)) == [WayKind.NULL, WayKind.PROBE, WayKind.CHECK, WayKind.VOLTS, WayKind.FINER]


@pytest.mark.parametrize(
    ("reading", "limits"),
    [
        pytest.param(measured(2670.0), SENSOR, id="a sensor is no coil"),
        pytest.param(measured(60.0), Limits(low_ohm=50.5, high_ohm=70.0), id="0.15 A through 60 ohm twice is 18 V"),
    ],
)
def test_nobody_is_told_to_feed_what_cannot_be_fed(reading, limits):
    assert WayKind.VOLTS not in ways(reading, limits)
    assert all(way.kind is not WayKind.VOLTS for way in all_ways(reading.instrument(), reading, limits))


def test_with_one_limit_only_the_reading_at_hand_is_spoken_of():
    reading = measured(5.1, leads=LeadState.NULLED, lead_ohm=None)
    way = ways(reading, Limits(low_ohm=5.0))[WayKind.VOLTS]
    found = outlook(way.instrument, way.measured, Limits(low_ohm=5.0), ohm=5.1)
    assert (found.middle_U_ohm, found.can_decide, found.verdict) == (None, None, Verdict.PASS)


def test_what_has_been_done_is_not_listed_again():
    volts = Measured(
        celsius=20.0, u_celsius=0.0, volts_x=0.75, volts_check=0.75, check_ohm=5.0, leads=LeadState.FOUR_WIRE
    )
    assert ways(volts) == {}
