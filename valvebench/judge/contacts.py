"""Contacts that a reading runs through: a selector position decides what an open display says of a sensor.

Common practice, no source.
"""

from __future__ import annotations

from typing import NamedTuple

import msgspec

from valvebench.judge.judgement import Judgement
from valvebench.model.entry import Reading
from valvebench.model.variant import AnyDevice, Switch, TemperatureSensor, Variant
from valvebench.model.variant_codes import code_at, state_of
from valvebench.model.words import AccessPoint, CodeState, ItemState, SwitchState, Verdict


class Contact(NamedTuple):
    """A contact in series with a sensor: how it stands (`EITHER`: not known), and where it is closed."""

    name: str
    state: CodeState
    selector: str | None = None
    closed_in: tuple[str, ...] = ()

    @property
    def where(self) -> str:
        """The position it was asked for, as words that follow its state."""
        return f" in {self.selector}" if self.selector else ""


def switch_state(variant: Variant, name: str, selector: str | None) -> CodeState:
    """How a switch stands: by the code table in a selector position, else at rest where the table has not got it.

    Returns
    -------
    CodeState
        `EITHER` where nothing says it.
    """
    if any(name in code.switches for code in variant.selector_codes):
        code = code_at(variant.selector_codes, selector)
        return state_of(code, name) if code is not None else CodeState.EITHER
    switch = variant.device_named(name)
    at_rest = switch.at_rest if isinstance(switch, Switch) else None
    return CodeState(at_rest.value) if at_rest is not None else CodeState.EITHER


def contact_of(variant: Variant, device: AnyDevice | None, selector: str | None) -> Contact | None:
    """The contact a sensor is read through; None for every other device."""
    name = device.in_series_with if isinstance(device, TemperatureSensor) else None
    if name is None:
        return None
    closed = (code.position for code in variant.selector_codes if state_of(code, name) is CodeState.CLOSED)
    return Contact(name, switch_state(variant, name, selector), selector, tuple(closed))


def needs_selector(variant: Variant | None, device: AnyDevice | None) -> bool:
    """Whether a reading of a device means something only together with the selector position."""
    if variant is None or not variant.selector_codes:
        return False
    if isinstance(device, TemperatureSensor):
        return device.in_series_with is not None
    return isinstance(device, Switch) and any(device.name in code.switches for code in variant.selector_codes)


def devices_at(variant: Variant, selector: str | None) -> tuple[AnyDevice, ...]:
    """The devices as they conduct in a selector position.

    Switches of the code table stand as it says; a sensor whose contact is open is left out, one whose
    contact is not known has no limits.
    """
    found = (_device_at(variant, device, selector) for device in variant.devices)
    return tuple(device for device in found if device is not None)


def _device_at(variant: Variant, device: AnyDevice, selector: str | None) -> AnyDevice | None:
    if isinstance(device, Switch):
        return standing(variant, device, selector)
    contact = contact_of(variant, device, selector)
    if contact is None or contact.state is CodeState.CLOSED:
        return device
    if contact.state is CodeState.OPEN:
        return None
    return msgspec.structs.replace(device, points=(), beta=None, steinhart_hart=None)


def standing(variant: Variant, device: Switch, selector: str | None) -> Switch:
    """A switch as it stands in a selector position; as it is at rest where the table does not say."""
    code = code_at(variant.selector_codes, selector)
    state = state_of(code, device.name) if code is not None else CodeState.EITHER
    if state is CodeState.EITHER:
        return device
    return msgspec.structs.replace(device, at_rest=SwitchState(state.value))


def with_contact(judgement: Judgement, reading: Reading, contact: Contact | None) -> Judgement:
    """What a reading of a sensor says once its contact is counted: open is never a Fail unless the contact is closed.

    A reading at the sensor's own terminals does not run through the contact.
    """
    if contact is None or is_past_contact(reading):
        return judgement
    if judgement.state is ItemState.OPEN:
        return _open(judgement, contact)
    if contact.state is CodeState.OPEN:
        name = contact.name
        return _told(
            judgement, f"It reads a value though {name} ought to be open{contact.where}: check lever and {name}."
        )
    return judgement


def is_past_contact(reading: Reading) -> bool:
    """Whether a reading was taken at the device's own terminals, where no contact is in the way."""
    if reading.at is AccessPoint.DEVICE_TERMINALS:
        return True
    heads = {node.rpartition(".")[0] for node in reading.pair}
    return len(heads) == 1 and heads != {""}


def _open(judgement: Judgement, contact: Contact) -> Judgement:
    name = contact.name
    if contact.state is CodeState.CLOSED:
        words = f"{name}, which it is read through, is closed{contact.where}: the sensor, {name} or a wire is open."
        return _told(judgement, words) if judgement.verdict is Verdict.FAIL else judgement
    if contact.state is CodeState.OPEN:
        why = f"Not usable: {name}, which this sensor is read through, is open{contact.where}, so open is no fault."
    elif contact.selector is None:
        why = f"Not usable: this sensor is read through {name}, and nothing says how that stood: open may be no fault."
    else:
        why = f"Not usable: this sensor is read through {name}, and no table says how that stands{contact.where}."
    return msgspec.structs.replace(
        judgement,
        verdict=Verdict.NOT_USABLE,
        lean=None,
        plain_verdict=None,
        reasons=(why, *judgement.reasons[1:]),
        advice=(_advice(contact),),
    )


def _advice(contact: Contact) -> str:
    if contact.closed_in:
        return f"Move the selector to {' or '.join(contact.closed_in)}, say so, and read again."
    return f"Close {contact.name} and read again, or read at the sensor's own terminals."


def _told(judgement: Judgement, words: str) -> Judgement:
    return msgspec.structs.replace(judgement, reasons=(*judgement.reasons, words))
