"""What a reading between two nodes is held against, and what a session still needs."""

from __future__ import annotations

from functools import singledispatch
from typing import Final, NamedTuple

from valvebench.judge.nets import has_path_beside, isolated_nets, net_of, pins_in
from valvebench.model.entry import Reading
from valvebench.model.limits import ASSUMED_REF_CELSIUS, COPPER_K_CELSIUS, NO_LIMITS, Limits
from valvebench.model.variant import (
    AnyDevice,
    Coil,
    Device,
    Diode,
    Electronics,
    Link,
    Source,
    SpeedSensor,
    Switch,
    TemperatureSensor,
    Variant,
)
from valvebench.model.words import CASE, SourceKind, SwitchState
from valvebench.physics.sensor import SensorBand, beta_ohm, steinhart_hart_ohm, table_band

SWITCH_OPEN_MIN_OHM: Final = 100_000.0
SWITCH_CLOSED_MAX_OHM: Final = 10.0
"""Contacts: common practice, no source."""
_DEVICE_END: Final = "."


class Target(NamedTuple):
    """What lies between two nodes and the band that goes with it."""

    key: str
    what: str
    kind: str
    limits: Limits
    covers: tuple[str, ...] = ()


class Wanted(NamedTuple):
    """One item a session needs before it is finished."""

    key: str
    what: str
    kind: str
    from_node: str = ""
    to_node: str = ""
    port: str = ""


def source_text(source: Source | None) -> str:
    """Where a limit comes from, in words."""
    if source is None:
        return "source not stated"
    words = {
        SourceKind.MANUAL: "manual",
        SourceKind.MEASURED: "measured on one good body"
        if source.n == 1
        else f"measured on {source.n or 'some'} good bodies",
        SourceKind.LEARNED: f"learned from {source.n or 'some'} good bodies",
        SourceKind.MEMORY: "from memory",
    }[source.kind]
    return f"{words}: {source.text}" if source.text else words


def target_of(variant: Variant | None, reading: Reading) -> Target:
    """What this reading is about; limits given with the reading serve where the variant has none."""
    target = _target(variant, reading.from_node, reading.to_node, reading.celsius)
    given = _given(reading)
    return target._replace(limits=given) if given is not None and not target.limits.is_stated else target


def _given(reading: Reading) -> Limits | None:
    if reading.low_ohm is None and reading.high_ohm is None:
        return None
    return Limits(
        low_ohm=reading.low_ohm,
        high_ohm=reading.high_ohm,
        ref_celsius=ASSUMED_REF_CELSIUS if reading.ref_celsius is None else reading.ref_celsius,
        is_ref_stated=not reading.ref_not_stated,
        k_celsius=COPPER_K_CELSIUS if reading.k_celsius is None else reading.k_celsius,
        source="given with the reading",
    )


def given_limits(reading: Reading) -> Limits:
    """Limits that stand in the reading itself."""
    return _given(reading) or NO_LIMITS


def _target(variant: Variant | None, a: str, b: str, celsius: float) -> Target:
    key = f"pair {min(a, b)} {max(a, b)}"
    if variant is None:
        return Target(key, "no variant", "pair", NO_LIMITS)
    device = device_at(variant, a, b)
    if device is not None:
        return _device_target(variant, device, celsius)
    return _between_nets(variant, a, b, key)


def device_at(variant: Variant, a: str, b: str) -> AnyDevice | None:
    """The device between two nodes, or between its own two terminals; a diode only when alone."""
    heads = {node.rpartition(_DEVICE_END)[0] for node in (a, b)}
    if len(heads) == 1 and (by_name := variant.device_named(heads.pop())) is not None:
        return by_name
    found = [device for device in variant.devices if set(device.between) == {a, b}]
    return next((device for device in found if not isinstance(device, Diode)), found[0] if found else None)


def _device_target(variant: Variant, device: AnyDevice, celsius: float) -> Target:
    kind = str(type(device).__struct_config__.tag)
    limits = limits_of(device, celsius)
    if has_path_beside(variant, device):
        words = "Another path runs beside this device, so its limits cannot be held against this reading."
        limits = Limits(note=words)
    return Target(f"device {device.name}", device.name, kind, limits)


@singledispatch
def limits_of(device: Device, celsius: float) -> Limits:  # noqa: ARG001  one signature for every kind
    """The band of a device for a reading at `celsius` (kinds without one: no limits)."""
    return Limits(source=source_text(device.source))


@limits_of.register
def _(device: Coil, celsius: float) -> Limits:  # noqa: ARG001
    return Limits(
        low_ohm=device.low_ohm,
        high_ohm=device.high_ohm,
        ref_celsius=ASSUMED_REF_CELSIUS if device.ref_celsius is None else device.ref_celsius,
        is_ref_stated=device.ref_celsius is not None,
        k_celsius=device.k,
        source=source_text(device.source),
    )


@limits_of.register
def _(device: TemperatureSensor, celsius: float) -> Limits:
    band = sensor_band(device, celsius)
    source = source_text(device.source)
    if band is None:
        stated = bool(device.points)
        note = f"The sensor's table does not reach {celsius:g} degrees Celsius." if stated else ""
        return Limits(k_celsius=None, source=source, note=note)
    note = f"{band.beyond_celsius:g} degrees beyond the table: its end is carried on." if band.beyond_celsius else ""
    return Limits(
        low_ohm=band.low_ohm,
        high_ohm=band.high_ohm,
        k_celsius=None,
        slope_per_celsius=band.slope_per_celsius,
        source=source,
        note=note,
    )


@limits_of.register
def _(device: Switch, celsius: float) -> Limits:  # noqa: ARG001
    if device.at_rest is SwitchState.OPEN:
        return Limits(low_ohm=SWITCH_OPEN_MIN_OHM, k_celsius=None, source="open at rest: common practice, no source")
    if device.at_rest is SwitchState.CLOSED:
        stated = device.closed_max_ohm
        source = source_text(device.source) if stated else "closed at rest: common practice, no source"
        return Limits(high_ohm=stated or SWITCH_CLOSED_MAX_OHM, k_celsius=None, source=source)
    return Limits(k_celsius=None, source=source_text(device.source))


@limits_of.register
def _(device: Link, celsius: float) -> Limits:  # noqa: ARG001
    return Limits(high_ohm=device.max_ohm, k_celsius=None, source=source_text(device.source))


def sensor_band(device: TemperatureSensor, celsius: float) -> SensorBand | None:
    """Limits [ohm] of a temperature sensor at a temperature, from its table or equation."""
    if device.points:
        return table_band(celsius, device.points)
    if device.beta is not None:
        beta = device.beta
        return _with_tolerance(
            lambda t: beta_ohm(t, r_ohm=beta.r_ohm, at_celsius=beta.at_celsius, beta_kelvin=beta.b_kelvin),
            celsius,
            beta.tolerance_pct,
        )
    if device.steinhart_hart is not None:
        law = device.steinhart_hart
        return _with_tolerance(lambda t: steinhart_hart_ohm(t, a=law.a, b=law.b, c=law.c), celsius, law.tolerance_pct)
    return None


def _with_tolerance(ohm_at: object, celsius: float, tolerance_pct: float) -> SensorBand:
    if not callable(ohm_at):
        raise TypeError("a law is a function of temperature")
    middle = ohm_at(celsius)
    slope = (ohm_at(celsius + 0.05) - ohm_at(celsius - 0.05)) / 0.1 / middle
    share = 0.01 * tolerance_pct
    return SensorBand(middle * (1 - share), middle * (1 + share), slope, 0.0)


def _between_nets(variant: Variant, a: str, b: str, key: str) -> Target:
    net_a, net_b = net_of(variant, a), net_of(variant, b)
    if _wired_net(variant, a) & _wired_net(variant, b):
        return Target(key, "no single device", "pair", Limits(note="No single device lies between these two."))
    if CASE in net_a | net_b:
        net = net_b if CASE in net_a else net_a
        limits = isolation_limits(variant)
        return Target(
            isolation_key(variant, net), "isolation", "isolation", limits, pins_in(variant, net) or tuple(sorted(net))
        )
    covers = pins_in(variant, net_a | net_b)
    return Target(key, "not wired", "isolation", isolation_limits(variant), covers)


def _wired_net(variant: Variant, node: str) -> frozenset[str]:
    """The net of a node; a device's own terminal hangs on the net of its device through a wire."""
    device = variant.device_named(node.rpartition(_DEVICE_END)[0])
    return net_of(variant, node if device is None else device.between[0])


def isolation_limits(variant: Variant) -> Limits:
    """The band every isolated net must keep [ohm]."""
    isolation = variant.isolation
    if isolation is None:
        return Limits(k_celsius=None, source="source not stated")
    return Limits(low_ohm=isolation.min_ohm, k_celsius=None, source=source_text(isolation.source))


def isolation_key(variant: Variant, net: frozenset[str]) -> str:
    """One key for all pins of a net: one reading covers them."""
    return "isolation " + " ".join(pins_in(variant, net) or sorted(net))


def wanted_electrical(variant: Variant) -> tuple[Wanted, ...]:
    """Every electrical item a whole check needs; nothing where electronics forbid an ohmmeter."""
    if variant.electronics_on_board:
        return ()
    devices = [_wanted_device(device) for device in variant.devices if _is_read(device)]
    return (*devices, *(_wanted_isolation(variant) if variant.isolation else ()))


def _is_read(device: AnyDevice) -> bool:
    if isinstance(device, Diode | Electronics):
        return False
    if isinstance(device, SpeedSensor):
        return device.low_ohm is not None or device.high_ohm is not None
    return not isinstance(device, Switch) or device.at_rest is not None


def _wanted_device(device: AnyDevice) -> Wanted:
    kind = str(type(device).__struct_config__.tag)
    return Wanted(f"device {device.name}", device.name, kind, *device.between)


def _wanted_isolation(variant: Variant) -> list[Wanted]:
    result = []
    for net in isolated_nets(variant):
        pins = pins_in(variant, net) or tuple(sorted(net))
        result.append(
            Wanted(isolation_key(variant, net), f"isolation of {', '.join(pins)}", "isolation", pins[0], CASE)
        )
    return result


def wanted_air(variant: Variant) -> tuple[Wanted, ...]:
    """Every port of the variant."""
    return tuple(Wanted(f"port {port.name}", f"port {port.name}", "air", port=port.name) for port in variant.ports)
