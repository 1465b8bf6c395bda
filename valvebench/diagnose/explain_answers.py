"""From a posterior to answers in facts: explanations with their predictions, and how far they can be trusted."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted
from valvebench.diagnose.explain_classes import Classes, Group, fitted_ohm
from valvebench.diagnose.explain_faults import Hypothesis
from valvebench.diagnose.explain_heat import called_false
from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explain_readings import Bound
from valvebench.diagnose.explained import SETTLED, Ask, Explanation, Place, Told, Value
from valvebench.model.entry import Reading
from valvebench.physics.grid import Floats

_LARGEST_ODDS: Final = 99.0
_SHOWN: Final = 0.005
_MOST_SHOWN: Final = 12
_STRAINED_Z: Final = 3.7
# Below this part of the best size another one is no more than the wing of a single reading taken for bad.
_NOTEWORTHY: Final = 1e-3


class View(NamedTuple):
    """What a posterior was made from; `found`: (components, finds) shares of what was found as the part warmed."""

    catalogue: Catalogue
    bound: Bound
    read: Predicted
    classes: Classes
    found: Floats


class _Answer(NamedTuple):
    """An answer before its details: hypothesis, share, its class, the reading that is bad (-1: none)."""

    number: int
    p: float
    same: tuple[Place, ...] = ()
    bad: int = -1


def explanations(view: View, groups: Sequence[Group]) -> tuple[Explanation, ...]:
    """The most probable answers; a sound part is always among them."""
    found = _answers(view, groups)
    shown = found[:_MOST_SHOWN]
    sound = next((one for one in found if one.number == 0 and one.bad < 0), None)
    names_sound = any(Place(Fault.HEALTHY, ()) in one.same for one in shown)
    if sound not in shown and not names_sound:
        shown = [*shown[: _MOST_SHOWN - 1], sound or _Answer(0, view.classes.shares.sound)]
    return _with_decisive([_explanation(view, one) for one in shown], view)


def _answers(view: View, groups: Sequence[Group]) -> list[_Answer]:
    shares = view.classes.shares
    one_bad, found = shares.one_bad, list[_Answer]()
    inside: set[int] = set()
    for group in groups:
        inside |= set(group.members)
        same = tuple(_place(view.catalogue.hypotheses[i]) for i in group.members if i != group.best)
        # One bad reading of a sound part, or of one whose fault cannot show, stands as an answer of its own.
        one_bad = view.classes.wild_of(group.members) if 0 in group.members else one_bad
        p = max(0.0, group.share - (one_bad.sum() if 0 in group.members else 0.0))
        found.append(_Answer(group.best, float(p), same))
    alone = [i for i in range(len(shares.of)) if i not in inside and shares.of[i] >= _SHOWN]
    found += [_Answer(i, float(shares.of[i]) if i else shares.sound) for i in alone]
    found += [_Answer(0, float(p), (), i) for i, p in enumerate(one_bad) if p >= _SHOWN]
    return sorted(found, key=lambda one: -one.p)


def _place(h: Hypothesis) -> Place:
    return Place(h.fault, h.where, h.when)


def _explanation(view: View, answer: _Answer) -> Explanation:
    h = view.catalogue.hypotheses[answer.number]
    fault, where = h.fault, h.where
    if answer.bad >= 0:
        one = view.bound.said[answer.bad].reading
        fault, where = Fault.ONE_BAD_READING, (one.from_node, one.to_node)
    row = view.classes.best_row(answer.number)
    if row is None:
        return Explanation(fault, where, answer.p, None, answer.same, None, (), h.when)
    best = view.classes.fit_of(np.array([row]))
    # What each part may be by itself is left out: a prediction that follows its own reading predicts nothing.
    shared = best.fit.doubts[0] * view.catalogue.is_shared
    ohm = fitted_ohm(view.bound.evidence.pairs, view.read, int(best.component[0]), shared)
    value, told = _value(view, answer.number), _told(view, ohm)
    return Explanation(fault, where, answer.p, None, answer.same, value, told, h.when)


def _told(view: View, ohm: Floats) -> tuple[Told, ...]:
    return tuple(
        Told(one.reading.from_node, one.reading.to_node, one.reading.at, _finite(value), _finite(one.ohm))
        for one, value in zip(view.bound.said, ohm.tolist(), strict=True)
    )


def _finite(ohm: float) -> float | None:
    return ohm if math.isfinite(ohm) else None


_SIZED_OHM: Final = frozenset({Fault.LEAK, Fault.TERMINAL_RESISTIVE, Fault.VALUE_LOW, Fault.VALUE_HIGH})


def _value(view: View, number: int) -> Value | None:
    """Size of a fault from all its components that survive."""
    catalogue = view.catalogue
    h = catalogue.hypotheses[number]
    weighed = view.classes.weighed
    if h.when is not None:
        return h.excess
    rows = np.flatnonzero(catalogue.of[weighed.component] == number)
    if h.fault not in _SIZED_OHM | {Fault.LEADS, Fault.TEMPERATURE} or not len(rows):
        return None
    rows = rows[np.argsort(-weighed.share[rows])[:20]]
    rows = rows[weighed.share[rows] > _NOTEWORTHY * weighed.share[rows[0]]]
    best = view.classes.fit_of(rows)
    share = weighed.share[rows] / max(weighed.share[rows].sum(), 1e-300)
    centre, width = catalogue.size[best.component], catalogue.sd[best.component]
    mean = centre + width * best.fit.doubts[:, -1]
    variance = width**2 * best.fit.covariance[:, -1, -1]
    middle = float((share * mean).sum())
    u = math.sqrt(float((share * (variance + (mean - middle) ** 2)).sum()))
    if h.fault in (Fault.LEADS, Fault.TEMPERATURE):
        return Value(middle, u)
    scale = 1.0
    if h.fault in (Fault.VALUE_LOW, Fault.VALUE_HIGH):
        scale = float(catalogue.circuit.at(catalogue.set_up.celsius[0])[0].ohm[h.number])
    ohm = scale * math.exp(middle)
    return Value(ohm, ohm * u)


def _with_decisive(found: Sequence[Explanation], view: View) -> tuple[Explanation, ...]:
    """Odds against the next answer, and the readings on which the first two differ most put first."""
    if not found:
        return ()
    order = _decisive(found, view)
    result = []
    for i, one in enumerate(found):
        after = found[i + 1].p if i + 1 < len(found) else 1.0 - one.p
        odds = min(_LARGEST_ODDS, one.p / after) if after > one.p / _LARGEST_ODDS else _LARGEST_ODDS
        result.append(one._replace(odds=odds, predicts=tuple(one.predicts[j] for j in order if one.predicts)))
    return tuple(result)


def _decisive(found: Sequence[Explanation], view: View) -> list[int]:
    pairs = view.bound.evidence.pairs
    count = len(pairs.sites)
    if len(found) == 1 or not all(one.predicts for one in found[:2]):
        return list(range(count))
    first, second = (_z_told(one, pairs) for one in found[:2])
    with np.errstate(invalid="ignore"):
        apart = np.abs(np.where(first == second, 0.0, first - second))
    return [int(i) for i in np.argsort(-apart, kind="stable")]


def _z_told(one: Explanation, pairs: Pairs) -> Floats:
    ohm = np.array([1e12 if told.ohm is None else told.ohm for told in one.predicts])
    return pairs.z(ohm)


def possible(share: Floats, groups: Sequence[Group]) -> int:
    """How many answers it takes to hold 95 % together, a class counting as one."""
    alone = share.copy()
    for group in groups:
        alone[list(group.members)] = 0.0
    answers = np.sort(np.append(alone, [group.share for group in groups]))[::-1]
    return int(np.searchsorted(np.cumsum(answers), SETTLED * share.sum()) + 1)


def is_strained(view: View, number: int) -> bool:
    """Whether the best fit of the first answer is worse than once in some ten thousand times.

    Or whether it takes two readings, or a heat result, for false.

    Source: Wilson and Hilferty, the cube root of chi-square over its degrees of freedom is nearly Gaussian.
    """
    row = view.classes.best_row(number)
    if row is None or not view.bound.said:
        return False
    best = view.classes.fit_of(np.array([row]))
    if int(best.wild[0].sum()) > 1 or called_false(view.found, int(best.component[0]), view.catalogue.priors.heat):
        return True
    n = int(best.used[0])
    if n == 0:
        return False
    spread = 2.0 / (9.0 * n)
    z = (math.pow(float(best.fit.chi_square[0]) / n, 1.0 / 3.0) - (1.0 - spread)) / math.sqrt(spread)
    return z > _STRAINED_Z


def called_bad(view: View, number: int) -> list[Reading]:
    """Readings that the first answer takes for bad ones, unless their pair was read again."""
    row = view.classes.best_row(number)
    if row is None or not view.bound.said:
        return []
    wild = view.classes.fit_of(np.array([row])).wild[0]
    readings = [one.reading for one in view.bound.said]
    places = [(reading.pair, reading.at) for reading in readings]
    return [readings[i] for i in np.flatnonzero(wild).tolist() if places.count(places[i]) == 1]


def again_first(asks: tuple[Ask, ...], bad: Sequence[Reading], seconds: float) -> tuple[Ask, ...]:
    """A reading that is called bad is taken again before anything else: the answer leans on it."""
    pairs = [reading.pair for reading in bad]
    first = [ask for ask in asks if ask.what == "repeat" and {ask.from_node, ask.to_node} in pairs]
    named = [{ask.from_node, ask.to_node} for ask in first]
    first += [Ask(one.from_node, one.to_node, one.at, "repeat", 0.0, seconds) for one in bad if one.pair not in named]
    return (*first, *(ask for ask in asks if ask not in first))


def invisible(view: View, groups: Sequence[Group]) -> tuple[Place, ...]:
    """Faults that would not show beside a sound part in any usual reading."""
    hypotheses = view.catalogue.hypotheses
    mine = next((group for group in groups if group.best == 0), None)
    return tuple(_place(hypotheses[i]) for i in mine.members if i) if mine is not None else ()
