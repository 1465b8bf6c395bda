"""How well each component of the catalogue explains the readings, doubts integrated, one wild reading allowed.

In z = asinh(s R / c) / s a reading is a Gaussian at every decade.  Doubts that readings share
(spread of the parts, lots, temperature, gain, leads, the fault's own size) are columns J of a
covariance D + J J', integrated in closed form through the small matrix A = I + J' D^-1 J.
"""

from __future__ import annotations

import math
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, Predicted
from valvebench.diagnose.explain_fit import Fit, Flags, Shared, fit
from valvebench.diagnose.explain_priors import ReadingPriors
from valvebench.physics.grid import Floats, Whole

_HOPELESS_NATS: Final = 40.0
# How far the determinants of two components may lie apart.
_SLACK_NATS: Final = 20.0
_NEAR_RANGE: Final = 0.97


class Evidence(NamedTuple):
    """What was read: pairs, ohm (n,) infinite where open, the range it was open on [ohm]."""

    pairs: Pairs
    ohm: Floats
    range_ohm: Floats

    @property
    def is_open(self) -> Flags:
        """(n,) shown as open."""
        return np.isinf(self.ohm)


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
    needed = np.unique(twin[kept])
    once = first[needed]
    some = Predicted(*(values[once] for values in predicted))
    shared = Shared(some, residual[once], state.compared[once], catalogue.scaled)
    rows: list[_Rows] = []
    middle = len(scales.steps) // 2
    for number in (middle, *(n for n in range(len(scales.steps)) if n != middle)):
        chosen, place = np.unique(twin[kept], return_inverse=True)
        found = shared.fit(np.searchsorted(needed, chosen), scales.steps[number], out)
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
