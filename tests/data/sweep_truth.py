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


def true_loop(loop_ampere, swept_ampere=(0.0, 1.0), both_ampere=(0.0, 1.0)):
    """Mean over 10 to 90 %, in percent of the span and in percent of 1 A, by its definition on a fine grid.

    The span is that of the currents which were swept, the mean over those which both branches went through.
    """
    ampere = np.linspace(*swept_ampere, 20001)
    half = 0.5 * loop_ampere * 4.0 * ampere * (1.0 - ampere)
    up, down = pressure(ampere - half), pressure(ampere + half)
    curve = 0.5 * (up + down)
    lowest, span = curve.min(), np.ptp(curve)
    is_both = (ampere >= both_ampere[0]) & (ampere <= both_ampere[1])
    middle = is_both & (curve >= lowest + 0.1 * span) & (curve <= lowest + 0.9 * span)
    levels = lowest + np.linspace(0.1, 0.9, 4001) * span
    apart = np.interp(levels, up, ampere) - np.interp(levels, down, ampere)
    return float(100.0 * (down - up)[middle].mean() / span), float(100.0 * apart.mean())
