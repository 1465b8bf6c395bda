"""How often what is said of a flexed series is so: `flex_truth` of known truth, each cell many times.

The short form holds a few series of each cell against binomial bounds, and all healthy ones together.
The long form (`--study`) takes 1,000 of each, prints every share and names each cell that misses by
more than chance explains.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import NamedTuple

import pytest
from scipy.stats import binom

from tests.external.flex_truth import DISPLAY_OHM, DRIFTS, METER, Truth, dice_of, made
from valvebench.diagnose.flex import look_at

SHORT, LONG = 10, 1000
ONE_IN_TEN_THOUSAND, ONE_IN_A_HUNDRED = 1e-4, 0.01
MEMORIES = (0.0, 0.6, 0.9)
NOISES_OHM = (0.02, 0.003)
COUNTS = (30, 120, 600)
STEADY_DRIFTS = tuple(DRIFTS)[:3]


class Cell(NamedTuple):
    """A name, one series as a function of dice that says whether it went well, and how often it must."""

    name: str
    run: Callable
    share: float


def healthy(count, noise_ohm, memory, drift):
    def run(dice):
        return not look_at(made(Truth(count, noise_ohm, memory, drift), dice), METER).events

    return Cell(f"healthy, {count} readings, noise {noise_ohm}, memory {memory}, {drift}", run, 0.99)


def stepped(count, noise_ohm, memory, drift, times):
    """A step of so many deviations of the noise, and of the display's step where that is the coarser."""

    def run(dice):
        first = int(dice.integers(count // 4, count - count // 4))
        size_ohm = times * max(noise_ohm, DISPLAY_OHM) * float(dice.choice([-1, 1]))
        truth = Truth(count, noise_ohm, memory, drift, "step", first, size_ohm=size_ohm)
        steps = [event for event in look_at(made(truth, dice), METER).events if event.kind == "step"]
        return any(abs(one.sample - 1 - first) <= 2 and one.size_ohm.value * size_ohm > 0 for one in steps)

    name = f"step of {times} x noise, {count} readings, noise {noise_ohm}, memory {memory}, {drift}"
    return Cell(name, run, 0.95)


def opened(count, noise_ohm, lasts):
    def run(dice):
        first = int(dice.integers(0, count - lasts + 1))
        found = look_at(made(Truth(count, noise_ohm, 0.6, kind="open", first=first, lasts=lasts), dice), METER)
        return [(e.kind, e.sample, e.count) for e in found.events] == [("open", first + 1, lasts)]

    return Cell(f"open in {lasts} of {count} readings, noise {noise_ohm}", run, 0.99)


def jumped(noise_ohm, lasts):
    def run(dice):
        first, size_ohm = int(dice.integers(5, 30 - 5 - lasts)), 20 * max(noise_ohm, DISPLAY_OHM)
        truth = Truth(30, noise_ohm, 0.0, kind="jump", first=first, lasts=lasts, size_ohm=size_ohm)
        found = look_at(made(truth, dice), METER).events
        return any(first + 1 <= event.sample <= first + lasts for event in found)

    return Cell(f"a jump of 20 x noise in {lasts} of 30 readings, noise {noise_ohm}", run, 0.95)


def inside(noise_ohm, memory):
    """The interval of 95 % holds a found step in 90 of 100 at the least: noise with a memory asks for more."""

    def run(dice):
        truth = Truth(120, noise_ohm, memory, "no drift", "step", 50, size_ohm=0.5)
        steps = [event for event in look_at(made(truth, dice), METER).events if event.kind == "step"]
        return any(abs(one.size_ohm.value - 0.5) <= 2 * one.size_ohm.u for one in steps)

    return Cell(f"size of a step inside its doubt, noise {noise_ohm}, memory {memory}", run, 0.90)


HEALTHY = [healthy(*of) for of in itertools.product(COUNTS, NOISES_OHM, MEMORIES, STEADY_DRIFTS)]
FOUND = [
    *(stepped(120, *of, 5) for of in itertools.product(NOISES_OHM, MEMORIES, STEADY_DRIFTS)),
    *(stepped(30, *of, 10) for of in itertools.product(NOISES_OHM, MEMORIES, STEADY_DRIFTS)),
    *(opened(count, noise, lasts) for count, noise, lasts in itertools.product((30, 300), NOISES_OHM, (1, 3))),
    *(jumped(noise, lasts) for noise, lasts in itertools.product(NOISES_OHM, (1, 2))),
    *(inside(noise, memory) for noise, memory in itertools.product(NOISES_OHM, MEMORIES)),
]
CELLS = {cell.name: cell for cell in (*HEALTHY, *FOUND)}


def went_well(cell, runs):
    dice = dice_of(cell.name)
    return sum(cell.run(dice) for _ in range(runs))


def could_be(well, runs, share):
    """Whether so few could come from a cell that holds its share, but for one chance in ten thousand."""
    return binom.cdf(well, runs, share) > ONE_IN_TEN_THOUSAND


@pytest.mark.parametrize("cell", FOUND, ids=lambda cell: cell.name)
def test_short_form(cell):
    well = went_well(cell, SHORT)
    assert could_be(well, SHORT, cell.share), f"{well} of {SHORT}"


def test_healthy_series_show_no_event_short_form():
    well = {cell.name: went_well(cell, SHORT) for cell in HEALTHY}
    assert could_be(sum(well.values()), SHORT * len(HEALTHY), 0.99), well
    assert all(could_be(each, SHORT, 0.99) for each in well.values()), well


@pytest.mark.study
def test_long_form():
    missed, calm = [], 0
    for cell in CELLS.values():
        well = went_well(cell, LONG)
        calm += well if cell in HEALTHY else 0
        if binom.cdf(well, LONG, cell.share) < ONE_IN_A_HUNDRED:
            missed.append(cell.name)
        print(f"{cell.name:<95}{well / LONG:.3f}, at least {cell.share}{'  MISSED' * (cell.name in missed)}")
    print(f"healthy series without an event, all together: {calm / LONG / len(HEALTHY):.4f}")
    assert missed == []
    assert calm >= 0.99 * LONG * len(HEALTHY)
