"""A band from the archive: which bodies count, which values are left out, and what is said."""

from __future__ import annotations

from statistics import fmean, stdev

import pytest

from valvebench.diagnose.learn import good_bodies, learn
from valvebench.diagnose.learn_words import good_means
from valvebench.diagnose.learned import Ask, Bodies, Body, Left, Read, value_of
from valvebench.model.words import JobKind, Verdict

SPREAD = (5.11, 5.13, 5.16, 5.17, 5.19, 5.20, 5.21, 5.23, 5.24, 5.27)
"""Median 5.195; deviations 0.005 0.005 0.015 0.025 0.035 0.035 0.045 0.065 0.075 0.085: their median 0.035."""


def body(n, ohm=5.2, **more):
    did_well = {"fitted": True, "comeback": "no", "months": 12.0}
    plain = {"u_ohm_at_ref": 0.01, "verdict": Verdict.PASS, **did_well, **more}
    return Body(id=f"{n:032x}", job=str(2300 + n), closed_at=f"2031-05-{n % 28 + 1:02d}", ohm_at_ref=ohm, **plain)


def found(bodies, ref_celsius=20.0):
    return Bodies("tern-body-2", "Heron", "solenoid", ref_celsius, tuple(bodies))


def of(*ohm, ask=None):
    return learn(found(body(n, one) for n, one in enumerate(ohm)), ask or Ask())


@pytest.mark.parametrize(
    ("more", "reason"),
    [
        ({}, None),
        ({"verdict": Verdict.FAIL}, None),  # an outcome counts, never a verdict
        ({"fitted": None}, Left.NOT_TOLD),
        ({"comeback": None}, Left.NOT_TOLD),
        ({"fitted": False}, Left.NOT_FITTED),
        ({"comeback": "hot"}, Left.CAME_BACK),
        ({"comeback": "cold"}, Left.CAME_BACK),
        ({"came_back": True}, Left.CAME_BACK),
        ({"is_revised": True}, Left.REVISED),
        ({"agrees": False}, Left.TWO_VALUES),
        ({"months": 11.9}, Left.TOO_SHORT),
        ({"months": None}, Left.TOO_SHORT),
        ({"months": None, "km": 30_000.0}, Left.TOO_SHORT),  # no distance was asked for
    ],
)
def test_which_bodies_did_well(more, reason):
    good, left = good_bodies([body(1, **more)], Ask())
    assert (len(good), left) == ((1, ()) if reason is None else (0, ((reason, 1),)))


@pytest.mark.parametrize(("km", "count"), [(20_000.0, 1), (19_999.0, 0), (-5.0, 0), (None, 0)])
def test_a_distance_is_as_good_as_months(km, count):
    good, _ = good_bodies([body(1, months=2.0, km=km)], Ask(km=20_000.0))
    assert len(good) == count


def test_new_bodies_of_a_supplier_count_by_their_bench_check_where_that_is_asked():
    new = body(1, fitted=None, comeback=None, months=None, kind=JobKind.BENCH_CHECK, supplier="Tern Parts  Counter")
    ask = Ask(new_from="tern parts counter")
    assert good_bodies([new], ask)[0] == (new,)
    assert good_bodies([new], Ask())[1] == ((Left.NOT_TOLD, 1),)
    others = [new._replace(kind=JobKind.COMPLAINT), new._replace(supplier="Harbour"), new._replace(supplier=None)]
    assert good_bodies(others, ask)[1] == ((Left.NOT_TOLD, 3),)
    assert good_bodies([new._replace(came_back=True)], ask)[1] == ((Left.CAME_BACK, 1),)


def test_a_serial_counts_once_and_by_its_last_visit():
    bodies = [body(1, serial="QV 0418"), body(2, serial="qv0418"), body(3, serial=None), body(4, serial=None)]
    good, left = good_bodies(bodies, Ask())
    assert [one.job for one in good] == ["2302", "2303", "2304"]
    assert left == ((Left.AGAIN, 1),)


@pytest.mark.parametrize(
    ("read", "place", "agrees"),
    [
        ([(5.2, 0.03, 3.0)], 0, True),
        ([(5.2, 0.03, 3.0), (5.29, 0.04, 40.0)], 0, True),  # 0.09 apart, 2 x 0.05 allowed
        ([(5.2, 0.03, 3.0), (5.31, 0.04, 40.0)], 0, False),
        ([(5.3, 0.04, 40.0), (5.2, 0.03, 3.0)], 1, True),
        ([(5.2, None, 3.0), (5.2, 0.03, 3.0)], 1, True),  # as near: the one that stands last
        ([(5.2, None, 3.0), (5.3, None, 4.0)], 0, False),  # no doubt is known that would allow it
    ],
)
def test_the_value_of_a_session_that_was_carried_least(read, place, agrees):
    assert value_of([Read(*one) for one in read]) == (place, agrees)


def test_the_band_by_hand():
    """k2 for 10 values at 90/95: 2.839 in printed tables (from memory); Howe's is within 1 % of it."""
    band = of(*SPREAD)
    mean, sd = fmean(SPREAD), stdev(SPREAD)
    assert (band.used, band.median_ohm, band.mad_ohm) == (10, pytest.approx(5.195), pytest.approx(0.035))
    assert band.limits.k2 == pytest.approx(2.839, rel=0.01)
    assert band.limits.low_ohm == pytest.approx(mean - 2.839 * sd, abs=0.003)
    assert band.limits.high_ohm == pytest.approx(mean + 2.839 * sd, abs=0.003)
    # one-sided 90/95 for ten values: 2.355 in printed tables (from memory)
    assert band.limits.high_alone_ohm == pytest.approx(mean + 2.355 * sd, abs=0.001)
    assert band.warnings == ()


@pytest.mark.parametrize(
    ("z", "is_flagged", "is_left_out"), [(3.4, False, False), (3.6, True, False), (5.1, True, True)]
)
def test_flagged_from_three_and_a_half_left_out_above_five(z, is_flagged, is_left_out):
    """Eleven values of which the odd one is last: median 5.20, deviations 0 .01 .01 .03 .03 .04 .04 .07 .07 .09 and
    its own, their median 0.04."""
    odd = 5.20 + z * 0.04 / 0.6745
    band = of(*SPREAD, odd)
    last = band.values[-1]
    assert last.modified_z == pytest.approx(z, abs=1e-9)
    assert (last.is_flagged, last.is_left_out) == (is_flagged, is_left_out)
    assert band.used == 11 - is_left_out
    assert any("2310" in one for one in band.warnings) == is_flagged


def test_among_few_values_nothing_is_left_out():
    """Nine values, the last 10 deviations off: named, counted."""
    band = of(*SPREAD[:8], 6.0)
    assert band.values[-1].modified_z > 5
    assert (band.used, band.values[-1].is_flagged, band.values[-1].is_left_out) == (9, True, False)


def test_no_band_is_told_from_too_little():
    assert of(5.2, 5.3).warnings[0].startswith("2 values: a band takes at least 3")
    assert of(5.2, 5.2, 5.2).warnings[0].startswith("All values are equal")
    assert learn(found([body(1, 5.2, fitted=None)] * 2), Ask()).warnings[0].startswith("None of 2 bodies is known")
    assert learn(found([body(1)], ref_celsius=None), Ask()).warnings[0].startswith("Its values were read at whatever")
    for band in (of(5.2, 5.3), of(5.2, 5.2, 5.2), of()):
        assert band.limits is None


def test_two_kinds_of_part_give_no_band():
    band = of(*SPREAD, 9.0, 9.1, 9.2)
    assert band.limits is None
    assert "a group of their own" in band.warnings[0]


def test_what_failed_and_did_well_is_named():
    bodies = [body(n, ohm, verdict=Verdict.FAIL if n == 9 else Verdict.PASS) for n, ohm in enumerate(SPREAD)]
    band = learn(found(bodies), Ask())
    assert band.limits is not None
    assert band.warnings == (
        "Job 2309 did well though the last reading was outside the limits then: they may be too narrow.",
    )


def test_a_coarse_meter_is_said():
    band = learn(found(body(n, ohm, u_ohm_at_ref=0.1) for n, ohm in enumerate(SPREAD)), Ask())
    assert band.warnings[0].startswith("One reading is known to \u00b10.2 ohm")


def test_what_good_means_is_said():
    assert good_means(Ask()) == "Good means: fitted, and not back after 12 months; never merely passed."
    assert "or 20000 km; new bodies of Counter" in good_means(Ask(km=20_000.0, new_from="Counter"))
