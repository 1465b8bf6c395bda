"""What explains a set of readings, and what to measure next."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final, NamedTuple

import numpy as np

from valvebench.diagnose.access import between_access_points
from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted, SetUp
from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_classes import Classes, Group, fitted_ohm
from valvebench.diagnose.explain_faults import Hypothesis
from valvebench.diagnose.explain_next import asked, best_rows, candidates, like_last
from valvebench.diagnose.explain_priors import Fault, Priors
from valvebench.diagnose.explain_readings import Bound, Said, bind, hints, said_of, thinned
from valvebench.diagnose.explain_weigh import Best, Weighed, weigh
from valvebench.diagnose.explained import SETTLED, Ask, Explained, Explanation, LeftOut, Place, Told, Value
from valvebench.judge.device_limits import limits_of
from valvebench.model.entry import Reading
from valvebench.model.limits import ASSUMED_REF_CELSIUS, NO_LIMITS
from valvebench.model.session import Session
from valvebench.model.variant import Link, Variant
from valvebench.model.words import CASE, AccessPoint
from valvebench.physics.grid import Floats

_LARGEST_ODDS: Final = 99.0
_SHOWN: Final = 0.005
_MOST_SHOWN: Final = 12
_KEPT: Final = 8
_STRAINED_Z: Final = 3.7
_MOST_PAIRS: Final = 200
_WARM_U_CELSIUS: Final = 2.0 * 3.0**-0.5


class Explainer:
    """Explains sessions of one variant; what does not depend on the readings' values is kept.

    Parameters
    ----------
    variant : what is wired to what, with limits
    priors : how likely each fault is
    others : variants the part could be instead, with the same pins
    """

    def __init__(self, variant: Variant, priors: Priors, others: Sequence[Variant] = ()) -> None:
        self._variant, self._priors = variant, priors
        pins = {pin.name for pin in variant.pins}
        same = [one for one in others if {pin.name for pin in one.pins} == pins and one.devices != variant.devices]
        self._others = tuple(Circuit(one, priors.part) for one in same)
        self._kept: dict[Any, Any] = {}

    def explain(self, session: Session, *, is_asking: bool = True) -> Explained:
        """Weigh all faults against the readings of a session.

        Parameters
        ----------
        session : what counts now
        is_asking : whether the next reading is wanted

        Returns
        -------
        Explained

        Source
        ------
        Bayes over single faults and one wild reading; formulation and check figures in the guide's numbers page.
        """
        said, left_out = said_of(session, self._priors)
        return self.explain_said(said, left_out, is_asking=is_asking)

    def explain_said(
        self, said: Sequence[Said], left_out: Sequence[LeftOut] = (), *, is_asking: bool = True
    ) -> Explained:
        """The same from readings in numbers."""
        circuit = self._circuit(said)
        kept, many = thinned(said)
        bound = bind(circuit, kept)
        catalogue = self._catalogue(circuit, bound.set_up)
        read = self._predicted(catalogue, bound.evidence.pairs)
        weighed = weigh(catalogue, bound.evidence, read)
        classes = Classes(catalogue, weighed, bound.evidence, read)
        view = _View(catalogue, bound, read, classes)
        groups = self._groups(view)
        explanations = _explanations(view, groups)
        rows = best_rows(weighed)
        bad = _called_bad(view, groups[0].best if groups else 0)
        asks = self._asks(view, weighed, classes.fit_of(rows), rows) if is_asking else ()
        return Explained(
            explanations=explanations,
            next=_again_first(asks, bad, self._priors.next.seconds.repeat),
            called_bad=tuple((one.from_node, one.to_node) for one in bad),
            possible=_possible(classes.shares.of, groups),
            invisible=_invisible(view, groups),
            left_out=(*left_out, *bound.left_out, *many),
            readings=len(bound.said),
            celsius=tuple(zip(bound.set_up.celsius, bound.set_up.u_celsius, strict=True)),
            is_strained=_is_strained(view, groups[0].best if groups else 0),
            access=between_access_points(self._variant, said),
        )

    def _circuit(self, said: Sequence[Said]) -> Circuit:
        has_plug = any(one.reading.at is AccessPoint.VEHICLE_PLUG for one in said)
        found = hints(self._variant, said)
        unknown = {name: ohm for name, ohm in found.items() if not _has_limits(self._variant, name)}
        key = ("circuit", has_plug, tuple(sorted(unknown.items())))
        made: Circuit = self._keep(
            key, lambda: Circuit(self._variant, self._priors.part, hints=unknown, has_plug=has_plug)
        )
        return made

    def _catalogue(self, circuit: Circuit, set_up: SetUp) -> Catalogue:
        """With one temperature more than was read: the warm one that could be asked for."""
        warm = self._priors.next.warm_celsius.value
        if max(set_up.celsius) > warm - 20.0:
            warm = 20.0
        whole = SetUp(
            (*set_up.celsius, warm), (*set_up.u_celsius, _WARM_U_CELSIUS), max(1, set_up.gains), max(1, set_up.leads)
        )
        made: Catalogue = self._keep(
            ("catalogue", id(circuit), whole), lambda: Catalogue(circuit, self._priors, whole, self._others)
        )
        return made

    def _predicted(self, catalogue: Catalogue, pairs: Pairs) -> Predicted:
        """Pair by pair, for one reading more is one pair more."""
        kept: dict[Any, Predicted] = self._keep(("pairs", id(catalogue)), dict)
        keys = pairs.keys()
        missing = [i for i in range(len(keys)) if keys[i] not in kept]
        if len(kept) + len(missing) > _MOST_PAIRS:
            kept.clear()
            missing = list(range(len(keys)))
        if missing:
            found = catalogue.predict(pairs.taken(np.array(missing, dtype=np.intp)))
            for column, i in enumerate(missing):
                kept[keys[i]] = Predicted(*(values[:, column].copy() for values in found))
        if not keys:
            return catalogue.predict(pairs)
        return Predicted(*(np.stack(columns, axis=1) for columns in zip(*(kept[key] for key in keys), strict=True)))

    def _keep(self, key: Any, make: Any) -> Any:
        """Made once while it is among the last few asked for."""
        if key not in self._kept:
            self._kept[key] = make()
        found = self._kept.pop(key)
        self._kept[key] = found
        while len(self._kept) > _KEPT:
            self._kept.pop(next(iter(self._kept)))
        return found

    def _groups(self, view: _View) -> tuple[Group, ...]:
        """Classes on everything that was read and everything that usually is."""
        usual = usual_pairs(view.catalogue.circuit, view.bound)
        predicted = self._predicted(view.catalogue, usual)
        both = Predicted(*(np.concatenate([a, b], axis=1) for a, b in zip(view.read, predicted, strict=True)))
        range_ohm = np.append(
            view.bound.evidence.range_ohm, np.full(len(usual.sites), self._priors.reading.open_above_ohm.value)
        )
        return view.classes.groups(view.bound.evidence.pairs.joined(usual), both, range_ohm)

    def _asks(self, view: _View, weighed: Weighed, best: Best, rows: np.ndarray) -> tuple[Ask, ...]:
        set_up = view.catalogue.set_up
        # Already warm: going round again would tell nothing new.
        is_warmer = set_up.celsius[-1] > max(set_up.celsius[:-1])
        warm = len(set_up.celsius) - 1 if is_warmer else None
        found = candidates(view.catalogue.circuit, view.bound, self._priors, warm=warm)
        return asked(view.catalogue, weighed, best, rows, found)


class _View(NamedTuple):
    """What a posterior was made from."""

    catalogue: Catalogue
    bound: Bound
    read: Predicted
    classes: Classes


def _has_limits(variant: Variant, name: str) -> bool:
    device = variant.device_named(name)
    limits = limits_of(device, ASSUMED_REF_CELSIUS) if device is not None else NO_LIMITS
    return limits.low_ohm is not None and limits.high_ohm is not None


def usual_pairs(circuit: Circuit, bound: Bound) -> Pairs:
    """Every device and every pin to the case at the case connector, as the last reading was taken."""
    pin_at = _pins_at_joints(circuit.variant)
    names = [(pin_at.get(a, a), pin_at.get(b, b)) for a, b in (device.between for device in circuit.variant.devices)]
    names += [(pin, CASE) for pin in circuit.pins]
    names = [(a, b) for a, b in names if a != b and a in circuit.nodes and b in circuit.nodes]
    names = list({frozenset(pair): pair for pair in names}.values())
    sites = [(circuit.nodes[a], circuit.nodes[b]) for a, b in names]
    blind = circuit.is_blind(*(np.array([site[side] for site in sites], dtype=np.intp) for side in (0, 1)))
    kept = [i for i in range(len(sites)) if not blind[i]]
    now = int(bound.evidence.pairs.celsius[-1]) if bound.said else 0
    return like_last(bound, [names[i] for i in kept], [sites[i] for i in kept], [now] * len(kept))


def _pins_at_joints(variant: Variant) -> dict[str, str]:
    """A pin to probe in place of each joint: one that feeds it, else the first that hangs on it."""
    pins = {pin.name for pin in variant.pins} | {CASE}
    found: dict[str, str] = {}
    for device in sorted(variant.devices, key=lambda device: not isinstance(device, Link)):
        for node, other in (device.between, device.between[::-1]):
            if node not in pins and other in pins:
                found.setdefault(node, other)
    return found


class _Answer(NamedTuple):
    """An answer before its details: hypothesis, share, its class, the reading that is bad (-1: none)."""

    number: int
    p: float
    same: tuple[Place, ...] = ()
    bad: int = -1


def _explanations(view: _View, groups: Sequence[Group]) -> tuple[Explanation, ...]:
    """The most probable answers; a sound part is always among them."""
    found = _answers(view, groups)
    shown = found[:_MOST_SHOWN]
    sound = next((one for one in found if one.number == 0 and one.bad < 0), None)
    names_sound = any(Place(Fault.HEALTHY, ()) in one.same for one in shown)
    if sound not in shown and not names_sound:
        shown = [*shown[: _MOST_SHOWN - 1], sound or _Answer(0, view.classes.shares.sound)]
    return _with_decisive([_explanation(view, one) for one in shown], view)


def _answers(view: _View, groups: Sequence[Group]) -> list[_Answer]:
    shares = view.classes.shares
    found: list[_Answer] = []
    inside: set[int] = set()
    for group in groups:
        inside |= set(group.members)
        same = tuple(_place(view.catalogue.hypotheses[i]) for i in group.members if i != group.best)
        # One bad reading of a sound part stands as an answer of its own.
        p = group.share - (shares.of[0] - shares.sound if 0 in group.members else 0.0)
        found.append(_Answer(group.best, float(p), same))
    alone = [i for i in range(len(shares.of)) if i not in inside and shares.of[i] >= _SHOWN]
    found += [_Answer(i, float(shares.of[i]) if i else shares.sound) for i in alone]
    found += [_Answer(0, float(p), (), i) for i, p in enumerate(shares.one_bad) if p >= _SHOWN]
    return sorted(found, key=lambda one: -one.p)


def _place(h: Hypothesis) -> Place:
    return Place(h.fault, h.where)


def _explanation(view: _View, answer: _Answer) -> Explanation:
    h = view.catalogue.hypotheses[answer.number]
    fault, where = h.fault, h.where
    if answer.bad >= 0:
        one = view.bound.said[answer.bad].reading
        fault, where = Fault.ONE_BAD_READING, (one.from_node, one.to_node)
    row = view.classes.best_row(answer.number)
    if row is None:
        return Explanation(fault, where, answer.p, None, answer.same, None, ())
    best = view.classes.fit_of(np.array([row]))
    # What each part may be by itself is left out: a prediction that follows its own reading predicts nothing.
    shared = best.fit.doubts[0] * view.catalogue.is_shared
    ohm = fitted_ohm(view.bound.evidence.pairs, view.read, int(best.component[0]), shared)
    return Explanation(fault, where, answer.p, None, answer.same, _value(view, answer.number), _told(view, ohm))


def _told(view: _View, ohm: Floats) -> tuple[Told, ...]:
    return tuple(
        Told(one.reading.from_node, one.reading.to_node, one.reading.at, _finite(value), _finite(one.ohm))
        for one, value in zip(view.bound.said, ohm.tolist(), strict=True)
    )


def _finite(ohm: float) -> float | None:
    return ohm if math.isfinite(ohm) else None


_SIZED_OHM: Final = frozenset({Fault.LEAK, Fault.TERMINAL_RESISTIVE, Fault.VALUE_LOW, Fault.VALUE_HIGH})


def _value(view: _View, number: int) -> Value | None:
    """Size of a fault from all its components that survive."""
    catalogue = view.catalogue
    h = catalogue.hypotheses[number]
    weighed = view.classes.weighed
    rows = np.flatnonzero(catalogue.of[weighed.component] == number)
    if h.fault not in _SIZED_OHM | {Fault.LEADS, Fault.TEMPERATURE} or not len(rows):
        return None
    rows = rows[np.argsort(-weighed.share[rows])[:20]]
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


def _with_decisive(found: Sequence[Explanation], view: _View) -> tuple[Explanation, ...]:
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


def _decisive(found: Sequence[Explanation], view: _View) -> list[int]:
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


def _possible(share: Floats, groups: Sequence[Group]) -> int:
    """How many answers it takes to hold 95 % together, a class counting as one."""
    alone = share.copy()
    for group in groups:
        alone[list(group.members)] = 0.0
    answers = np.sort(np.append(alone, [group.share for group in groups]))[::-1]
    return int(np.searchsorted(np.cumsum(answers), SETTLED * share.sum()) + 1)


def _is_strained(view: _View, number: int) -> bool:
    """Whether the best fit of the first answer is worse than once in some ten thousand times.

    Source: Wilson and Hilferty, the cube root of chi-square over its degrees of freedom is nearly Gaussian.
    """
    row = view.classes.best_row(number)
    if row is None or not view.bound.said:
        return False
    best = view.classes.fit_of(np.array([row]))
    if int(best.wild[0].sum()) > 1:
        return True
    n = int(best.used[0])
    if n == 0:
        return False
    spread = 2.0 / (9.0 * n)
    z = (math.pow(float(best.fit.chi_square[0]) / n, 1.0 / 3.0) - (1.0 - spread)) / math.sqrt(spread)
    return z > _STRAINED_Z


def _called_bad(view: _View, number: int) -> list[Reading]:
    """Readings that the first answer takes for bad ones, unless their pair was read again."""
    row = view.classes.best_row(number)
    if row is None or not view.bound.said:
        return []
    wild = view.classes.fit_of(np.array([row])).wild[0]
    readings = [one.reading for one in view.bound.said]
    places = [(reading.pair, reading.at) for reading in readings]
    return [readings[i] for i in np.flatnonzero(wild).tolist() if places.count(places[i]) == 1]


def _again_first(asks: tuple[Ask, ...], bad: Sequence[Reading], seconds: float) -> tuple[Ask, ...]:
    """A reading that is called bad is taken again before anything else: the answer leans on it."""
    pairs = [reading.pair for reading in bad]
    first = [ask for ask in asks if ask.what == "repeat" and {ask.from_node, ask.to_node} in pairs]
    named = [{ask.from_node, ask.to_node} for ask in first]
    first += [Ask(one.from_node, one.to_node, one.at, "repeat", 0.0, seconds) for one in bad if one.pair not in named]
    return (*first, *(ask for ask in asks if ask not in first))


def _invisible(view: _View, groups: Sequence[Group]) -> tuple[Place, ...]:
    """Faults that would not show beside a sound part in any usual reading."""
    hypotheses = view.catalogue.hypotheses
    mine = next((group for group in groups if group.best == 0), None)
    return tuple(_place(hypotheses[i]) for i in mine.members if i) if mine is not None else ()
