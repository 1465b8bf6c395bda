"""What a band learned from the archive holds, and how often drift is told: `--study` for the long form.

Truth: good parts are normal around 5.2 ohm; a bad one that nobody noticed lies so many standard deviations off, on
either side or always on one.  How much of the good parts a band holds is computed from the truth, not counted.
A shop in which no band is told counts as one whose band does not hold enough.
"""

from __future__ import annotations

import random
import zlib
from math import sqrt
from statistics import NormalDist, median

import pytest

from valvebench.diagnose.drift import FIRST, drift_of
from valvebench.diagnose.learn import learn
from valvebench.diagnose.learned import Ask, Bodies, Body
from valvebench.model.words import Verdict

GOOD = NormalDist(5.2, 0.05)
BAD_SHARE = 0.04
HOLDS, SURE_CLEAN, SURE_BAD, MOST_WIDER = 0.90, (0.93, 0.97), 0.90, 1.25
OFF = (4, 6, 10)
LATER = 100


def body(n, ohm):
    told = {"fitted": True, "comeback": "no", "months": 24.0}
    return Body(id=f"{n:032x}", job=str(n), closed_at="2031-05-06", ohm_at_ref=ohm, u_ohm_at_ref=0.005, **told,
                verdict=Verdict.PASS)  # fmt: skip


def part(rng, off, sides):
    """One part of a shop; off by nothing where no bad one slips through."""
    if off and rng.random() < BAD_SHARE:
        return GOOD.mean + rng.choice(sides) * off * GOOD.stdev
    return rng.gauss(GOOD.mean, GOOD.stdev)


def shops(number, n, off=0, sides=(-1, 1)):
    """Of each shop the share of good parts its band holds, and its width in standard deviations."""
    rng = random.Random(zlib.crc32(f"learn n={n} off={off} sides={sides}".encode()))
    held, widths, left_out = [], [], 0
    for _ in range(number):
        found = Bodies("tern", "Heron", "solenoid", 20.0, tuple(body(k, part(rng, off, sides)) for k in range(n)))
        band = learn(found, Ask())
        left_out += sum(one.is_left_out for one in band.values)
        if band.limits is None:
            held.append(0.0)
            continue
        held.append(GOOD.cdf(band.limits.high_ohm) - GOOD.cdf(band.limits.low_ohm))
        widths.append((band.limits.high_ohm - band.limits.low_ohm) / GOOD.stdev)
    share = sum(one >= HOLDS for one in held) / number
    return share, median(widths), number - len(widths), left_out / (number * n), (held, widths)


def line(name, found, number, clean_width):
    share, width, none, left_out, (held, widths) = found
    error = sqrt(share * (1 - share) / number)
    middle = sorted(widths)
    half = round(sqrt(len(middle)) / 2)  # one standard error of the median, in ranks
    spread = (middle[len(middle) // 2 + half] - middle[len(middle) // 2 - half]) / 2 / clean_width
    return (
        f"{name:<36}{share:7.3f} +- {error:.3f}  width {width:6.3f} sd, {width / clean_width:5.3f} +- {spread:.3f} of "
        f"clean, least held {min(held):.3f}, no band {none:3d}, left out {left_out:.4f}"
    )


def study(number):
    """The whole table; the shops of 30 bodies are asserted on, the others are for looking."""
    print(
        f"\nLearned bands, {number} shops a line: share whose band holds 90 % of the good parts (+- Monte-Carlo error)"
    )
    clean = shops(number, 30)
    print(line("30 bodies, clean", clean, number, clean[1]))
    bad = {(off, sides): shops(number, 30, off, sides) for off in OFF for sides in ((-1, 1), (1,))}
    for (off, sides), found in bad.items():
        where = "either side" if len(sides) == 2 else "one side"
        print(line(f"30 bodies, 4 % bad, {off} sd off, {where}", found, number, clean[1]))
    for n in (5, 9, 10, 15, 100):
        small = shops(number, n)
        print(line(f"{n} bodies, clean", small, number, small[1]))
    return clean, bad


def drifts(number, shift, later=LATER):
    """Shares of series that are told to drift, and after how many values."""
    rng = random.Random(zlib.crc32(f"drift {shift} {later}".encode()))
    after = []
    for _ in range(number):
        steady = [rng.gauss(0.0, 1.0) for _ in range(FIRST)]
        moved_at = drift_of([*steady, *(rng.gauss(shift, 1.0) for _ in range(later))]).moved_at
        after += [] if moved_at is None else [moved_at - FIRST + 1]
    share = len(after) / number
    error = sqrt(share * (1 - share) / number)
    delay = median(after) if after else 0
    print(
        f"drift, shift {shift} sd, {later} later values: told in {share:.3f} +- {error:.3f}, after {delay:g} (median)"
    )
    return share


def test_the_study_in_short():
    """Fewer shops, and bounds as much wider as their Monte-Carlo error is."""
    clean, bad = study(120)
    assert SURE_CLEAN[0] - 0.06 <= clean[0] <= 1.0
    assert all(found[0] >= SURE_BAD - 0.06 for found in bad.values())
    assert all(found[1] / clean[1] <= MOST_WIDER + 0.06 for found in bad.values())
    assert drifts(200, 0.0) <= 0.08
    assert drifts(200, 2.0) >= 0.95


@pytest.mark.study
def test_learn_study():
    clean, bad = study(1000)
    assert SURE_CLEAN[0] <= clean[0] <= SURE_CLEAN[1]
    for (off, sides), found in bad.items():
        assert found[0] >= SURE_BAD, (off, sides)
        assert found[1] / clean[1] <= MOST_WIDER, (off, sides)


@pytest.mark.study
def test_drift_study():
    assert drifts(2000, 0.0) <= 0.05
    told = {shift: drifts(2000, shift) for shift in (0.5, 1.0, 1.5, 2.0, 3.0)}
    assert told[2.0] >= 0.99
