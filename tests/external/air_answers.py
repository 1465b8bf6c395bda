"""Published numbers on air, recomputed by the program's own functions."""

from __future__ import annotations

import math

import numpy as np

from valvebench.diagnose.sweep import find_sweep
from valvebench.physics.air import (
    IDEAL_B,
    ISO_T0_KELVIN,
    KELVIN,
    KPA_OF,
    REFERENCES,
    Reference,
    choked_constant,
    conductance_of_bore,
    gas_lost_ml_min,
    iso_flow_ml_min,
    moles_per_s,
    nozzle_factor,
    volume_at,
)

GAS_R = 8.314472
DRY0 = REFERENCES["dry0"]
ANSWERS = {}


class Each(list):
    """Several numbers under one name, each held against the tolerance."""


def answers(check_id):
    def register(function):
        ANSWERS[check_id] = function
        return function

    return register


@answers("cfr-1065-644-decay")
def _(i):
    celsius = (i["T1"] - KELVIN, i["T2"] - KELVIN)
    return {"n_mol_s": moles_per_s(i["V_m3"], from_pa=i["p1"], to_pa=i["p2"], celsius=celsius, s=i["dt_s"])}


@answers("cfr-1065-642-subsonic")
def _(i):
    factor = nozzle_factor(1.0 - 1000.0 * i["dp_kPa"] / i["p"], gamma=i["gamma"], beta=i["beta"])
    moles = i["Cd"] * factor * i["At"] * i["p"] / math.sqrt(i["M"] * GAS_R * i["T"])
    return {"Cf": factor, "n": moles}


@answers("cfr-1066-630-subsonic")
def _(i):
    moles = i["Cd"] * i["Cf"] * i["At"] * 1000.0 * i["p_kPa"] / math.sqrt(i["M"] * GAS_R * i["T"])
    at = Reference(i["Tstd"] - KELVIN, i["pstd_kPa"])
    return volume_at(moles * GAS_R * i["T"] / 1000.0, celsius=i["T"] - KELVIN, reference=at)


@answers("cfr-1066-630-choked")
def _(i):
    """A critical nozzle is a conductance by another name."""
    conductance = i["Kv"] / (600.0 * math.sqrt(ISO_T0_KELVIN))
    return iso_flow_ml_min(conductance, from_kpa_abs=i["p_kPa"], to_kpa_abs=0.0, b=IDEAL_B, celsius=i["T"] - KELVIN)


@answers("choked-air-constant")
def _(i):
    constant = choked_constant(i["gamma"], i["R"])
    exponent = (i["gamma"] - 1.0) / i["gamma"]
    return {"K": constant, "psi": constant * math.sqrt(i["R"]), "p_ratio": IDEAL_B, "T_ratio": IDEAL_B**exponent}


@answers("choked-80psig-bound")
def _(i):
    return IDEAL_B * (i["p1_psig"] + i["patm_psia"]) - i["patm_psia"]


@answers("iso6358-ideal-C-per-mm2")
def _(i):
    conductance = conductance_of_bore(math.sqrt(4.0 * i["A_mm2"] / math.pi), cd=1.0)
    return {"C_dm3_s_bar": conductance, "S_per_C": i["A_mm2"] / conductance}


@answers("iso6358-flow-worked")
def _(i):
    at = {"from_kpa_abs": 100.0 * i["p1_bar_abs"], "b": i["b"], "celsius": i["T1"] - KELVIN}
    return {"q_ANR_dm3_s": Each(iso_flow_ml_min(2.0, to_kpa_abs=100.0 * p2, **at) / 6.0e4 for p2 in i["p2_bar_abs"])}


@answers("pressure-units")
def _(_):
    named = {"psi_Pa": "psi", "inHg_Pa": "inhg", "mmHg_Pa": "mmhg", "torr_Pa": "torr", "kgfcm2_Pa": "kgf_cm2"}
    pascal = {name: 1000.0 * KPA_OF[unit] for name, unit in named.items()}
    psi = KPA_OF["psi"]
    return {
        **pascal,
        "inH2O_conv_Pa": 1000.0 * KPA_OF["inh2o"],
        "atm_psi": 101.325 / psi,
        "bar_psi": KPA_OF["bar"] / psi,
    }


@answers("leak-units")
def _(_):
    """1 mbar l/s is 100 kPa ml/s."""
    cm3_s = volume_at(100.0, celsius=0.0, reference=DRY0)
    return {
        "cm3_s": cm3_s,
        "cm3_min": 60.0 * cm3_s,
        "torr_l_s": 0.001 * 100.0 / KPA_OF["torr"],
        "sccm_to_mbarls": 1.0 / (60.0 * cm3_s),
        "mol_s_per_Pam3s": moles_per_s(1.0, from_pa=0.0, to_pa=1.0, celsius=(0.0, 0.0), s=1.0),
    }


@answers("leak-units-temperature-trap")
def _(i):
    return 60.0 * volume_at(1000.0 * i["Q_Pam3s"], celsius=i["T"] - KELVIN, reference=DRY0)


@answers("decay-isothermal-worked")
def _(i):
    return gas_lost_ml_min(
        i["V_cm3"],
        kpa_abs=(i["p1_Pa_abs"] / 1000.0, i["p2_Pa_abs"] / 1000.0),
        celsius=(i["T1"] - KELVIN, i["T2"] - KELVIN),
        s=i["dt_s"],
        reference=Reference(i["Tn"] - KELVIN, i["pn"] / 1000.0),
    )


@answers("valve-hysteresis-current")
def _(i):
    ampere = np.linspace(0.1, 1.0, 19)
    up, down = 10.0 * (ampere - 0.06), 10.0 * (ampere - 0.02)
    found = find_sweep(
        np.concatenate([ampere, ampere[::-1]]),
        np.concatenate([up, down[::-1]]),
        np.repeat([1.0, 0.0], ampere.size),
        rated_ampere=i["I_rated_A"],
    )
    return found.hysteresis_pct_current.max.value
