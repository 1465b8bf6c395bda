"""Chances of all variants from what was seen, and what each further look would tell; many parts at once if wanted.

Looks are counted, not kept in a row, so their order cannot matter.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt

from valvebench.diagnose.identified import SOMETHING_ELSE, Look
from valvebench.diagnose.identify_priors import IdentifyPriors
from valvebench.diagnose.identify_table import Floats, Table, Whole
from valvebench.model.words import Seen

Counts = npt.NDArray[np.int64]
WAYS: Final = (Seen.US, Seen.PHOTO, Seen.PHONE)
US: Final = WAYS.index(Seen.US)
PHONE: Final = WAYS.index(Seen.PHONE)
_NEVER: Final = 1e-22
"""All variants less likely than this together would not change a bit's ninth decimal."""
_FEW: Final = 8
_OF_ONE_PART: Final = 2


class Chances(NamedTuple):
    """Posterior: (..., N) of the variants, (...) of none of these."""

    p: Floats
    none: Floats


class Weights(NamedTuple):
    """What a look changes [nat], against the answer a variant does not give: (3, F) each, a row for each way of seeing.

    fits : the variant gives that answer
    silent : the variant states nothing, or it is none of these
    """

    fits: Floats
    silent: Floats


class Weigher:
    """Weighs looks against one table.

    Parameters
    ----------
    table : features against variants
    priors : how often a look is wrong, how often a body is none of these
    """

    def __init__(self, table: Table, priors: IdentifyPriors) -> None:
        self.table = table
        self._second = priors.second_look.value
        self._none = priors.none_of_these.value
        self._misread = np.array([priors.misread.of(seen) for seen in WAYS])
        self._weights = _weights(table.answers, self._misread)
        self._of_feature = np.zeros((len(table.feature), len(table.answers)))
        self._of_feature[np.arange(len(table.feature)), table.feature] = 1.0
        self._own_look = self._one_look(US)

    def _one_look(self, way: int) -> Floats:
        """What one look seen that way adds to each variant, answer by answer: (R, N) [nat]."""
        table, weights = self.table, self._weights
        found: Floats = table.match * weights.fits[way, table.feature][:, None]
        for f, unknown in zip(table.silent.tolist(), table.unknown, strict=True):
            found[table.feature == f] += weights.silent[way, f] * unknown
        return found

    def count(self, looks: Iterable[Look]) -> Counts:
        """Looks as (3, R + F) counts: by way of seeing, answer by answer, then *something else* of each feature.

        Looks at what the table does not hold count nothing.
        """
        table, rows = self.table, len(self.table.feature)
        counts = np.zeros((len(WAYS), rows + len(table.answers)), dtype=np.int64)
        numbers = {question.feature: f for f, question in enumerate(table.questions)}
        for look in looks:
            f = numbers.get(look.feature)
            if f is None:
                continue
            answers = table.questions[f].answers
            if look.value in answers:
                counts[WAYS.index(look.seen), table.first[f] + answers.index(look.value)] += 1
            elif look.value == SOMETHING_ELSE:
                counts[WAYS.index(look.seen), rows + f] += 1
        return counts

    def by_feature(self, counts: Counts) -> Counts:
        """Looks with an answer, (..., F), whatever it was."""
        return np.rint(self._summed(counts)).astype(np.int64)

    def _summed(self, counts: Counts | Floats) -> Floats:
        rows = len(self.table.feature)
        found: Floats = counts[..., :rows] @ self._of_feature + counts[..., rows:]
        return found

    def chances(self, counts: Counts, also: Floats | None = None, also_none: float = 0.0) -> Chances:
        """Posterior from looks.

        Parameters
        ----------
        counts : (..., 3, R + F), see `count`
        also : (N,) or (..., N) what else speaks for each variant [nat]; `also_none` for none of these

        Returns
        -------
        Chances that sum to one with none of these.

        Source
        ------
        Bayes' theorem; looks at different features independent given the variant, as in naive Bayes for categories.
        The same answer seen the same way a second time counts a part of the first, a third time nothing.
        """
        times = (counts > 0) + self._second * (counts > 1)
        none = self._silent(times).sum(axis=-1) + also_none + np.log(self._none)
        scores = self._scores(times) + np.log((1.0 - self._none) / len(self.table.keys))
        if also is not None:
            scores += also
        return _normalised(scores, none)

    def _scores(self, times: Floats) -> Floats:
        """What looks speak for each variant (..., N) [nat]; of one part, our own looks by a table made beforehand."""
        rows = len(self.table.feature)
        if times.ndim > _OF_ONE_PART:
            return self._apart(times)
        rest = times.copy()
        rest[US, :rows] = 0.0
        found = _times(times[US, :rows], self._own_look)
        return found + self._apart(rest) if rest.any() else found

    def _apart(self, times: Floats) -> Floats:
        table, rows = self.table, len(self.table.feature)
        fits = np.einsum("...wr,wr->...r", times[..., :rows], self._weights.fits[:, table.feature])
        found = _times(fits, table.match)
        if len(table.silent):
            found += _times(self._silent(times)[..., table.silent], table.unknown)
        return found

    def _silent(self, times: Floats) -> Floats:
        """What looks speak for whoever states nothing (..., F) [nat]."""
        found: Floats = np.einsum("...wf,wf->...f", self._summed(times), self._weights.silent)
        return found

    def gains(self, chances: Chances) -> Floats:
        """What one more look by us at each feature is expected to tell (..., F) [bit].

        Source
        ------
        Mutual information of answer and variant: H(answer) - H(answer given the variant).
        """
        table, wrong = self.table, self._misread[US]
        answers = table.answers.astype(float)
        other = wrong / (answers - 1.0)
        given = self._gives(chances.p)
        stated = given @ self._of_feature
        common = other * stated + (1.0 - stated) / answers
        shares = given * (1.0 - wrong - other)[table.feature] + common[..., table.feature]
        unasked = answers - self._of_feature.sum(axis=0)
        told = _bits(shares) @ self._of_feature + unasked * _bits(common)
        misread = _bits(np.array(1.0 - wrong)) + (answers - 1.0) * _bits(other)
        found: Floats = np.maximum(told - stated * misread - (1.0 - stated) * np.log2(answers), 0.0)
        return found

    def _gives(self, p: Floats) -> Floats:
        """Chance that the part is of a variant that gives an answer: (..., R)."""
        match = self.table.match
        if p.ndim > 1:
            many: Floats = p @ match.T
            return many
        likely = np.flatnonzero(p > _NEVER)
        if len(likely) < len(p) // _FEW:
            few: Floats = np.einsum("rn,n->r", match[:, likely], p[likely])
            return few
        # Row by row: one product of this size wakes all processors, and on a busy machine waits for them.
        return np.array([row @ p for row in match])


def _weights(answers: Whole, misread: Floats) -> Weights:
    wrong = np.log(misread[:, None] / (answers - 1.0))
    return Weights(fits=np.log1p(-misread)[:, None] - wrong, silent=-np.log(answers) - wrong)


def _times(weights: Floats, rows: Floats) -> Floats:
    """Weighted sum of rows; of one part only rows that count are touched."""
    if weights.ndim > 1:
        many: Floats = weights @ rows
        return many
    found, part = np.zeros(rows.shape[1]), np.empty(rows.shape[1])
    for row in np.flatnonzero(weights).tolist():
        is_once = weights[row] == 1.0
        found += rows[row] if is_once else np.multiply(rows[row], weights[row], out=part)
    return found


def _normalised(scores: Floats, none: Floats) -> Chances:
    top = np.maximum(scores.max(axis=-1), none)
    np.exp(np.subtract(scores, top[..., None], out=scores), out=scores)
    rest = np.exp(none - top)
    total = scores.sum(axis=-1) + rest
    scores /= total[..., None]
    return Chances(scores, rest / total)


def _bits(shares: Floats) -> Floats:
    """-p log2 p, nought where p is."""
    with np.errstate(divide="ignore", invalid="ignore"):
        found: Floats = np.where(shares > 0.0, -shares * np.log2(shares), 0.0)
    return found
