"""What the whole circuit lets one expect between any two nodes.

Effective resistance never falls when a resistor grows (Rayleigh's monotonicity law), so the
lowest and highest allowed values of all devices give the lowest and highest allowed reading.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from enum import Enum
from typing import Final, NamedTuple

import msgspec

from valvebench.judge.contacts import Contact, contact_of, devices_at
from valvebench.judge.device_limits import limits_of
from valvebench.model.limits import Limits
from valvebench.model.variant import AnyDevice, Coil, Diode, Electronics, Link, Switch, TemperatureSensor, Variant
from valvebench.model.words import CodeState, SwitchState
from valvebench.physics.conductor import resistance_at
from valvebench.physics.network import Edge, Network

UNKNOWN: Final = math.nan
_SAME: Final = 1e-12
_STEP_CELSIUS: Final = 0.5


class ExpectedState(Enum):
    """What can be said of a pair before it is read."""

    VALUE = "value"
    OPEN = "open"
    UNKNOWN = "unknown"


class Expected(NamedTuple):
    """Expected resistance [ohm] of a pair at the coil temperature, and the devices it runs through.

    `why` says what a contact has to do with it; empty where none has.
    """

    state: ExpectedState
    ohm: float | None
    path: tuple[str, ...]
    why: str = ""


class Circuit:
    """A variant's devices as a network at one coil temperature [degC], in a selector position where one is said."""

    def __init__(self, variant: Variant, celsius: float, *, selector: str | None = None) -> None:
        self._variant, self._selector = variant, selector
        self._devices = [device for device in devices_at(variant, selector) if _is_in_circuit(device)]
        self._celsius = celsius
        self._middle = self._networks(middle_ohm)

    def _networks(self, ohm_of: Callable[[AnyDevice, float], float]) -> tuple[Network, Network]:
        """The network with unknown devices taken out, and with them taken as nothing."""
        known = [Edge(*device.between, ohm_of(device, self._celsius), device.name) for device in self._devices]
        out = Network(_put(edge, math.inf) for edge in known)
        nothing = Network(_put(edge, 0.0) for edge in known)
        return out, nothing

    def expected(self, a: str, b: str) -> Expected:
        """Expected value of a pair from the middle of all limits, and what a contact has to do with it."""
        return self._expected(a, b)._replace(why=self._why(a, b))

    def _why(self, a: str, b: str) -> str:
        """Where a contact makes the difference: which one, and how it stands."""
        contacts = {
            device.name: contact
            for device in self._variant.devices
            if (contact := contact_of(self._variant, device, self._selector)) is not None
        }
        if not contacts:
            return ""
        devices = self._variant.devices
        bare = (
            msgspec.structs.replace(each, in_series_with=None) if each.name in contacts else each for each in devices
        )
        variant = msgspec.structs.replace(self._variant, devices=tuple(bare))
        closed = Circuit(variant, self._celsius, selector=self._selector).expected(a, b)
        through = [name for name in closed.path if name in contacts]
        return " ".join(_contact_words(name, contacts[name]) for name in through)

    def _expected(self, a: str, b: str) -> Expected:
        ohm = _settled(self._middle, a, b)
        path = tuple(edge.name for edge in self._middle[0].carries(a, b))
        if math.isnan(ohm):
            return Expected(ExpectedState.UNKNOWN, None, path)
        if math.isinf(ohm):
            return Expected(ExpectedState.OPEN, None, ())
        return Expected(ExpectedState.VALUE, ohm, path)

    def limits(self, a: str, b: str) -> Limits:
        """Lowest and highest allowed reading of a pair at the coil temperature [ohm]."""
        low, high = (_settled(self._networks(bound), a, b) for bound in (low_ohm, high_ohm))
        path = self._middle[0].carries(a, b)
        names = ", ".join(edge.name for edge in path)
        return Limits(
            low_ohm=low if 0 < low < math.inf else None,
            high_ohm=high if 0 < high < math.inf else None,
            k_celsius=None,
            slope_per_celsius=self._slope(a, b),
            source=f"from the limits of {names}" if names else "",
            note=f"The reading runs through {names}; its limits follow from theirs at this temperature.",
        )

    def _slope(self, a: str, b: str) -> float:
        """Relative change of the expected value per kelvin, across one kelvin."""
        values = [_settled(self._networks(_shifted(by)), a, b) for by in (-_STEP_CELSIUS, _STEP_CELSIUS)]
        middle = 0.5 * (values[0] + values[1])
        return (values[1] - values[0]) / middle if 0 < middle < math.inf else 0.0


def _contact_words(name: str, contact: Contact) -> str:
    stands = {
        CodeState.CLOSED: f"which is closed{contact.where}",
        CodeState.OPEN: f"which is open{contact.where}: open is no fault",
        CodeState.EITHER: f"and nothing says how that stands{contact.where}: open may be no fault",
    }[contact.state]
    return f"{name} is read through {contact.name}, {stands}."


def _shifted(by_celsius: float) -> Callable[[AnyDevice, float], float]:
    return lambda device, celsius: middle_ohm(device, celsius + by_celsius)


def _put(edge: Edge, instead: float) -> Edge:
    return edge._replace(ohm=instead) if math.isnan(edge.ohm) else edge


def _settled(networks: tuple[Network, Network], a: str, b: str) -> float:
    """The value where unknown devices make no difference; NaN where they do."""
    without, shorted = (network.resistance(a, b) for network in networks)
    if without == shorted or abs(without - shorted) <= _SAME * abs(shorted):
        return float(without)
    return UNKNOWN


def _is_in_circuit(device: AnyDevice) -> bool:
    """Open switches part; electronics cannot be read at all."""
    if isinstance(device, Switch):
        return device.at_rest is not SwitchState.OPEN
    return not isinstance(device, Electronics)


def low_ohm(device: AnyDevice, celsius: float) -> float:
    """Lowest allowed resistance of a device at a coil temperature [ohm]; NaN where none is stated."""
    return _bound(device, celsius, (0,))


def high_ohm(device: AnyDevice, celsius: float) -> float:
    """Highest allowed resistance of a device at a coil temperature [ohm]; NaN where none is stated."""
    return _bound(device, celsius, (1,))


def middle_ohm(device: AnyDevice, celsius: float) -> float:
    """Middle of a device's limits at a coil temperature [ohm]; NaN where they are not both stated."""
    return _bound(device, celsius, (0, 1))


def _bound(device: AnyDevice, celsius: float, sides: Iterable[int]) -> float:
    if isinstance(device, Link) or (isinstance(device, Switch) and device.at_rest is SwitchState.CLOSED):
        return 0.0
    if isinstance(device, Diode) or not isinstance(device, Coil | TemperatureSensor):
        return UNKNOWN
    limits = limits_of(device, celsius)
    found = [(limits.low_ohm, limits.high_ohm)[side] for side in sides]
    known = [ohm for ohm in found if ohm is not None]
    if len(known) < len(found):
        return UNKNOWN
    ohm = sum(known) / len(known)
    if limits.k_celsius is None:
        return ohm
    moved: float = resistance_at(ohm, from_celsius=limits.ref_celsius, to_celsius=celsius, k_celsius=limits.k_celsius)
    return moved
