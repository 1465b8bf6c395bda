"""A leaking vessel as it would be: gas that exchanges heat with its wall, integrated in small steps.

The truth of tests and studies; it shares nothing with the program's closed forms.
"""

from __future__ import annotations

import math

import numpy as np

AMBIENT = 101.325
WALL_KELVIN = 293.15


def elliptic(ratio, b):
    """ISO 6358 below choke."""
    return 1.0 if ratio <= b else math.sqrt(max(0.0, 1.0 - ((ratio - b) / (1.0 - b)) ** 2))


def emptied(
    ml_min,
    *,
    volume_ml,
    kpa_gauge,
    t_s,
    hz=5.0,
    tau_s=1.5,
    law="orifice",
    b=0.35,
    drift_kelvin=0.0,
    leftover_kelvin=0.0,
    ambient=AMBIENT,
    span_s=None,
):
    """Times [s] and pressures above ambient [kPa]."""
    return emptied_and_lost(
        ml_min,
        volume_ml=volume_ml,
        kpa_gauge=kpa_gauge,
        t_s=t_s,
        hz=hz,
        tau_s=tau_s,
        law=law,
        b=b,
        drift_kelvin=drift_kelvin,
        leftover_kelvin=leftover_kelvin,
        ambient=ambient,
        span_s=span_s,
    )[:2]


def emptied_and_lost(
    ml_min,
    *,
    volume_ml,
    kpa_gauge,
    t_s,
    hz,
    tau_s,
    law,
    b,
    drift_kelvin,
    leftover_kelvin,
    ambient,
    span_s=None,
):
    """Times [s], pressures above ambient [kPa], and the gas lost by the last of them for each minute [ml/min].

    `ml_min` flows at the start pressure with the gas as warm as the wall (20 degrees Celsius, 100 kPa);
    the wall drifts by `drift_kelvin` in `span_s` (default the whole run).
    """
    p_start = kpa_gauge + ambient
    full = p_start * elliptic(ambient / p_start, b) if law == "orifice" else p_start**2 - ambient**2
    strength = ml_min / 60.0 * 100.0 / full / WALL_KELVIN
    gas_kelvin = WALL_KELVIN + leftover_kelvin
    amount = at_first = p_start * volume_ml / gas_kelvin  # p V / T, in kPa ml / K
    heat = amount / tau_s
    span = span_s or t_s

    def rates(at_s, amount, kelvin):
        p = amount * kelvin / volume_ml
        lost = 0.0
        if p > ambient:
            if law == "orifice":
                lost = strength * p * elliptic(ambient / p, b) * math.sqrt(WALL_KELVIN / kelvin)
            else:
                # laminar: colder gas is denser and less viscous (viscosity as T^0.7, from memory)
                lost = strength * (p * p - ambient * ambient) * (WALL_KELVIN / kelvin) ** 1.7
        wall = WALL_KELVIN + drift_kelvin * at_s / span
        return -lost, -0.4 * kelvin * lost / amount - (kelvin - wall) * heat / amount

    count = round(t_s * hz) + 1
    inner = max(2, math.ceil(1.0 / hz / (0.05 * min(tau_s, 2.0))))
    step = 1.0 / hz / inner
    times, shown, now = np.arange(count) / hz, np.empty(count), 0.0
    lost = 0.0
    for row in range(count):
        lost = at_first - amount
        shown[row] = amount * gas_kelvin / volume_ml - ambient
        for _ in range(inner):
            a = rates(now, amount, gas_kelvin)
            b2 = rates(now + step / 2, amount + step / 2 * a[0], gas_kelvin + step / 2 * a[1])
            c = rates(now + step / 2, amount + step / 2 * b2[0], gas_kelvin + step / 2 * b2[1])
            d = rates(now + step, amount + step * c[0], gas_kelvin + step * c[1])
            amount += step / 6 * (a[0] + 2 * b2[0] + 2 * c[0] + d[0])
            gas_kelvin += step / 6 * (a[1] + 2 * b2[1] + 2 * c[1] + d[1])
            now += step
    return times, shown, lost * WALL_KELVIN / 100.0 * 60.0 / times[-1]
