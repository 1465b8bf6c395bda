"""Every limit of a variant with where it comes from, and how many come from where."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final, NamedTuple

from valvebench.judge.device_limits import source_text
from valvebench.model.format import OHM, celsius_text, scale_of, typed_text
from valvebench.model.variant import (
    AnyDevice,
    Coil,
    Link,
    Solenoid,
    Source,
    Switch,
    Tap,
    TapWindow,
    TemperatureSensor,
    Variant,
)
from valvebench.model.words import SourceKind

NOT_SAID: Final = "source not said"
PROVENANCE_TEXT: Final = {
    SourceKind.MANUAL: "from the manual",
    SourceKind.MEASURED: "measured",
    SourceKind.LEARNED: "learned",
    SourceKind.MEMORY: "from memory",
    None: NOT_SAID,
}


class LimitLine(NamedTuple):
    """One limit: of what, as text, what kind of source it has (None: not said), and the source in words."""

    what: str
    limits: str
    kind: SourceKind | None
    source: str


def limit_lines(variant: Variant) -> tuple[LimitLine, ...]:
    """Every limit that a verdict of this variant may rest on, in the order of its tables.

    Contacts that only common practice judges are none: the variant states no limit for them.
    """
    return (
        *(_line(device.name, words, device.source) for device in variant.devices if (words := device_words(device))),
        *_seat_lines(variant),
        *_isolation_lines(variant),
        *_port_lines(variant),
        *_tap_lines(variant),
    )


def without_limits(variant: Variant) -> tuple[str, ...]:
    """Solenoids and temperature sensors whose readings get No limit."""
    return tuple(
        device.name
        for device in variant.devices
        if isinstance(device, Coil | TemperatureSensor) and not device_words(device)
    )


def provenance_words(variant: Variant) -> str:
    """How many limits come from where: `8 from the manual, 1 measured, 1 from memory`."""
    counted = Counter(line.kind for line in limit_lines(variant))
    parts = [f"{counted[kind]} {words}" for kind, words in PROVENANCE_TEXT.items() if counted[kind]]
    return ", ".join(parts) or "no limits"


def device_words(device: AnyDevice) -> str:
    """The limits of a device as they stand in a table; empty where it has none."""
    if isinstance(device, Coil):
        return _coil_words(device)
    if isinstance(device, TemperatureSensor):
        return _sensor_words(device)
    if isinstance(device, Switch):
        return _most(device.closed_max_ohm)
    return _most(device.max_ohm) if isinstance(device, Link) else ""


def _coil_words(coil: Coil) -> str:
    text = span_words(coil.low_ohm, coil.high_ohm)
    if not text:
        return ""
    at = ", temperature not stated" if coil.ref_celsius is None else f" at {celsius_text(coil.ref_celsius)}"
    return f"{text}{at}"


def span_words(low_ohm: float | None, high_ohm: float | None) -> str:
    """Limits to the last digit of the file, so that two which differ never look alike: `4.9-5.5 ohm sign`."""
    if low_ohm is None or high_ohm is None:
        sign, only = (">", low_ohm) if low_ohm is not None else ("<", high_ohm)
        return f"{sign} {_ohm(only)}" if only is not None else ""
    if scale_of(low_ohm) == scale_of(high_ohm):
        return f"{typed_text(low_ohm).split()[0]}\u2013{_ohm(high_ohm)}"
    return f"{_ohm(low_ohm)} \u2013 {_ohm(high_ohm)}"


def _ohm(ohm: float) -> str:
    number, _, prefix = typed_text(ohm).partition(" ")
    return f"{number} {prefix}{OHM}"


def _sensor_words(sensor: TemperatureSensor) -> str:
    rows = [f"{celsius_text(at)} {span_words(low, high)}" for at, low, high in sensor.points]
    if sensor.beta is not None:
        law = sensor.beta
        rows.append(
            f"{_ohm(law.r_ohm)} at {celsius_text(law.at_celsius)}, B {law.b_kelvin:.10g} K, "
            f"\u00b1 {law.tolerance_pct:g} %"
        )
    if sensor.steinhart_hart is not None:
        law_of_three = sensor.steinhart_hart
        terms = f"{law_of_three.a!r}, {law_of_three.b!r}, {law_of_three.c!r}"
        rows.append(f"equation with {terms}, \u00b1 {law_of_three.tolerance_pct:g} %")
    return "; ".join(rows)


def _most(ohm: float | None) -> str:
    return span_words(None, ohm)


def _line(what: str, words: str, source: Source | None) -> LimitLine:
    kind = source.kind if source is not None else None
    return LimitLine(what, words, kind, source_text(source) if source is not None else NOT_SAID)


def _seat_lines(variant: Variant) -> Iterator[LimitLine]:
    for device in variant.devices:
        if isinstance(device, Solenoid) and device.max_seat_ml_min is not None:
            yield _line(f"{device.name}, seat", f"< {device.max_seat_ml_min:.10g} ml/min", device.source)


def isolation_words(variant: Variant) -> str:
    """The least resistance to the casting; empty where none is stated."""
    return span_words(variant.isolation.min_ohm, None) if variant.isolation is not None else ""


def _isolation_lines(variant: Variant) -> Iterator[LimitLine]:
    if variant.isolation is not None:
        yield _line("Isolation", isolation_words(variant), variant.isolation.source)


def _port_lines(variant: Variant) -> Iterator[LimitLine]:
    """A port has no source of its own, so its limit says none."""
    for port in variant.ports:
        if port.max_ml_min is not None:
            yield _line(f"Port {port.name}", f"< {port.max_ml_min:.10g} ml/min", None)


def _tap_lines(variant: Variant) -> Iterator[LimitLine]:
    for tap in variant.taps:
        for window in tap.windows:
            if words := window_words(window):
                yield _line(_window_name(tap, window), words, window.source)


def _window_name(tap: Tap, window: TapWindow) -> str:
    return f"Tap {tap.name}, {window.state}"


def window_words(window: TapWindow) -> str:
    """The pressure a tap should show, and for which fluid."""
    low, high = window.low_kpa, window.high_kpa
    text = f"{low:g}\u2013{high:g} kPa" if low is not None and high is not None else _one_sided(low, high)
    warm = [celsius_text(t) for t in (window.low_celsius, window.high_celsius) if t is not None]
    return f"{text}, fluid {' to '.join(warm)}" if text and warm else text


def _one_sided(low: float | None, high: float | None) -> str:
    if low is not None:
        return f"> {low:g} kPa"
    return f"< {high:g} kPa" if high is not None else ""
