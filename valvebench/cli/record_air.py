"""`valvebench record DIR leak|pressure|sweep ...`: air tests with numbers, kept with their session."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

from valvebench.bench.desk import PROGRAM, Desk
from valvebench.bench.heat_find import LogFile
from valvebench.bench.leak_runs import (
    AirReading,
    changed_leak,
    changed_sweep,
    check_solenoid,
    leak_body,
    sweep_body,
)
from valvebench.cli.leak import LEAK_OPTIONS, METHOD
from valvebench.cli.options import Option, number, numbers, words
from valvebench.cli.services import Services
from valvebench.model.air_tests import LeakTest, SweepTest
from valvebench.model.entry import Entry
from valvebench.model.errors import bad
from valvebench.model.meter import parse_meter


def _gauge_text(text: str, name: str) -> str:
    return parse_meter(text, where=name).text()


def _list(text: str, name: str) -> list[float]:
    return list(numbers(text, name))


_GAUGE: Final = Option("--gauge", "gauge", _gauge_text, 'accuracy "P%%+NxR": percent, counts, step [kPa] (1%%+1x1)')
_GAUGE_ID: Final = Option("--gauge-id", "gauge_id", words, "which gauge")
_NOTE: Final = Option("--note", "note", words, "a remark")
_TYPED: Final = (
    Option(
        "--supply-kpa-gauge", "supply_kpa_gauge", _list, 'steady: the gauge before the restriction, "250 250" [kPa]'
    ),
    Option("--port-kpa-gauge", "port_kpa_gauge", _list, 'steady: the gauge behind it, "181 180" [kPa]'),
    Option("--vacuum-kpa", "vacuum_kpa", _list, 'vacuum: what is held, below ambient, "31 31" [kPa]'),
    Option("--times", "t_s", _list, 'decay: times, "0 30" [s]'),
    Option("--kpa-gauge", "kpa_gauge", _list, 'decay: pressures at these times, "250 241" [kPa]'),
)
LEAK: Final = (
    Option("--port", "port", words, "name of the port"),
    Option("--device", "device", words, "in its place: the solenoid whose seat was tested"),
    METHOD,
    *_TYPED,
    *(option for option in LEAK_OPTIONS if option.field != "gauge"),
    _GAUGE,
    _GAUGE_ID,
    Option("--hose-id", "hose_id", words, "which hose and vessel"),
    _NOTE,
)
SWEEP: Final = (
    Option("--device", "device", words, "name of the solenoid"),
    Option("--rated-ampere", "rated_ampere", number, "rated current (the largest that was set) [A]"),
    _GAUGE_ID,
    _NOTE,
)
PRESSURE: Final = (
    Option("--tap", "tap", words, "name of the tap"),
    Option("--kpa-gauge", "kpa_gauge", number, "what the gauge shows, above the air around [kPa]"),
    Option("--fluid-celsius", "fluid_celsius", number, "temperature of the fluid [degrees Celsius]"),
    Option("--state", "state", words, "such as idle, load or a gear"),
    _GAUGE,
    _GAUGE_ID,
    _NOTE,
)
PRESSURE_NEEDED: Final = ("tap", "kpa_gauge", "fluid_celsius", "state")


class Correction(NamedTuple):
    """What is corrected of a kept air test, and why."""

    entry: int
    body: LeakTest | SweepTest
    changes: Mapping[str, Any]
    why: str


def keep_leak(desk: Desk, services: Services, file: Path | None, found: Mapping[str, Any]) -> Entry:
    """Look at the readings, then keep file and entry; nothing is kept of what is refused (raises BadInput)."""
    if ("port" in found) is ("device" in found):
        beside = "both --port and --device" if "port" in found else "neither --port nor --device"
        raise bad("record leak", beside, "the port, or the solenoid whose seat was tested")
    if "device" in found:
        check_solenoid(desk.variant, found["device"])
    files = services.air_files()
    kept = LogFile(files.bytes_of(file), file.name) if file is not None else None
    body = leak_body(AirReading(files, kept), found, desk.variant, program=PROGRAM)
    return desk.record(body) if kept is None else desk.record_with(kept.raw, body)


def keep_sweep(desk: Desk, services: Services, file: Path, found: Mapping[str, Any]) -> Entry:
    """Look at the sweep, then keep file and entry; nothing is kept of what is refused (raises BadInput)."""
    check_solenoid(desk.variant, found["device"])
    files = services.air_files()
    kept = LogFile(files.bytes_of(file), file.name)
    log = files.sweep_of(kept.raw, source=str(file))
    return desk.record_with(kept.raw, sweep_body(log, kept, found, desk.variant, program=PROGRAM))


def correct_air(desk: Desk, services: Services, correction: Correction) -> Entry:
    """Correct a kept test; what touches the find looks at the readings again."""
    body, files = correction.body, services.air_files()
    raw = desk.photo(body.sha256) if body.sha256 is not None else None
    if isinstance(body, SweepTest):
        changes = changed_sweep(body, correction.changes, desk.variant, raw=raw, files=files)
    else:
        changes = changed_leak(body, correction.changes, desk.variant, raw=raw, files=files)
    return desk.correct(correction.entry, changes, correction.why)
