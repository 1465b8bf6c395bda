"""How often comparing two bodies is right: a study with a truth of its own, `--study` for the long form.

Truth: copper at one unknown temperature, one gain and one lead resistance for both bodies
(rectangles of the meter's percent, the leads and the probe), counts drawn anew for each reading.
What a booklet's counts permit can be drawn in three ways, and each is printed:

- *as stated*: every display within so many counts of the truth is as likely (a rectangle, JCGM 100,
  4.3.7, the display's rounding being part of the counts).  This is what the budget states, and what
  the coverage is asserted on.
- *kinder*: noise and rounding together never leave the counts, and rarely come near their ends.
- *harder*: the rounding comes on top of the counts, which a booklet does not permit.
"""

from __future__ import annotations

import math
import random
import zlib
from math import sqrt

import pytest

from tests.unit.report.samples import session_of
from valvebench.diagnose.compare import compare
from valvebench.diagnose.compared import Side
from valvebench.model.entry import Reading
from valvebench.model.words import LeadState, TemperatureSource

FINE = "0.5%+5x0.01"
OHM, STEP_OHM, COUNTS, GAIN, LEAD_OHM = 5.0, 0.01, 5, 0.005, 0.2
COPPER_K = 234.5  # IEC 60028: 1/0.00393 - 20 = 234.45
PROBE_CELSIUS = 2.0
MOST_CALLED_DIFFERENT, LEAST_FOUND, COVERAGE = 0.065, 0.95, (0.93, 0.98)


def as_stated(rng, steps):
    """Any whole number of steps within the counts."""
    return rng.randint(math.ceil(steps - COUNTS), math.floor(steps + COUNTS))


def kinder(rng, steps):
    """Half a step less of noise, then rounded."""
    return round(steps + rng.uniform(0.5 - COUNTS, COUNTS - 0.5))


def harder(rng, steps):
    """All the counts as noise, then rounded."""
    return round(steps + rng.uniform(-COUNTS, COUNTS))


class Bench:
    """One afternoon: gain, leads and probe are wrong by the same amount for everything."""

    def __init__(self, rng, counts):
        self._rng, self._counts = rng, counts
        self._gain = 1.0 + rng.uniform(-GAIN, GAIN)
        self._lead_ohm = rng.uniform(0.0, LEAD_OHM)
        self._celsius = rng.uniform(15.0, 30.0)
        self._typed = round(self._celsius + rng.uniform(-PROBE_CELSIUS, PROBE_CELSIUS), 1)

    def read(self, ohm_at_20):
        true_ohm = ohm_at_20 * (COPPER_K + self._celsius) / (COPPER_K + 20.0) + self._lead_ohm
        steps = self._counts(self._rng, true_ohm * self._gain / STEP_OHM)
        return Reading(
            from_node="1",
            to_node="2",
            ohm=round(steps * STEP_OHM, 2),
            celsius=self._typed,
            temperature=TemperatureSource.TAPED,
            meter=FINE,
            leads=LeadState.NEITHER,
        )


def once(rng, counts, change):
    bench = Bench(rng, counts)
    sides = [Side(session_of(bench.read(ohm)), None) for ohm in (OHM * (1.0 + change), OHM)]
    (row,) = compare(*sides)
    covered = abs(row.difference - OHM * change) <= row.k * row.u_difference
    return row.significant, covered


def run(counts, change, number):
    rng = random.Random(zlib.crc32(f"{counts.__name__} {change}".encode()))
    found = [once(rng, counts, change) for _ in range(number)]
    return tuple(sum(column) / number for column in zip(*found, strict=True))


def line(name, share, number):
    return f"{name:<48}{share:8.4f} +- {sqrt(share * (1 - share) / number):.4f}"


def printed(counts, number):
    """The shares of one truth, on paper and returned."""
    equal, changed = run(counts, 0.0, number), run(counts, 0.05, number)
    name = counts.__name__.replace("_", " ")
    print(f"\nCompare study, counts {name}, {number} devices each (share +- its Monte-Carlo standard error)")
    print(line(f"{name}: equal called different", equal[0], number))
    print(line(f"{name}: 5 % on 5 ohm found", changed[0], number))
    print(line(f"{name}: coverage, equal", equal[1], number))
    print(line(f"{name}: coverage, 5 % more", changed[1], number))
    return equal, changed


def study(number):
    for counts in (as_stated, kinder, harder):
        equal, changed = printed(counts, number)
        assert changed[0] >= LEAST_FOUND
        if counts is not harder:
            assert equal[0] <= MOST_CALLED_DIFFERENT
            assert min(equal[1], changed[1]) >= COVERAGE[0]
        if counts is as_stated:
            assert max(equal[1], changed[1]) <= COVERAGE[1]


def test_compare_study_in_short():
    study(1000)


@pytest.mark.study
def test_compare_study():
    study(20_000)
