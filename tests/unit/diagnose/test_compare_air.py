"""Leaks and pressures of two bodies: what both tests share cancels, what is each one's own does not.

Expected numbers by hand: correlated terms enter by their difference (JCGM 100:2008, 5.2.2), the rest in squares.
"""

from __future__ import annotations

import pytest

from tests.data.made_air import leak_found, leak_test, pressure, seat_test, vacuum_test
from tests.unit.diagnose.test_compare import row, rows, session
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import comparison
from valvebench.model.air_tests import LeakTest
from valvebench.model.leak import LeakLine, LeakMethod

NOISE = 0.5


def decay(ml_min, port="P6", *, at=300.0, **said):
    """A vessel of 50 ml known to 10 %, and a noise; the standard uncertainties are those of its lines."""
    lines = (LeakLine(term="volume", u_ml_min=0.1 * ml_min), LeakLine(term="noise", u_ml_min=NOISE))
    found = leak_found(ml_min, at=at, method=LeakMethod.DECAY, lines=lines)
    given = {"volume_ml": 50.0, "volume_pct": 10.0, "t_s": (0.0, 60.0), "kpa_gauge": (300.0, 280.0), "found": found}
    return LeakTest(port=port, method=LeakMethod.DECAY, **{**given, **said})


def steady(ml_min, **said):
    """Two gauges: 250 kPa at the port, a gauge of 1 % + 2.5 kPa, so that half of its line is counts."""
    lines = (LeakLine(term="restriction", u_ml_min=8.0), LeakLine(term="port gauge", u_ml_min=4.0))
    found = leak_found(ml_min, lines=lines, gauge="1%+1x2.5 (kPa)")
    return leak_test("P6", found=found, **said)


def test_one_hose_is_common_and_acts_on_the_difference_alone():
    found = row(decay(44.0), decay(40.0))
    assert (found.what, found.unit, found.difference) == ("leak P6 (decay)", "ml/min", 4.0)
    assert found.u_difference == pytest.approx((0.4**2 + 2 * NOISE**2) ** 0.5)
    assert (found.significant, found.common) == (True, ("hose", "volume"))


@pytest.mark.parametrize(
    ("changed", "hours"),
    [
        pytest.param({"hose_id": "long"}, (8, 9), id="another hose"),
        pytest.param({"volume_ml": 60.0}, (8, 9), id="another volume"),
        pytest.param({}, (8, 11), id="three hours later"),
    ],
)
def test_what_is_not_shared_counts_twice(changed, hours):
    found = row(decay(44.0), decay(40.0, **changed), hours=hours)
    assert found.u_difference == pytest.approx((4.4**2 + 4.0**2 + 2 * NOISE**2) ** 0.5)
    assert (found.significant, found.common) == (False, ())


def test_the_counts_of_one_gauge_stay_each_readings_own():
    found = row(steady(250.0), steady(240.0))
    assert found.common == ("gain", "restriction")
    assert found.u_difference == pytest.approx(
        (2 * 2.0**2) ** 0.5
    )  # half of 4, of either; the rest is the same in both
    other = row(steady(250.0), steady(240.0, gauge_id="blue"))
    assert other.common == ("restriction",)
    assert other.u_difference == pytest.approx((2 * 4.0**2) ** 0.5)
    assert "Not the same gauge" in other.why


def test_a_leak_told_at_another_pressure_is_not_compared_and_says_so():
    found = row(decay(44.0), decay(20.0, at=200.0))
    assert (found.a, found.b, found.significant, found.difference) == (44.0, 20.0, None, None)
    assert "Tell both at the same pressure" in found.why


def test_a_leak_without_a_number_is_not_compared():
    blind = decay(44.0, found=leak_found(None, at=300.0, method=LeakMethod.DECAY, lines=()))
    assert row(blind, decay(40.0)).significant is None


def test_the_newest_of_several_counts_and_methods_are_held_apart():
    (found,) = rows([decay(90.0), decay(44.0)], [decay(40.0), leak_test("P6", 20.0)])
    assert (found.a, found.b) == (44.0, 40.0)


def test_one_gauge_shares_its_percent_and_not_its_counts():
    found = row(pressure(450.0, gauge="1%+1x1"), pressure(444.0, gauge="1%+1x1"))
    own = 1.0 / 3**0.5
    gain = 0.01 * (450.0 - 444.0) / 3**0.5
    assert (found.what, found.unit, found.difference) == ("tap Line (idle)", "kPa", 6.0)
    assert found.u_difference == pytest.approx((2 * own**2 + gain**2) ** 0.5)
    assert (found.common, found.significant) == (("gain",), True)
    apart = row(pressure(450.0, gauge="1%+1x1"), pressure(444.0, gauge="1%+1x1", gauge_id="blue"))
    assert apart.u_difference == pytest.approx((2 * own**2 + (4.5**2 + 4.44**2) / 3) ** 0.5)
    assert (apart.common, apart.significant) == ((), False)


def test_pressures_are_compared_equally_warm_in_one_state():
    assert rows(pressure(450.0), pressure(450.0, state="load")) == ()
    assert rows(pressure(450.0), pressure(450.0, "Auk")) == ()
    found = row(pressure(450.0), pressure(400.0, celsius=40.0))
    assert (found.significant, found.u_difference) == (None, None)
    assert "80 and 40 degrees" in found.why
    near = row(pressure(450.0), [pressure(400.0, celsius=40.0), pressure(449.5, celsius=81.0), pressure(1.0, "Auk")])
    assert (near.b, near.significant) == (449.5, False)


def test_the_words_carry_the_unit_and_name_what_one_body_alone_has():
    sides = [Side(session(*bodies, hour=hour), None) for bodies, hour in (([decay(44.0)], 8), ([decay(40.0)], 9))]
    assert comparison(*sides).sentence == "Leak P6 (decay) differs: 4.0 \u00b1 1.6 ml/min higher than in the other body"
    more = Side(session(decay(40.0), pressure(450.0), leak_test("P7", 5.0), hour=9), None)
    assert comparison(sides[0], more).only_b == ("leak P7 (steady)", "tap Line (idle)")


def test_one_known_hole_is_common_whatever_the_pump_held_that_day():
    lines = (LeakLine(term="known hole", u_ml_min=4.0), LeakLine(term="repeats", u_ml_min=1.0))
    found = [leak_found(ml, at=-83.0, method=LeakMethod.VACUUM, lines=lines) for ml in (240.0, 230.0)]
    tests = [vacuum_test("P4", 0.0, found=one, known_kpa=kpa) for one, kpa in zip(found, (61.0, 61.2), strict=True)]
    shown = row(*tests)
    assert (shown.common, shown.u_difference) == (("restriction",), pytest.approx(2**0.5))


def test_the_percent_of_a_vacuum_gauge_is_common_whole_for_its_counts_have_lines_of_their_own():
    lines = (LeakLine(term="gauge", u_ml_min=3.0), LeakLine(term="reading", u_ml_min=1.0))
    found = [leak_found(ml, at=-83.0, method=LeakMethod.VACUUM, lines=lines) for ml in (240.0, 230.0)]
    shown = row(*(vacuum_test("P4", 0.0, found=one) for one in found))
    assert (shown.common, shown.u_difference) == (("gain",), pytest.approx(2**0.5))


def test_a_seat_is_compared_with_the_same_seat_and_with_no_port_of_that_name():
    found = row(seat_test("Gull", 30.0), seat_test("Gull", 20.0))
    assert (found.what, found.difference) == ("leak Gull, seat (steady)", 10.0)
    assert rows(seat_test("Gull"), leak_test("Gull")) == ()
