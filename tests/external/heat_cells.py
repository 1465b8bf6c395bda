"""The cells of the heat study: what is made, what is asked of each run, what must hold."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.stats import binom, chi2, norm

from tests.external.heat_truth import (
    HAND_HALF_WIDTH_KELVIN,
    HANDS,
    MEMORY,
    THRESHOLD_CELSIUS,
    WAYS,
    Course,
    Truth,
    Way,
    course_of,
    made,
    set_up_of,
    smallest_deviation,
    typed,
)
from valvebench.diagnose.heat_data import HeatSetUp
from valvebench.diagnose.heat_run import analyse
from valvebench.model.heat import HeatKind

LONG, EXACT, WITHIN = 1000, 0.95, 1.96
MEMORIES = {"white": 0.0, "AR(1) 0.8": MEMORY}


class Claim(NamedTuple):
    """What must hold of the runs of a cell; `chance`: how often 1,000 runs of an exact estimator miss it.

    `of` is a share of runs, the mean, the middle or the standard deviation of a figure.
    """

    what: str
    least: float = -np.inf
    most: float = np.inf
    of: str = "share"
    chance: float = 0.0


class Cell(NamedTuple):
    """A name, one run as a function of dice that answers each question (None: does not arise), and the claims."""

    name: str
    run: Callable
    claims: tuple


def covers(what, least=0.93, most=0.97):
    """Coverage of 95 % intervals."""
    few = 0.0 if least <= 0 else binom.cdf(np.ceil(least * LONG) - 1, LONG, EXACT)
    many = 0.0 if most >= 1 else binom.sf(np.floor(most * LONG), LONG, EXACT)
    return Claim(what, least, most, chance=float(few + many))


def at_least(what, share):
    return Claim(what, least=share)


def at_most(what, share):
    return Claim(what, most=share)


BIAS = Claim("series, error in u", -0.12, 0.12, of="mean", chance=float(2 * norm.sf(0.12 * LONG**0.5)))
VARIANCE = Claim(
    "series, deviation over Cramer-Rao",
    most=1.1**0.5,
    of="deviation",
    chance=float(chi2.sf(1.1 * (LONG - 1), LONG - 1)),
)


@functools.cache
def course(way):
    return course_of(WAYS[way])


def inside(sized, truth):
    return None if sized is None else bool(abs(sized.value - truth) <= WITHIN * sized.u)


def error(sized, truth):
    return None if sized is None else float((sized.value - truth) / sized.u)


def logged(name, way, truth, asked, claims):
    def run(dice):
        found = analyse(made(WAYS[way], truth, course(way), dice), set_up_of(WAYS[way], truth))
        return {"not separable": not found.separable, **asked(found), "an event": bool(found.events)}

    return Cell(name, run, (at_most("not separable", 0.02), *claims))


def healthy():
    for way, taken in WAYS.items():

        def asked(found, ohm=taken.coil_ohm):
            return {
                "called other": found.kind not in (HeatKind.COPPER, HeatKind.NOT_SEPARABLE),
                "ohm at 20 inside": inside(found.at_20_ohm, ohm),
            }

        for noise, memory in MEMORIES.items():
            claims = at_most("called other", 0.05), covers("ohm at 20 inside", most=1.0)
            yield logged(f"healthy, {way}, {noise}", way, Truth(memory=memory), asked, claims)


SERIES_OHM = dict(zip(WAYS, (0.3, 0.3, 0.15, 0.5), strict=True))


def fixed():
    for way, ohm in SERIES_OHM.items():

        def asked(found, ohm=ohm):
            series = found.series_ohm
            return {
                "called fixed series": found.kind is HeatKind.FIXED_SERIES,
                "series inside": inside(series, ohm),
                "series, error in u": error(series, ohm),
            }

        claims = at_least("called fixed series", 0.95), covers("series inside"), BIAS
        for noise, memory in MEMORIES.items():
            yield logged(f"fixed series, {way}, {noise}", way, Truth(ohm, memory=memory), asked, claims)


def ideal():
    """Meter and probe without fault, so that the noise alone spreads what is found."""
    for way, ohm in SERIES_OHM.items():
        truth = Truth(ohm, is_ideal=True)

        @functools.cache
        def least(way=way, truth=truth):
            return smallest_deviation(WAYS[way], truth, course(way))

        def asked(found, ohm=ohm, least=least):
            series = found.series_ohm
            return {
                "series inside": inside(series, ohm),
                "series, error in u": error(series, ohm),
                VARIANCE.what: None if series is None else (series.value - ohm) / least(),
            }

        yield logged(f"ideal meter, {way}", way, truth, asked, (covers("series inside"), BIAS, VARIANCE))


EXCESS_OHM = {
    ("linear", "white"): (0.0539, 0.0557, 0.0216, 0.117),
    ("linear", "AR(1) 0.8"): (0.0695, 0.056, 0.0258, 0.12),
    ("threshold", "white"): (0.0292, 0.0098, 0.00782, 0.0259),
    ("threshold", "AR(1) 0.8"): (0.0512, 0.0209, 0.0173, 0.0565),
    ("exponential", "white"): (0.0406, 0.0174, 0.0127, 0.0501),
    ("exponential", "AR(1) 0.8"): (0.0493, 0.0385, 0.0199, 0.0773),
}
"""Five times the uncertainty that is stated for it, way by way; the study prints how many times it was."""


def growing():
    for (grows, noise), sizes in EXCESS_OHM.items():
        for way, ohm in zip(WAYS, sizes, strict=True):
            truth = Truth(grows=grows, excess_ohm=ohm, memory=MEMORIES[noise])
            asked, claims = functools.partial(asked_of_growing, truth=truth), [*GROWING_CLAIMS]
            claims.append(covers("excess inside", 0.90 if grows == "exponential" else 0.93))
            claims.append(covers("start inside") if grows == "threshold" else at_least("no start, with a reason", 0.99))
            yield logged(f"{grows}, {way}, {noise}", way, truth, asked, claims)


GROWING_CLAIMS = (
    at_least("called grows", 0.95),
    Claim("called fixed or copper", most=0.01),
    Claim("excess over its u", 4.0, 6.0, of="middle"),
)


def asked_of_growing(found, truth):
    excess, start = found.excess_ohm_at_hottest, found.grows_from_celsius
    has_reason = any("start" in reason for reason in found.reasons)
    return {
        "called grows": found.kind is HeatKind.GROWS_WITH_HEAT,
        "called fixed or copper": found.kind in (HeatKind.FIXED_SERIES, HeatKind.COPPER),
        "excess inside": inside(excess, truth.excess_ohm),
        "excess, error in u": error(excess, truth.excess_ohm),
        "excess over its u": None if excess is None else truth.excess_ohm / excess.u,
        "has a start": None if excess is None else start is not None,
        "no start, with a reason": None if excess is None else start is None and has_reason,
        "start inside": inside(start, THRESHOLD_CELSIUS),
    }


RAMP = {"knots_celsius": (22.0, 66.0, 110.0)}


def ramps():
    """Straight up at one rate, the coil warmer or colder than the probe when the log begins."""
    for way, start in zip(WAYS, (30.0, 30.0, 15.0, 30.0), strict=True):
        first, _, last = WAYS[way].knots_s
        taken = WAYS[way]._replace(knots_s=(first, 0.5 * last, last), start_celsius=start, **RAMP)
        for series_ohm in (0.0, SERIES_OHM[way]):
            truth = Truth(series_ohm)

            def run(dice, taken=taken, truth=truth):
                found = analyse(made(taken, truth, ramp_course(taken), dice), set_up_of(taken, truth))
                return {"not separable": not found.separable}

            yield Cell(f"ramp, {way}, {series_ohm:g} ohm", run, (at_least("not separable", 0.99),))


@functools.cache
def ramp_course(taken: Way):
    return course_of(taken)


HAND_FAULTS = {"healthy": Truth(), "fixed series": Truth(0.8), "threshold": Truth(grows="threshold", excess_ohm=1.0)}


def by_hand():
    for hand, hands in HANDS.items():
        set_up = HeatSetUp(meter=hands.meter, celsius_half_width=HAND_HALF_WIDTH_KELVIN)
        for fault, truth in HAND_FAULTS.items():

            def run(dice, hands=hands, truth=truth, set_up=set_up):
                found = analyse(typed(hands, truth, dice), set_up)
                return {
                    "called other": found.kind not in (HeatKind.COPPER, HeatKind.NOT_SEPARABLE),
                    "a reading left out": found.left_out > 0,
                    "not separable": not found.separable,
                    "ohm at 20 inside": inside(found.at_20_ohm, hands.coil_ohm + truth.series_ohm),
                    "series inside": inside(found.series_ohm, truth.series_ohm),
                    "excess inside": inside(found.excess_ohm_at_hottest, truth.excess_ohm),
                    "start inside": inside(found.grows_from_celsius, THRESHOLD_CELSIUS),
                }

            what = {"healthy": "ohm at 20 inside", "fixed series": "series inside", "threshold": "excess inside"}
            claims = [covers(what[fault], most=1.0), covers("ohm at 20 inside", most=1.0)]
            if fault == "healthy":
                claims = [claims[0], at_most("called other", 0.05)]
            yield Cell(f"by hand, {fault}, {hand}", run, tuple(claims))


EVENT_WAYS = {"fine display": "14 ohm, not soaked", "coarse display": "5.2 ohm, one hour"}
EVENT_SIGMAS, NEAR, CLEAR_OF_ENDS = 5.0, 3, 30


def with_event(way, kind, memory, dice):
    """A run with one step of five standard deviations of the noise, or one opening of one to five samples."""
    taken = WAYS[way]
    run = made(taken, Truth(memory=memory), course(way), dice)
    at = int(dice.integers(CLEAR_OF_ENDS, taken.count - CLEAR_OF_ENDS))
    if kind == "step":
        run.ohm[at:] += dice.choice([-1, 1]) * EVENT_SIGMAS * taken.noise_ohm
    else:
        run.ohm[at : at + dice.integers(1, 6)] = np.inf
    return run, float(run.t_s[at])


def events():
    for (shown, way), (noise, memory) in itertools.product(EVENT_WAYS.items(), MEMORIES.items()):
        near_s = NEAR * WAYS[way].knots_s[-1] / WAYS[way].count
        for kind in ("step", "open"):

            def run(dice, way=way, kind=kind, memory=memory, near_s=near_s):
                run, at_s = with_event(way, kind, memory, dice)
                seen = analyse(run, set_up_of(WAYS[way], Truth())).events
                return {
                    "found": any(event.kind == kind and abs(event.t_s - at_s) <= near_s for event in seen),
                    "something else found": len(seen) > 1,
                }

            yield Cell(f"{kind}, {shown}, {noise}", run, (at_least("found", 0.99),))
        name = f"no event in 10,000 samples, {shown}, {noise}"
        yield Cell(name, functools.partial(quiet, way=way, memory=memory), (at_most("false event", 0.01),))


def quiet(dice, way, memory):
    taken, sparse = WAYS[way]._replace(count=10_000), course(way)
    t_s = np.linspace(0.0, taken.knots_s[-1], taken.count)
    coil = np.interp(t_s, sparse.t_s, sparse.coil_celsius)
    probe = np.interp(t_s, taken.knots_s, taken.knots_celsius)
    run = made(taken, Truth(memory=memory), Course(t_s, probe, coil), dice)
    return {"false event": bool(analyse(run, set_up_of(taken, Truth())).events)}


CELLS = {cell.name: cell for group in (healthy, fixed, ideal, growing, ramps, by_hand, events) for cell in group()}
