"""A body that is warmed with a logger on it: what its coils really have, and what the logger writes down."""

from __future__ import annotations

import itertools
import random
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from valvebench.simulate.body import TrueBody
from valvebench.simulate.meter import OhmMeter, Probe

_STEP_S: Final = 1.0
OPEN_TEXT: Final = "OL"


@dataclass(frozen=True, kw_only=True)
class Warming:
    """How a body is warmed: corners of the can's temperature over time, and how its coils follow.

    `corners` are pairs of time [s] and temperature [degrees Celsius], straight between them;
    `lag_s` is the time constant of a coil behind the can, `coil_starts_celsius` what a coil has
    at the beginning (None: what the can has).
    """

    corners: tuple[tuple[float, float], ...]
    lag_s: float
    coil_starts_celsius: float | None = None

    def __post_init__(self) -> None:
        """Time runs on, and a lag is something."""
        pairs = list(itertools.pairwise(time_s for time_s, _ in self.corners))
        if not pairs or any(after <= before for before, after in pairs) or not self.lag_s > 0:
            raise ValueError(f"corners in order of time and a lag above nought, not {self.corners} and {self.lag_s:g}")

    def can_celsius(self, time_s: float) -> float:
        """Temperature of the can, where the probe is taped [degrees Celsius]."""
        (before_s, before), *rest = self.corners
        for after_s, after in rest:
            if time_s <= after_s:
                return before + (after - before) * (time_s - before_s) / (after_s - before_s)
            before_s, before = after_s, after
        return before

    def coil_celsius(self, times_s: Sequence[float]) -> tuple[float, ...]:
        """Temperature of a coil at growing times [degrees Celsius].

        dT/dt = (can - T) / lag, by the classical Runge-Kutta rule in steps of a second at most.
        """
        now_s = self.corners[0][0]
        coil = self.can_celsius(now_s) if self.coil_starts_celsius is None else self.coil_starts_celsius
        found = []
        for time_s in times_s:
            while now_s < time_s:
                step_s = min(_STEP_S, time_s - now_s)
                coil = self._moved(now_s, coil, step_s)
                now_s += step_s
            found.append(coil)
        return tuple(found)

    def _moved(self, now_s: float, coil: float, step_s: float) -> float:
        def rate(after_s: float, celsius: float) -> float:
            return (self.can_celsius(now_s + after_s) - celsius) / self.lag_s

        first = rate(0.0, coil)
        second = rate(0.5 * step_s, coil + 0.5 * step_s * first)
        third = rate(0.5 * step_s, coil + 0.5 * step_s * second)
        fourth = rate(step_s, coil + step_s * third)
        return coil + step_s * (first + 2.0 * second + 2.0 * third + fourth) / 6.0


@dataclass(frozen=True, kw_only=True)
class Logger:
    """A logger: its ohm inputs with their noise [ohm], its probe, and how often it writes a line [s]."""

    meter: OhmMeter
    probe: Probe
    every_s: float
    noise_ohm: float = 0.0

    def watch(
        self, body: TrueBody, warming: Warming, pairs: Mapping[str, tuple[str, str]], chance: random.Random
    ) -> Logged:
        """Write a line every so often from the first corner to the last; `pairs` are nodes by column."""
        (begin_s, _), (end_s, _) = warming.corners[0], warming.corners[-1]
        count = int((end_s - begin_s) / self.every_s) + 1
        times_s = [begin_s + n * self.every_s for n in range(count)]
        coils = warming.coil_celsius(times_s)
        probe = tuple(self.probe.show(warming.can_celsius(time_s), chance) for time_s in times_s)
        ohm = {
            name: tuple(self._shown(body.ohm_between(*pair, celsius=coil), chance) for coil in coils)
            for name, pair in pairs.items()
        }
        return Logged(t_s=tuple(times_s), probe_celsius=probe, ohm=MappingProxyType(ohm), step_ohm=self._step_ohm)

    @property
    def _step_ohm(self) -> float:
        return self.meter.ranges[0].step_ohm

    def _shown(self, true_ohm: float, chance: random.Random) -> float | None:
        """A logger stays on its lowest range: what that does not hold is open to it."""
        lowest = self.meter.ranges[0]
        if not true_ohm <= lowest.full_ohm:
            return None
        return self.meter.show(max(0.0, true_ohm + chance.gauss(0.0, self.noise_ohm)), chance).ohm


@dataclass(frozen=True, kw_only=True)
class Logged:
    """What a logger wrote: times [s], probe [degrees Celsius], resistances by column [ohm], None where open."""

    t_s: tuple[float, ...]
    probe_celsius: tuple[float, ...]
    ohm: Mapping[str, tuple[float | None, ...]]
    step_ohm: float

    def csv(self) -> bytes:
        """The logger's file: a header, commas, decimal points, `OL` where open, line feeds."""
        places = max(0, len(f"{self.step_ohm:.9f}".rstrip("0").split(".")[1]))
        columns = [
            [OPEN_TEXT if one is None else f"{one:.{places}f}" for one in values] for values in self.ohm.values()
        ]
        header = ",".join(["t_s", "probe_celsius", *(f"{name}_ohm" for name in self.ohm)])
        rows = zip(self.t_s, self.probe_celsius, *columns, strict=True)
        lines = [",".join([f"{t_s:g}", f"{celsius:.1f}", *ohms]) for t_s, celsius, *ohms in rows]
        return ("\n".join([header, *lines]) + "\n").encode("ascii")


def _cell(ohm: float | None, places: int) -> str:
    return OPEN_TEXT if ohm is None else f"{ohm:.{places}f}"
