"""First-order lag: how a coil follows the temperature of the probe on its can."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

_LONGEST_STRETCH: Final = 200.0
"""Time constants summed in one stretch: e^200 leaves float64 room for any temperature."""
_NO_LAG: Final = 1e-9
_EVEN: Final = 1e-6
"""How much steps of time may differ and still be taken as equal."""


def lag_response(t_s: Array, celsius: Array, *, tau_s: float, start_celsius: float | None = None) -> Array:
    """Temperature of a body that follows another with one time constant.

    Parameters
    ----------
    t_s : (n,)
        Times, increasing. [s]
    celsius : (n,)
        Temperature of what is followed; straight between the samples. [degC]
    tau_s : scalar
        Time constant; nought follows at once. [s]
    start_celsius : scalar
        Temperature of the follower at the first sample; that of the probe where not given. [degC]

    Returns
    -------
    (n,) float64
        Temperature of the follower, exact for straight lines between samples. [degC]

    Raises
    ------
    ValueError : if tau_s is negative.

    Source
    ------
    dT/dt = (theta - T)/tau solved for theta = a + b t: T = theta - b tau + C exp(-t/tau).
    """
    if tau_s < 0:
        raise ValueError(f"tau_s must not be negative, found {tau_s:g}")
    steps_s = np.diff(t_s)
    if not steps_s.size or tau_s <= _NO_LAG * float(np.max(steps_s)):
        followed = celsius.copy()
        if start_celsius is not None and followed.size:
            followed[0] = start_celsius
        return followed
    start = float(celsius[0]) if start_celsius is None else start_celsius
    x = steps_s / tau_s
    mean_decay = -np.expm1(-x) / x
    driven = celsius[:-1] * (mean_decay - np.exp(-x)) + celsius[1:] * (1.0 - mean_decay)
    return _followed(x, driven, start)


def _followed(x: Array, driven: Array, start: float) -> Array:
    """y[i+1] = exp(-x[i]) y[i] + driven[i], without a loop over samples."""
    if float(np.ptp(x)) <= _EVEN * float(x[0]):
        return _evenly(float(np.exp(-x.mean())), driven, start)
    result = np.empty(x.size + 1)
    result[0] = start
    elapsed = np.concatenate(([0.0], np.cumsum(x)))
    begin = 0
    while begin < x.size:
        # at least one step, however long; within a stretch the growing weights stay finite
        end = max(begin + 1, int(np.searchsorted(elapsed, elapsed[begin] + _LONGEST_STRETCH, side="right")) - 1)
        since = elapsed[begin + 1 : end + 1] - elapsed[begin]
        # a step longer than a stretch has forgotten everything before it
        weight = np.exp(np.minimum(since, _LONGEST_STRETCH))
        result[begin + 1 : end + 1] = (result[begin] + np.cumsum(driven[begin:end] * weight)) / weight
        begin = end
    return result


def _evenly(kept: float, driven: Array, start: float) -> Array:
    from scipy.signal import lfilter

    followed, _ = lfilter([1.0], [1.0, -kept], driven, zi=[kept * start])
    return np.concatenate(([start], followed))


def memory_of_start(t_s: Array, *, tau_s: float) -> Array:
    """What is left of a difference at the first sample, exp(-t/tau), (n,), t from the first sample [s]."""
    if tau_s <= 0:
        left = np.zeros(t_s.size)
        left[:1] = 1.0
        return left
    gone: Array = np.exp(-(t_s - t_s[0]) / tau_s)
    return gone
