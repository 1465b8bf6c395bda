"""What a reading between two nodes is held against, and what a session still needs."""

from __future__ import annotations

from typing import Final, NamedTuple

import msgspec

from valvebench.judge.air import air_items
from valvebench.judge.contacts import Contact, contact_of, needs_selector, standing
from valvebench.judge.device_limits import limits_of, source_text
from valvebench.judge.diodes import polar_of
from valvebench.judge.expectation import Circuit
from valvebench.judge.nets import has_path_beside, isolated_nets, net_of, pins_in
from valvebench.model.entry import Reading
from valvebench.model.limits import ASSUMED_REF_CELSIUS, COPPER_K_CELSIUS, NO_LIMITS, Limits
from valvebench.model.variant import (
    AnyDevice,
    Device,
    Diode,
    Electronics,
    Solenoid,
    SpeedSensor,
    Switch,
    TemperatureSensor,
    Variant,
)
from valvebench.model.variant_codes import asked_of, code_at
from valvebench.model.words import CASE

_DEVICE_END: Final = "."


class Target(NamedTuple):
    """What lies between two nodes, the band that goes with it, and whether it may be fed for a volts ratio.

    `contact` is what a sensor is read through.
    """

    key: str
    what: str
    kind: str
    limits: Limits
    covers: tuple[str, ...] = ()
    may_feed: bool = False
    contact: Contact | None = None


class At(NamedTuple):
    """What a reading was taken at: coil temperature [degC], selector position where it was said."""

    celsius: float
    selector: str | None = None


class Wanted(NamedTuple):
    """One item a session needs before it is finished."""

    key: str
    what: str
    kind: str
    from_node: str = ""
    to_node: str = ""
    port: str = ""


def target_of(variant: Variant | None, reading: Reading) -> Target:
    """What this reading is about; limits given with the reading serve where the variant has none."""
    return Targets(variant).of(reading)


class Targets:
    """What readings are about; of a pair whose limits do not move with the circuit it is worked out once."""

    def __init__(self, variant: Variant | None) -> None:
        self._variant = variant
        self._still: dict[tuple[str, str], Target] = {}

    def of(self, reading: Reading) -> Target:
        """Limits given with the reading serve where the variant has none."""
        target = self.between(reading.from_node, reading.to_node, reading.celsius, reading.selector)
        given = _given(reading)
        return target._replace(limits=given) if given is not None and not target.limits.is_stated else target

    def between(self, a: str, b: str, celsius: float, selector: str | None = None) -> Target:
        """What lies between two nodes at a coil temperature [degC], in a selector position."""
        target = self._still.get((a, b))
        if target is None:
            target = _target(self._variant, a, b, At(celsius, selector))
            if not self.move_at(a, b):
                self._still[a, b] = target
        return target

    def is_polar(self, reading: Reading) -> bool:
        """Whether it matters which tip was on which node."""
        variant = self._variant
        return (
            variant is not None
            and polar_of(variant, device_at(variant, reading.from_node, reading.to_node)) is not None
        )

    def move_at(self, a: str, b: str) -> bool:
        """Whether the limits themselves are worked out anew for each temperature or selector position."""
        variant = self._variant
        if variant is None or (a, b) in self._still:
            return False
        device = device_at(variant, a, b)
        if device is not None:
            is_moving = isinstance(device, TemperatureSensor) or needs_selector(variant, device)
            return is_moving or has_path_beside(variant, device)
        return bool(_wired_net(variant, a) & _wired_net(variant, b))


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


def _target(variant: Variant | None, a: str, b: str, at: At) -> Target:
    key = f"pair {min(a, b)} {max(a, b)}"
    if variant is None:
        return Target(key, "no variant", "pair", NO_LIMITS)
    device = device_at(variant, a, b)
    if device is not None:
        return _device_target(variant, device, at)
    stranger = next((node for node in (a, b) if node not in known_nodes(variant)), None)
    if stranger is not None:
        note = f"{stranger} is no pin, joint or terminal of this variant: was the right one probed?"
        return Target(key, "unknown pin", "pair", Limits(note=note))
    return _between_nets(variant, a, b, key, at)


def known_nodes(variant: Variant) -> frozenset[str]:
    """Every name one can probe: pins, the casting, joints, and the two terminals of each device."""
    pins = {pin.name for pin in variant.pins}
    joints = {node for device in variant.devices for node in device.between}
    ends = {f"{device.name}{_DEVICE_END}{number}" for device in variant.devices for number in (1, 2)}
    return frozenset({CASE, *pins, *joints, *ends})


def device_at(variant: Variant, a: str, b: str) -> AnyDevice | None:
    """The device between two nodes, or between its own two terminals; a diode only when alone."""
    heads = {node.rpartition(_DEVICE_END)[0] for node in (a, b)}
    if len(heads) == 1 and (by_name := variant.device_named(heads.pop())) is not None:
        return by_name
    found = [device for device in variant.devices if set(device.between) == {a, b}]
    return next((device for device in found if not isinstance(device, Diode)), found[0] if found else None)


def _device_target(variant: Variant, device: AnyDevice, at: At) -> Target:
    kind = str(type(device).__struct_config__.tag)
    limits = _coded_limits(variant, device, at) or limits_of(device, at.celsius)
    if has_path_beside(variant, device):
        limits = _beside(variant, device, at)
    contact = contact_of(variant, device, at.selector)
    key = f"device {device.name}"
    return Target(key, device.name, kind, limits, may_feed=may_feed(variant, device), contact=contact)


def _coded_limits(variant: Variant, device: AnyDevice, at: At) -> Limits | None:
    """The band of a switch in a selector position of the code table; None for everything else."""
    code = code_at(variant.selector_codes, at.selector)
    if not isinstance(device, Switch) or code is None or device.name not in asked_of(code):
        return None
    limits = limits_of(standing(variant, device, at.selector), at.celsius)
    words = f"{code.switches[device.name].value} in {code.position} by the code table"
    return msgspec.structs.replace(limits, source=f"{words}, contacts by common practice, no source")


def may_feed(variant: Variant | None, device: Device | None) -> bool:
    """Whether a device may be fed for a volts ratio: a solenoid, and no electronics on board."""
    return isinstance(device, Solenoid) and not (variant is not None and variant.electronics_on_board)


def _beside(variant: Variant, device: AnyDevice, at: At) -> Limits:
    """Another path runs beside the device: the reading sees both, so the limits are those of both together."""
    both = Circuit(variant, at.celsius, selector=at.selector).limits(*device.between)
    if not both.is_stated:
        return Limits(note="Another path runs beside this device, so its limits cannot be held against this reading.")
    words = "Another path runs beside this device: the limits are those of both together."
    return msgspec.structs.replace(both, note=words)


def _between_nets(variant: Variant, a: str, b: str, key: str, at: At) -> Target:
    net_a, net_b = net_of(variant, a), net_of(variant, b)
    if _wired_net(variant, a) & _wired_net(variant, b):
        return _through_several(variant, a, b, key, at)
    if CASE in net_a | net_b:
        net = net_b if CASE in net_a else net_a
        limits = isolation_limits(variant)
        return Target(
            isolation_key(variant, net), "isolation", "isolation", limits, pins_in(variant, net) or tuple(sorted(net))
        )
    covers = pins_in(variant, net_a | net_b)
    return Target(key, "not wired", "isolation", isolation_limits(variant), covers)


def _through_several(variant: Variant, a: str, b: str, key: str, at: At) -> Target:
    """A reading through more than one device: its limits follow from theirs by the whole circuit."""
    circuit = Circuit(variant, at.celsius, selector=at.selector)
    ends = [_inner_node(variant, node) for node in (a, b)]
    path = circuit.expected(*ends).path
    limits = circuit.limits(*ends)
    if not limits.is_stated:
        return Target(
            key, "several devices", "pair", Limits(note="Several devices lie between these two, not all with limits.")
        )
    return Target(key, " + ".join(path), "pair", limits)


def _inner_node(variant: Variant, node: str) -> str:
    """The node of the circuit that a device's own terminal is."""
    head, _, number = node.rpartition(_DEVICE_END)
    device = variant.device_named(head)
    return node if device is None or number not in ("1", "2") else device.between[int(number) - 1]


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
    """Every port of the variant, once for each setting that something is expected for, and each leak to be measured.

    A port that is measured is asked by ear only where something is expected there.
    """
    found = []
    for port in variant.ports:
        is_measured = port.method != "ear"
        if port.expect or not is_measured:
            found += [Wanted(item.key, item.key, "air", port=port.name) for item in air_items(port)]
        if is_measured:
            found.append(Wanted(f"leak {port.name}", f"leak {port.name}", "leak", port=port.name))
    return tuple(found)
