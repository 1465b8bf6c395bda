"""What a variant says, as short texts one can lay side by side: a table, a name in it, and aspects of that name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum
from typing import Any, Final

from valvebench.diagnose.variant_limits import NOT_SAID, device_words, isolation_words, window_words
from valvebench.judge.device_limits import source_text
from valvebench.model.format import celsius_text
from valvebench.model.variant import (
    AnyDevice,
    ChecklistLine,
    CodeRow,
    Coil,
    Expectation,
    Face,
    Fastener,
    Feature,
    FluidWindow,
    Pin,
    Port,
    Source,
    Tap,
    Variant,
)
from valvebench.model.words import Duty

Aspects = dict[str, str]
"""Aspect -> text; what is not said is left out."""
Names = dict[str, Aspects]
WHOLE: Final = ""
"""The aspect of a name that has only one."""
HERE: Final = "there"
MUST_MATCH: Final = "must match"
FEATURES: Final = "Features"
PART_NUMBERS: Final = "Part numbers"
NUMBER_OF_PINS: Final = "number of pins"
_DEVICE_ASPECTS: Final = (
    ("duty", "duty"),
    ("normally", "at rest"),
    ("at_rest", "at rest"),
    ("matched_set", "matched set"),
    ("closes_with", "closes with port"),
    ("in_series_with", "read through"),
    ("across", "across"),
    ("anode", "anode at"),
)
_DEVICE_NUMBERS: Final = (
    ("max_ampere", "most current", "A"),
    ("max_hysteresis_pct", "most hysteresis", "%"),
    ("max_seat_ml_min", "most leak at its seat", "ml/min"),
    ("seat_kpa_gauge", "pressure at its seat", "kPa"),
)


def charted(variant: Variant) -> frozenset[str]:
    """The solenoids that the solenoid chart names."""
    return frozenset(name for states in variant.solenoid_chart.values() for name in states)


def facts_of(variant: Variant, *, solenoids: frozenset[str]) -> dict[str, Names]:
    """Every table of a variant as texts, what one sees first at the beginning; gears by these solenoids alone.

    Title, key, notes and photos are what a variant is called, not what it is.
    """
    return {
        FEATURES: {feature.name: _feature(feature) for feature in variant.features},
        "Connectors": {face.name: {WHOLE: _face(face)} for face in variant.faces},
        "Pins": _pins(variant.pins),
        "Devices": {device.name: _device(device) for device in variant.devices},
        "Whole body": _body(variant),
        "Ports": {port.name: _port(port) for port in variant.ports},
        "Taps": {tap.name: _tap(tap) for tap in variant.taps},
        "Clutches": {clutch: {WHOLE: HERE} for clutch in variant.clutches},
        "Gears": {gear: _gear(variant, gear, solenoids) for gear in variant.gears},
        "Selector codes": {row.position: _code(row) for row in variant.selector_codes},
        "Pressure codes": {row.position: _code(row) for row in variant.pressure_codes},
        PART_NUMBERS: {part.number: {WHOLE: _number(part.superseded_by)} for part in variant.part_numbers},
        "Order with": {line.text: _told(number=line.number, note=line.note) for line in variant.order_lines},
        "Fasteners": _fasteners(variant.fasteners),
        "Fluid": _fluid(variant.fluid),
        "Checklist": {line.text: {WHOLE: _checked(line)} for line in variant.checklist_lines},
    }


def _told(**aspects: str | None) -> Aspects:
    """What is said at all; underscores stand for blanks.  A name of which nothing is said is there all the same."""
    return {key.replace("_", " "): text for key, text in aspects.items() if text} or {WHOLE: HERE}


def _source(source: Source | None) -> str:
    return source_text(source) if source is not None else NOT_SAID


def _feature(feature: Feature) -> Aspects:
    return {"seen": feature.this or "not said", MUST_MATCH: "yes" if feature.must_match else "no"}


def _face(face: Face) -> str:
    side = "" if face.seen_from == "mating" else ", drawn from the wire side"
    size = f" of {face.rows} by {face.columns or '?'}" if face.layout == "grid" and face.rows else ""
    return f"{face.layout}{size}{side}"


def _pins(pins: Sequence[Pin]) -> Names:
    """How many, then each by name; where it stands matters only on a connector that both have."""
    if not pins:
        return {}
    return {NUMBER_OF_PINS: {WHOLE: str(len(pins))}} | {f"pin {pin.name}": _pin(pin) for pin in pins}


def _pin(pin: Pin) -> Aspects:
    place = f"{pin.x:g}, {pin.y:g}" if pin.x is not None and pin.y is not None else None
    return _told(connector=pin.face, place=place)


def _device(device: AnyDevice) -> Aspects:
    found = {"kind": str(type(device).__struct_config__.tag).replace("_", " "), "between": _joined(device.between)}
    found |= {aspect: _word(value) for key, aspect in _DEVICE_ASPECTS if (value := getattr(device, key, None))}
    for key, aspect, unit in _DEVICE_NUMBERS:
        if (number := getattr(device, key, None)) is not None:
            found[aspect] = f"{number:.10g} {unit}"
    if limits := device_words(device):
        found |= {"limits": limits, "source of the limits": _source(device.source)}
        found |= {"k": f"{device.k:.10g}"} if isinstance(device, Coil) else {}
    return found


def _word(value: Any) -> str:
    if value is Duty.ON_OFF:
        return "on/off"
    return str(value.value) if isinstance(value, Enum) else str(value)


def _body(variant: Variant) -> Names:
    board = {"electronics on board": {WHOLE: "yes" if variant.electronics_on_board else "no"}}
    if variant.solenoid_chart:
        board["solenoid chart"] = {WHOLE: f"{len(variant.solenoid_chart)} lines"}
    if variant.isolation is None:
        return board
    source = _source(variant.isolation.source)
    return board | {"isolation": {"limits": isolation_words(variant), "source of the limits": source}}


def _port(port: Port) -> Aspects:
    return _told(
        place=port.place.value,
        feeds=port.feeds,
        method=port.method,
        pressure=f"{port.kpa_gauge:.10g} kPa" if port.kpa_gauge is not None else None,
        expected="; ".join(_expected(one) for one in port.expect),
        most_leak=f"{port.max_ml_min:.10g} ml/min" if port.max_ml_min is not None else None,
    )


def _expected(one: Expectation) -> str:
    states = [f"{name} {state}" for name, state in one.solenoids.items()]
    when = ", ".join([*([one.selector] if one.selector else []), *states])
    what = f"{one.reaction.value.replace('_', ' ')}{f' at {one.at}' if one.at else ''}"
    return f"{when}: {what}" if when else what


def _tap(tap: Tap) -> Aspects:
    windows = {window.state: f"{window_words(window)}, {_source(window.source)}" for window in tap.windows}
    return ({"shows": tap.shows} if tap.shows else {}) | windows or {WHOLE: HERE}


def _gear(variant: Variant, gear: str, solenoids: frozenset[str]) -> Aspects:
    clutches = variant.apply_chart.get(gear)
    states = {name: state for name, state in variant.solenoid_chart.get(gear, {}).items() if name in solenoids}
    return _told(
        clutches=None if clutches is None else _joined(sorted(clutches)) or "none",
        solenoids=", ".join(f"{name} {state}" for name, state in sorted(states.items())),
    )


def _code(row: CodeRow) -> Aspects:
    return {WHOLE: ", ".join(f"{name} {state.value}" for name, state in sorted(row.switches.items()))}


def _number(superseded_by: str | None) -> str:
    return f"now {superseded_by}" if superseded_by else "in force"


def _fasteners(fasteners: Iterable[Fastener]) -> Names:
    """By place; a place with several lengths has them all in one text."""
    found: dict[str, list[str]] = {}
    for one in fasteners:
        parts = [f"{one.count} of", f"{one.length_mm:.10g} mm" if one.length_mm is not None else "unknown length"]
        parts += [f"{one.torque_nm:.10g} Nm"] if one.torque_nm is not None else []
        parts += [f"turn {one.order}"] if one.order is not None else []
        found.setdefault(one.place, []).append(f"{' '.join(parts[:2])}{''.join(f', {part}' for part in parts[2:])}")
    return {place: {WHOLE: "; ".join(texts)} for place, texts in found.items()}


def _fluid(fluid: FluidWindow | None) -> Names:
    if fluid is None:
        return {}
    low, high = (celsius_text(t) if t is not None else "?" for t in (fluid.low_celsius, fluid.high_celsius))
    found = {"level": {"checked by": fluid.by, "fluid temperature": f"{low} to {high}"}}
    return found | ({"kind": {WHOLE: fluid.kind}} if fluid.kind else {})


def _checked(line: ChecklistLine) -> str:
    required = "required" if line.required else "optional"
    return f"{required}, {line.when.value.replace('_', ' ')}" if line.when is not None else required


def _joined(names: Sequence[str]) -> str:
    return " and ".join(names) if len(names) == 2 else ", ".join(names)
