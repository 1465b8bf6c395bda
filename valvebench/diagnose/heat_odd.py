"""Windings that ought to be equal, gone round at several temperatures: which one parts from the others.

Their ratio at one plateau needs no thermal model, no limit and no exact temperature.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import combinations
from typing import Final, NamedTuple

from valvebench.diagnose.heat_rounds import Rounds, RoundsFound, rounds_in
from valvebench.diagnose.matched import sets_of_variant
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.physics.uncertainty import SQRT3

FEWEST_TO_BLAME: Final = 3
"""Of two that part nobody can say which of them moves."""
FEWEST_TO_KEEP: Final = 3
"""Rounds from which on a ratio can be said to stay; all three are common practice, no source."""
SMALLEST_SPAN_KELVIN: Final = 10.0
MEANINGFUL_CHANGE: Final = 0.02
"""Part of a ratio whose change must show before it is said to stay."""
DRIFT_KELVIN: Final = 1.0
"""Half-width of how much warmer one winding may be than its round says: common practice, no source."""
_SURE: Final = 3.5
"""Standard uncertainties a change must be: many pairs in many rounds are looked at, and none may part by chance."""


class Shift(NamedTuple):
    """How much a ratio has changed from the coldest round [degC], as a part of it, with its standard uncertainty."""

    value: float
    u: float
    celsius: float
    coldest_celsius: float

    @property
    def is_sure(self) -> bool:
        """Whether it is more than its doubt can be."""
        return abs(self.value) > _SURE * self.u


class Parting(NamedTuple):
    """A matched set as it warms: `keeps` None where it can't be told, `odd` the one that parts from all others.

    `shift` is that of the odd one against the others, where it is largest.
    """

    name: str
    members: tuple[str, ...]
    keeps: bool | None
    odd: str | None = None
    shift: Shift | None = None


def partings(session: Session, variant: Variant | None) -> tuple[Parting, ...]:
    """Every matched set of a variant that was read in rounds; ask beside the window.

    Parameters
    ----------
    session, variant : what was read, and of what

    Returns
    -------
    tuple of Parting
        One for each set of which two were read at temperatures far enough apart.

    Source
    ------
    JCGM 100:2008, 5.1.6 for a quotient; the meter's counts stay what they are during a run, its last
    digit and what the part still drifts do not.  Who is blamed is ours: common practice, no source.
    """
    return partings_of(rounds_in(session, variant), variant) if variant is not None else ()


def partings_of(found: Mapping[str, tuple[RoundsFound, ...]], variant: Variant) -> tuple[Parting, ...]:
    """The same from rounds that were gathered already."""
    sets = sets_of_variant(variant)
    told = (parting_of(name, _alike(names.values(), found)) for name, names in sets.items())
    return tuple(one for one in told if one is not None)


def _alike(names: Iterable[str], found: Mapping[str, tuple[RoundsFound, ...]]) -> list[Rounds]:
    """The longest run of each member, those with one meter and doubt: what is in one only would make it odd."""
    longest = [
        max((one.rounds for one in found[name]), key=lambda rounds: len(rounds.rounds))
        for name in names
        if name in found
    ]
    return [rounds for rounds in longest if rounds.meter == longest[0].meter]


def parting_of(name: str, runs: Sequence[Rounds]) -> Parting | None:
    """What the ratios of like windings say; None where no two of them were read far enough apart."""
    shifts = {(a.device, b.device): found for a, b in combinations(runs, 2) if (found := shifts_of(a, b))}
    members = tuple(run.device for run in runs if any(run.device in pair for pair in shifts))
    if not members:
        return None
    moved = [pair for pair, found in shifts.items() if any(shift.is_sure for shift in found)]
    if moved:
        odd = _odd(members, moved)
        return Parting(name, members, False, odd, _shift_of(odd, shifts) if odd is not None else None)
    keeps = all(_keeps(found) for found in shifts.values()) and len(shifts) == math.comb(len(runs), 2)
    return Parting(name, members, True if keeps else None)


def shifts_of(a: Rounds, b: Rounds) -> tuple[Shift, ...]:
    """How the ratio of two windings changes from their coldest shared round, for each that is far enough from it."""
    shared = _shared(a, b)
    if not shared:
        return ()
    cold = min(shared, key=lambda moment: moment.celsius)
    hotter = [moment for moment in shared if moment.celsius - cold.celsius >= SMALLEST_SPAN_KELVIN]
    return tuple(_shift(cold, hot, a, b) for hot in hotter)


class _Moment(NamedTuple):
    """Both windings in one round [degC, ohm]."""

    celsius: float
    a_ohm: float
    b_ohm: float


def _shared(a: Rounds, b: Rounds) -> list[_Moment]:
    """Rounds in which both have a value, the newest reading of each."""
    at_a, at_b = ({number: place for place, number in enumerate(one.rounds)} for one in (a, b))
    moments = [
        _Moment(a.celsius[at_a[number]], a.ohm[at_a[number]], b.ohm[at_b[number]]) for number in at_a if number in at_b
    ]
    return [one for one in moments if 0 < one.a_ohm < math.inf and 0 < one.b_ohm < math.inf]


def _shift(cold: _Moment, hot: _Moment, a: Rounds, b: Rounds) -> Shift:
    change = (hot.a_ohm / hot.b_ohm) / (cold.a_ohm / cold.b_ohm) - 1.0
    parts = []
    for run, hot_ohm, cold_ohm in ((a, hot.a_ohm, cold.a_ohm), (b, hot.b_ohm, cold.b_ohm)):
        counts_ohm = run.instrument.counts * run.instrument.step / SQRT3
        digit_ohm = run.instrument.step / SQRT3
        parts += [counts_ohm * (1.0 / cold_ohm - 1.0 / hot_ohm), digit_ohm / hot_ohm, digit_ohm / cold_ohm]
        parts += [DRIFT_KELVIN / SQRT3 / (COPPER_K_CELSIUS + one.celsius) for one in (cold, hot)]
    return Shift(change, (1.0 + change) * math.hypot(*parts), hot.celsius, cold.celsius)


def _keeps(found: Sequence[Shift]) -> bool:
    """Whether a ratio stays: no change beyond its doubt, and one that matters would show."""
    is_enough = len(found) + 1 >= FEWEST_TO_KEEP
    return is_enough and all(not shift.is_sure and _SURE * shift.u <= MEANINGFUL_CHANGE for shift in found)


def _odd(members: Sequence[str], moved: Sequence[tuple[str, str]]) -> str | None:
    """The one that parts from every other, while no two others part."""
    if len(members) < FEWEST_TO_BLAME:
        return None
    alone = [one for one in members if all(one in pair for pair in moved)]
    return alone[0] if len(alone) == 1 and len(moved) == len(members) - 1 else None


def _shift_of(odd: str, shifts: Mapping[tuple[str, str], tuple[Shift, ...]]) -> Shift:
    """The largest change of the odd one against another, as a change of the odd one."""
    own = [(pair, shift) for pair, found in shifts.items() if odd in pair for shift in found]
    pair, most = max(own, key=lambda one: abs(one[1].value) / one[1].u)
    if pair[0] == odd:
        return most
    factor = 1.0 / (1.0 + most.value)
    return most._replace(value=factor - 1.0, u=most.u * factor**2)
