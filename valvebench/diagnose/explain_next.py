"""The reading that would tell most about which fault it is, for a person's time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_catalogue import Catalogue, Pairs
from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_priors import Priors, Seconds
from valvebench.diagnose.explain_readings import Bound
from valvebench.diagnose.explain_weigh import Best, Weighed, predicted_open
from valvebench.diagnose.explained import Ask
from valvebench.model.variant import Electronics
from valvebench.model.words import CASE, AccessPoint
from valvebench.physics.grid import Floats, Whole

_ROWS: Final = 200
_LEAST_PART: Final = 1e-5
_BIN: Final = 2.0
_SAME: Final = 0.05
# Gauss-Hermite, three nodes: in standard deviations, with their weights.
_NODES: Final = np.array([-(3.0**0.5), 0.0, 3.0**0.5])
_NODE_WEIGHTS: Final = np.array([1 / 6, 2 / 3, 1 / 6])
_CHECK_OHM: Final = 5.0
# A fair handheld, from memory: what candidates are read with before anything was read.
_FAIR_GAIN, _FAIR_LEADS_OHM, _FAIR_OWN_OHM = 0.005, 0.05, 0.03
_OPEN, _WILD, _FIRST = 0, 1, 2


class Candidates(NamedTuple):
    """What could be asked, as pairs to predict."""

    pairs: Pairs
    asks: tuple[Ask, ...]


def candidates(circuit: Circuit, bound: Bound, priors: Priors, *, warm: int | None) -> Candidates:
    """Every pair, access point, repeat, lead short and meter check.

    `warm` is the number of the warm temperature; none where the part is warm already.  Electronics on board are
    never asked for: they are not to be probed unless the maker says so.
    """
    places = _places(circuit, bound, priors.next.seconds)
    shut = {node for device in circuit.variant.devices if isinstance(device, Electronics) for node in device.between}
    kept = [
        (ask, site, number)
        for ask, site, number in places
        if (site[0] != site[1] or ask.from_node is None)
        and not {ask.from_node, ask.to_node} & (shut - {CASE})
        and (number >= 0 or warm is not None)
    ]
    sites = tuple(site for _, site, _ in kept)
    a, b = (np.array([site[side] for site in sites], dtype=np.intp) for side in (0, 1))
    seen = ~circuit.is_blind(a, b)
    names = [(ask.from_node or "", ask.to_node or "") for ask, _, _ in kept]
    fixed = [_CHECK_OHM if ask.what == "meter_check" else math.nan for ask, _, _ in kept]
    whole = like_last(bound, names, sites, [one[2] if one[2] >= 0 or warm is None else warm for one in kept], fixed)
    chosen = np.flatnonzero(seen)
    return Candidates(whole.taken(chosen), tuple(kept[i][0] for i in chosen.tolist()))


def _places(circuit: Circuit, bound: Bound, seconds: Seconds) -> list[tuple[Ask, tuple[int, int], int]]:
    """Each ask with its nodes and the number of its temperature (-1: warm)."""
    now = int(bound.evidence.pairs.celsius[-1]) if bound.said else 0
    done = {frozenset(one.reading.pair) for one in bound.said if one.reading.at is AccessPoint.CASE_CONNECTOR}
    nodes = [*circuit.pins, CASE]
    found = []
    for a, b in combinations(nodes, 2):
        what, cost = ("repeat", seconds.repeat) if frozenset((a, b)) in done else ("pair", seconds.pair)
        found.append(
            (Ask(a, b, AccessPoint.CASE_CONNECTOR, what, 0.0, cost), (circuit.nodes[a], circuit.nodes[b]), now)
        )
    found += _elsewhere(circuit, seconds, now)
    here = (circuit.nodes[CASE],) * 2
    found.append((Ask(None, None, None, "lead_short", 0.0, seconds.lead_short), here, now))
    found.append((Ask(None, None, None, "meter_check", 0.0, seconds.meter_check), here, now))
    for one, site in zip(bound.said, bound.evidence.pairs.sites, strict=True):
        if one.reading.at is AccessPoint.CASE_CONNECTOR and math.isfinite(one.ohm):
            tips = one.reading.from_node, one.reading.to_node
            ask = Ask(*tips, one.reading.at, "warm", 0.0, seconds.warm)
            found.append((ask, site, -1))
    return found


def _elsewhere(circuit: Circuit, seconds: Seconds, now: int) -> list[tuple[Ask, tuple[int, int], int]]:
    found = []
    cost = seconds.pair + seconds.device_terminals
    for part in circuit.parts:
        a, b = part.device.between
        site = (circuit.inner(a), circuit.inner(b))
        found.append((Ask(a, b, AccessPoint.DEVICE_TERMINALS, "pair", 0.0, cost), site, now))
    if circuit.has_plug:
        cost = seconds.pair + seconds.vehicle_plug
        for a, b in combinations([*circuit.pins, CASE], 2):
            places = [circuit.place(x, AccessPoint.VEHICLE_PLUG, y) for x, y in ((a, b), (b, a))]
            if places[0] is not None and places[1] is not None:
                ask = Ask(a, b, AccessPoint.VEHICLE_PLUG, "pair", 0.0, cost)
                found.append((ask, (places[0], places[1]), now))
    return found


def like_last(
    bound: Bound,
    names: Sequence[tuple[str, str]],
    sites: Sequence[tuple[int, int]],
    celsius: Sequence[int],
    fixed_ohm: Sequence[float] = (),
) -> Pairs:
    """Pairs read as the last reading was: same meter, same leads; a fair handheld before the first."""
    count, last = len(names), bound.evidence.pairs
    has_model = bool(bound.said)

    def like(values: Floats | Whole, otherwise: float) -> Floats:
        return np.full(count, float(values[-1]) if has_model else otherwise)

    return Pairs(
        sites=tuple(sites),
        names=tuple(names),
        celsius=np.array(celsius, dtype=np.intp),
        gain=like(last.gain, 0.0).astype(np.intp),
        leads=like(last.leads, 0.0).astype(np.intp),
        gain_sd=like(last.gain_sd, _FAIR_GAIN),
        lead_sd_ohm=like(last.lead_sd_ohm, _FAIR_LEADS_OHM),
        own_sd_ohm=like(last.own_sd_ohm, _FAIR_OWN_OHM),
        fixed_ohm=np.array(fixed_ohm) if fixed_ohm else np.full(count, math.nan),
    )


def asked(catalogue: Catalogue, weighed: Weighed, best: Best, rows: Whole, found: Candidates) -> tuple[Ask, ...]:
    """What is worth asking, most bits for a minute first; empty when nothing is.

    Parameters
    ----------
    catalogue : hypotheses
    weighed, best, rows : the posterior, its best rows looked at again, and which those are
    found : what could be asked

    Returns
    -------
    tuple of Ask, each with its bits

    Source
    ------
    Mutual information I(H; Y) = H(Y) - H(Y | H) of the fault and the reading to come (Shannon), readings in
    bins of two standard deviations.
    """
    share = weighed.share[rows] / weighed.share[rows].sum()
    label = catalogue.of[best.component]
    components, where = np.unique(best.component, return_inverse=True)
    predicted = catalogue.predict(found.pairs, components)
    columns = predicted.doubts[where]
    ohm, variance = predicted.ohm[where], predicted.variance[where]
    finite = np.where(np.isfinite(ohm), ohm, 0.0)
    mean = found.pairs.z(finite) + (columns @ best.fit.doubts[:, :, None])[:, :, 0]
    scaled = columns * best.factor[:, None, :]
    sd = np.sqrt(variance + ((scaled @ best.fit.covariance) * scaled).sum(axis=2))
    is_open = predicted_open(ohm, np.full(ohm.shape[1], catalogue.priors.reading.open_above_ohm.value))
    wild = catalogue.priors.reading.wild.value
    label = _dense(label)
    # Where all say the same there is nothing to ask.
    told = _tells(mean, sd, is_open)
    bits = [
        _bits(share, label, mean[:, i], sd[:, i], is_open[:, i], wild) if told[i] else 0.0
        for i in range(len(found.asks))
    ]
    least = catalogue.priors.next.least_bits.value
    worth = [ask._replace(bits=bit) for ask, bit in zip(found.asks, bits, strict=True) if bit >= least]
    return tuple(sorted(worth, key=lambda ask: -ask.bits / ask.seconds))


def best_rows(weighed: Weighed) -> Whole:
    """Rows that hold nearly everything, at most some hundreds."""
    order = np.argsort(-weighed.share)[:_ROWS]
    return np.asarray(order[weighed.share[order] > _LEAST_PART])


def _tells(mean: Floats, sd: Floats, is_open: np.ndarray) -> np.ndarray:
    """(pairs,) whether any two rows predict something else than one another."""
    is_value = ~is_open
    low = np.where(is_value, mean, np.inf).min(axis=0)
    high = np.where(is_value, mean, -np.inf).max(axis=0)
    narrow, wide = (how(np.where(is_value, sd, fill), axis=0) for how, fill in ((np.min, np.inf), (np.max, 0.0)))
    with np.errstate(invalid="ignore"):
        differs = (high - low > _SAME * narrow) | (wide > (1.0 + _SAME) * narrow)
    return np.asarray((is_open.any(axis=0) & is_value.any(axis=0)) | (is_value.any(axis=0) & differs))


def _bits(share: Floats, label: Whole, mean: Floats, sd: Floats, is_open: np.ndarray, wild: float) -> float:
    """Mutual information [bit] of label and one reading."""
    nodes = (mean[:, None] + sd[:, None] * _NODES) / _BIN
    low = np.floor(nodes)
    # Each node is shared by its two neighbouring bins, so that a small shift moves a small mass.
    upper = nodes - low
    weight = share[:, None] * _NODE_WEIGHTS * (1.0 - wild)
    first = low.min()
    cells = np.concatenate([low, low + 1.0], axis=1) - first + _FIRST
    mass = np.concatenate([weight * (1.0 - upper), weight * upper], axis=1)
    cells = np.where(is_open[:, None], _OPEN, cells)
    cell = np.concatenate([cells, np.full((len(share), 1), _WILD)], axis=1).astype(np.int64)
    mass = np.concatenate([mass, share[:, None] * wild], axis=1)
    width = int(cell.max()) + 1
    joint = _dense((label[:, None] * width + cell).ravel())
    whole = mass.ravel()
    of_reading, of_label = _entropy(_dense(cell.ravel()), whole), _entropy(label, share)
    return max(0.0, of_reading + of_label - _entropy(joint, whole))


def _dense(numbers: Whole) -> Whole:
    return np.asarray(np.unique(numbers, return_inverse=True)[1])


def _entropy(place: Whole, mass: Floats) -> float:
    """Entropy [bit] of the mass in each place."""
    p = np.bincount(place, weights=mass)
    p = p[p > 0] / p.sum()
    return float(-(p * np.log2(p)).sum())
