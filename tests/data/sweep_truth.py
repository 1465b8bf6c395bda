"""A solenoid's pressure against current as it would be: a dead band, a slight bend, a loop that closes at both ends."""

from __future__ import annotations

import numpy as np

DEAD = 0.088
SPAN = 900.0


def pressure(ampere):
    """Without a loop [kPa]: at rest up to the dead band, then to 900 kPa at 1 A."""
    x = np.clip(np.asarray(ampere, float) - DEAD, 0.0, None)
    return SPAN * (x + 0.08 * x * (1.0 - DEAD - x)) / (1.0 - DEAD)


def swept(count, *, loop_ampere, noise_pct, is_uneven, rng):
    """Currents, pressures and whether rising; `loop_ampere` is the widest part of the loop, at half the current."""
    branches = [np.sort(rng.uniform(0.0, 1.0, count)) if is_uneven else np.linspace(0.0, 1.0, count) for _ in range(2)]
    ampere = np.concatenate([branches[0], branches[1][::-1]])
    side = np.repeat([0.5, -0.5], count)
    kpa = pressure(ampere - side * loop_ampere * 4.0 * ampere * (1.0 - ampere))
    return ampere, kpa + 0.01 * noise_pct * SPAN * rng.normal(size=2 * count), (side > 0).astype(float)


def true_loop(loop_ampere):
    """Mean over 10 to 90 %, in percent of the span and in percent of 1 A, by its definition on a fine grid."""
    ampere = np.linspace(0.0, 1.0, 20001)
    half = 0.5 * loop_ampere * 4.0 * ampere * (1.0 - ampere)
    up, down = pressure(ampere - half), pressure(ampere + half)
    middle = (0.5 * (up + down) >= 0.1 * SPAN) & (0.5 * (up + down) <= 0.9 * SPAN)
    levels = np.linspace(0.1, 0.9, 4001) * SPAN
    apart = np.interp(levels, up, ampere) - np.interp(levels, down, ampere)
    return float(100.0 * (down - up)[middle].mean() / SPAN), float(100.0 * apart.mean())
