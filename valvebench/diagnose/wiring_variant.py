"""A variant from the wiring found: limits measured on one good body, names to be given by the person."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from valvebench.diagnose.wiring import Wired, WiredKind, Wiring
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import Instrument
from valvebench.model.words import SourceKind
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import combine, value_and_lines

REF_CELSIUS: Final = 20.0
_SPREAD_SHARE: Final = 0.05
"""How far good bodies differ from one another: common practice, no source."""
_LEAST_LOW_OHM: Final = 0.01
_SOURCE: Final = MappingProxyType({"kind": SourceKind.MEASURED.value, "text": "one good body", "n": 1})


def variant_data(
    wiring: Wiring, *, key: str, title: str, instrument: Instrument, names: Mapping[frozenset[str], str] | None = None
) -> dict[str, Any]:
    """The fields of a variant file.

    Parameters
    ----------
    wiring : what was found, in ohm at its temperature [degC]
    key, title : of the new variant
    instrument : meter and leads of the readings, for the width of the limits
    names : of devices by their two nodes; the others are called Device 1, Device 2, ...

    Returns
    -------
    dict as `read_variant` takes it: value +- (expanded uncertainty + 5 %), coils at 20 degC.

    Source
    ------
    JCGM 100:2008 for the uncertainty; 5 % spread between bodies: common practice, no source.
    """
    sets = _matched_sets(wiring.devices)
    given = names or {}
    devices = []
    for number, wired in enumerate(wiring.devices, 1):
        name = given.get(frozenset(wired.between)) or f"Device {number}"
        devices.append(_device(wired, name, sets.get(wired.between), wiring.celsius, instrument))
    return {
        "format": 1,
        "key": key,
        "title": title,
        "note": "Wiring found from readings of one body.",
        "pins": [{"name": pin} for pin in wiring.pins],
        "devices": devices,
    }


def _device(
    wired: Wired, name: str, matched: str | None, celsius: float | None, instrument: Instrument
) -> dict[str, Any]:
    common = {"name": name, "between": list(wired.between), "source": dict(_SOURCE)}
    if wired.kind is WiredKind.LINK:
        return {"kind": "link", **common}
    low, high = limits_ohm(wired.ohm, instrument)
    if wired.kind is WiredKind.SENSOR_LIKE:
        rows = [] if celsius is None else [[celsius, low, high]]
        return {"kind": "temperature_sensor", **common, "points": rows}
    found = {"kind": "solenoid", **common, **_at_reference(low, high, celsius)}
    if wired.kind is WiredKind.UNKNOWN:
        found["note"] = "An unusual value: what it is was not found."
    return {**found, "matched_set": matched} if matched else found


def limits_ohm(shown_ohm: float, instrument: Instrument) -> tuple[float, float]:
    """Lowest and highest value to allow [ohm], from what the meter showed."""
    value, lines = value_and_lines(instrument, shown_ohm)
    doubt = combine(lines)
    width = float(doubt.k95 * doubt.u) + _SPREAD_SHARE * abs(float(value))
    return max(float(value) - width, _LEAST_LOW_OHM), float(value) + width


def _at_reference(low: float, high: float, celsius: float | None) -> dict[str, Any]:
    """Limits of a coil moved to 20 degC; as they are, with no reference stated, where no temperature is known."""
    if celsius is None:
        return {"low_ohm": _digits(low), "high_ohm": _digits(high), "ref_celsius": None}
    moved = (
        resistance_at(ohm, from_celsius=celsius, to_celsius=REF_CELSIUS, k_celsius=COPPER_K_CELSIUS)
        for ohm in (low, high)
    )
    low, high = (float(ohm) for ohm in moved)
    return {"low_ohm": _digits(low), "high_ohm": _digits(high), "ref_celsius": REF_CELSIUS}


def _digits(ohm: float) -> float:
    """Four significant digits: more would promise too much [ohm]."""
    return float(f"{ohm:.4g}")


def _matched_sets(devices: Sequence[Wired]) -> dict[tuple[str, str], str]:
    """Like coils under one name, each coil in one set."""
    found: dict[tuple[str, str], str] = {}
    count = 0
    for wired in devices:
        mates = [wired.between, *(mate for mate in wired.matched_with if mate not in found)]
        if wired.between in found or len(mates) < 2:
            continue
        count += 1
        found.update(dict.fromkeys(mates, f"set {count}"))
    return found
