"""Which of several like windings parts from the others as they warm; values are made by hand from the copper law.

R(t) = R20 (234.5 + t) / 254.5 (IEC 60034-1, 8.6.2); what a contact adds is invented.
"""

from __future__ import annotations

import random
import zlib

import pytest

from valvebench.diagnose.heat_odd import parting_of, shifts_of
from valvebench.diagnose.heat_rounds import Rounds
from valvebench.model.meter import Meter

UP_AND_DOWN = (20.0, 45.0, 70.0, 98.0, 80.0, 55.0, 31.0)
HUNDREDTHS = Meter(percent=0.5, counts=2, step=0.01)
TENTHS = Meter(percent=0.9, counts=2, step=0.1)
NOTHING = dict.fromkeys(UP_AND_DOWN, 0.0)
GROWING = {celsius: max(0.0, 0.016 * (celsius - 50)) for celsius in UP_AND_DOWN}
"""0.77 ohm at 98 degrees, nothing up to 50: 12 percent of 6.5 ohm of copper."""
FIXED = dict.fromkeys(UP_AND_DOWN, 1.0)


def run(name, ohm_20, added=NOTHING, *, meter=HUNDREDTHS, celsius=UP_AND_DOWN, noise=None):
    """One winding round by round, as the meter shows it."""
    true = [ohm_20 * (234.5 + t) / 254.5 + added.get(t, 0.0) for t in celsius]
    if noise is not None:
        true = [ohm * (1 + noise.uniform(-1, 1) / (234.5 + t)) for ohm, t in zip(true, celsius, strict=True)]
    shown = tuple(round(ohm / meter.step) * meter.step for ohm in true)
    places = tuple(range(1, len(celsius) + 1))
    return Rounds(name, places, places, tuple(celsius), shown, meter, 2.0, 234.5, meter.text(), meter_is_assumed=False)


def four(added=NOTHING, **more):
    return [
        run("Gull", 5.2, **more),
        run("Heron", 5.24, added, **more),
        run("Curlew", 5.12, **more),
        run("Whimbrel", 5.3, **more),
    ]


def test_copper_keeps_its_ratios():
    assert parting_of("linear", four()) == ("linear", ("Gull", "Heron", "Curlew", "Whimbrel"), True, None, None)


def test_with_a_coarse_meter_a_change_that_matters_would_not_show():
    assert parting_of("linear", four(meter=TENTHS)).keeps is None


@pytest.mark.parametrize("meter", [HUNDREDTHS, TENTHS], ids=["0.01 ohm", "0.1 ohm"])
def test_the_one_that_grows_is_named_with_how_much(meter):
    found = parting_of("linear", four(GROWING, meter=meter))
    copper = 5.24 * (234.5 + 98) / 254.5
    assert (found.keeps, found.odd, found.shift.celsius) == (False, "Heron", 98.0)
    assert abs(found.shift.value - 0.768 / copper) <= 2 * found.shift.u


def test_the_doubt_of_a_change_by_hand():
    """As worked in resources/guide/rounds.md; 0.00066, 0.00049, 0.00192 and 0.00401 squared and added, times 1.1123."""
    heron, gull = (
        run(name, 5.2, celsius=(23.4, 97.8))._replace(ohm=ohm)
        for name, ohm in (("Heron", (5.31, 7.61)), ("Gull", (5.27, 6.79)))
    )
    (shift,) = shifts_of(heron, gull)
    assert shift.value == pytest.approx(0.1123, abs=5e-5)
    assert shift.u == pytest.approx(1.1123 * (0.00066**2 + 0.00049**2 + 0.00192**2 + 0.00401**2) ** 0.5, abs=2e-5)
    assert shift.is_sure


def test_it_shows_in_the_second_round_already():
    """Long before five rounds say anything against copper."""
    found = parting_of("linear", four(GROWING, celsius=(20.0, 98.0)))
    assert (found.odd, found.shift.coldest_celsius) == ("Heron", 20.0)


def test_a_contact_that_stays_put_reads_less_and_less_beside_the_others():
    found = parting_of("linear", four(FIXED))
    assert found.odd == "Heron"
    assert found.shift.value < 0


def test_of_two_nobody_is_blamed():
    found = parting_of("linear", four(GROWING)[:2])
    assert (found.keeps, found.odd) == (False, None)


def test_where_two_of_four_move_nobody_is_blamed():
    runs = four(GROWING)
    runs[0] = run("Gull", 5.2, FIXED)
    assert (parting_of("linear", runs).keeps, parting_of("linear", runs).odd) == (False, None)


def test_too_little_span_says_nothing():
    assert parting_of("linear", four(celsius=(20.0, 25.0, 29.0))) is None


def test_rounds_are_matched_by_their_number_though_one_lacks_some():
    runs = four(GROWING)
    gull = runs[0]
    runs[0] = gull._replace(
        rounds=gull.rounds[2:], celsius=gull.celsius[2:], ohm=gull.ohm[2:], entries=gull.entries[2:]
    )
    assert parting_of("linear", runs).odd == "Heron"


def test_an_open_reading_is_no_value():
    gull, heron, *_ = four()
    opened = heron._replace(ohm=(*heron.ohm[:3], float("inf"), *heron.ohm[4:]))
    assert {shift.celsius for shift in shifts_of(gull, opened)} == {45.0, 70.0, 80.0, 55.0, 31.0}


def test_a_healthy_set_is_almost_never_said_to_part():
    """1000 sets with the last digit lost and each winding up to a degree off its round."""
    noise = random.Random(zlib.crc32(b"healthy set in rounds"))
    told = [parting_of("linear", four(noise=noise)).keeps for _ in range(1000)]
    assert told.count(False) <= 2
