"""From chances to an answer: the verdict, what speaks against each variant, what to look at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.identified import (
    CANNOT_SEE,
    CONFIRMED_ABOVE,
    LEAST_BITS,
    NARROWED_ABOVE,
    Ask,
    Because,
    Contradiction,
    First,
    HoldBack,
    Holding,
    Identity,
    Look,
    Lost,
    Misfit,
    MustPoint,
    MustState,
)
from valvebench.diagnose.identify_electric import Bands, misfits
from valvebench.diagnose.identify_readings import Served
from valvebench.diagnose.identify_rules import Standing, first_of_all, is_confirmed, standing, without_phone
from valvebench.diagnose.identify_table import Flags, Floats, Whole
from valvebench.diagnose.identify_weigh import Chances, Counts, Weigher
from valvebench.model.words import Seen

MOST_TOLD: Final = 40
"""Variants whose loss is told in full; a library of thousands is not listed line by line."""
CLOSEST_ABOVE: Final = 0.5
"""So likely, a variant that is contradicted for good makes the answer *contradicted*, whatever else is possible."""
_SAME_LN_P: Final = 9
_MISFIT_SDS: Final = 3.0
_SAME_BITS: Final = 9


class Evidence(NamedTuple):
    """What was seen and read of one part, and the chances that follow; `unphoned` without the telephone."""

    looks: tuple[Look, ...]
    counts: Counts
    taken: Served
    bands: Bands
    chances: Chances
    unphoned: Chances


class Answering:
    """Answers about one part.

    Parameters
    ----------
    weigher : the table with its weights
    evidence : what was seen and read, and the chances that follow
    """

    def __init__(self, weigher: Weigher, evidence: Evidence) -> None:
        self._weigher, self._table, self._evidence = weigher, weigher.table, evidence
        p, keys = evidence.chances.p, weigher.table.keys
        rank = _rank(p)
        self.order: Whole = np.lexsort((np.array(keys), -rank))
        self.leading: tuple[int, ...] = tuple(self.order[rank[self.order] == rank.max()].tolist())
        self._best = self.leading[0]
        self._p_best = float(p[self._best])
        self._how = self._standing([self._best])
        self._bits: Floats = weigher.gains(evidence.chances)
        self.has_evidence = bool(evidence.counts.any()) or bool(evidence.taken.said)

    def _standing(self, variants: Sequence[int]) -> Standing:
        """How the looks stand to variants, (V, F)."""
        return standing(self._weigher, self._evidence.counts[None], np.array(variants, dtype=np.intp))

    def verdict(self) -> Identity:
        """How sure it is."""
        chances = self._evidence.chances
        if not self.has_evidence:
            return Identity.OPEN  # a library of one is no reason to name it
        if self._is_confirmed():
            return Identity.CONFIRMED
        has_standing = bool(self._how.stands.any())
        if has_standing and chances.none > NARROWED_ABOVE:
            return Identity.NONE_OF_THESE
        if has_standing and (self._p_best > CLOSEST_ABOVE or self._free_share() < 1.0 - NARROWED_ABOVE):
            return Identity.CONTRADICTED
        return Identity.NARROWED if self._p_best > NARROWED_ABOVE else Identity.OPEN

    def _is_confirmed(self) -> bool:
        unphoned = self._evidence.unphoned.p[[self._best]]
        best = np.array([self._best])
        return bool(is_confirmed(self._table, np.array([self._p_best]), unphoned, best, self._how)[0])

    def _free_share(self) -> float:
        """Chance of all variants that nothing contradicts for good."""
        told = self.order[:MOST_TOLD]
        stands = self._standing(told.tolist()).stands.any(axis=1)
        p = self._evidence.chances.p
        return float(p[told][~stands].sum() + p[self.order[MOST_TOLD:]].sum())

    def holds_back(self) -> tuple[HoldBack, ...]:
        """Why the one leading variant is not confirmed; nothing where it is, or where several lead."""
        if len(self.leading) > 1 or self._is_confirmed():
            return ()
        how, must = self._how, self._table.must[:, self._best]
        found = []
        if self._p_best <= CONFIRMED_ABOVE:
            found.append(HoldBack(Holding.CHANCE))
        elif self._evidence.unphoned.p[self._best] <= CONFIRMED_ABOVE:
            found.append(HoldBack(Holding.PHONE, self.told_only()))
        is_stated = self._table.row[:, self._best] >= 0
        groups = (
            (Holding.STANDS, how.stands[0]),
            (Holding.LOOK_AGAIN, how.doubted[0] & ~how.stands[0]),
            (Holding.MUST_MATCH, must & is_stated & ~how.seen[0] & ~how.doubted[0]),
            (Holding.NOT_STATED, must & ~is_stated),
        )
        found += [HoldBack(what, self._names(flags)) for what, flags in groups if flags.any()]
        return tuple(found)

    def contradictions(self, variants: Sequence[int]) -> tuple[Contradiction, ...]:
        """Looks that these variants do not fit."""
        how = self._standing(variants)
        found = []
        for i, f in np.argwhere(how.doubted | how.stands).tolist():
            v, question = variants[i], self._table.questions[f]
            needs = question.answers[self._table.codes[f, v]]
            looks = 2 if how.stands[i, f] else 1
            found.append(Contradiction(self._table.keys[v], question.feature, self._saw(f, needs), needs, looks))
        return tuple(found)

    def _saw(self, f: int, needs: str) -> str:
        """What was answered instead: by us or in a photo before the telephone, the more frequent first."""
        feature = self._table.questions[f].feature
        others = [
            one for one in self._evidence.looks if one.feature == feature and one.value not in (needs, CANNOT_SEE)
        ]
        own = [one for one in others if one.seen is not Seen.PHONE] or others
        return min(Counter(one.value for one in own).items(), key=lambda item: (-item[1], item[0]))[0]

    def must(self) -> tuple[MustPoint, ...]:
        """The points of the one leading variant that must match."""
        if len(self.leading) > 1:
            return ()
        found = []
        for f in np.flatnonzero(self._table.must[:, self._best]).tolist():
            question, code = self._table.questions[f], int(self._table.codes[f, self._best])
            state = self._must_state(f, code)
            needs = question.answers[code] if code >= 0 else ""
            saw = {MustState.SEEN: needs, MustState.TOLD: needs}.get(state, "")
            if state is MustState.CONTRADICTED:
                saw = self._saw(f, needs)
            found.append(MustPoint(question.feature, needs, state, saw))
        return tuple(found)

    def _must_state(self, f: int, code: int) -> MustState:
        how = self._how
        if code < 0:
            return MustState.NOT_STATED
        if how.doubted[0, f] or how.stands[0, f]:
            return MustState.CONTRADICTED
        if how.seen[0, f]:
            return MustState.SEEN
        return MustState.TOLD if how.told[0, f] else MustState.NOT_SEEN

    def next(self) -> tuple[Ask, ...]:
        """Features worth a look, those that tell most first; equal ones by name."""
        own = self._weigher.by_feature(without_phone(self._evidence.counts).sum(axis=0))
        again = self._how.doubted[0] & ~self._how.stands[0]
        offered = ((own == 0) & ~self._unseeable()) | (again & (len(self.leading) == 1))
        chosen = np.flatnonzero(offered & (self._bits > LEAST_BITS))
        asks = [Ask(self._table.questions[f].feature, float(self._bits[f])) for f in chosen]
        return tuple(sorted(asks, key=lambda ask: (-round(ask.bits, _SAME_BITS), ask.feature)))

    def first(self) -> tuple[First, ...]:
        """What to look at before anything else: second looks, then points that must match."""
        p, none = np.array([self._p_best]), np.array([self._evidence.chances.none])
        if len(self.leading) > 1 and none <= p:
            return ()
        again, unseen = first_of_all(self._table, p, none, np.array([self._best]), self._how)
        return (
            *(First(name, Because.LOOK_AGAIN) for name in self._names(again[0])),
            *(First(name, Because.MUST_MATCH) for name in self._names(unseen[0] & ~self._unseeable())),
        )

    def not_checked(self) -> tuple[str, ...]:
        """Features nobody has an answer for."""
        return self._names(self._answered() == 0)

    def told_only(self) -> tuple[str, ...]:
        """Features known from the telephone alone."""
        own = self._weigher.by_feature(without_phone(self._evidence.counts).sum(axis=0))
        return self._names((self._answered() > 0) & (own == 0))

    def lost(self) -> tuple[Lost, ...]:
        """What speaks against each variant that is not leading, the most probable first."""
        taken, bands = self._evidence.taken, self._evidence.bands
        far = misfits(taken.readings, bands, sds=_MISFIT_SDS)
        others = self.order[len(self.leading) : len(self.leading) + MOST_TOLD].tolist()
        against: dict[str, list[Contradiction]] = {}
        for one in self.contradictions(others):
            against.setdefault(one.variant, []).append(one)
        keys = self._table.keys
        return tuple(
            Lost(
                keys[v],
                float(self._evidence.chances.p[v]),
                tuple(against.get(keys[v], ())),
                self._misfits(far[:, v], v),
            )
            for v in others
        )

    def _misfits(self, far: Flags, v: int) -> tuple[Misfit, ...]:
        taken, bands = self._evidence.taken, self._evidence.bands
        return tuple(
            Misfit(
                taken.said[r].reading.from_node,
                taken.said[r].reading.to_node,
                taken.said[r].ohm,
                None if bands.is_apart[r, v] else float(np.exp(bands.middle[r, v])),
            )
            for r in np.flatnonzero(far)
        )

    def _answered(self) -> Counts:
        return self._weigher.by_feature(self._evidence.counts.sum(axis=0))

    def _unseeable(self) -> Flags:
        """Features that somebody tried to see and could not; a voice on the telephone did not look as we can."""
        looks = self._evidence.looks
        tried = {look.feature for look in looks if look.value == CANNOT_SEE and look.seen is not Seen.PHONE}
        found: Flags = np.array([question.feature in tried for question in self._table.questions], dtype=bool)
        return found

    def _names(self, flags: Flags) -> tuple[str, ...]:
        return tuple(self._table.questions[f].feature for f in np.flatnonzero(flags))


def _rank(p: Floats) -> Floats:
    """Chances as logarithms, equal where only rounding differs: neither it nor the order of files names a winner."""
    with np.errstate(divide="ignore"):
        found: Floats = np.log(p)
    return np.round(found, _SAME_LN_P)
