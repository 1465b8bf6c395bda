"""How well each component of the catalogue explains the readings, doubts integrated, one wild reading allowed.

In z = asinh(s R / c) / s a reading is a Gaussian at every decade.  Doubts that readings share
(spread of the parts, lots, temperature, gain, leads, the fault's own size) are columns J of a
covariance D + J J', integrated in closed form through the small matrix A = I + J' D^-1 J.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted
from valvebench.diagnose.explain_priors import ReadingPriors
from valvebench.physics.grid import Floats, Whole

_LOG_2PI: Final = math.log(2.0 * math.pi)
_HOPELESS_NATS: Final = 40.0
# How far the determinants of two components may lie apart.
_SLACK_NATS: Final = 20.0
_NEAR_RANGE: Final = 0.97
_FAR: Final = 3.5
# Sizes of the small problem that are solved together.
_FEW_COLUMNS: Final = (6, 10, 16)
Flags = NDArray[np.bool_]


class Evidence(NamedTuple):
    """What was read: pairs, ohm (n,) infinite where open, the range it was open on [ohm]."""

    pairs: Pairs
    ohm: Floats
    range_ohm: Floats

    @property
    def is_open(self) -> Flags:
        """(n,) shown as open."""
        return np.isinf(self.ohm)


class Fit(NamedTuple):
    """Of c components, with n readings.

    (c,) log density of the readings used; (c, doubts) and (c, doubts, doubts) what is then known of the doubts, in
    their standard deviations; (c, n) log weight of each reading being wild, against none being so; (c,) chi-square
    with what the doubts cost; (c,) whether the fault's own size is so far from the centre of its component that
    the straight line there says nothing.
    """

    log_density: Floats
    doubts: Floats
    covariance: Floats
    log_wild: Floats
    chi_square: Floats
    is_far: Flags


class Weighed(NamedTuple):
    """Components that survive, as rows.

    Number in the catalogue, number of the spread scale, share (summing to one), share without any wild reading,
    (rows, n) share with that reading wild.
    """

    component: Whole
    scale: Whole
    share: Floats
    clean: Floats
    wild: Floats


def fit(predicted: Predicted, residual: Floats, used: Flags, factor: Floats, log_out: Floats) -> Fit:
    """Integrate the doubts.

    Parameters
    ----------
    predicted : of c components for n readings
    residual : (c, n) read minus predicted, in z
    used : (c, n) readings that count
    factor : (doubts,) on the standard deviation of each doubt
    log_out : (n,) log of the density of a wild reading times its odds

    Returns
    -------
    Fit

    Source
    ------
    Woodbury's identity and the determinant lemma; a Gaussian left out of its own prediction has
    residual e_i = (Qr)_i / Q_ii and variance 1 / Q_ii with Q the inverse covariance.
    """
    inner = _inner(predicted, residual, used, factor)
    covariance = np.asarray(np.linalg.inv(inner.a), dtype=np.float64)
    doubts: Floats = (covariance @ inner.b[:, :, None])[:, :, 0]
    roots = np.asarray(np.diagonal(np.linalg.cholesky(inner.a), axis1=1, axis2=2), dtype=np.float64)
    cost: Floats = np.maximum(inner.square - (inner.b * doubts).sum(axis=1), 0.0)
    log_det = 2.0 * np.log(roots).sum(axis=1) + np.where(used, np.log(predicted.variance), 0.0).sum(axis=1)
    log_density = -0.5 * (cost + log_det + used.sum(axis=1) * _LOG_2PI)
    rest = inner.r - (inner.columns @ doubts[:, :, None])[:, :, 0]
    q_r = inner.weight * rest
    spread: Floats = inner.weighted @ covariance
    q_ii = np.where(used, np.maximum(inner.weight - (spread * inner.weighted).sum(axis=2), 1e-12), 1.0)
    log_wild = log_out + 0.5 * (q_r**2 / q_ii + _LOG_2PI - np.log(q_ii))
    # The fault's own size with that reading left out: far from its centre another component stands for it.
    size = doubts[:, -1:] - spread[:, :, -1] * q_r / q_ii
    log_wild = np.where(used & (np.abs(size) < _FAR), log_wild, -np.inf)
    is_far = np.abs(doubts[:, -1]) >= _FAR
    return Fit(np.asarray(log_density), doubts * factor, covariance, log_wild, np.asarray(cost), is_far)


class Plain(NamedTuple):
    """What weighing needs of a fit: (c,) log density, (c, n) log weight of each reading being wild, (c,) too far."""

    log_density: Floats
    log_wild: Floats
    is_far: Flags


def fit_shared(predicted: Predicted, residual: Floats, used: Flags, factor: Floats, log_out: Floats) -> Plain:
    """What `fit` says, with those doubts as columns that two readings or more share.

    A doubt that one reading has alone is as good as noise of its own, and most parts are read once.
    """
    columns = np.where(used[:, :, None], predicted.doubts * factor, 0.0)
    is_shared = np.count_nonzero(columns, axis=1) > 1
    is_shared[:, -1] = True
    alone = np.where(is_shared[:, None, :], 0.0, columns)
    variance = predicted.variance + np.einsum("cnd,cnd->cn", alone, alone)
    columns -= alone
    counts, whole = is_shared.sum(axis=1), columns.shape[2]
    found = Plain(np.empty(len(counts)), np.empty(residual.shape), np.empty(len(counts), dtype=bool))
    limits = sorted({*(few for few in _FEW_COLUMNS if few < whole), whole})
    for least, most in pairwise((0, *limits)):
        rows = np.flatnonzero((counts > least) & (counts <= most))
        if len(rows):
            kept = _kept_columns(is_shared[rows], most)
            few = np.take_along_axis(columns[rows], kept[:, None, :], axis=2)
            some = Predicted(predicted.ohm[rows], few, variance[rows])
            one = fit(some, residual[rows], used[rows], np.ones(most), log_out)
            found.log_density[rows], found.log_wild[rows], found.is_far[rows] = (
                one.log_density,
                one.log_wild,
                one.is_far,
            )
    return found


def _kept_columns(is_shared: Flags, most: int) -> Whole:
    """(rows, most) columns with all that are shared among them; the fault's own size stays the last."""
    others = np.argsort(~is_shared[:, :-1], axis=1, kind="stable")[:, : most - 1]
    last = np.full((len(is_shared), 1), is_shared.shape[1] - 1)
    return np.concatenate([others, last], axis=1)


class _Inner(NamedTuple):
    """The small problem: weights, columns, A, b and the square of the residuals."""

    weight: Floats
    r: Floats
    columns: Floats
    weighted: Floats
    a: Floats
    b: Floats
    square: Floats


def _inner(predicted: Predicted, residual: Floats, used: Flags, factor: Floats) -> _Inner:
    weight = np.where(used, 1.0 / predicted.variance, 0.0)
    columns = predicted.doubts * factor
    weighted = columns * weight[:, :, None]
    r = np.where(used, residual, 0.0)
    a: Floats = np.swapaxes(weighted, 1, 2) @ columns
    diagonal = np.arange(a.shape[1])
    a[:, diagonal, diagonal] += 1.0
    b: Floats = (np.swapaxes(weighted, 1, 2) @ r[:, :, None])[:, :, 0]
    return _Inner(weight, r, columns, weighted, a, b, np.asarray((r**2 * weight).sum(axis=1)))


def chi_square(predicted: Predicted, residual: Floats, used: Flags, factor: Floats) -> Floats:
    """(c,) what the residuals cost, doubts included; the arguments are those of `fit`."""
    inner = _inner(predicted, residual, used, factor)
    doubts = np.asarray(np.linalg.solve(inner.a, inner.b[:, :, None])[:, :, 0], dtype=np.float64)
    return np.asarray(np.maximum(inner.square - (inner.b * doubts).sum(axis=1), 0.0))


class States(NamedTuple):
    """Open or not, before any number.

    (c,) log share of that part of the readings; (c, n) values to compare; (c, n) readings that contradict the
    component outright.
    """

    log_share: Floats
    compared: Flags
    contradicts: Flags


def states(predicted: Predicted, evidence: Evidence, priors: ReadingPriors) -> States:
    """Open is a state, decided before any number is compared; a damp body may read megohms instead."""
    is_open = predicted_open(predicted.ohm, evidence.range_ohm)
    shown_open = evidence.is_open
    wild, wild_open = priors.wild.value, priors.wild_open.value
    decades = z_range(evidence.pairs, priors)
    damp = z_damp(evidence.pairs, priors)
    is_damp = ~shown_open & (evidence.ohm >= priors.damp_from_ohm.value)
    body = []
    for wet, share in (
        (priors.damp_dry.value, 1.0 - priors.damp_body.value),
        (priors.damp_wet.value, priors.damp_body.value),
    ):
        shown = wild * (1.0 - wild_open) / decades + np.where(is_damp, wet / damp, 0.0)
        log = np.where(shown_open, math.log(1.0 - wild - wet * (1.0 - wild)), np.log(shown))
        body.append(math.log(share) + (is_open * log).sum(axis=1))
    missed = ~is_open & shown_open
    compared = ~is_open & ~shown_open
    log_share = np.logaddexp(*body) + missed.sum(axis=1) * math.log(wild * wild_open)
    log_share += compared.sum(axis=1) * math.log(1.0 - wild)
    return States(log_share, compared, missed | (is_open & ~shown_open & ~is_damp))


def predicted_open(ohm: Floats, range_ohm: Floats) -> Flags:
    """Whether the meter ought to show open on that range."""
    return np.asarray(np.isinf(ohm) | (ohm > _NEAR_RANGE * range_ohm))


def z_range(pairs: Pairs, priors: ReadingPriors) -> Floats:
    """(n,) all of the scale: a wild value may lie anywhere in it."""
    return pairs.z(np.full(len(pairs.sites), priors.open_above_ohm.value))


def z_damp(pairs: Pairs, priors: ReadingPriors) -> Floats:
    """(n,) the scale from where damp begins."""
    return z_range(pairs, priors) - pairs.z(np.full(len(pairs.sites), priors.damp_from_ohm.value))


def log_out(evidence: Evidence, priors: ReadingPriors) -> Floats:
    """(n,) log of a wild reading's density times its odds."""
    wild = priors.wild.value
    shown = wild / (1.0 - wild) * (1.0 - priors.wild_open.value)
    return np.asarray(math.log(shown) - np.log(z_range(evidence.pairs, priors)))


def factors(catalogue: Catalogue, number: int) -> Floats:
    """(doubts,) what a spread scale multiplies: parts, lots and temperature."""
    scale = catalogue.priors.part.spread_scales.steps[number]
    return np.where(catalogue.scaled, scale, 1.0)


def weigh(catalogue: Catalogue, evidence: Evidence, predicted: Predicted, log_more: Floats | float = 0.0) -> Weighed:
    """Posterior shares of all components that are not hopeless.

    Parameters
    ----------
    catalogue : hypotheses with their shares before
    evidence : n readings
    predicted : of all components for these readings
    log_more : (components,) log share of what else was found, each beside the readings

    Returns
    -------
    Weighed

    Source
    ------
    Bayes; the spread of makers is averaged over `spread_scales`.
    """
    priors = catalogue.priors.reading
    scales = catalogue.priors.part.spread_scales
    state = states(predicted, evidence, priors)
    residual = _residual(predicted, evidence)
    out = log_out(evidence, priors)
    start = catalogue.log_prior + state.log_share + log_more
    first, twin = _twins(predicted, state.compared)
    least = _least_cost(predicted, residual, state.compared, factors(catalogue, len(scales.steps) - 1))
    crude = start - 0.5 * least
    kept = np.flatnonzero(crude > crude.max() - _HOPELESS_NATS - _SLACK_NATS)
    rows: list[_Rows] = []
    middle = len(scales.steps) // 2
    for number in (middle, *(n for n in range(len(scales.steps)) if n != middle)):
        needed, place = np.unique(twin[kept], return_inverse=True)
        some = Predicted(*(values[first[needed]] for values in predicted))
        factor = factors(catalogue, number)
        found = fit_shared(some, residual[first[needed]], state.compared[first[needed]], factor, out)
        log = start[kept] + found.log_density[place] + math.log(max(scales.weights[number], 1e-300))
        wild = log[:, None] + found.log_wild[place]
        clean = np.where(found.is_far[place], -np.inf, log)
        total = np.logaddexp(clean, _log_sum(wild))
        rows.append((kept, np.full(len(kept), number), total, clean, wild))
        if number == middle:
            near = total > total.max() - _HOPELESS_NATS
            kept = kept[near]
            rows[0] = (kept, rows[0][1][near], total[near], clean[near], wild[near])
    return _shares(rows, state.contradicts)


def _least_cost(predicted: Predicted, residual: Floats, used: Flags, factor: Floats) -> Floats:
    """(c,) a bound from below on chi-square with one reading taken as wild: what the second worst alone costs."""
    alone = np.where(used, residual**2 / predicted.whole_variance(factor), 0.0)
    if alone.shape[1] < 2:
        return np.zeros(len(alone))
    return np.asarray(np.partition(alone, -2, axis=1)[:, -2])


_Rows = tuple[Whole, Whole, Floats, Floats, Floats]


def _twins(predicted: Predicted, compared: Flags) -> tuple[Whole, Whole]:
    """Components that say the same of these readings: the first of each kind, and each one's kind.

    A fault behind pins that were not read says what a sound part says: with few readings most do.
    """
    count = compared.shape[1]
    if count == 0:
        return np.array([0]), np.zeros(len(compared), dtype=np.intp)
    # Irregular weights make a sum that only equal rows share.
    weights = np.sqrt(np.arange(2.0, 2.0 + predicted.doubts.shape[2]))
    of_pair = np.cbrt(np.arange(2.0, 2.0 + count))
    values = np.where(compared, np.log1p(np.where(np.isfinite(predicted.ohm), predicted.ohm, 0.0)) + 1.0, 0.0)
    shared = np.where(compared, predicted.doubts @ weights, 0.0)
    sums = np.stack([values @ of_pair, shared @ of_pair, (values * shared) @ of_pair[::-1], compared @ of_pair], axis=1)
    _, first, twin = np.unique(np.round(sums, 7), axis=0, return_index=True, return_inverse=True)
    return first, twin.ravel()


def _residual(predicted: Predicted, evidence: Evidence) -> Floats:
    z_read = evidence.pairs.z(np.where(evidence.is_open, 0.0, evidence.ohm))
    finite = np.where(np.isfinite(predicted.ohm), predicted.ohm, 0.0)
    return np.asarray(z_read - evidence.pairs.z(finite))


def _log_sum(log: Floats) -> Floats:
    if log.shape[1] == 0:
        return np.full(len(log), -np.inf)
    top = log.max(axis=1)
    safe = np.where(np.isfinite(top), top, 0.0)
    with np.errstate(divide="ignore"):
        found: Floats = safe + np.log(np.exp(log - safe[:, None]).sum(axis=1))
    return found


def _shares(rows: list[_Rows], contradicts: Flags) -> Weighed:
    component, scale, total, clean, wild = (np.concatenate(columns) for columns in zip(*rows, strict=True))
    whole = float(total.max())
    norm = whole + math.log(np.exp(total - whole).sum())
    share, clean_share = np.exp(total - norm), np.exp(clean - norm)
    # A reading that contradicts outright is the wild one, whatever the numbers of the others are.
    broken = contradicts[component]
    wild_share = np.exp(wild - norm)
    is_broken = broken.any(axis=1)
    first = broken & (np.cumsum(broken, axis=1) == 1)
    wild_share = np.where(is_broken[:, None], np.where(first, share[:, None], 0.0), wild_share)
    return Weighed(component, scale, share, np.where(is_broken, 0.0, clean_share), wild_share)


class Best(NamedTuple):
    """Rows looked at again with wild readings taken out.

    (rows,) components, (rows, doubts) factors, their fit, (rows,) readings used, (rows, n) which readings are wild.
    """

    component: Whole
    factor: Floats
    fit: Fit
    used: Whole
    wild: Flags


def fitted(catalogue: Catalogue, evidence: Evidence, predicted: Predicted, weighed: Weighed, rows: Whole) -> Best:
    """What rows of the posterior know of the doubts; a reading that is more likely wild than not has no say."""
    component, scale = weighed.component[rows], weighed.scale[rows]
    factor = np.array([factors(catalogue, number) for number in scale.tolist()]).reshape(len(rows), -1)
    some = Predicted(*(values[component] for values in predicted))
    state = states(some, evidence, catalogue.priors.reading)
    is_wild = weighed.wild[rows] > 0.5 * weighed.share[rows][:, None]
    scaled = Predicted(some.ohm, some.doubts * factor[:, None, :], some.variance)
    out = log_out(evidence, catalogue.priors.reading)
    used = state.compared & ~is_wild
    found = fit(scaled, _residual(some, evidence), used, np.ones(catalogue.doubts), out)
    wild = state.contradicts | (state.compared & is_wild)
    return Best(component, factor, found._replace(doubts=found.doubts * factor), used.sum(axis=1), wild)
