"""Whether a reading tells anything of its device, or only of the contact or diode it is read through."""

from __future__ import annotations

from valvebench.judge.contacts import contact_of, is_past_contact
from valvebench.judge.diodes import Way, polar_of
from valvebench.judge.targets import device_at
from valvebench.model.entry import Reading
from valvebench.model.variant import Variant
from valvebench.model.words import CodeState


def why_mute(variant: Variant | None, reading: Reading) -> str:
    """Why a reading tells nothing of its device; empty where it does.

    An open contact explains an open sensor, a conducting diode a low coil: neither may be held against the
    device, nor against another body.  Common practice, no source.
    """
    if variant is None:
        return ""
    device = device_at(variant, reading.from_node, reading.to_node)
    contact = contact_of(variant, device, reading.selector)
    is_through = contact is not None and reading.open and not is_past_contact(reading)
    if contact is not None and is_through and contact.state is not CodeState.CLOSED:
        return f"open, and {contact.name}, which it is read through, is not known to be closed"
    polar = polar_of(variant, device)
    if polar is not None and polar.way(reading.from_node) is Way.FORWARD:
        return f"diode {polar.diode} may conduct this way round: swap the clips"
    return ""
