"""`valvebench wire SESSION|FILE`: what is wired to what, from readings alone."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from valvebench.bench.part_in_hand import Source, in_counting_order, source_of
from valvebench.cli.options import DONE, NOT_DECIDED, Option, Parser, answer, fields, number, whole, words
from valvebench.cli.services import MakeServices, Services
from valvebench.cli.wire_source import from_file, preset_for
from valvebench.diagnose.wiring import DEFAULT_RESOLUTION_OHM, Unclear, Wired, Wiring, find_wiring
from valvebench.diagnose.wiring_readings import WireReading
from valvebench.diagnose.wiring_variant import variant_data
from valvebench.model.errors import bad
from valvebench.model.format import ohm_text
from valvebench.model.strict_json import dumps
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import CASE

_MOST_PINS = 500
_OPTIONS = (
    Option("--pins", "pins", whole, "number of pins, called 1, 2, 3, ... (the pins that were read)"),
    Option(
        "--resolution-ohm",
        "resolution_ohm",
        number,
        "display step of the meter's lowest range (0.01, or the session's) [ohm]",
    ),
    Option(
        "--thorough",
        "is_thorough",
        None,
        "ask for every pair that tells side by side from one behind the other, as the window does",
    ),
    Option("--save-variant", "save_variant", words, "variant file to write: limits measured on one good body"),
)


def run(given: Sequence[str], services: MakeServices) -> int:
    """Print nets, devices and what to read next; 0 when the wiring is found."""
    parser = Parser("wire", "What is wired to what, from readings alone.")
    parser.add_argument("source", type=Path, help="session folder, or a table with from, to, ohm")
    for option in _OPTIONS:
        option.add_to(parser)
    arguments = parser.read(given)
    found = fields(arguments, _OPTIONS)
    resolution = _resolution(found)
    world = services()
    source = _source(world, arguments.source, resolution or DEFAULT_RESOLUTION_OHM)
    wiring = find_wiring(
        _pins(found, source),
        source.readings,
        resolution_ohm=resolution or source.resolution_ohm,
        has_case=source.has_case,
        is_thorough=found.get("is_thorough", False),
    )
    saved = _save(world, found, wiring, source) if "save_variant" in found else ""
    answer(arguments.json, _data(wiring), "\n".join([*_lines(wiring), *([saved] if saved else [])]))
    return DONE if wiring.is_done else NOT_DECIDED


def _resolution(found: dict[str, Any]) -> float | None:
    ohm: float | None = found.get("resolution_ohm")
    if ohm is not None and not 0 < ohm <= 1:
        raise bad("--resolution-ohm", f"{ohm:g}", "a display step above 0, at most 1 ohm")
    return ohm


def _source(world: Services, path: Path, resolution_ohm: float) -> Source:
    if path.is_dir():
        view = world.view_session(path)
        return source_of(view.session, view.variant)
    readings = from_file(world.read_file(path), source=str(path))
    return Source(readings, (), preset_for(resolution_ohm), resolution_ohm=resolution_ohm)


def _pins(found: dict[str, Any], source: Source) -> tuple[str, ...]:
    """The pins said, else the variant's, else those that were read."""
    count: int | None = found.get("pins")
    if count is not None and count > _MOST_PINS:
        raise bad("--pins", str(count), f"at most {_MOST_PINS} pins")
    named = source.pins if count is None else tuple(str(i + 1) for i in range(count))
    read = dict.fromkeys(node for reading in source.readings for node in (reading.a, reading.b) if node != CASE)
    if count is not None:
        _refuse_others(read, named, source.readings)
    return (*named, *sorted((pin for pin in read if pin not in named), key=in_counting_order))


def _refuse_others(read: dict[str, None], named: Sequence[str], readings: Sequence[WireReading]) -> None:
    others = [pin for pin in read if pin not in named]
    if others:
        at = next(i for i, reading in enumerate(readings, 1) if others[0] in (reading.a, reading.b))
        advice = "Leave --pins out where pins have other names."
        raise bad(f"reading {at}", repr(others[0]), f"a pin from 1 to {len(named)}, or {CASE}", advice)


def _save(world: Services, found: dict[str, Any], wiring: Wiring, source: Source) -> str:
    path = Path(found["save_variant"])
    if not wiring.devices:
        raise bad("--save-variant", "no device yet", "readings that show at least one", _advice(wiring))
    key = re.sub(r"[^A-Za-z0-9._-]+", "-", path.stem).strip("-._") or "found-body"
    data = variant_data(
        wiring,
        key=key[:100],
        title=path.stem[:200] or key,
        instrument=source.instrument,
        instruments=source.instruments,
    )
    raw = dumps(data)
    read_variant(raw, source=str(path))
    world.write_file(path, raw)
    return f"Saved: {path}" + ("" if wiring.is_done else " (the wiring is not settled yet)")


def _advice(wiring: Wiring) -> str:
    return f"Read {wiring.next[0].black} to {wiring.next[0].red} next." if wiring.next else ""


def _data(wiring: Wiring) -> dict[str, Any]:
    return {
        "pins": wiring.pins,
        "nets": wiring.nets,
        "devices": [one._asdict() for one in wiring.devices],
        "case_nets": wiring.on_case,
        "cannot_tell": [one._asdict() for one in wiring.cannot_tell],
        "contradictions": [one._asdict() for one in wiring.contradictions],
        "next": [{"from": step.black, "to": step.red, "why": step.why} for step in wiring.next],
    }


def _lines(wiring: Wiring) -> list[str]:
    lines = [_device_line(one) for one in wiring.devices] or ["No device found yet."]
    alone = [net[0] for net in wiring.nets if len(net) == 1]
    if wiring.is_done and alone:
        lines.append(f"Open to all others: {', '.join(alone)}")
    lines += [_unclear_line(one) for one in wiring.cannot_tell]
    lines += [f"Settled: {_pair(one.between)}: {one.why}" for one in wiring.contradictions if one.is_settled]
    return [*lines, _next_line(wiring)]


def _pair(nodes: Sequence[str]) -> str:
    return "\u2013".join(nodes)


def _device_line(one: Wired) -> str:
    kind = one.kind.value.replace("_", "-")
    mates = ", ".join(_pair(pair) for pair in one.matched_with)
    return f"  {_pair(one.between):<16} {ohm_text(one.ohm):>10}  {kind}" + (f"  like {mates}" if mates else "")


def _unclear_line(one: Unclear) -> str:
    return f"Can't tell: {', '.join(one.between)}: {one.why}"


def _next_line(wiring: Wiring) -> str:
    if wiring.is_done:
        return "The wiring is found."
    black = wiring.next[0].black
    reds = [step.red for step in wiring.next if step.black == black]
    return f"Next: black clip on {black}, red tip to {', '.join(reds)}: {wiring.next[0].why}"
