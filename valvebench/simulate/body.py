"""What a simulated valve body really is: resistances in ohm at 20 degrees Celsius, switches, leaks."""

from __future__ import annotations

import math
import random
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import singledispatch
from types import MappingProxyType
from typing import Final

from valvebench.judge.nets import has_path_beside
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.variant import AnyDevice, Coil, Device, Diode, Link, Switch, TemperatureSensor, Variant
from valvebench.model.words import SwitchState
from valvebench.physics.conductor import resistance_at
from valvebench.physics.sensor import KELVIN, beta_ohm
from valvebench.simulate.contacts import Contact

REF_CELSIUS: Final = 20.0
OPEN_OHM: Final = math.inf
_GOOD_ISOLATION_OHM: Final = 4e8
_GOOD_SWITCH_OHM: Final = 0.3
_LINK_OHM: Final = 0.05


@dataclass(frozen=True, kw_only=True)
class TrueCoil:
    """A winding [ohm at 20 degrees Celsius], perhaps behind a contact."""

    ohm_at_20: float
    k_celsius: float = COPPER_K_CELSIUS
    contact: Contact | None = None

    def ohm_at(self, celsius: float) -> float:
        """Winding and contact in series [ohm]."""
        there = {"from_celsius": REF_CELSIUS, "to_celsius": celsius}
        winding: float = resistance_at(self.ohm_at_20, **there, k_celsius=self.k_celsius)
        return winding + (self.contact.ohm_at(celsius) if self.contact is not None else 0.0)


@dataclass(frozen=True, kw_only=True)
class TrueSensor:
    """A falling temperature sensor by the Beta equation."""

    ohm_at_20: float
    b_kelvin: float

    def ohm_at(self, celsius: float) -> float:
        """Its resistance [ohm]."""
        return beta_ohm(celsius, r_ohm=self.ohm_at_20, at_celsius=REF_CELSIUS, beta_kelvin=self.b_kelvin)


@dataclass(frozen=True, kw_only=True)
class TrueSwitch:
    """A switch at rest, and the port whose air turns it over."""

    at_rest: SwitchState
    moved_by: str | None = None
    closed_ohm: float = _GOOD_SWITCH_OHM

    def state(self, *, with_air: bool) -> SwitchState:
        """Open or closed, at rest or under air."""
        if not with_air or self.moved_by is None:
            return self.at_rest
        return SwitchState.CLOSED if self.at_rest is SwitchState.OPEN else SwitchState.OPEN

    def ohm_at(self, celsius: float) -> float:  # noqa: ARG002  contacts of a switch stay as they are
        """Its resistance at rest [ohm]."""
        return self.closed_ohm if self.at_rest is SwitchState.CLOSED else OPEN_OHM


TrueDevice = TrueCoil | TrueSensor | TrueSwitch


@dataclass(frozen=True, kw_only=True)
class TrueBody:
    """One body of a variant: its devices by name, its leaking ports, how well it is isolated [ohm].

    `contact_ohm` holds pins whose contact or inner conductor is poor; `probed` which pin a person
    really touches who means another one.
    """

    variant: Variant
    devices: Mapping[str, TrueDevice]
    leaking: frozenset[str] = field(default_factory=frozenset)
    isolation_ohm: float = _GOOD_ISOLATION_OHM
    contact_ohm: Mapping[str, float] = field(default_factory=lambda: MappingProxyType({}))
    probed: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def with_device(self, name: str, device: TrueDevice) -> TrueBody:
        """The same body with another device in one place."""
        return replace(self, devices=MappingProxyType({**self.devices, name: device}))

    def with_leak(self, port: str) -> TrueBody:
        """The same body with one more leaking port."""
        return replace(self, leaking=self.leaking | {port})

    def with_contact(self, pin: str, ohm: float) -> TrueBody:
        """The same body with a poor contact or inner conductor at one pin [ohm]."""
        return replace(self, contact_ohm=MappingProxyType({**self.contact_ohm, pin: ohm}))

    def with_probed(self, probed: Mapping[str, str]) -> TrueBody:
        """The same body before a person who takes pins for others."""
        return replace(self, probed=MappingProxyType(dict(probed)))

    def ohm_between(self, a: str, b: str, *, celsius: float) -> float:
        """True resistance between two nodes as they were named [ohm]; the isolation where nothing conducts."""
        (from_node, from_ohm), (to_node, to_ohm) = self._touched(a), self._touched(b)
        path = self._path(from_node, to_node, frozenset((from_node,)))
        ohm = OPEN_OHM if path is None else sum(self.devices[name].ohm_at(celsius) for name in path)
        return min(ohm + from_ohm + to_ohm, self.isolation_ohm)

    def _touched(self, named: str) -> tuple[str, float]:
        """The node behind a name, and what lies before it [ohm]; nothing at a device's own terminals."""
        head, _, number = named.rpartition(".")
        device = self.variant.device_named(head)
        if device is not None:
            return device.between[int(number) - 1], 0.0
        pin = self.probed.get(named, named)
        return pin, self.contact_ohm.get(pin, 0.0)

    def _path(self, a: str, b: str, seen: frozenset[str]) -> tuple[str, ...] | None:
        """Names of the devices in series from one node to another."""
        if a == b:
            return ()
        for device in self.variant.devices:
            if a not in device.between or device.name not in self.devices:
                continue
            (other,) = set(device.between) - {a}
            rest = self._path(other, b, seen | {other}) if other not in seen else None
            if rest is not None:
                return (device.name, *rest)
        return None


def healthy_body(
    variant: Variant, chance: random.Random, *, ohm_at_20: Mapping[str, float], spread: float = 0.15
) -> TrueBody:
    """A good body: each device near the middle of its limits.

    `ohm_at_20` [ohm] says what devices without limits have; `spread` is the largest distance from
    the middle as a share of half the band.  Raises ValueError for a variant with a loop of devices.
    """
    wired = [device for device in variant.devices if not isinstance(device, Diode)]  # no loop for an ohmmeter
    loops = [device.name for device in wired if has_path_beside(variant, device)]
    if loops:
        raise ValueError(f"{variant.key}: a second path runs beside {loops[0]}; give a variant without loops")
    devices: dict[str, TrueDevice] = {}
    for device in variant.devices:
        place = chance.uniform(-spread, spread)
        true = true_device(device, place, ohm_at_20.get(device.name))
        if true is not None:
            devices[device.name] = true
    return TrueBody(variant=variant, devices=MappingProxyType(devices))


@singledispatch
def true_device(device: Device, place: float, stated_ohm: float | None) -> TrueDevice | None:  # noqa: ARG001
    """A good device of its kind; kinds that are not read with an ohmmeter have none."""
    return None


@true_device.register
def _(device: Coil, place: float, stated_ohm: float | None) -> TrueCoil:
    middle = stated_ohm if stated_ohm is not None else _within(device.low_ohm, device.high_ohm, place, device)
    return TrueCoil(ohm_at_20=middle, k_celsius=device.k)


@true_device.register
def _(device: TemperatureSensor, place: float, stated_ohm: float | None) -> TrueSensor:  # noqa: ARG001
    if device.beta is not None:
        beta = device.beta
        ohm = beta_ohm(REF_CELSIUS, r_ohm=beta.r_ohm, at_celsius=beta.at_celsius, beta_kelvin=beta.b_kelvin)
        return TrueSensor(ohm_at_20=ohm * (1 + 0.01 * beta.tolerance_pct * place), b_kelvin=beta.b_kelvin)
    rows = sorted(device.points)
    (cold, cold_low, cold_high), (hot, hot_low, hot_high) = rows[0], rows[-1]
    ohm_cold = _within(cold_low, cold_high, place, device)
    ohm_hot = _within(hot_low, hot_high, place, device)
    b_kelvin = math.log(ohm_cold / ohm_hot) / (1 / (cold + KELVIN) - 1 / (hot + KELVIN))
    ohm = beta_ohm(REF_CELSIUS, r_ohm=ohm_cold, at_celsius=cold, beta_kelvin=b_kelvin)
    return TrueSensor(ohm_at_20=ohm, b_kelvin=b_kelvin)


@true_device.register
def _(device: Switch, place: float, stated_ohm: float | None) -> TrueSwitch | None:  # noqa: ARG001
    return None if device.at_rest is None else TrueSwitch(at_rest=device.at_rest, moved_by=device.closes_with)


@true_device.register
def _(device: Link, place: float, stated_ohm: float | None) -> TrueCoil:  # noqa: ARG001
    return TrueCoil(ohm_at_20=_LINK_OHM)


def _within(low: float | None, high: float | None, place: float, device: AnyDevice | Device) -> float:
    if low is None or high is None:
        raise ValueError(f"{device.name}: without two limits its true resistance must be stated")
    return 0.5 * (low + high) + place * 0.5 * (high - low)
