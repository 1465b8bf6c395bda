"""An entry in words: what was written down, and for a correction what it was before."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final

import msgspec

from valvebench.model.air_tests import TYPED_OF, LeakTest, SweepTest
from valvebench.model.entry import (
    AnyBody,
    Close,
    Correct,
    Entry,
    FluidFound,
    Note,
    Photo,
    Reading,
    Restore,
    Withdraw,
    body_from,
)
from valvebench.model.flex import FlexTest
from valvebench.model.format import OHM, celsius_text, open_text, plus_minus
from valvebench.model.heat import HeatKind, HeatTest
from valvebench.model.meter import DEFAULT_PRESET, PRESETS, parse_meter
from valvebench.model.session import Ledger, Session
from valvebench.model.words import COOLER_TEXT, LEAD_TEXT, TEMPERATURE_TEXT, VERDICT_TEXT

HEAT_KIND_TEXT: Final = MappingProxyType(
    {
        HeatKind.COPPER: "copper only",
        HeatKind.FIXED_SERIES: "a contact that stays put",
        HeatKind.GROWS_WITH_HEAT: "a contact that grows with heat",
        HeatKind.NOT_SEPARABLE: "cannot be separated",
    }
)
_K: Final = 2.0
_SET_UP: Final = (
    *("restriction_mm", "restriction_c", "restriction_b", "restriction_pct", "blank_kpa", "known_kpa"),
    *("known_hole_mm", "known_pct", "volume_ml", "volume_pct", "held_s", "drift_celsius", "blank_ml_min", "hose_id"),
    *("zero_kpa", "test_kpa_gauge", "celsius", "ambient_kpa_abs", "reference", "at_kpa_gauge", "cd", "max_ml_min"),
)
_VERDICT_WORD: Final = {verdict.value: text for verdict, text in VERDICT_TEXT.items()}


def trail_words(session: Session) -> list[str]:
    """Words for every entry, in order; corrections are told apart from what stood at that moment."""
    ledger = Ledger()
    words = []
    for entry in session.entries:
        words.append(_entry_words(entry, ledger))
        ledger.take(entry)
    return words


def _entry_words(entry: Entry, ledger: Ledger) -> str:
    body = entry.body
    if isinstance(body, Correct):
        return _correction(body, ledger)
    if isinstance(body, Withdraw):
        return f"Entry {body.entry} no longer counts." + (f" Why: {body.why}" if body.why else "")
    if isinstance(body, Restore):
        return f"Entry {body.entry} counts again."
    return body_words(body)


def body_words(body: AnyBody) -> str:
    """A body as a line of words."""
    if isinstance(body, Reading):
        return reading_words(body)
    if isinstance(body, HeatTest | FlexTest | LeakTest | SweepTest):
        return _run_words(body)
    if isinstance(body, Note):
        return body.text
    if isinstance(body, Photo):
        return f"Photo of {body.of}: {body.file_name}, {body.size_bytes} bytes, SHA-256 {body.sha256}"
    if isinstance(body, Close):
        return _closing(body)
    return field_words(_fields(body))


def _fields(body: AnyBody) -> dict[str, Any]:
    """What was given, by its names; the cooler in words."""
    given: dict[str, Any] = msgspec.to_builtins(body)
    if isinstance(body, FluidFound) and body.cooler is not None:
        given["cooler"] = COOLER_TEXT[body.cooler]
    return given


def _run_words(body: HeatTest | FlexTest | LeakTest | SweepTest) -> str:
    if isinstance(body, HeatTest):
        return heat_words(body)
    return flex_words(body) if isinstance(body, FlexTest) else air_words(body)


def heat_words(body: HeatTest) -> str:
    """A heat run from a logger's file, with what was found in it."""
    found = body.found
    column = f", column {body.column}" if body.column else ""
    events = [f"{event.kind} at {celsius_text(event.coil_celsius)} of the coil" for event in found.events]
    parts = [
        f"Heat run of {body.device} from {body.file_name}{column}, {body.size_bytes} bytes, SHA-256 {body.sha256}",
        f"meter: {_spec_words(body.meter, is_assumed=found.meter_is_assumed)}" if body.meter else "",
        f"probe: plus or minus {body.celsius_accuracy:g} K",
        "settled before each reading" if body.is_settled else "",
        "soaked at its start" if body.is_soaked else "",
        f"found in {found.n} readings: {HEAT_KIND_TEXT[found.kind]}",
        *events,
        f"note: {body.note}" if body.note else "",
    ]
    return "; ".join(part for part in parts if part)


def flex_words(body: FlexTest) -> str:
    """Readings of a pair that was flexed, typed or from a logger's file."""
    shown = " ".join("OL" if ohm is None else f"{ohm:.10g}" for ohm in body.ohm)
    file = f"{body.file_name}, {body.size_bytes} bytes, SHA-256 {body.sha256}" if body.is_logged else ""
    found = body.found
    parts = [
        f"Flex test, {body.from_node} to {body.to_node} at the {body.at.value.replace('_', ' ')}",
        f"flexed: {body.flexed}",
        f"{shown} {OHM}" if shown else "",
        f"goes on with entry {body.follows}" if body.follows is not None else "",
        file,
        f"found in {found.n} readings: {len(found.events)} openings, jumps or steps" if found is not None else "",
        f"coil at {celsius_text(body.celsius)}" if body.celsius is not None else "",
        f"meter: {_spec_words(body.meter, is_assumed=body.meter_is_assumed)}" if body.meter else "",
        f"note: {body.note}" if body.note else "",
    ]
    return "; ".join(part for part in parts if part)


def air_words(body: LeakTest | SweepTest) -> str:
    """An air test with a number, typed or from a file, with what was found in it."""
    file = f"{body.file_name}, {body.size_bytes} bytes, SHA-256 {body.sha256}" if body.sha256 else ""
    note = f"note: {body.note}" if body.note else ""
    if isinstance(body, SweepTest):
        loop = body.found.hysteresis_pct_span.max
        found = f"found in {body.found.n} readings: hysteresis {plus_minus(loop.value, _K * loop.u)} % of the span"
        return "; ".join(part for part in (f"Sweep of {body.device}", file, found, note) if part)
    leak = body.found.leak_ml_min
    value = plus_minus(leak.value, _K * leak.u, unit="ml/min") if leak is not None else "no leak can be told"
    found = f"found in {body.found.n} readings: {value} at {body.found.at_kpa_gauge:.4g} kPa gauge"
    parts = (f"Leak of {body.told_of}, {body.method.value}", file, _typed_words(body), leak_set_up(body), found, note)
    return "; ".join(part for part in parts if part)


def _typed_words(body: LeakTest) -> str:
    told = [(name, getattr(body, name)) for name in TYPED_OF[body.method]]
    return "; ".join(f"{name.replace('_', ' ')}: {' '.join(f'{one:g}' for one in own)}" for name, own in told if own)


def leak_set_up(body: LeakTest) -> str:
    """What a leak was taken with: restriction, hole or vessel, the air around, where it is told."""
    given = {name: getattr(body, name) for name in _SET_UP if getattr(body, name) is not None}
    return field_words(given)


def _closing(body: Close) -> str:
    missing = f" Missing: {', '.join(body.missing)}." if body.missing else ""
    return f"Closed. {_VERDICT_WORD.get(body.verdict, body.verdict)}: {body.scope}.{missing}"


def reading_words(reading: Reading) -> str:
    """A reading with its conditions."""
    parts = [
        f"{reading.from_node} to {reading.to_node} at the {reading.at.value.replace('_', ' ')}: {shown_words(reading)}",
        f"coil at {celsius_text(reading.celsius)} ({temperature_words(reading)})",
        *([f"round {reading.round} of a heat run"] if reading.round is not None else []),
        f"leads: {lead_words(reading)}",
        f"meter: {meter_words(reading)}",
    ]
    return "; ".join([*parts, *([f"note: {reading.note}"] if reading.note else [])])


def shown_words(reading: Reading) -> str:
    """What the meter showed."""
    if reading.open:
        return f"open, {open_text(reading.range_ohm)} {OHM}"
    if reading.volts_x is not None:
        return f"{reading.volts_x:g} V against {reading.volts_check:g} V across {reading.check_ohm:g} {OHM}"
    if reading.repeats_ohm:
        return f"{', '.join(f'{ohm:g}' for ohm in reading.repeats_ohm)} {OHM}"
    return f"{reading.ohm:g} {OHM}"


def temperature_words(reading: Reading) -> str:
    """How well the coil temperature is known."""
    if reading.u_celsius is not None:
        return f"standard uncertainty {reading.u_celsius:g} K given"
    if reading.celsius_accuracy is not None:
        return f"plus or minus {reading.celsius_accuracy:g} K"
    return TEMPERATURE_TEXT[reading.temperature] if reading.temperature is not None else "how is not said"


def lead_words(reading: Reading) -> str:
    """What was done about the leads."""
    tips = f", {reading.lead_ohm:g} {OHM}" if reading.lead_ohm is not None else ""
    return LEAD_TEXT[reading.leads] + tips


def meter_words(reading: Reading) -> str:
    """Name and accuracy of the meter."""
    spec = _spec_words(reading.meter, is_assumed=reading.meter is None or reading.meter_is_assumed)
    return f"{reading.meter_id}, {spec}" if reading.meter_id else spec


@lru_cache(maxsize=256)
def _spec_words(meter: str | None, *, is_assumed: bool) -> str:
    spec = parse_meter(meter) if meter is not None else PRESETS[DEFAULT_PRESET]
    return f"{spec.text()} {OHM}" + (" (assumed)" if is_assumed else "")


def _correction(body: Correct, ledger: Ledger) -> str:
    item = ledger.root(body.entry)
    before = {} if item is None else _fields(item.body)
    after = body.body if item is None else _fields(body_from(item.kind, body.body))
    changes = [f"{name}: {_value(old)} -> {_value(new)}" for name, old, new in _changed(before, after)]
    return f"Entry {body.entry} corrected. {'; '.join(changes) or 'Nothing differs'}. Why: {body.why}"


def _changed(before: Mapping[str, Any], after: Mapping[str, Any]) -> list[tuple[str, Any, Any]]:
    names = [*before, *(name for name in after if name not in before)]
    pairs = [(name, before.get(name), after.get(name)) for name in names]
    return [(name, old, new) for name, old, new in pairs if old != new]


def field_words(fields: Mapping[str, Any]) -> str:
    """Names and values, as they were given."""
    return "; ".join(f"{name.replace('_', ' ')}: {_value(value)}" for name, value in fields.items())


def _value(value: Any) -> str:
    if value is None:
        return "nothing"
    if isinstance(value, dict):
        return ", ".join(f"{name} {part}" for name, part in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(str(part) for part in value)
    return str(value.value) if isinstance(value, Enum) else str(value)
