"""Weighted linear least squares with the full covariance, a straight line first of all."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


class Fit(NamedTuple):
    """Parameters, their covariance, residuals, residual standard deviation and degrees of freedom."""

    value: Array
    covariance: Array
    residual: Array
    sd: float
    dof: int

    def u(self, number: int) -> float:
        """Standard uncertainty of one parameter."""
        return float(np.sqrt(self.covariance[number, number]))

    def correlation(self, a: int, b: int) -> float:
        """Correlation of two parameters."""
        return float(self.covariance[a, b]) / (self.u(a) * self.u(b))


def fit_columns(columns: Array, y: Array, *, weight: Array | None = None) -> Fit:
    """Fit y by a weighted sum of columns.

    Parameters
    ----------
    columns : (n, m)
        One column for each parameter.
    y : (n,)
        What was observed.
    weight : (n,)
        Weight of each observation, one over its variance in any one unit; all alike where not given.

    Returns
    -------
    Fit
        value (m,) in units of y over column; covariance (m, m) scaled by the residual variance;
        residual (n,) in the unit of y.

    Raises
    ------
    ValueError : if there are no more observations than parameters, or columns depend on one another.

    Source
    ------
    JCGM 100:2008 H.3; NIST/SEMATECH e-Handbook 4.4.3; by QR, not by normal equations.
    """
    n, m = columns.shape
    if n <= m:
        raise ValueError(f"{n} observations cannot fix {m} parameters")
    root = np.ones(n) if weight is None else np.sqrt(weight)
    scale = np.sqrt(np.sum((columns * root[:, None]) ** 2, axis=0))
    scale[scale == 0] = 1.0
    q, r = np.linalg.qr(columns * root[:, None] / scale)
    if np.min(np.abs(np.diag(r))) < 1e-12 * max(1.0, float(np.max(np.abs(r)))):
        raise ValueError("the columns depend on one another")
    value = np.linalg.solve(r, q.T @ (y * root)) / scale
    residual = y - columns @ value
    inverse = np.linalg.inv(r) / scale[:, None]
    dof = n - m
    variance = float(np.sum((residual * root) ** 2)) / dof
    return Fit(value, variance * (inverse @ inverse.T), residual, variance**0.5, dof)


def fit_line(x: Array, y: Array, *, weight: Array | None = None, about: float = 0.0) -> Fit:
    """Fit y = value[0] + value[1] (x - about).

    Parameters
    ----------
    x, y : (n,)
        Points.
    weight : (n,)
        As in `fit_columns`.
    about : scalar
        Where the first parameter is read, in the unit of x.

    Returns
    -------
    Fit

    Source
    ------
    JCGM 100:2008 H.3.
    """
    middle = float(np.average(x, weights=weight))
    # about the middle the two columns hardly depend on one another; then moved
    fit = fit_columns(np.column_stack([np.ones_like(x), x - middle]), y, weight=weight)
    move = np.array([[1.0, about - middle], [0.0, 1.0]])
    return fit._replace(value=move @ fit.value, covariance=move @ fit.covariance @ move.T)


def line_at(fit: Fit, x: float, *, about: float = 0.0) -> tuple[float, float]:
    """Height of a fitted line at x with its standard uncertainty, in the unit of y (JCGM 100:2008 H.3.4)."""
    at = np.array([1.0, x - about])
    return float(at @ fit.value), float(np.sqrt(at @ fit.covariance @ at))
