"""Air as it really flows: two gauges at rest, a pump on a bore, a vessel that empties.

Flow through a hole after ISO 6358 with the ratio it was made with; the vessel exchanges heat with its wall.
Nothing here is shared with what judges a leak.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

AMBIENT_KPA: Final = 101.325
_ROOM_KELVIN: Final = 293.15
_REF_KPA: Final = 100.0
_HALVINGS: Final = 60
_STEP_S: Final = 0.05
_MOST_TIMES: Final = 10.0


@dataclass(frozen=True, kw_only=True)
class Hole:
    """What air passes: `c` is the volume at 20 degrees Celsius and 100 kPa for each kPa absolute [ml/min/kPa]."""

    c_ml_min_kpa: float
    b: float = 0.35

    def flow_ml_min(self, from_kpa_abs: float, to_kpa_abs: float) -> float:
        """From the higher to the lower pressure, air at room temperature."""
        ratio = to_kpa_abs / from_kpa_abs
        if ratio >= 1.0:
            return 0.0
        below = max(0.0, (ratio - self.b) / (1.0 - self.b))
        return self.c_ml_min_kpa * from_kpa_abs * math.sqrt(1.0 - below * below)


def supply_kpa_gauge(port_kpa: float, restriction: Hole, leak: Hole) -> float:
    """The supply at which a port stands at a pressure behind a restriction [kPa above the air around]."""
    port = port_kpa + AMBIENT_KPA
    lost = leak.flow_ml_min(port, AMBIENT_KPA)

    def lacking(supply_kpa_abs: float) -> float:
        return lost - restriction.flow_ml_min(supply_kpa_abs, port)

    return _root(lacking, port, _MOST_TIMES * port) - AMBIENT_KPA


def held_vacuum_kpa(blank_kpa: float, pump_ml_min_kpa: float, leak: Hole) -> float:
    """What a pump of constant speed holds below the air around, against a blank and against a leak."""

    def excess(vacuum_kpa: float) -> float:
        return pump_ml_min_kpa * (blank_kpa - vacuum_kpa) - leak.flow_ml_min(AMBIENT_KPA, AMBIENT_KPA - vacuum_kpa)

    return _root(excess, 0.0, blank_kpa)


def _root(excess: Callable[[float], float], low: float, high: float) -> float:
    """Where a falling function crosses nought, by halving."""
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return 0.5 * (low + high)


@dataclass(frozen=True, kw_only=True)
class Vessel:
    """A closed volume [ml] whose wall warms or cools [K/s]; its gas follows the wall within `follows_s`."""

    volume_ml: float
    wall_kelvin_s: float = 0.0
    follows_s: float = 1.5

    def fall(self, kpa_gauge: float, leak: Hole, *, every_s: float, count: int) -> tuple[float, ...]:
        """Pressures above the air around at equal times, from the first on [kPa].

        Mass and energy of an ideal gas, its wall giving heat, in small steps by the midpoint rule.
        """
        state = ((kpa_gauge + AMBIENT_KPA) * self.volume_ml / _ROOM_KELVIN, _ROOM_KELVIN)
        found, now_s = [], 0.0
        steps = max(1, round(every_s / _STEP_S))
        heat = state[0] / self.follows_s
        for _ in range(count):
            found.append(state[0] * state[1] / self.volume_ml - AMBIENT_KPA)
            for _ in range(steps):
                step = every_s / steps
                first = self._rate(now_s, state, leak, heat)
                half = (state[0] + 0.5 * step * first[0], state[1] + 0.5 * step * first[1])
                second = self._rate(now_s + 0.5 * step, half, leak, heat)
                state = (state[0] + step * second[0], state[1] + step * second[1])
                now_s += step
        return tuple(found)

    def _rate(self, now_s: float, state: tuple[float, float], leak: Hole, heat: float) -> tuple[float, float]:
        amount, kelvin = state  # p V / T [kPa ml / K], and T
        flow = leak.flow_ml_min(max(amount * kelvin / self.volume_ml, AMBIENT_KPA), AMBIENT_KPA)
        lost = flow / 60.0 * _REF_KPA / _ROOM_KELVIN * math.sqrt(_ROOM_KELVIN / kelvin)
        wall = _ROOM_KELVIN + self.wall_kelvin_s * now_s
        return -lost, (heat * (wall - kelvin) - 0.4 * lost * kelvin) / amount


def swept_kpa(ampere: float, *, is_up: bool, loop_ampere: float, span_kpa: float = 600.0, dead: float = 0.1) -> float:
    """A solenoid's pressure up to 1 A: a dead band, a straight rise, a loop that closes at both ends [kPa]."""
    side = 2.0 * loop_ampere * ampere * (1.0 - ampere)
    driven = ampere - side if is_up else ampere + side
    return span_kpa * min(1.0, max(0.0, driven - dead) / (1.0 - dead))


@dataclass(frozen=True, kw_only=True)
class Gauge:
    """What a gauge makes of a pressure: its own error in percent, its noise [kPa], its step [kPa]."""

    off_percent: float = 0.0
    noise_kpa: float = 0.0
    step_kpa: float = 0.1

    def shows(self, kpa: float, chance: random.Random) -> float:
        """The display."""
        value = kpa * (1.0 + 0.01 * self.off_percent) + chance.gauss(0.0, self.noise_kpa)
        return round(round(value / self.step_kpa) * self.step_kpa, 3)
