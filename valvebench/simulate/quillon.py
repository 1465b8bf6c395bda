"""The truth behind the demo: bodies and meters of an invented rebuild shop, Quillon Tern body 2."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Final

from valvebench.model.variant import Pin, Solenoid, TemperatureSensor, Variant
from valvebench.model.words import CASE, LeadState
from valvebench.simulate.body import TrueBody, TrueCoil, TrueDevice, TrueSensor, healthy_body
from valvebench.simulate.contacts import BadContact, KneeContact, OpeningContact
from valvebench.simulate.meter import OhmMeter, Probe, decade_ranges
from valvebench.simulate.seed import dice

_NEARLY_EQUAL: Final = 0.015
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
NOT_NULLED_METER: Final = replace(FINE_METER, rest_ohm=0.35)
"""Long leads: said to be nulled, and they were not."""
LOGGER_METER: Final = OhmMeter(
    name="logger",
    percent=0.2,
    counts=2,
    ranges=decade_ranges(lowest_full_ohm=60.0, lowest_step_ohm=0.01, count=1),
    gain=0.0008,
    offset_counts=0.5,
    leads=LeadState.FOUR_WIRE,
)
TAPED_PROBE: Final = Probe(offset_celsius=0.3)
ROOM_THERMOMETER: Final = Probe(offset_celsius=-0.5, step_celsius=0.5)

UNKNOWN_PINS: Final = tuple(str(number) for number in range(1, 13))
_UNKNOWN_COILS_OHM: Final = MappingProxyType(
    {
        ("Gull", "3", "11"): 5.18,
        ("Heron", "5", "11"): 5.31,
        ("Curlew", "7", "11"): 5.09,
        ("Whimbrel", "9", "11"): 6.42,
        ("Dunlin", "2", "11"): 12.4,
        ("Plover", "8", CASE): 13.1,
    }
)
"""Four that ought to be equal, of them Whimbrel is odd; two of other kinds."""

GROWING: Final = BadContact(from_celsius=50.0, ohm_per_square_celsius=5.5e-4)


HIDDEN_GROWING: Final = KneeContact(from_celsius=50.0, ohm_per_celsius=0.006)
"""Small enough that even the hottest single reading lies inside the limits."""
LETS_GO: Final = OpeningContact(above_celsius=86.0)


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


def unknown_body(_: Variant) -> TrueBody:
    """A body nobody has a file of; its truth is written here and told to nobody."""
    coils = [Solenoid(name=name, between=(a, b)) for name, a, b in _UNKNOWN_COILS_OHM]
    sensor = TemperatureSensor(name="Fluid", between=("6", "12"))
    variant = Variant(
        format=1,
        key="tern-unknown",
        title="Quillon Tern, body unknown",
        pins=tuple(Pin(name=name) for name in UNKNOWN_PINS),
        devices=(*coils, sensor),
    )
    devices: dict[str, TrueDevice] = {name: TrueCoil(ohm_at_20=ohm) for (name, _, _), ohm in _UNKNOWN_COILS_OHM.items()}
    devices["Fluid"] = TrueSensor(ohm_at_20=2450.0, b_kelvin=3600.0)
    return TrueBody(variant=variant, devices=MappingProxyType(devices))


def sound_body(variant: Variant) -> TrueBody:
    """Shuttle 2: nothing wrong with it, but nobody can prove that with the drawer meter."""
    return healthy_body(variant, dice("shuttle 2"), ohm_at_20=WITHOUT_LIMITS_OHM)


def worn_body(variant: Variant) -> TrueBody:
    """Shuttle 9: a joint in Heron has grown, the others are as in a new body."""
    body = healthy_body(variant, dice("shuttle 9"), ohm_at_20=WITHOUT_LIMITS_OHM, spread=_NEARLY_EQUAL)
    return body.with_device("Heron", TrueCoil(ohm_at_20=5.61))


def new_body(variant: Variant) -> TrueBody:
    """A new spare, so near to a sound old one that a bench meter shows no difference."""
    return healthy_body(variant, dice("new spare"), ohm_at_20=WITHOUT_LIMITS_OHM, spread=_NEARLY_EQUAL)


def rounds_body(variant: Variant) -> TrueBody:
    """Shuttle 2: a contact of Heron grows with heat, too little for any single reading to show it."""
    body = healthy_body(variant, dice("shuttle 2"), ohm_at_20=WITHOUT_LIMITS_OHM)
    return body.with_device("Heron", TrueCoil(ohm_at_20=5.17, contact=HIDDEN_GROWING))


def opening_body(variant: Variant) -> TrueBody:
    """Shuttle 11: a joint of Heron lets go when it is hot."""
    body = healthy_body(variant, dice("shuttle 11"), ohm_at_20=WITHOUT_LIMITS_OHM)
    return body.with_device("Heron", TrueCoil(ohm_at_20=5.19, contact=LETS_GO))


def ramp_body(variant: Variant) -> TrueBody:
    """Shuttle 12: nothing is wrong with it."""
    return healthy_body(variant, dice("shuttle 12"), ohm_at_20=WITHOUT_LIMITS_OHM)


POOR_OHM: Final = 3.0
POOR_PIN: Final = "2"
"""The pin of Heron in body 1; the other end of Heron is on pin 8 with those of three more."""
MIRRORED_PINS: Final = MappingProxyType(
    {"1": "6", "2": "5", "3": "4", "4": "3", "5": "2", "6": "1"}
    | {"7": "12", "8": "11", "9": "10", "10": "9", "11": "8", "12": "7"}
)
"""Body 2 counted from the wire side: each row of six from its other end."""


def poor_contact_body(variant: Variant) -> TrueBody:
    """Shuttle 3, body 1: a contact between connector and Heron has worn, all windings are good."""
    body = healthy_body(variant, dice("shuttle 3"), ohm_at_20=MappingProxyType({"Dunlin": 11.8}), spread=_NEARLY_EQUAL)
    return body.with_contact(POOR_PIN, POOR_OHM)


def mirrored_body(variant: Variant) -> TrueBody:
    """Shuttle 8: nothing is wrong with it but the side from which its pins are counted."""
    body = healthy_body(variant, dice("shuttle 8"), ohm_at_20=WITHOUT_LIMITS_OHM)
    return body.with_probed(MIRRORED_PINS)


def leads_body(variant: Variant) -> TrueBody:
    """Shuttle 14: nothing is wrong with it."""
    return healthy_body(variant, dice("shuttle 14"), ohm_at_20=WITHOUT_LIMITS_OHM)
