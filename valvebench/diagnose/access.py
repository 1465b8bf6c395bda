"""The same pair at two access points: what lies between them is harness, or the inner conductor plate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from valvebench.diagnose.explain_readings import Said, u_celsius
from valvebench.diagnose.explained import Between
from valvebench.judge.targets import device_at
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import AccessPoint
from valvebench.physics.conductor import resistance_at

FARTHEST_CELSIUS: Final = 5.0
"""Further apart in temperature nothing is concluded: common practice, no source."""
_ORDER: Final = (AccessPoint.VEHICLE_PLUG, AccessPoint.CASE_CONNECTOR, AccessPoint.DEVICE_TERMINALS)


def between_access_points(variant: Variant | None, said: Sequence[Said]) -> tuple[Between, ...]:
    """Differences of neighbouring access points, pair by pair; open readings are not compared.

    Parameters
    ----------
    variant : tells which pair a device's own terminals belong to, and what is copper
    said : readings in numbers; of several at one place the last counts

    Returns
    -------
    tuple of Between, in the order in which the pairs were read

    Source
    ------
    JCGM 100:2008, 5.2: what both readings share cancels (gain but for the difference itself, leads
    of one set-up); counts and tips come once for each.  The inner reading is carried to the outer
    one's temperature by the conductor law.
    """
    places: dict[frozenset[str], dict[AccessPoint, Said]] = {}
    for one in said:
        if math.isfinite(one.ohm):
            places.setdefault(_pair(variant, one), {})[one.reading.at] = one
    found = []
    for pair, at in places.items():
        met = [at[point] for point in _ORDER if point in at]
        for outer, inner in pairwise(met):
            if abs(outer.reading.celsius - inner.reading.celsius) <= FARTHEST_CELSIUS:
                found.append(_between(variant, pair, outer, inner))
    return tuple(found)


def _pair(variant: Variant | None, one: Said) -> frozenset[str]:
    """The pair in pins, where a device's own terminals were named."""
    a, b = one.reading.from_node, one.reading.to_node
    device = device_at(variant, a, b) if variant is not None else None
    return frozenset(device.between) if device is not None else frozenset((a, b))


def _between(variant: Variant | None, pair: frozenset[str], outer: Said, inner: Said) -> Between:
    a, b = (outer.reading.from_node, outer.reading.to_node) if "." not in outer.reading.from_node else sorted(pair)
    device = device_at(variant, a, b) if variant is not None else None
    moved, slope = inner.ohm, 0.0
    if isinstance(device, Coil):
        cold, warm = inner.reading.celsius, outer.reading.celsius
        moved = resistance_at(inner.ohm, from_celsius=cold, to_celsius=warm, k_celsius=device.k)
        slope = inner.ohm / (device.k + warm)
    difference = outer.ohm - moved
    return Between(a, b, outer.reading.at, inner.reading.at, difference, _u(outer, inner, difference, slope))


def _u(outer: Said, inner: Said, difference: float, slope: float) -> float:
    parts = [outer.own_sd_ohm, inner.own_sd_ohm]
    if outer.meter and outer.meter == inner.meter:
        parts.append(outer.gain_sd * difference)
    else:
        parts += [one.gain_sd * one.ohm for one in (outer, inner)]
    if outer.leads is None or outer.leads != inner.leads:
        parts += [one.lead_sd_ohm for one in (outer, inner)]
    if outer.reading.celsius != inner.reading.celsius:
        parts += [slope * u_celsius(one.reading) for one in (outer, inner)]
    return math.sqrt(math.fsum(part**2 for part in parts))
