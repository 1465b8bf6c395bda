"""Resistance of a conductor against its temperature."""

from __future__ import annotations

from typing import Final

from valvebench.physics.arithmetic import Number

LOWEST_CELSIUS: Final = -50.0
HIGHEST_CELSIUS: Final = 180.0
"""Where the straight line holds well enough for copper: common practice, no source."""


def resistance_at(ohm: Number, *, from_celsius: Number, to_celsius: Number, k_celsius: float) -> Number:
    """Move a winding resistance from one winding temperature to another.

    Parameters
    ----------
    ohm : (n,) or scalar
        Resistance at `from_celsius`. [ohm]
    from_celsius, to_celsius : broadcastable to `ohm`
        Winding (not room) temperature. [degC]
    k_celsius : scalar
        Conductor constant: 234.5 for copper, 225 for aluminium. [degC]

    Returns
    -------
    (n,) or scalar
        Resistance at `to_celsius`. [ohm]  NaN in, NaN out.

    Source
    ------
    IEC 60034-1, 8.6.2 (linear law; there with 235 for copper); IEC 60028 for the constant.
    """
    return ohm * ((k_celsius + to_celsius) / (k_celsius + from_celsius))


def winding_celsius(ohm: Number, *, cold_ohm: Number, cold_celsius: Number, k_celsius: float) -> Number:
    """Winding temperature [degC] at which `cold_ohm` at `cold_celsius` has become `ohm` (shape of `ohm`).

    Source
    ------
    IEC 60034-1, 8.6.2, solved for the hot temperature.
    """
    return ohm / cold_ohm * (k_celsius + cold_celsius) - k_celsius


def rise_by_resistance(
    hot_ohm: Number, *, cold_ohm: Number, cold_celsius: Number, ambient_celsius: Number, k_celsius: float
) -> Number:
    """Temperature rise [K] above the ambient at the end of the run (shape of `hot_ohm`).

    Source
    ------
    IEC 60034-1, 8.6.2, with the term for a changed ambient.
    """
    return winding_celsius(hot_ohm, cold_ohm=cold_ohm, cold_celsius=cold_celsius, k_celsius=k_celsius) - ambient_celsius


def k_from_alpha20(alpha20_per_celsius: float) -> float:
    """Conductor constant [degC] from the temperature coefficient at 20 degC [1/K].

    Source
    ------
    IEC 60028: 1/alpha20 - 20.
    """
    return 1.0 / alpha20_per_celsius - 20.0


def alpha_at(celsius: Number, *, alpha20_per_celsius: float) -> Number:
    """Temperature coefficient [1/K] referred to another temperature (shape of `celsius`).

    Source
    ------
    NBS Handbook 100, Table 2: alpha_t = 1 / (1/alpha20 - 20 + t).
    """
    return 1.0 / (k_from_alpha20(alpha20_per_celsius) + celsius)
