"""Logs of warmed windings for tests, as a logger writes them.  Every device is made up.

A winding follows its probe with a lag by an exact step of the first-order law between two
samples (the probe straight between them); its resistance by the conductor law
R20 (234.5 + T)/254.5 (IEC 60034-1, 8.6.2).  The noise is seeded.
"""

from __future__ import annotations

import itertools
import math
import zlib
from collections.abc import Callable, Sequence

import numpy as np

R20 = 5.2
STEP_S = 15.0
TAU_S = 60.0
Extra = Callable[[float], float]


def nothing(_: float) -> float:
    """Nothing in series."""
    return 0.0


def growing(celsius: float) -> float:
    """A contact that grows from 70 degrees on, 10 milliohm a degree."""
    return 0.01 * max(0.0, celsius - 70.0)


def probe_and_coil(minutes: int = 60) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Times [s], probe and coil [degC] of a run that warms to 110 degrees and cools to 45."""
    t_s = np.arange(0.0, 60.0 * minutes + 1.0, STEP_S)
    probe = np.interp(t_s, [0.0, 30.0 * minutes, 60.0 * minutes], [22.0, 110.0, 45.0])
    coil = [probe[0]]
    for before, after in itertools.pairwise(probe):
        slope = (after - before) / STEP_S
        coil.append(after - slope * TAU_S + (coil[-1] - before + slope * TAU_S) * math.exp(-STEP_S / TAU_S))
    return t_s, probe, np.array(coil)


def ohms(coil: np.ndarray, *, r20: float = R20, extra: Extra = nothing, name: str = "Heron") -> np.ndarray:
    """What a meter with 4 milliohm of noise reads of the coil."""
    noise = np.random.default_rng(zlib.crc32(name.encode())).normal(size=coil.size) * 0.004
    return r20 * (234.5 + coil) / 254.5 + np.array([extra(t) for t in coil]) + noise


def log_of(*, opened: Sequence[int] = (), **columns: Extra) -> bytes:
    """A CSV of devices beside each other; a single one called `ohm` has no name."""
    t_s, probe, coil = probe_and_coil()
    names = [name if name == "ohm" else f"{name}_ohm" for name in columns]
    values = [ohms(coil, extra=extra, name=name) for name, extra in columns.items()]
    lines = [",".join(["t_s", "probe_celsius", *names])]
    for n in range(t_s.size):
        cells = ["OL" if n in opened else f"{of[n]:.3f}" for of in values]
        lines.append(",".join([f"{t_s[n]:.0f}", f"{probe[n]:.2f}", *cells]))
    return "\n".join(lines).encode()


def ramp() -> bytes:
    """A log that only warms, at one rate: a lag and a series resistance look alike in it."""
    lines = log_of(ohm=nothing).decode().splitlines()
    return "\n".join(lines[: len(lines) // 2]).encode()
