"""`valvebench record DIR heat-run FILE --device NAME`: a logger's run kept with its session."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

from valvebench.bench.desk import PROGRAM, Desk
from valvebench.bench.heat_find import LogFile
from valvebench.bench.heat_runs import RunGiven, changed_run, run_body, winding_k
from valvebench.cli.options import Option, number, words
from valvebench.cli.services import Services
from valvebench.model.entry import Entry
from valvebench.model.errors import bad
from valvebench.model.heat import HeatTest
from valvebench.model.meter import parse_meter


def _meter(text: str, name: str) -> str:
    return parse_meter(text, where=name).text()


_SAID: Final = (
    Option("--device", "device", words, "name of the device"),
    Option("--column", "column", words, "its column in the file, where it has another name there"),
    Option("--meter", "meter", _meter, 'accuracy "P%%+NxR": percent, counts, step [ohm]'),
    Option("--celsius-accuracy", "celsius_accuracy", number, "half-width of the probe (2) [K]"),
    Option("--soaked-start", "is_soaked", None, "the part had the temperature of the probe when the log began"),
    Option("--rounds", "is_settled", None, "each line was read after the temperature had settled; times do not count"),
)
_NOTE: Final = Option("--note", "note", words, "a remark")
TAKEN: Final = (*_SAID, _NOTE)
_NOT_SOAKED: Final = Option("--not-soaked", "is_not_soaked", None, "it had another temperature when the log began")
_TIMED: Final = Option("--timed", "is_timed", None, "the times of the log count after all")
CORRECTED: Final = (*_SAID, _NOT_SOAKED, _TIMED, _NOTE)
_TAKEN_BACK: Final = (("is_not_soaked", "is_soaked", "--soaked-start"), ("is_timed", "is_settled", "--rounds"))


class Correction(NamedTuple):
    """What is corrected of a kept run, and why."""

    entry: int
    body: HeatTest
    changes: Mapping[str, Any]
    why: str


def keep_run(desk: Desk, services: Services, file: Path, found: Mapping[str, Any]) -> Entry:
    """Look at the run, then keep file and entry; nothing is kept of what is refused (raises BadInput, WorldFailed)."""
    given = RunGiven(**found)
    winding_k(desk.variant, given.device)  # refuse a name nobody knows before a long file is read
    files = services.heat_files()
    raw = files.bytes_of(file)
    log = files.log_of(raw, source=str(file), is_rounds=given.is_settled)
    return desk.record_with(raw, run_body(log, given, desk.variant, file=LogFile(raw, file.name), program=PROGRAM))


def correct_run(desk: Desk, services: Services, correction: Correction) -> Entry:
    """Correct a kept run; what touches the find reads the kept file again (raises BadInput, WorldFailed)."""
    body = correction.body
    changes = changed_run(
        body,
        _changes(correction.changes),
        desk.variant,
        raw=desk.photo(body.sha256),
        log_of=services.heat_files().log_of,
    )
    return desk.correct(correction.entry, changes, correction.why)


def _changes(found: Mapping[str, Any]) -> dict[str, Any]:
    """The two ways to say "not after all" as the fields they take back."""
    changes = dict(found)
    for taken_back, field, flag in _TAKEN_BACK:
        if not changes.pop(taken_back, False):
            continue
        if field in changes:
            raise bad(flag, "also its opposite", "one of the two")
        changes[field] = False
    return changes
