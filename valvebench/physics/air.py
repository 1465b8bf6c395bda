"""Air through small holes: units, reference conditions, the flow law of ISO 6358 and the orifice that equals it.

Pressures inside are absolute kilopascal; a volume of gas is told at stated reference conditions.
"""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from valvebench.physics.arithmetic import SCALAR, Arithmetic, Number

KELVIN: Final = 273.15
ISO_T0_KELVIN: Final = 293.15
ISO_P0_KPA_ABS: Final = 100.0
ISO_RHO0: Final = 1.185
"""Reference air of ISO 6358 and ISO 8778: 20 degrees Celsius, 100 kPa, 65 % humidity (density from memory)."""
GAMMA: Final = 1.4
DRY_AIR_R: Final = 287.05
CHOKED_AIR: Final = 0.040415
"""m = 0.040415 Cd A p0 / sqrt(T0) in kg, m2, Pa, K; follows from 1.4 and 287.05."""
IDEAL_B: Final = (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
"""Pressure ratio below which an ideal nozzle is choked: 0.5283."""
STANDARD_AMBIENT_KPA_ABS: Final = 101.325
_ML_MIN_PER_DM3_S: Final = 6.0e4
_PSI_KPA: Final = 0.45359237 * 9.80665 / 0.0254**2 / 1000.0
_MMHG_KPA: Final = 0.133322387415

KPA_OF: Final = MappingProxyType(
    {
        "kpa": 1.0,
        "mpa": 1000.0,
        "bar": 100.0,
        "mbar": 0.1,
        "psi": _PSI_KPA,
        "inhg": 25.4 * _MMHG_KPA,
        "mmhg": _MMHG_KPA,
        "torr": 101.325 / 760.0,
        "kgf_cm2": 98.0665,
        "inh2o": 0.0254 * 9.80665,
    }
)
"""Kilopascal in one of each, by exact definition (NIST SP 811, appendix B.8; conventional mercury and water)."""


class Reference(NamedTuple):
    """Conditions at which a volume of gas is told."""

    celsius: float
    kpa_abs: float


REFERENCES: Final = MappingProxyType(
    {"iso8778": Reference(20.0, ISO_P0_KPA_ABS), "dry0": Reference(0.0, STANDARD_AMBIENT_KPA_ABS)}
)


def volume_at(amount_kpa_ml: Number, *, celsius: float, reference: Reference) -> Number:
    """Pressure times volume of a gas at its own temperature -> its volume at reference conditions [ml].

    Parameters
    ----------
    amount_kpa_ml : (n,) or scalar
        Absolute pressure times volume. [kPa ml]
    celsius : scalar
        Temperature of that gas. [degC]

    Returns
    -------
    (n,) or scalar
        Volume at the reference. [ml]

    Source
    ------
    Ideal gas; the trap of a reference temperature that is not the gas's own is that of the 7 %
    between 0 and 20 degrees Celsius.
    """
    return amount_kpa_ml / reference.kpa_abs * (reference.celsius + KELVIN) / (celsius + KELVIN)


def moles_per_s(volume_m3: float, *, from_pa: float, to_pa: float, celsius: tuple[float, float], s: float) -> float:
    """Gas a vessel gained from its pressure and temperature before and after (40 CFR 1065.644) [mol/s]."""
    before, after = from_pa / (celsius[0] + KELVIN), to_pa / (celsius[1] + KELVIN)
    return volume_m3 / 8.314472 * (after - before) / s


def gas_lost_ml_min(
    volume_ml: float,
    *,
    kpa_abs: tuple[float, float],
    celsius: tuple[float, float],
    s: float,
    reference: Reference,
) -> float:
    """The same for a vessel that loses gas, as a volume at reference conditions [ml/min]."""
    start, end = (
        volume_at(volume_ml * kpa, celsius=at, reference=reference) for kpa, at in zip(kpa_abs, celsius, strict=True)
    )
    return float((start - end) * 60.0 / s)


def below_choke(ratio: Number, b: Number, ops: Arithmetic = SCALAR) -> Number:
    """How much of the choked flow is left at a pressure ratio p2/p1, 0..1.

    Source
    ------
    ISO 6358: 1 up to the critical ratio b, then sqrt(1 - ((p2/p1 - b)/(1 - b))^2).
    """
    z = ops.clip01((ratio - b) / (1.0 - b))
    return (1.0 - z * z) ** 0.5


def iso_flow_ml_min(
    c_dm3_s_bar: Number,
    *,
    from_kpa_abs: Number,
    to_kpa_abs: Number,
    b: Number,
    celsius: Number,
    ops: Arithmetic = SCALAR,
) -> Number:
    """Flow through a conductance, as a volume at 20 degrees Celsius and 100 kPa.

    Parameters
    ----------
    c_dm3_s_bar : sonic conductance [dm3/(s bar)]
    from_kpa_abs, to_kpa_abs : absolute pressures before and behind [kPa]
    b : critical pressure ratio
    celsius : temperature of the gas before it [degC]

    Returns
    -------
    (n,) or scalar
        Flow. [ml/min]

    Source
    ------
    ISO 6358.
    """
    choked = c_dm3_s_bar * 0.01 * from_kpa_abs * (ISO_T0_KELVIN / (celsius + KELVIN)) ** 0.5
    return _ML_MIN_PER_DM3_S * choked * below_choke(to_kpa_abs / from_kpa_abs, b, ops)


def conductance_of_bore(bore_mm: Number, *, cd: float) -> Number:
    """Sonic conductance of a round hole [dm3/(s bar)], `cd` its discharge coefficient."""
    return cd * 0.25 * math.pi * bore_mm * bore_mm * _C_PER_MM2


def bore_of_conductance(c_dm3_s_bar: float, *, cd: float) -> float:
    """The round hole that is choked at the same flow [mm]; none flows through a hole of nought."""
    return float((max(c_dm3_s_bar, 0.0) / (cd * 0.25 * math.pi * _C_PER_MM2)) ** 0.5)


_C_PER_MM2: Final = CHOKED_AIR * 1e-6 / (ISO_RHO0 * ISO_T0_KELVIN**0.5) * 1e8
"""0.1992 dm3/(s bar) for each square millimetre."""


def choked_constant(gamma: float = GAMMA, gas_r: float = DRY_AIR_R) -> float:
    """K of m = K Cd A p0 / sqrt(T0), SI, of an ideal nozzle."""
    return float((gamma / gas_r) ** 0.5 * (2.0 / (gamma + 1.0)) ** ((gamma + 1.0) / (2.0 * (gamma - 1.0))))


def nozzle_factor(ratio: float, *, gamma: float, beta: float) -> float:
    """Flow coefficient of a nozzle that is not choked (40 CFR 1065.640-3); `beta` throat over inlet diameter."""
    numerator = 2.0 * gamma * (ratio ** ((gamma - 1.0) / gamma) - 1.0)
    return float((numerator / ((gamma - 1.0) * (beta**4 - ratio ** (-2.0 / gamma)))) ** 0.5)


def gap_shape(from_kpa_abs: Any, to_kpa_abs: Any) -> Any:
    """What the flow through a long thin clearance goes with, (p1^2 - p2^2) over 1 kPa [kPa] (laminar, isothermal)."""
    return from_kpa_abs * from_kpa_abs - to_kpa_abs * to_kpa_abs
