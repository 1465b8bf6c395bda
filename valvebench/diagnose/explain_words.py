"""Explanations and what to ask next, in plain words."""

from __future__ import annotations

from typing import Final

from valvebench.diagnose.explain_priors import Fault
from valvebench.diagnose.explained import (
    COVERAGE,
    HARNESS,
    HOT,
    Ask,
    Between,
    Explained,
    Explanation,
    FlexSaid,
    HeatSaid,
    HeatWord,
    Place,
)
from valvebench.model.format import celsius_text, decimals_for, ohm_text, value_text
from valvebench.model.variant import Switch, Variant
from valvebench.model.words import CASE, AccessPoint

NOT_AT_REST: Final = "No cold reading shows it: what was found as the part warmed decides."
_MOST_NAMED: Final = 4
_FEW: Final = 2
_SURE: Final = 0.99
_MINUTE_S: Final = 90.0
_WHOLE: Final = {
    Fault.HEALTHY: "nothing wrong shows",
    Fault.LEADS: "the resistance of the meter leads is still in the readings",
    Fault.TEMPERATURE: "the coils were not at the temperature that was typed",
    Fault.MIRRORED: "the pins were counted from the wrong side, left for right",
}
_OF_DEVICE: Final = {
    Fault.DEVICE_OPEN: "is open",
    Fault.DEVICE_SHORT: "is shorted",
    Fault.VALUE_LOW: "is too low",
    Fault.VALUE_HIGH: "is too high",
}
_WITH_CARE: Final[dict[AccessPoint | None, str]] = {
    AccessPoint.VEHICLE_PLUG: " at the vehicle's plug (control unit unplugged, battery disconnected first)",
    AccessPoint.DEVICE_TERMINALS: " at the device's own terminals",
}


def fault_text(fault: Fault, where: tuple[str, ...], variant: Variant, when: str | None = None) -> str:
    """A fault with its place, without a capital and without a full stop; `when` it shows, None for always."""
    if when is not None:
        return _when_text(fault, where, variant, "when hot" if when == HOT else "at times")
    if fault in _WHOLE:
        return _WHOLE[fault]
    return _device_text(fault, where[0], variant) if fault in _OF_DEVICE else _placed_text(fault, where, variant)


def _placed_text(fault: Fault, where: tuple[str, ...], variant: Variant) -> str:
    """A fault at pins."""
    first, last = (where[0], where[-1]) if where else ("", "")
    words = {
        Fault.TERMINAL_OPEN: f"the wire of {_pin(first, variant)} is broken or its contact pushed back",
        Fault.TERMINAL_RESISTIVE: f"{_pin(first, variant)} has a poor contact or inner conductor",
        Fault.LEAK: f"{_pin(first, variant)} leaks to {'the case' if last == CASE else _pin(last, variant)}",
        Fault.OTHER_VARIANT: f"this is another variant: {first}",
    }
    if HARNESS in where:
        state = "open" if fault is Fault.TERMINAL_OPEN else "poor"
        return f"the vehicle's harness is {state} at {_pin(first, variant)}"
    if fault is Fault.SWAP:
        return f"the wires of pins {first} and {where[1]} are changed over"
    if fault is Fault.ONE_BAD_READING:
        return f"nothing wrong, and the reading {first}\u2013{where[1]} is a bad one"
    return words[fault]


def _when_text(fault: Fault, where: tuple[str, ...], variant: Variant, when: str) -> str:
    """A fault that shows only as the part warms."""
    first = where[0]
    is_harness = HARNESS in where
    if fault in (Fault.DEVICE_OPEN, Fault.VALUE_HIGH):
        state = f"opens {when}" if fault is Fault.DEVICE_OPEN else "grows with heat more than its winding can"
        return f"{_named(first, variant)} {state}"
    if fault is Fault.TERMINAL_OPEN:
        return f"the {'harness' if is_harness else 'wire or contact'} of {_pin(first, variant)} opens {when}"
    if is_harness:
        return f"the vehicle's harness grows with heat at {_pin(first, variant)}"
    return f"{_pin(first, variant)} has a contact or inner conductor that grows with heat"


def _pin(name: str, variant: Variant) -> str:
    """A pin with the devices on it; of many only how many there are."""
    devices = [device.name for device in variant.devices if name in device.between]
    if not devices:
        return f"pin {name}"
    on_it = ", ".join(devices) if len(devices) <= _FEW else f"common of {len(devices)}"
    return f"pin {name} ({on_it})"


def _named(name: str, variant: Variant) -> str:
    device = variant.device_named(name)
    return f"{name} ({device.between[0]}\u2013{device.between[1]})" if device is not None else name


def _device_text(fault: Fault, name: str, variant: Variant) -> str:
    device = variant.device_named(name)
    if isinstance(device, Switch) and fault is Fault.DEVICE_SHORT:
        return f"{name} stays closed"
    return f"{_named(name, variant)} {_OF_DEVICE[fault]}"


def chance_text(p: float) -> str:
    """A chance in words, never more than two digits."""
    if p > _SURE:
        return "odds better than 99 in 100"
    if p < 1.0 - _SURE:
        return "less than 1 in 100"
    return f"about {round(100.0 * p)} in 100"


def head_text(found: Explained, variant: Variant) -> str:
    """The first line: a winner only where there is one."""
    first = found.explanations[0]
    if not found.readings:
        return "Nothing was read yet that could be explained."
    if found.is_strained:
        return "No single fault explains these readings well: two faults, one that grows with heat, or the wrong file."
    if found.is_open:
        likeliest = fault_text(first.fault, first.where, variant, first.when)
        return f"Still possible: {found.possible} explanations. Likeliest so far: {likeliest}, {chance_text(first.p)}."
    return _sentence(first, variant)


def _sentence(one: Explanation, variant: Variant) -> str:
    return f"{_capital(fault_text(one.fault, one.where, variant, one.when))}: {chance_text(one.p)}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def same_text(same: tuple[Place, ...], variant: Variant, *, is_sound: bool) -> str:
    """The faults of a class beside its first; of a sound part those that could not show."""
    named = [fault_text(place.fault, place.where, variant, place.when) for place in same[:_MOST_NAMED]]
    more = f"; and {len(same) - _MOST_NAMED} more" if len(same) > _MOST_NAMED else ""
    lead = "Would not show:" if is_sound else "These readings cannot tell it from:"
    return f"{lead} {'; '.join(named)}{more}."


def size_text(one: Explanation) -> str:
    """The size of a fault with its expanded uncertainty (k = 2); nothing where it has none."""
    if one.value is None:
        return ""
    if one.fault is Fault.TEMPERATURE:
        places = decimals_for(one.value.u)
        return f"{one.value.value:+.{places}f} \u00b1 {COVERAGE * one.value.u:.{places}f} \u00b0C"
    return value_text(one.value.value, COVERAGE * one.value.u)


def bad_text(found: Explained) -> str:
    """Which readings the first answer takes for bad ones; nothing where it takes none."""
    pairs = ", ".join(f"{a}\u2013{b}" for a, b in found.called_bad)
    return f"It takes the reading {pairs} for a bad one: read it again before you trust this." if pairs else ""


def told_lines(one: Explanation, other: Explanation | None = None) -> list[str]:
    """Predicted against read for the three readings that decide, and what the next answer predicts instead.

    What shows only hot is decided by no reading at rest: that is said instead.
    """
    if one.when is not None:
        return [NOT_AT_REST]
    lines = [
        f"{told.from_node}\u2013{told.to_node}: read {_ohm(told.read_ohm)}, this predicts {_ohm(told.ohm)}"
        for told in one.predicts[:3]
    ]
    if other is None or not other.predicts:
        return lines
    others = [_ohm(told.ohm) for told in other.predicts[:3]]
    return [
        f"{line}, the next answer {instead}" if not line.endswith(f" {instead}") else line
        for line, instead in zip(lines, others, strict=True)
    ]


def _ohm(ohm: float | None) -> str:
    return "open" if ohm is None else ohm_text(ohm)


def ask_text(ask: Ask, *, warm_celsius: float) -> str:
    """What to do next, with its caution."""
    place = f"{ask.from_node}\u2013{ask.to_node}"
    if ask.what == "pair":
        return f"read {place}{_WITH_CARE.get(ask.at, '')}"
    heat = "parts above 60 \u00b0C burn; dry of solvent before any heat"
    return {
        "lead_short": "hold the tips together and read them",
        "meter_check": "read a check resistor with the same leads",
        "warm": f"warm the part to about {warm_celsius:g} \u00b0C and read {place} again ({heat})",
        "repeat": f"read {place} once more",
    }[ask.what]


def time_text(seconds: float) -> str:
    """How long it takes a person."""
    return f"about {seconds:.0f} seconds" if seconds < _MINUTE_S else f"about {seconds / 60.0:.0f} minutes"


def next_text(found: Explained, *, warm_celsius: float) -> str:
    """The next step, or why there is none."""
    if found.next:
        ask = found.next[0]
        return f"Next: {ask_text(ask, warm_celsius=warm_celsius)} ({time_text(ask.seconds)})."
    if found.is_settled:
        return "Nothing more is worth measuring for this."
    return "Nothing more is worth measuring: what stands above stays open."


_HEAT_TEXT: Final = {
    HeatWord.FIXED: "has a part in series",
    HeatWord.GROWS: "grows with heat",
    HeatWord.STEP: "steps",
    HeatWord.OPEN: "opens",
    HeatWord.PARTS: "parts from its matched set",
}


def heat_lines(found: Explained) -> list[str]:
    """The heat results that counted, each with its size (k = 2) where it has one; those of copper in one line."""
    lines = [_heat_text(one) for one in found.heat if one.found is not HeatWord.COPPER]
    copper = ", ".join(one.device for one in found.heat if one.found is HeatWord.COPPER)
    lines += [f"Counted as it warmed, moving as copper does: {copper}."] if copper else []
    is_typed = any(one.entries for one in found.heat)
    return [*lines, *(["Their warm readings are not counted a second time."] if is_typed else [])]


def flex_text(found: Explained) -> str:
    """What a flex test proved beside all this; nothing where none did."""
    if not found.flexed:
        return ""
    said = "; ".join(f"{_flexed_pair(one)} while {one.flexed} was flexed" for one in found.flexed)
    return f"A flex test found a contact that comes and goes, whatever stands above: {said}."


def _flexed_pair(one: FlexSaid) -> str:
    """A device with its nodes; nodes alone name themselves."""
    is_pair = one.what == f"{one.from_node} and {one.to_node}"
    return one.what if is_pair else f"{one.what} ({one.from_node}\u2013{one.to_node})"


def _heat_text(one: HeatSaid) -> str:
    size = f", {value_text(one.size.value, COVERAGE * one.size.u)}" if one.size is not None else ""
    hot = "" if one.found is HeatWord.FIXED else f" at {celsius_text(round(one.celsius, 1))}"
    return f"Counted as it warmed: {one.device} {_HEAT_TEXT[one.found]}{size}{hot}."


def access_text(one: Between) -> str:
    """What lies between two access points, with its expanded uncertainty (k = 2)."""
    size = value_text(one.ohm, COVERAGE * one.u)
    seen = "" if one.is_seen else ", no more than the readings' own doubt"
    return f"{_capital(one.what)} of {one.from_node}\u2013{one.to_node}, both wires: {size}{seen}."


def assumed_text(found: Explained) -> str:
    """Which temperature error and spread the answer stands on."""
    low, high = min(found.celsius)[0], max(found.celsius)[0]
    span = celsius_text(low) if low == high else f"{low:g} to {celsius_text(high)}"
    u = max(u for _, u in found.celsius)
    spread = "parts spread as their limits say, up to three times that much"
    return f"Taken as given: coils at {span} \u00b1 {COVERAGE * u:.1f} (95 %); {spread}."
