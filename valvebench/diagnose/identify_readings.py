"""Readings of a session as a fingerprint: which serve, one for each pair, and how unsure each is."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from valvebench.diagnose.explain_readings import Said, u_celsius
from valvebench.diagnose.identified import NotUsed
from valvebench.diagnose.identify_electric import Expecting, Readings
from valvebench.diagnose.identify_priors import ElectricalPriors
from valvebench.model.words import AccessPoint


class Served(NamedTuple):
    """The readings that count, in the order of their entries, as numbers, and what was left out."""

    said: tuple[Said, ...]
    readings: Readings
    left_out: tuple[NotUsed, ...]


def served(said: Sequence[Said], expecting: Expecting, priors: ElectricalPriors) -> Served:
    """Choose the readings that say something: of several at one pair the middle one."""
    pairs: dict[frozenset[str], list[Said]] = {}
    left_out = []
    for one in said:
        why = _why_not(one, expecting, priors)
        if why:
            left_out.append(NotUsed(one.entry, f"{one.reading.from_node}\u2013{one.reading.to_node}", why))
        else:
            pairs.setdefault(one.reading.pair, []).append(one)
    middles = [
        sorted(several, key=lambda one: (one.ohm, one.entry))[(len(several) - 1) // 2] for several in pairs.values()
    ]
    kept = tuple(sorted(middles, key=lambda one: (one.entry, one.reading.from_node, one.reading.to_node)))
    return Served(kept, _numbers(kept, priors), tuple(left_out))


def _why_not(one: Said, expecting: Expecting, priors: ElectricalPriors) -> str:
    """Why a reading says nothing of the variant; empty where it does."""
    reading = one.reading
    if reading.at is not AccessPoint.CASE_CONNECTOR:
        return "only readings at the case connector tell variants apart"
    strange = [node for node in (reading.from_node, reading.to_node) if not expecting.knows(node)]
    if strange:
        return f"no variant here has {' or '.join(strange)}"
    if not one.ohm < priors.open_above_ohm.value:
        return "open says nothing of the variant: any device can have failed that way"
    return ""


def _numbers(kept: Sequence[Said], priors: ElectricalPriors) -> Readings:
    ohm = np.array([max(one.ohm, priors.lowest_ohm.value) for one in kept])
    own = np.array([one.own_sd_ohm for one in kept]) / ohm
    gain, leads = np.array([one.gain_sd for one in kept]), np.array([one.lead_sd_ohm for one in kept])
    kelvin = np.array([u_celsius(one.reading) for one in kept])
    return Readings(np.log(ohm), own, np.hypot(gain, leads / ohm), kelvin)
