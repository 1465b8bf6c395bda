"""Solenoids that ought to be equal: which one is the odd one out.  No limits needed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from statistics import median
from typing import Final, NamedTuple

from valvebench.diagnose.compare_doubt import (
    REF_CELSIUS,
    Group,
    groups_of,
    half_width_of,
    own_lines,
    tips_of,
    unlike,
    value_of,
)
from valvebench.diagnose.wiring import WiredKind, is_like, kind_of
from valvebench.judge.session import SAME_PLATEAU_CELSIUS
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.session import Session
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import with_access
from valvebench.physics.conductor import resistance_at
from valvebench.physics.outliers import NORMAL_MAD, ODD_FROM, modified_z
from valvebench.physics.uncertainty import combine

FEWEST: Final = 3
TOO_FEW: Final = "Fewer than three read at this temperature in the same way: which one is odd cannot be told."
NO_SPREAD: Final = "No doubt is stated and no two differ: there is nothing to measure a difference by."

Names = Mapping[str, str]
"""Keys of readings to the names of the solenoids they are of."""


class AsRead(NamedTuple):
    """Like readings of one solenoid as one: after leads [ohm], its temperature and conductor constant [degC]."""

    ohm: float
    celsius: float
    k_celsius: float
    entries: tuple[int, ...]


class Member(NamedTuple):
    """One solenoid of a set at 20 degC: value and own doubt [ohm], how odd it is, and what it was read from."""

    name: str
    ohm: float
    u_ohm: float
    expanded_ohm: float
    modified_z: float | None
    is_odd: bool | None
    reads: tuple[AsRead, ...]


class MatchedSet(NamedTuple):
    """A set read at one temperature [degC]; values at 20 degC [ohm]; `why` says what cannot be told from it."""

    name: str
    celsius: float
    median_ohm: float
    mad_ohm: float
    floor_ohm: float
    members: tuple[Member, ...]
    why: str

    @property
    def spread_ohm(self) -> float:
        """What differences are measured by: the median absolute deviation, never below the floor."""
        return max(self.mad_ohm, self.floor_ohm)


def sets_of_variant(variant: Variant) -> dict[str, Names]:
    """The matched sets a variant names."""
    found: dict[str, dict[str, str]] = {}
    for device in variant.devices:
        if isinstance(device, Coil) and device.matched_set:
            found.setdefault(device.matched_set, {})[f"device {device.name}"] = device.name
    return dict(found)


def sets_as_read(session: Session) -> dict[str, Names]:
    """Pairs that read alike, where neither a variant nor the wiring says what lies between them."""
    at_20: dict[str, float] = {}
    places: dict[str, str] = {}
    for one in groups_of(session, None):
        if _is_coil_like(one):
            at_20.setdefault(one.taken.target.key, value_of(one)[0] * _to_reference(one))
            places.setdefault(one.taken.target.key, _place(one))
    left = sorted(at_20, key=lambda key: at_20[key])
    found: dict[str, Names] = {}
    while left:
        mates = [key for key in left if is_like(at_20[left[0]], at_20[key])]
        left = [key for key in left if key not in mates]
        if len(mates) >= FEWEST:
            found[f"like pairs {len(found) + 1}"] = {key: place for key, place in places.items() if key in mates}
    return found


def _is_coil_like(group: Group) -> bool:
    return group.ohm is not None and kind_of(value_of(group)[0]) is WiredKind.COIL_LIKE


def _place(group: Group) -> str:
    return f"{group.taken.reading.from_node}\u2013{group.taken.reading.to_node}"


def matched_sets(session: Session, variant: Variant | None, named: Mapping[str, Names]) -> tuple[MatchedSet, ...]:
    """Every matched set of a body at every temperature it was read at.

    Parameters
    ----------
    session, variant : what was read, and of what
    named : the sets, as `sets_of_variant` or `sets_as_read` gives them

    Returns
    -------
    tuple of MatchedSet; *can't tell* (None) with fewer than three members.

    Source
    ------
    Iglewicz and Hoaglin, How to Detect and Handle Outliers (1993): modified z; the floor under
    the median absolute deviation is the doubt that does not cancel: common practice, no source.
    """
    usable = [one for one in groups_of(session, variant) if one.ohm is not None and half_width_of(one) is not None]
    found = []
    for name, names in named.items():
        own = [one for one in usable if one.taken.target.key in names]
        found += [_judged(_name(name, alike), names, plateau) for alike in _alike(own) for plateau in _plateaus(alike)]
    return tuple(found)


def _name(name: str, alike: Sequence[Group]) -> str:
    return with_access(name, alike[0].taken.reading.at)


def _alike(groups: Iterable[Group]) -> list[list[Group]]:
    """Read at one place by one meter in one way: what is in one value and not in another would make it odd."""
    found: list[list[Group]] = []
    for one in groups:
        place = next((same for same in found if _is_alike(same[0], one)), None)
        if place is None:
            found.append([one])
        else:
            place.append(one)
    return found


def _is_alike(one: Group, other: Group) -> bool:
    return one.taken.reading.at is other.taken.reading.at and not unlike(one, other)


def _plateaus(groups: Sequence[Group]) -> list[list[Group]]:
    plateaus: list[list[Group]] = []
    for one in sorted(groups, key=lambda group: group.celsius):
        if plateaus and one.celsius - plateaus[-1][0].celsius <= SAME_PLATEAU_CELSIUS:
            plateaus[-1].append(one)
        else:
            plateaus.append([one])
    return plateaus


class _Value(NamedTuple):
    """One solenoid's mean at 20 degC and its own doubt [ohm]."""

    ohm: float
    u_ohm: float
    expanded_ohm: float
    reads: tuple[AsRead, ...]


def _judged(name: str, names: Names, groups: Sequence[Group]) -> MatchedSet:
    has_same_tips = len({tips_of(one) for one in groups}) == 1
    own: dict[str, list[_Value]] = {}
    for one in groups:
        own.setdefault(names[one.taken.target.key], []).append(_value(one, has_same_tips=has_same_tips))
    values = {member: _mean(found) for member, found in own.items()}
    middle = median(value.ohm for value in values.values())
    mad = median(abs(value.ohm - middle) for value in values.values())
    floor = NORMAL_MAD * max(value.u_ohm for value in values.values())
    spread = max(mad, floor) if len(values) >= FEWEST else 0.0
    members = tuple(_member(member, value, middle, spread) for member, value in values.items())
    why = TOO_FEW if len(values) < FEWEST else NO_SPREAD if spread <= 0 else ""
    celsius = sum(one.celsius for one in groups) / len(groups)
    return MatchedSet(name, celsius, middle, mad, floor, members, why)


def _value(group: Group, *, has_same_tips: bool) -> _Value:
    factor = _to_reference(group)
    doubt = combine(own_lines(group, has_same_tips=has_same_tips))
    u_ohm = float(doubt.u) * factor
    ohm = value_of(group)[0]
    read = AsRead(ohm, group.celsius, _k_celsius(group), group.entries)
    return _Value(ohm * factor, u_ohm, float(doubt.k95) * u_ohm, (read,))


def _k_celsius(group: Group) -> float:
    """Copper where nobody says what it is wound with."""
    return group.taken.target.limits.k_celsius or COPPER_K_CELSIUS


def _to_reference(group: Group) -> float:
    moved: float = resistance_at(1.0, from_celsius=group.celsius, to_celsius=REF_CELSIUS, k_celsius=_k_celsius(group))
    return moved


def _mean(values: Sequence[_Value]) -> _Value:
    """Several readings as one; their doubt is that of the worst."""
    worst = max(values, key=lambda value: value.u_ohm)
    reads = tuple(read for value in values for read in value.reads)
    return worst._replace(ohm=sum(value.ohm for value in values) / len(values), reads=reads)


def _member(name: str, value: _Value, middle: float, spread: float) -> Member:
    z = modified_z(value.ohm, middle, spread) if spread > 0 else None
    is_odd = None if z is None else abs(z) > ODD_FROM
    return Member(name, value.ohm, value.u_ohm, value.expanded_ohm, z, is_odd, value.reads)
