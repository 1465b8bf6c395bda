"""Any number of samples drawn with as many strokes as there are pixels, peaks kept.  No Qt."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

_FACTOR: Final = 8
"""How many of one level make one of the next."""
_BINS_A_COLUMN: Final = 4
"""So many bins or more go into a column: a peak then stands at most a quarter of a pixel off its place."""
_FINEST: Final = 2**14


class Pyramid:
    """Least and greatest value of ever longer stretches of a curve; gaps are NaN."""

    def __init__(self, x: Array, y: Array) -> None:
        """Take a curve, x (n,) growing, y (n,)."""
        self.x, self.y = x, y
        self._levels: list[tuple[Array, Array]] = [(y, y)]
        while self._levels[-1][0].size > _FACTOR * _FACTOR:
            low, high = self._levels[-1]
            self._levels.append((_reduced(np.fmin, low), _reduced(np.fmax, high)))

    def columns(self, left: float, right: float, count: int) -> tuple[Array, Array]:
        """What to draw between two places in `count` columns: x and y, (m,), at most two for each column.

        Where there are hardly more samples than columns these are the samples themselves.
        """
        first = max(0, int(np.searchsorted(self.x, left)) - 1)
        last = min(self.x.size, int(np.searchsorted(self.x, right, side="right")) + 1)
        if last - first <= 2 * count:
            return self.x[first:last], self.y[first:last]
        level, stride = 0, 1
        while level + 1 < len(self._levels) and stride * _FACTOR * _BINS_A_COLUMN * count <= last - first:
            level, stride = level + 1, stride * _FACTOR
        begin, end = first // stride, -(-last // stride)
        low, high = (values[begin:end] for values in self._levels[level])
        at = self.x[begin * stride : end * stride : stride]
        starts = np.unique(np.searchsorted(at, np.linspace(at[0], right, count, endpoint=False)))
        starts = starts[starts < at.size]
        pairs = np.column_stack([np.fmin.reduceat(low, starts), np.fmax.reduceat(high, starts)])
        return np.repeat(at[starts], 2), pairs.ravel()


def _reduced(least_or_greatest: np.ufunc, values: Array) -> Array:
    reduced: Array = least_or_greatest.reduceat(values, np.arange(0, values.size, _FACTOR))
    return reduced


class Heap(NamedTuple):
    """Readings of one way, by temperature: middle of each bin [degC], least, greatest and mean [ohm], each (m,)."""

    celsius: Array
    low: Array
    high: Array
    mean: Array


class Cloud:
    """Resistance against temperature of one way, warming or cooling, at any width of its bins."""

    def __init__(self, celsius: Array, ohm: Array) -> None:
        """Take readings, each (n,); gaps are NaN."""
        there = np.isfinite(ohm)
        celsius, ohm = celsius[there], ohm[there]
        self.count = int(celsius.size)
        self.single = Heap(celsius, ohm, ohm, ohm)
        if not self.count:
            return
        self._left = float(celsius.min())
        self._width = max(float(np.ptp(celsius)), 1e-9) / _FINEST
        place = np.minimum(((celsius - self._left) / self._width).astype(np.intp), _FINEST - 1)
        low, high = np.full(_FINEST, np.inf), np.full(_FINEST, -np.inf)
        np.minimum.at(low, place, ohm)
        np.maximum.at(high, place, ohm)
        self._finest = (
            np.bincount(place, minlength=_FINEST).astype(float),
            np.bincount(place, ohm, _FINEST),
            low,
            high,
        )

    def columns(self, left: float, right: float, count: int) -> Heap:
        """What lies between two temperatures in about `count` columns; the readings themselves where they are few."""
        if self.count <= 2 * count:
            return self.single
        merged = 1
        while merged < _FINEST and self._width * merged * 2 * count <= right - left:
            merged *= 2
        number, total, low, high = (values.reshape(-1, merged) for values in self._finest)
        many = number.sum(axis=1)
        middle = self._left + self._width * merged * (np.arange(many.size) + 0.5)
        there = (many > 0) & (middle >= left - self._width * merged) & (middle <= right + self._width * merged)
        mean = total.sum(axis=1)[there] / many[there]
        return Heap(middle[there], low.min(axis=1)[there], high.max(axis=1)[there], mean)
