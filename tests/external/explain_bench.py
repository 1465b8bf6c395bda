"""One body of the study with its explainer, what could be told apart, and how a share is held to a figure."""

from __future__ import annotations

import math
import statistics
from pathlib import Path

import numpy as np

from tests.external.explain_truth import (
    AS_ASSUMED,
    LINK,
    LOT,
    OWN,
    PICKUP,
    SENSOR,
    Body,
    Part,
    Truth,
    World,
    dice_for,
    reading,
)
from tests.unit.report.samples import session_of
from valvebench.diagnose.explain import Explainer
from valvebench.diagnose.explain_priors import Fault, read_priors
from valvebench.diagnose.explained import Explained, Place

PRIORS = read_priors((Path(__file__).parents[2] / "resources" / "priors.json").read_bytes(), source="priors.json")
LEAK_OHM = 1e6


class Bench:
    """A body with its explainer, which keeps what does not depend on values."""

    def __init__(self, number: int, most_pins: int = 24) -> None:
        self.number = number
        self.body = Body(f"body {number}", 8, most_pins)
        self.explainer = Explainer(self.body.variant, PRIORS, self.body.others)
        self._apart = _Apart(self.body)

    def part(self, truth: Truth, dice, world: World = AS_ASSUMED) -> Part:
        return Part(self.body, truth, dice, world)

    def explain(self, values, *, asking: bool = False) -> Explained:
        return self.explainer.explain(session_of(*[reading(*one) for one in values]), is_asking=asking)

    def usual(self, part: Part):
        return [(a, b, part.shown(a, b)) for a, b in self.body.pairs]

    def cost(self, truth: Truth) -> float:
        """Chi-square by which a sound part misses what a fault would show."""
        return self._apart.chi_square(truth)


class _Apart:
    """Chi-square of a fault against a sound part, with derivatives by finite differences."""

    def __init__(self, body: Body) -> None:
        self._body = body
        self._sound = self._read(Truth(Fault.HEALTHY))
        finite = np.isfinite(self._sound)
        columns = []
        names = [d["name"] for d in body.data["devices"] if d["kind"] not in ("switch", "link")]
        columns += [self._moved({name: 0.01}) / 0.01 * self._sd(name) for name in names]
        for lot in ("linear", "on_off"):
            mine = {d["name"]: 0.01 for d in body.data["devices"] if d.get("matched_set") == lot}
            columns.append(self._moved(mine) / 0.01 * LOT)
        links = [d["name"] for d in body.data["devices"] if d["kind"] == "link"]
        columns += [self._moved({name: 0.01}) / 0.01 * LINK for name in links]
        columns.append(self._z(self._read(Truth(Fault.TEMPERATURE, (), 0.5))) - self._z(self._sound))
        columns[-1] *= 2.0
        below = np.where(self._sound < 1000, self._sound * 0.01 * 3**-0.5, 0.0)
        slope = 1 / np.hypot(0.02, 0.0058 * np.where(finite, self._sound, 0))
        columns += [below * slope, 0.02 * slope]
        j = np.where(finite[:, None], np.array(columns).T, 0.0)
        alone = np.where(self._sound >= 1000, 0.0058 * np.where(finite, self._sound, 0), 0.0)
        d = (0.02 * slope) ** 2 + (alone * slope) ** 2
        self._inverse = np.linalg.inv(np.diag(d) + j @ j.T)

    def _sd(self, name: str) -> float:
        device = next(d for d in self._body.data["devices"] if d["name"] == name)
        return {"temperature_sensor": SENSOR, "speed_sensor": PICKUP}.get(device["kind"], OWN)

    def _read(self, truth: Truth, factors=None) -> np.ndarray:
        part = Part(self._body, truth, dice_for("quiet"), noisy=False, factors=factors)
        return np.array([part.shown(a, b) for a, b in self._body.pairs])

    def _moved(self, logs) -> np.ndarray:
        moved = self._read(Truth(Fault.HEALTHY), {name: math.exp(log) for name, log in logs.items()})
        return self._z(moved) - self._z(self._sound)

    @staticmethod
    def _z(ohm: np.ndarray) -> np.ndarray:
        return np.arcsinh(0.0058 * np.where(np.isfinite(ohm), ohm, 0.0) / 0.02) / 0.0058

    def chi_square(self, truth: Truth) -> float:
        shown = self._read(truth)
        # From a megohm up a pair counts as isolated: that is the limit, and a damp body reads so too.
        shown = np.where(shown >= LEAK_OHM, np.inf, shown)
        if (np.isfinite(shown) != np.isfinite(self._sound)).any():
            return math.inf
        r = np.where(np.isfinite(shown), self._z(shown) - self._z(self._sound), 0.0)
        return float(r @ self._inverse @ r)


def holds(one, truth: Truth) -> bool:
    """Whether an answer names the truth, alone or in its class."""
    return (one.fault, one.where) == (truth.fault, truth.where) or Place(truth.fault, truth.where) in one.same_as


def is_right(found: Explained, truth: Truth, *, within: int = 1) -> bool:
    """A sound part is also right when one of its readings is called bad."""
    some = found.explanations[:within]
    if truth.fault is Fault.HEALTHY:
        return any(one.fault in (Fault.HEALTHY, Fault.ONE_BAD_READING) or holds(one, truth) for one in some)
    return any(holds(one, truth) for one in some)


def standard_error(share: float, n: int) -> float:
    return math.sqrt(max(share * (1 - share), 1 / max(n, 1)) / max(n, 1))


def within(share: float, least: float, n: int, *, sigmas: float = 3.0) -> bool:
    """Not below by more than three standard errors of the required share itself."""
    return share >= least - sigmas * standard_error(least, n)


def mean(values) -> float:
    found = list(values)
    return statistics.fmean(found) if found else math.nan


def report(figures) -> None:
    """Print every figure against what it ought to be, and assert it within three standard errors.

    A figure is (share, wanted, n).
    """
    failed = []
    for name, (share, wanted, n) in figures.items():
        is_reached = n == 0 or within(share, wanted, n)
        words = "" if n == 0 or share >= wanted else "  below, within three errors" if is_reached else "  MISSED"
        print(f"  {name:<44}{share:8.4f} +- {standard_error(share, n):.4f}  (at least {wanted:g}, n {n}){words}")
        if not is_reached:
            failed.append(name)
    assert failed == []
