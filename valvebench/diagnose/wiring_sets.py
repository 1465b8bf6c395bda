"""Which coils of a found wiring may be meant to be equal: proposed as matched sets, odd ones included."""

from __future__ import annotations

from collections.abc import Sequence
from statistics import median
from typing import Final, NamedTuple

from valvebench.diagnose.wiring import Wired, WiredKind

_NEAR: Final = 0.25
"""A coil this near to three or more like ones may be one of them gone odd: common practice, no source."""
_FEWEST: Final = 3

Between = tuple[str, str]


class _Set(NamedTuple):
    middle_ohm: float
    members: tuple[Between, ...]


def proposed_sets(devices: Sequence[Wired]) -> dict[Between, str]:
    """The name of the set of each coil that may be in one, each in one set only."""
    sets = _like(devices)
    inside = {between for one in sets for between in one.members}
    coils = [one for one in devices if one.kind is WiredKind.COIL_LIKE and one.between not in inside]
    found = {between: f"set {count}" for count, one in enumerate(sets, 1) for between in one.members}
    for coil in coils:
        nearest = min(sets, key=lambda one: _away(coil, one), default=None)
        if nearest is not None and len(nearest.members) >= _FEWEST and _away(coil, nearest) <= _NEAR:
            found[coil.between] = found[nearest.members[0]]
    return found


def _away(coil: Wired, one: _Set) -> float:
    return abs(coil.ohm - one.middle_ohm) / one.middle_ohm


def _like(devices: Sequence[Wired]) -> list[_Set]:
    ohm = {wired.between: wired.ohm for wired in devices}
    taken: set[Between] = set()
    sets = []
    for wired in devices:
        mates = [wired.between, *(mate for mate in wired.matched_with if mate not in taken)]
        if wired.between in taken or len(mates) < 2:
            continue
        taken.update(mates)
        sets.append(_Set(median(ohm[mate] for mate in mates), tuple(mates)))
    return sets
