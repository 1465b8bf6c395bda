"""The hole that equals a leak: its conductance by ISO 6358, and the round orifice of the same choked flow."""

from __future__ import annotations

from typing import NamedTuple

from valvebench.diagnose.leak_setup import HIGHEST_B, LEAK_B, LOWEST_B, U_LEAK_B, to_reference
from valvebench.model.heat import Sized
from valvebench.physics.air import Reference, bore_of_conductance, iso_flow_ml_min


class Hole(NamedTuple):
    """Conductance [dm3/(s bar)] and the orifice that equals it [mm], with standard uncertainties."""

    conductance: Sized
    orifice_mm: Sized


def hole_of(
    leak: Sized,
    *,
    from_kpa_abs: float,
    to_kpa_abs: float,
    celsius: float,
    reference: Reference,
    cd: float,
    b: float = LEAK_B,
    u_b: float = U_LEAK_B,
) -> Hole | None:
    """The hole behind a leak [ml/min at the reference]; None where there is hardly a pressure across it."""

    def per_ml_min(ratio: float) -> float:
        one = iso_flow_ml_min(1.0, from_kpa_abs=from_kpa_abs, to_kpa_abs=to_kpa_abs, b=ratio, celsius=celsius)
        return 1.0 / float(to_reference(one, reference)) if one > 0 else 0.0

    factor = per_ml_min(b)
    if not factor > 0 or not from_kpa_abs > 1.002 * to_kpa_abs:
        return None
    by_b = 0.5 * leak.value * (per_ml_min(min(b + u_b, HIGHEST_B)) - per_ml_min(max(b - u_b, LOWEST_B)))
    c, u_c = factor * leak.value, ((factor * leak.u) ** 2 + by_b**2) ** 0.5
    high, low = bore_of_conductance(c + u_c, cd=cd), bore_of_conductance(c - u_c, cd=cd)
    return Hole(Sized(value=c, u=u_c), Sized(value=bore_of_conductance(c, cd=cd), u=0.5 * (high - low)))
