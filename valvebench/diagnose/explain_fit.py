"""Doubts integrated in closed form: how well components explain readings, and what is then known of the doubts.

Readings are Gaussian in z with covariance D + J J', J the doubts they share; everything goes through the small
matrix A = I + J' D^-1 J.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from valvebench.diagnose.explain_catalogue import Predicted
from valvebench.physics.grid import Floats, Whole

_LOG_2PI: Final = math.log(2.0 * math.pi)
_FAR: Final = 3.5
# Sizes of the small problem that are solved together.
_FEW_COLUMNS: Final = (6, 10, 16)
Flags = NDArray[np.bool_]


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


class Plain(NamedTuple):
    """What weighing needs of a fit: (c,) log density, (c, n) log weight of each reading being wild, (c,) too far."""

    log_density: Floats
    log_wild: Floats
    is_far: Flags


class _Group(NamedTuple):
    """Components with about as many columns: which they are, (rows, columns) the doubts, (rows, n, columns)."""

    rows: Whole
    doubts: Whole
    columns: Floats


class Shared:
    """Components whose columns are only those doubts that two readings or more share.

    A doubt that one reading has alone is as good as noise of its own, and most parts are read once.

    Parameters
    ----------
    predicted, residual, used : as of `fit`
    scaled : (doubts,) which of them a spread scale multiplies
    """

    def __init__(self, predicted: Predicted, residual: Floats, used: Flags, scaled: Flags) -> None:
        self._predicted, self._residual, self._used, self._scaled = predicted, residual, used, scaled
        columns = np.where(used[:, :, None], predicted.doubts, 0.0)
        is_shared = np.count_nonzero(columns, axis=1) > 1
        is_shared[:, -1] = True
        alone = np.where(is_shared[:, None, :], 0.0, columns)
        self._alone_scaled, self._alone_fixed = (_squares(alone[:, :, which]) for which in (scaled, ~scaled))
        columns -= alone
        self._groups = list(_groups(columns, is_shared))

    def fit(self, chosen: Whole, scale: float, log_out: Floats) -> Plain:
        """What `fit` says of the chosen components with a spread scale."""
        place = np.full(len(self._used), -1)
        place[chosen] = np.arange(len(chosen))
        found = Plain(
            np.empty(len(chosen)),
            np.empty((len(chosen), self._used.shape[1])),
            np.empty(len(chosen), dtype=bool),
        )
        for group in self._groups:
            mine = place[group.rows] >= 0
            rows, doubts = group.rows[mine], group.doubts[mine]
            if len(rows):
                columns = group.columns[mine] * np.where(self._scaled[doubts], scale, 1.0)[:, None, :]
                variance = (
                    self._predicted.variance[rows] + self._alone_fixed[rows] + scale**2 * self._alone_scaled[rows]
                )
                some = Predicted(self._predicted.ohm[rows], columns, variance)
                one = fit(some, self._residual[rows], self._used[rows], np.ones(columns.shape[2]), log_out)
                at = place[rows]
                found.log_density[at], found.log_wild[at], found.is_far[at] = one.log_density, one.log_wild, one.is_far
        return found


def _squares(columns: Floats) -> Floats:
    found: Floats = np.einsum("cnd,cnd->cn", columns, columns)
    return found


def _groups(columns: Floats, is_shared: Flags) -> Iterator[_Group]:
    counts, whole = is_shared.sum(axis=1), columns.shape[2]
    limits = sorted({*(few for few in _FEW_COLUMNS if few < whole), whole})
    for least, most in pairwise((0, *limits)):
        rows = np.flatnonzero((counts > least) & (counts <= most))
        if len(rows):
            doubts = _kept_columns(is_shared[rows], most)
            yield _Group(rows, doubts, np.take_along_axis(columns[rows], doubts[:, None, :], axis=2))


def _kept_columns(is_shared: Flags, most: int) -> Whole:
    """(rows, most) columns with all that are shared among them; the fault's own size stays the last."""
    others = np.argsort(~is_shared[:, :-1], axis=1, kind="stable")[:, : most - 1]
    last = np.full((len(is_shared), 1), is_shared.shape[1] - 1)
    return np.concatenate([others, last], axis=1)
