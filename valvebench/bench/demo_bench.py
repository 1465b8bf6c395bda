"""What the demo jobs share: the customer, pairs to read, the bench, a complaint.  All invented."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType
from typing import Final

from valvebench.model.words import TemperatureSource
from valvebench.simulate import quillon
from valvebench.simulate.body import TrueBody
from valvebench.simulate.taking import ReadPair, SetUp

CUSTOMER: Final = "Harbour Shuttle Company (invented)"
SUPPLIER: Final = "Tern Parts Counter (invented)"
LINEAR: Final = (("1", "2"), ("3", "11"), ("4", "5"), ("7", "11"))
OTHER_SOLENOIDS: Final = (("8", "case"), ("2", "11"), ("5", "11"))
SENSOR: Final = (("12", "6"),)
AT_REST: Final = (("9", "case"), ("10", "case"), ("1", "case"), ("12", "case"))
"""Both switches, then one reading to the case for each net."""
BODY_PORTS: Final = ("P3", "P4", "P5", "P6", "P7", "P8", "P9")
MUST_MATCH: Final = ("connector pins", "plate mark", "pressure switches")


def taped(body: TrueBody) -> SetUp:
    """The good bench: a meter with hundredths, the probe taped to the can."""
    return SetUp(
        body=body,
        meter=quillon.FINE_METER,
        probe=quillon.TAPED_PROBE,
        temperature=TemperatureSource.TAPED,
        gauge_id="shop gauge",
    )


def not_nulled(body: TrueBody) -> SetUp:
    """The good bench with other leads, that nobody nulled though it was ticked."""
    return replace(taped(body), meter=quillon.NOT_NULLED_METER)


def from_the_drawer(body: TrueBody) -> SetUp:
    """What is at hand: a meter with tenths, the thermometer on the wall."""
    return SetUp(
        body=body,
        meter=quillon.COARSE_METER,
        probe=quillon.ROOM_THERMOMETER,
        temperature=TemperatureSource.ROOM_SHORT,
    )


def sensor_in_oil(celsius: float) -> ReadPair:
    """A sensor asks for a good temperature: it changes ten times faster than copper."""
    words = "sensor and glass thermometer in one still bath of oil"
    return ReadPair(from_node="12", to_node="6", celsius=celsius, celsius_accuracy=0.5, note=words)


def complaint(number: str, **more: object) -> MappingProxyType[str, object]:
    """A shuttle that bumps from fifth to sixth after forty minutes' driving."""
    came_in = {"job": number, "kind": "complaint", "customer": CUSTOMER, "part": "QT-2", "shift": "5-6", "when": "hot"}
    return MappingProxyType({**came_in, **more})
