"""A variant from the wiring found: limits measured on one good body, names to be given by the person."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final, NamedTuple

from valvebench.diagnose.wiring import Wired, WiredKind, Wiring
from valvebench.diagnose.wiring_sets import proposed_sets
from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.model.meter import Instrument
from valvebench.model.words import SourceKind
from valvebench.physics.conductor import resistance_at
from valvebench.physics.uncertainty import combine, value_and_lines

REF_CELSIUS: Final = 20.0
_SPREAD_SHARE: Final = 0.05
"""How far good bodies differ from one another: common practice, no source."""
_OF_THREE: Final = 1.5
"""A part that was not read straight is half a sum of three readings, which may all be wrong the same way."""
_LEAST_LOW_OHM: Final = 0.01
_SOURCE: Final = MappingProxyType({"kind": SourceKind.MEASURED.value, "text": "one good body", "n": 1})


class Said(NamedTuple):
    """What a person said of a found part: its name, its kind (`solenoid`, ...), whether it belongs to its set.

    Without `has_limits` none are taken from it: an odd one is no measure for others.
    """

    name: str = ""
    kind: str = ""
    is_in_set: bool = True
    has_limits: bool = True


def variant_data(
    wiring: Wiring,
    *,
    key: str,
    title: str,
    instrument: Instrument,
    names: Mapping[frozenset[str], str] | None = None,
    said: Mapping[frozenset[str], Said] = MappingProxyType({}),
    instruments: Mapping[frozenset[str], Instrument] = MappingProxyType({}),
    face: Mapping[str, Any] = MappingProxyType({}),
) -> dict[str, Any]:
    """The fields of a variant file.

    Parameters
    ----------
    wiring : what was found, in ohm at its temperature [degC]
    key, title : of the new variant
    instrument : meter and leads of parts that were not read straight, for the width of the limits
    names : of devices by their two nodes; the others are called Device 1, Device 2, ...
    said : more than a name, by their two nodes
    instruments : meter and leads of each pair that was read
    face : `name`, `rows`, `columns` of the connector, its pins row by row

    Returns
    -------
    dict as `read_variant` takes it: value +- (expanded uncertainty + 5 %), coils at 20 degC.

    Source
    ------
    JCGM 100:2008 for the uncertainty; 5 % spread between bodies: common practice, no source.
    """
    told = {pair: Said(name=name) for pair, name in (names or {}).items()} | dict(said)
    apart = {pair for pair, one in told.items() if not one.is_in_set}
    sets = proposed_sets([wired for wired in wiring.devices if frozenset(wired.between) not in apart])
    devices = []
    for number, wired in enumerate(wiring.devices, 1):
        pair = frozenset(wired.between)
        one = told.get(pair, Said())
        count = 1.0 if pair in instruments or not instruments else _OF_THREE
        found = _device(wired, one.kind, wiring.celsius, instruments.get(pair, instrument), count)
        found["name"] = one.name or f"Device {number}"
        if wired.between in sets and found["kind"] == "solenoid":
            found["matched_set"] = sets[wired.between]
        devices.append(found if one.has_limits else _without_limits(found))
    return {
        "format": 1,
        "key": key,
        "title": title,
        "note": "Wiring found from readings of one body.",
        **({"faces": [{**face, "layout": "grid", "seen_from": "mating"}]} if face else {}),
        "pins": [_pin(place, pin, face) for place, pin in enumerate(wiring.pins)],
        "devices": devices,
    }


def _pin(place: int, name: str, face: Mapping[str, Any]) -> dict[str, Any]:
    if not face:
        return {"name": name}
    row, column = divmod(place, int(face["columns"]))
    return {"name": name, "face": face["name"], "x": float(column), "y": float(row)}


def kind_guess(wired: Wired) -> str:
    """The kind a variant file gives a part by its resistance alone."""
    kinds = {WiredKind.LINK: "link", WiredKind.SENSOR_LIKE: "temperature_sensor"}
    return kinds.get(wired.kind, "solenoid")


def _device(wired: Wired, kind: str, celsius: float | None, instrument: Instrument, count: float) -> dict[str, Any]:
    kind = kind or kind_guess(wired)
    common = {"kind": kind, "between": list(wired.between), "source": dict(_SOURCE)}
    if kind == "switch":
        return {**common, "at_rest": "closed"}
    if kind == "link":
        return common
    low, high = limits_ohm(wired.ohm, instrument, count=count)
    if kind == "temperature_sensor":
        rows = [] if celsius is None else [[celsius, _digits(low), _digits(high)]]
        return {**common, "points": rows}
    found = {**common, **_at_reference(low, high, celsius)}
    if wired.kind is WiredKind.UNKNOWN:
        found["note"] = "An unusual value: what it is was not found."
    return found


def _without_limits(device: dict[str, Any]) -> dict[str, Any]:
    """No limit is better than one from a part that is not like its fellows."""
    left = {key: value for key, value in device.items() if key not in ("low_ohm", "high_ohm", "source")}
    return {**left, "note": "The odd one out of its set on the body that was read: no limits are taken from it."}


def limits_ohm(shown_ohm: float, instrument: Instrument, *, count: float = 1.0) -> tuple[float, float]:
    """Lowest and highest value to allow [ohm], from what the meter showed; `count` times the doubt of one reading."""
    value, lines = value_and_lines(instrument, shown_ohm)
    doubt = combine(lines)
    width = count * float(doubt.k95 * doubt.u) + _SPREAD_SHARE * abs(float(value))
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
