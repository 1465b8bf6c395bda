"""What explains a set of readings, and what to measure next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np

from valvebench.diagnose.access import between_access_points
from valvebench.diagnose.explain_answers import (
    View,
    again_first,
    called_bad,
    explanations,
    invisible,
    is_strained,
    possible,
)
from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted, SetUp
from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_classes import Classes, Group
from valvebench.diagnose.explain_faults import Hypothesis
from valvebench.diagnose.explain_flex import flexed_faults
from valvebench.diagnose.explain_heat import (
    HeatEvidence,
    entries_of,
    heat_evidence,
    heat_pairs,
    heat_shares,
    hot_faults,
    nothing_found,
)
from valvebench.diagnose.explain_next import asked, best_rows, candidates, like_last
from valvebench.diagnose.explain_priors import Priors
from valvebench.diagnose.explain_readings import Bound, Said, bind, hints, said_of, thinned
from valvebench.diagnose.explain_weigh import Best, Weighed, weigh
from valvebench.diagnose.explained import Ask, Explained, LeftOut
from valvebench.judge.device_limits import limits_of
from valvebench.model.limits import ASSUMED_REF_CELSIUS, NO_LIMITS
from valvebench.model.session import Session
from valvebench.model.variant import Link, Variant
from valvebench.model.words import CASE, AccessPoint
from valvebench.physics.grid import Floats

_KEPT: Final = 8
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
        heat = heat_evidence(session, self._variant, self._priors.heat)
        found = self.explain_said(said, left_out, heat, is_asking=is_asking)
        return found._replace(flexed=flexed_faults(session, self._variant))

    def explain_said(
        self,
        said: Sequence[Said],
        left_out: Sequence[LeftOut] = (),
        heat: Sequence[HeatEvidence] = (),
        *,
        is_asking: bool = True,
    ) -> Explained:
        """The same from readings in numbers, and what was found of devices as they warmed."""
        stands = entries_of(heat)
        read_cold = [one for one in said if one.entry not in stands]
        circuit = self._circuit(read_cold)
        heat = [one for one in heat if any(part.device.name == one.said.device for part in circuit.parts)]
        kept, many = thinned(read_cold)
        bound = bind(circuit, kept)
        catalogue = self._catalogue(circuit, bound.set_up, hot_faults(circuit, heat, self._priors.heat))
        read = self._predicted(catalogue, bound.evidence.pairs)
        found = self._found(catalogue, heat)
        log_found = np.log(found).sum(axis=1)
        weighed = weigh(catalogue, bound.evidence, read, log_found)
        classes = Classes(catalogue, weighed, bound.evidence, read, log_found)
        view = View(catalogue, bound, read, classes, found)
        groups = self._groups(view)
        first = groups[0].best if groups else 0
        rows = best_rows(weighed)
        bad = called_bad(view, first)
        asks = self._asks(view, weighed, classes.fit_of(rows), rows) if is_asking else ()
        return Explained(
            explanations=explanations(view, groups),
            next=again_first(asks, bad, self._priors.next.seconds.repeat),
            called_bad=tuple((one.from_node, one.to_node) for one in bad),
            possible=possible(classes.shares.of, groups),
            invisible=invisible(view, groups),
            left_out=(*left_out, *bound.left_out, *many),
            readings=len(bound.said),
            celsius=tuple(zip(bound.set_up.celsius, bound.set_up.u_celsius, strict=True)),
            is_strained=is_strained(view, first),
            access=between_access_points(self._variant, said),
            heat=tuple(one.said for one in heat),
        )

    def _found(self, catalogue: Catalogue, heat: Sequence[HeatEvidence]) -> Floats:
        """(components, finds) how likely each makes what was found as the part warmed."""
        if not heat:
            return nothing_found(len(catalogue.of))
        pairs = heat_pairs(catalogue.circuit, heat)
        return heat_shares(catalogue, heat, pairs, self._predicted(catalogue, pairs))

    def _circuit(self, said: Sequence[Said]) -> Circuit:
        has_plug = any(one.reading.at is AccessPoint.VEHICLE_PLUG for one in said)
        found = hints(self._variant, said)
        unknown = {name: ohm for name, ohm in found.items() if not _has_limits(self._variant, name)}
        key = ("circuit", has_plug, tuple(sorted(unknown.items())))
        made: Circuit = self._keep(
            key, lambda: Circuit(self._variant, self._priors.part, hints=unknown, has_plug=has_plug)
        )
        return made

    def _catalogue(self, circuit: Circuit, set_up: SetUp, hot: tuple[Hypothesis, ...]) -> Catalogue:
        """With one temperature more than was read: the warm one that could be asked for."""
        warm = self._priors.next.warm_celsius.value
        if max(set_up.celsius) > warm - 20.0:
            warm = 20.0
        whole = SetUp(
            (*set_up.celsius, warm), (*set_up.u_celsius, _WARM_U_CELSIUS), max(1, set_up.gains), max(1, set_up.leads)
        )
        made: Catalogue = self._keep(
            ("catalogue", id(circuit), whole, hot), lambda: Catalogue(circuit, self._priors, whole, self._others, hot)
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

    def _groups(self, view: View) -> tuple[Group, ...]:
        """Classes on everything that was read and everything that usually is."""
        usual = usual_pairs(view.catalogue.circuit, view.bound)
        predicted = self._predicted(view.catalogue, usual)
        both = Predicted(*(np.concatenate([a, b], axis=1) for a, b in zip(view.read, predicted, strict=True)))
        range_ohm = np.append(
            view.bound.evidence.range_ohm, np.full(len(usual.sites), self._priors.reading.open_above_ohm.value)
        )
        return view.classes.groups(view.bound.evidence.pairs.joined(usual), both, range_ohm)

    def _asks(self, view: View, weighed: Weighed, best: Best, rows: np.ndarray) -> tuple[Ask, ...]:
        set_up = view.catalogue.set_up
        # Already warm, or warmed before: going round again would tell nothing new.
        is_warmer = set_up.celsius[-1] > max(set_up.celsius[:-1]) and not view.found.shape[1]
        warm = len(set_up.celsius) - 1 if is_warmer else None
        found = candidates(view.catalogue.circuit, view.bound, self._priors, warm=warm)
        return asked(view.catalogue, weighed, best, rows, found)


def _has_limits(variant: Variant, name: str) -> bool:
    device = variant.device_named(name)
    limits = limits_of(device, ASSUMED_REF_CELSIUS) if device is not None else NO_LIMITS
    return limits.low_ohm is not None and limits.high_ohm is not None


def usual_pairs(circuit: Circuit, bound: Bound) -> Pairs:
    """Every device and every pin to the case at the case connector, as the last reading was taken.

    What was read already is left out: taken twice it would tell more apart than the readings can.
    """
    pin_at = _pins_at_joints(circuit.variant)
    names = [(pin_at.get(a, a), pin_at.get(b, b)) for a, b in (device.between for device in circuit.variant.devices)]
    names += [(pin, CASE) for pin in circuit.pins]
    names = [(a, b) for a, b in names if a != b and a in circuit.nodes and b in circuit.nodes]
    names = list({frozenset(pair): pair for pair in names}.values())
    sites = [(circuit.nodes[a], circuit.nodes[b]) for a, b in names]
    blind = circuit.is_blind(*(np.array([site[side] for site in sites], dtype=np.intp) for side in (0, 1)))
    read = {frozenset(site) for site in bound.evidence.pairs.sites}
    kept = [i for i in range(len(sites)) if not blind[i] and frozenset(sites[i]) not in read]
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
