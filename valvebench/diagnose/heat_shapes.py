"""How a contact can grow with heat: from a temperature on, or faster and faster."""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_LEAST_HOT_PART: Final = 0.06
"""Share of the span above a start, or too little is left that shows how it grows."""
_BENDS: Final = (0.3, 9.0)
_BEYOND: Final = 1.5


class Hinge(NamedTuple):
    """Nothing up to a temperature [degC], its shape, then straight up; 1 at the hottest."""

    coldest_celsius: float
    hottest_celsius: float

    @property
    def bounds(self) -> tuple[float, float]:
        """From the coldest to shortly below the hottest [degC]."""
        cold, hot = self
        return cold, hot - _LEAST_HOT_PART * (hot - cold)

    def likely(self, shapes: Array) -> Array:
        """How likely each start is beforehand [1/K]: all alike."""
        low, high = self.bounds
        return np.full(shapes.size, 1.0 / (high - low))

    def height(self, celsius: Array, shape: float) -> Array:
        """Part of what it is at the hottest, (m,)."""
        rise: Array = np.maximum(celsius - shape, 0.0) / (self.hottest_celsius - shape)
        return rise

    def slopes(self, celsius: Array, shape: float) -> tuple[Array, Array]:
        """Derivatives after temperature [1/K] and start [1/K], (m,) each."""
        above = (celsius > shape).astype(float)
        span = self.hottest_celsius - shape
        return above / span, above * (celsius - self.hottest_celsius) / span**2


class Swell(NamedTuple):
    """An exponential rise from the coldest on; its shape: how often it grows by e over the span; 1 at the hottest."""

    coldest_celsius: float
    hottest_celsius: float

    @property
    def bounds(self) -> tuple[float, float]:
        """From nearly straight to steeper than any contact."""
        return _BENDS

    def likely(self, shapes: Array) -> Array:
        """How likely each bend is beforehand: alike in its logarithm, and all together twice as likely as all starts.

        A start from which on a contact grows straight is the rarer thing; ours: common practice, no source.
        """
        low, high = self.bounds
        density: Array = 2.0 / (shapes * np.log(high / low))
        return density

    def height(self, celsius: Array, shape: float) -> Array:
        """Part of what it is at the hottest, (m,)."""
        rise: Array = np.expm1(shape * self._part(celsius)) / np.expm1(shape)
        return rise

    def slopes(self, celsius: Array, shape: float) -> tuple[Array, Array]:
        """Derivatives after temperature [1/K] and bend, (m,) each."""
        part, whole = self._part(celsius), np.expm1(shape)
        grown = np.exp(shape * part)
        by_celsius = shape * grown / whole / (self.hottest_celsius - self.coldest_celsius)
        return by_celsius, (part * grown - np.exp(shape) * (grown - 1.0) / whole) / whole

    def _part(self, celsius: Array) -> Array:
        part: Array = np.minimum(
            (celsius - self.coldest_celsius) / (self.hottest_celsius - self.coldest_celsius), _BEYOND
        )
        return part
