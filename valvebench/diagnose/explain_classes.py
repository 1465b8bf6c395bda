"""Faults that a set of readings cannot tell apart become one answer.

A fault belongs to the class of the best one when some size of it fits the best one's own
noise-free prediction for the set as well as the best one does itself, within a small chi-square.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted
from valvebench.diagnose.explain_fit import Flags, chi_square
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_weigh import Best, Evidence, Weighed, factors, fitted, predicted_open
from valvebench.physics.grid import Floats, Whole

_ROUNDS: Final = 6
_HOPELESS: Final = 25.0
_LEAST_SHARE: Final = 0.005


class Shares(NamedTuple):
    """(hypotheses,) posterior shares; healthy without a wild reading; (n,) healthy with that reading wild."""

    of: Floats
    sound: float
    one_bad: Floats


class Group(NamedTuple):
    """A class: its best hypothesis, all its members, and the share of all."""

    best: int
    members: tuple[int, ...]
    share: float


def shares_of(catalogue: Catalogue, weighed: Weighed) -> Shares:
    """Shares of the hypotheses from those of their sizes."""
    owner = catalogue.of[weighed.component]
    whole = np.zeros(len(catalogue.hypotheses))
    np.add.at(whole, owner, weighed.share)
    healthy = owner == 0
    clean = float(weighed.clean[healthy].sum())
    return Shares(whole, clean, weighed.wild[healthy].sum(axis=0))


class _Set(NamedTuple):
    """A set of pairs with all components: predictions, states, and (components, pairs) the whole variance in z."""

    pairs: Pairs
    predicted: Predicted
    is_open: Flags
    whole: Floats


class Classes:
    """The classes of a posterior on a set of pairs."""

    def __init__(
        self,
        catalogue: Catalogue,
        weighed: Weighed,
        evidence: Evidence,
        read: Predicted,
        log_more: Floats | float = 0.0,
    ) -> None:
        self._catalogue, self.weighed, self._evidence, self._read = catalogue, weighed, evidence, read
        # What was found besides tells faults apart just as readings do, whichever of them it favours.
        self._cost = np.broadcast_to(-2.0 * np.asarray(log_more), catalogue.of.shape)
        self.shares = shares_of(catalogue, weighed)

    def best_row(self, hypothesis: int) -> int | None:
        """The row with the largest share of a hypothesis."""
        rows = np.flatnonzero(self._catalogue.of[self.weighed.component] == hypothesis)
        return int(rows[np.argmax(self.weighed.share[rows])]) if len(rows) else None

    def wild_of(self, members: Sequence[int]) -> Floats:
        """(n,) share of hypotheses with each reading taken for a bad one."""
        rows = np.isin(self._catalogue.of[self.weighed.component], members)
        return np.asarray(self.weighed.wild[rows].sum(axis=0))

    def fit_of(self, rows: Whole) -> Best:
        """What rows know of the doubts."""
        return fitted(self._catalogue, self._evidence, self._read, self.weighed, rows)

    def groups(self, pairs: Pairs, predicted: Predicted, range_ohm: Floats) -> tuple[Group, ...]:
        """Classes on the set `pairs`, the most probable first; small ones alone, the tiny left out.

        Parameters
        ----------
        pairs : the set in question: what was read, and what usually is
        predicted : of all components for this set
        range_ohm : (pairs,) range on which each would be read [ohm]
        """
        left = self.shares.of.copy()
        is_open = predicted_open(predicted.ohm, range_ohm)
        found: list[Group] = []
        free = np.ones(len(left), dtype=bool)
        where = _Set(pairs, predicted, is_open, predicted.whole_variance())
        while len(found) < _ROUNDS and left.max() > _LEAST_SHARE:
            best = int(np.argmax(left))
            members = self._alike(best, free, where)
            found.append(Group(best, tuple(members.tolist()), float(left[members].sum())))
            left[members] = 0.0
            free[members] = False
        return tuple(sorted(found, key=lambda group: -group.share))

    def _alike(self, best: int, free: Flags, where: _Set) -> Whole:
        """Hypotheses that fit what the best one predicts."""
        pairs, predicted, is_open = where.pairs, where.predicted, where.is_open
        row = self.best_row(best)
        if row is None:
            return np.array([best])
        own = self.fit_of(np.array([row]))
        component = int(own.component[0])
        # What cannot show beside a sound part is a matter of the circuit, not of how it was read.
        sound = self._catalogue.hypotheses[best].fault is Fault.HEALTHY
        target = _noise_free(pairs, predicted, component, own.fit.doubts[0] * (0.0 if sound else 1.0))
        same = (is_open == is_open[component]).all(axis=1) & free[self._catalogue.of]
        used = ~is_open[component]
        kept = np.flatnonzero(same)
        finite = np.where(np.isfinite(predicted.ohm[kept]), predicted.ohm[kept], 0.0)
        # What the worst pair alone costs is a bound from below on the whole chi-square.
        alone = np.where(used[None], (target[None] - pairs.z(finite)) ** 2 / where.whole[kept], 0.0)
        costly = alone.max(axis=1, initial=0.0) > _HOPELESS
        costly &= self._catalogue.of[kept] != best
        kept = kept[~costly & self._found_alike(kept, component, is_sound=sound)]
        chi = self._chi_square(pairs, predicted, kept, target, used)
        of = self._catalogue.of[kept]
        least = np.full(len(free), np.inf)
        np.minimum.at(least, of, chi)
        more = least - least[best]
        classes = self._catalogue.priors.classes
        limit = np.full(len(free), classes.alike.value)
        limit[:] = classes.invisible.value if sound else limit
        # A sound part is no fault: it joins only what cannot show at all.
        limit[0] = classes.invisible.value
        members = np.flatnonzero((more <= limit) & free)
        return members if best in members else np.append(members, best)

    def _found_alike(self, kept: Whole, component: int, *, is_sound: bool) -> Flags:
        """Whether components make what was found besides as likely as the best one does."""
        classes = self._catalogue.priors.classes
        strict = is_sound | (self._catalogue.of[kept] == 0)
        limit = np.where(strict, classes.invisible.value, classes.alike.value)
        return np.asarray(np.abs(self._cost[kept] - self._cost[component]) <= limit)

    def _chi_square(self, pairs: Pairs, predicted: Predicted, kept: Whole, target: Floats, used: Flags) -> Floats:
        some = Predicted(*(values[kept] for values in predicted))
        finite = np.where(np.isfinite(some.ohm), some.ohm, 0.0)
        residual = target[None] - pairs.z(finite)
        every = np.broadcast_to(used[None], residual.shape)
        return chi_square(some, residual, every, factors(self._catalogue, 0))


def _noise_free(pairs: Pairs, predicted: Predicted, component: int, doubts: Floats) -> Floats:
    """(pairs,) z that a component would show without noise, its doubts as the readings left them."""
    ohm = predicted.ohm[component]
    finite = np.where(np.isfinite(ohm), ohm, 0.0)
    return np.asarray(pairs.z(finite) + predicted.doubts[component] @ doubts)


def ohm_of(pairs: Pairs, z: Floats) -> Floats:
    """Back from the scale to ohm (n,)."""
    share, floor = pairs.scale()
    return np.asarray(floor / share * np.sinh(share * z))


def fitted_ohm(pairs: Pairs, predicted: Predicted, component: int, doubts: Floats) -> Floats:
    """(pairs,) what a component would show without noise [ohm], infinite where open."""
    found = ohm_of(pairs, _noise_free(pairs, predicted, component, doubts))
    return np.where(np.isfinite(predicted.ohm[component]), found, np.inf)
