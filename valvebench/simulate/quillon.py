"""The truth behind the demo: bodies and meters of an invented rebuild shop, Quillon Tern body 2."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from valvebench.model.variant import Variant
from valvebench.model.words import LeadState
from valvebench.simulate.body import BadContact, TrueBody, TrueCoil, healthy_body
from valvebench.simulate.meter import OhmMeter, Probe, decade_ranges
from valvebench.simulate.seed import dice

WITHOUT_LIMITS_OHM: Final = MappingProxyType({"Knot": 12.6})

FINE_METER: Final = OhmMeter(
    name="bench meter",
    percent=0.9,
    counts=2,
    ranges=decade_ranges(lowest_full_ohm=600.0, lowest_step_ohm=0.01, count=6),
    gain=0.002,
    offset_counts=0.0,
    lead_ohm=0.16,
    leads=LeadState.NULLED,
)
COARSE_METER: Final = OhmMeter(
    name="drawer meter",
    percent=1.0,
    counts=3,
    ranges=decade_ranges(lowest_full_ohm=600.0, lowest_step_ohm=0.1, count=6),
    gain=-0.003,
    offset_counts=0.4,
    lead_ohm=0.12,
    leads=LeadState.NEITHER,
)
TAPED_PROBE: Final = Probe(offset_celsius=0.3)
ROOM_THERMOMETER: Final = Probe(offset_celsius=-0.5, step_celsius=0.5)

GROWING: Final = BadContact(from_celsius=50.0, ohm_per_square_celsius=5.5e-4)


def spare_body(variant: Variant) -> TrueBody:
    """The healthy spare."""
    return healthy_body(variant, dice("spare body"), ohm_at_20=WITHOUT_LIMITS_OHM)


def mid_work_body(variant: Variant) -> TrueBody:
    """Shuttle 7: turns are shorted in Plover, everything else is copper in its place."""
    body = healthy_body(variant, dice("shuttle 7"), ohm_at_20=WITHOUT_LIMITS_OHM)
    body = body.with_device("Gull", TrueCoil(ohm_at_20=5.23)).with_device("Curlew", TrueCoil(ohm_at_20=5.11))
    return body.with_device("Heron", TrueCoil(ohm_at_20=5.16)).with_device("Plover", TrueCoil(ohm_at_20=9.65))


def hot_contact_body(variant: Variant) -> TrueBody:
    """Shuttle 4: a contact of Heron grows with heat, and one port leaks."""
    body = healthy_body(variant, dice("shuttle 4"), ohm_at_20=WITHOUT_LIMITS_OHM)
    body = body.with_device("Heron", TrueCoil(ohm_at_20=5.16, contact=GROWING))
    return body.with_leak("P7")


def sound_body(variant: Variant) -> TrueBody:
    """Shuttle 2: nothing wrong with it, but nobody can prove that with the drawer meter."""
    return healthy_body(variant, dice("shuttle 2"), ohm_at_20=WITHOUT_LIMITS_OHM)
