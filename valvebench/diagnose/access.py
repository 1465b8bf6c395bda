"""The same pair at two access points: what lies between them is harness, or the inner conductor plate."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from valvebench.diagnose.explain_readings import Said, u_celsius
from valvebench.diagnose.explained import Between
from valvebench.judge.targets import device_at
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import AccessPoint
from valvebench.physics.conductor import resistance_at

FARTHEST_CELSIUS: Final = 5.0
"""Further apart in temperature nothing is concluded: common practice, no source."""
_ORDER: Final = (AccessPoint.VEHICLE_PLUG, AccessPoint.CASE_CONNECTOR, AccessPoint.DEVICE_TERMINALS)


class Neighbours(NamedTuple):
    """One pair read at two neighbouring access points, in pins; `k_celsius` where it is copper."""

    from_node: str
    to_node: str
    outer: Said
    inner: Said
    k_celsius: float | None

    @property
    def has_one_meter(self) -> bool:
        """Whether one meter read both, so that its gain counts for the difference alone."""
        return bool(self.outer.meter) and self.outer.meter == self.inner.meter

    @property
    def has_one_lead_set(self) -> bool:
        """Whether the leads were the same, so that what they add cancels."""
        return self.outer.leads is not None and self.outer.leads == self.inner.leads

    @property
    def has_one_temperature(self) -> bool:
        """Whether nothing had to be carried from one temperature to the other."""
        return self.outer.reading.celsius == self.inner.reading.celsius


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
    return tuple(_between(one) for one in neighbours(variant, said))


def neighbours(variant: Variant | None, said: Sequence[Said]) -> tuple[Neighbours, ...]:
    """What there is to compare, in the same order."""
    places: dict[frozenset[str], dict[AccessPoint, Said]] = {}
    for one in said:
        if math.isfinite(one.ohm):
            places.setdefault(_pair(variant, one), {})[one.reading.at] = one
    found = []
    for pair, at in places.items():
        met = [at[point] for point in _ORDER if point in at]
        for outer, inner in pairwise(met):
            if abs(outer.reading.celsius - inner.reading.celsius) <= FARTHEST_CELSIUS:
                found.append(_neighbours(variant, pair, outer, inner))
    return tuple(found)


def _pair(variant: Variant | None, one: Said) -> frozenset[str]:
    """The pair in pins, where a device's own terminals were named."""
    a, b = one.reading.from_node, one.reading.to_node
    device = device_at(variant, a, b) if variant is not None else None
    return frozenset(device.between) if device is not None else frozenset((a, b))


def _neighbours(variant: Variant | None, pair: frozenset[str], outer: Said, inner: Said) -> Neighbours:
    a, b = (outer.reading.from_node, outer.reading.to_node) if "." not in outer.reading.from_node else sorted(pair)
    device = device_at(variant, a, b) if variant is not None else None
    return Neighbours(a, b, outer, inner, device.k if isinstance(device, Coil) else None)


def _between(one: Neighbours) -> Between:
    outer, inner = one.outer, one.inner
    moved, slope = inner.ohm, 0.0
    if one.k_celsius is not None:
        cold, warm = inner.reading.celsius, outer.reading.celsius
        moved = resistance_at(inner.ohm, from_celsius=cold, to_celsius=warm, k_celsius=one.k_celsius)
        slope = inner.ohm / (one.k_celsius + warm)
    difference = outer.ohm - moved
    return Between(
        one.from_node, one.to_node, outer.reading.at, inner.reading.at, difference, _u(one, difference, slope)
    )


def _u(one: Neighbours, difference: float, slope: float) -> float:
    both = (one.outer, one.inner)
    parts = [side.own_sd_ohm for side in both]
    if one.has_one_meter:
        parts.append(one.outer.gain_sd * difference)
    else:
        parts += [side.gain_sd * side.ohm for side in both]
    if not one.has_one_lead_set:
        parts += [side.lead_sd_ohm for side in both]
    if not one.has_one_temperature:
        parts += [slope * u_celsius(side.reading) for side in both]
    return math.sqrt(math.fsum(part**2 for part in parts))
