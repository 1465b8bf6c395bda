"""Flexed series whose truth is known, made by code that shares no formula with what looks at them.

Noise with a memory by its own recursion, a display that rounds, a slow drift as the warmth of a
hand makes it; dice of a seed that is the CRC-32 of the cell's name.  All series are made up.
"""

from __future__ import annotations

import zlib
from typing import NamedTuple

import numpy as np

from valvebench.diagnose.flex import FlexSeries
from valvebench.model.meter import Meter

COIL_OHM, DISPLAY_OHM = 5.2, 0.01
METER = Meter(percent=0.5, counts=3, step=DISPLAY_OHM)
DRIFTS = {
    "no drift": lambda part: 0.0 * part,
    "warming evenly by 0.1 ohm": lambda part: 0.1 * part,
    "warming by a hand, 0.1 ohm": lambda part: 0.1 * (1 - np.exp(-4 * part)),
    "warming and cooling again, 0.05 ohm": lambda part: 0.05 * np.sin(np.pi * part),
}
"""Against the part of the test that has passed, 0 to 1: what a hand does to copper, from memory."""


class Truth(NamedTuple):
    """Readings, deviation of the noise [ohm], its memory, its drift; what happens: kind, first reading, count, ohm."""

    count: int
    noise_ohm: float
    memory: float = 0.0
    drift: str = "no drift"
    kind: str = ""
    first: int = 0
    lasts: int = 1
    size_ohm: float = 0.0


def dice_of(name):
    return np.random.default_rng(zlib.crc32(name.encode()))


def noise_of(truth, dice):
    """Stationary from the first reading on, of the same deviation whatever its memory."""
    fresh = dice.standard_normal(truth.count)
    noise, kept, share = [], truth.memory, (1 - truth.memory**2) ** 0.5
    for one in fresh:
        noise.append(one if not noise else kept * noise[-1] + share * one)
    return truth.noise_ohm * np.array(noise)


def made(truth, dice):
    """What a display showed."""
    part = np.arange(truth.count) / (truth.count - 1)
    real = COIL_OHM * (1 + dice.uniform(-0.002, 0.002)) + DRIFTS[truth.drift](part) + noise_of(truth, dice)
    for place in range(truth.count):
        is_on = place >= truth.first and (truth.kind == "step" or place < truth.first + truth.lasts)
        if truth.kind in ("step", "jump") and is_on:
            real[place] += truth.size_ohm
    shown = np.array([round(float(one) / DISPLAY_OHM) * DISPLAY_OHM for one in real])
    if truth.kind == "open":
        shown[truth.first : truth.first + truth.lasts] = np.inf
    return FlexSeries(shown)
