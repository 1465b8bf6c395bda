"""`valvebench record DIR flex ...`: a pair watched while something was flexed, typed or from a logger's file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final, NamedTuple

from valvebench.bench.desk import PROGRAM, Desk
from valvebench.bench.flex_runs import changed_flex, logged_body, typed_body
from valvebench.bench.heat_find import LogFile
from valvebench.cli.options import Option, one_of, words
from valvebench.cli.reading_options import MEASURED, NAMES, with_meter
from valvebench.cli.services import Services
from valvebench.model.entry import Entry
from valvebench.model.errors import bad
from valvebench.model.flex import FlexTest
from valvebench.model.numbers import decimals, typed_ohm
from valvebench.model.words import AccessPoint

_SHARED: Final = ("celsius", "temperature", "range_ohm", "meter", "meter_like", "leads", "lead_ohm")


def _ohms(text: str, name: str) -> list[float | None]:
    """`5.2 5.2 OL 5.2`, separated by blanks or semicolons; None for open."""
    return [_one(word, place, name) for place, word in enumerate(re.split(r"[\s;]+", text.strip()), 1) if word]


def _one(word: str, place: int, name: str) -> float | None:
    typed = typed_ohm(word)
    if typed.is_open:
        return None
    if typed.ohm is not None:
        return typed.ohm
    if typed.choices:
        return typed.choices[0]  # an option holds decimals, never groups
    raise bad(f"{name}, reading {place}", repr(word), "a number such as 5.2, or OL for open")


def _times(text: str, name: str) -> list[float]:
    return list(decimals(text, where=name))


_PLACE: Final = (
    Option("--from", "from", words, "one node: a pin, case, or a terminal such as Heron.1"),
    Option("--to", "to", words, "the other node"),
    Option("--at", "at", one_of(AccessPoint), "where it was measured (case_connector)"),
    Option("--flexed", "flexed", words, "what was flexed (the harness at the plug)"),
    Option("--ohms", "ohm", _ohms, 'readings in their order, "5.2 5.2 OL 5.2" [ohm]'),
    Option("--times", "t_s", _times, 'their times, "0 1 2 3" [s]'),
    Option("--column", "column", words, "its column in the file, where there are several"),
)
TAKEN: Final = (
    *_PLACE,
    *(option for option in MEASURED if option.field in _SHARED),
    *NAMES,
    Option("--note", "note", words, "a remark"),
)


class Correction(NamedTuple):
    """What is corrected of a kept flex test, and why."""

    entry: int
    body: FlexTest
    changes: Mapping[str, Any]
    why: str


def keep_flex(desk: Desk, services: Services, file: Path | None, found: Mapping[str, Any]) -> Entry:
    """Look at the readings, then keep file and entry; nothing is kept of what is refused (raises BadInput)."""
    fields = with_meter(found)
    missing = [flag for flag, field in (("--from", "from"), ("--to", "to")) if field not in fields]
    if missing:
        raise bad("record flex", f"no {', '.join(missing)}", "both nodes of the pair")
    if (file is None) == ("ohm" not in fields):
        what = "readings and a file" if file is not None else "no readings"
        raise bad("record flex", what, 'either FILE or --ohms "5.2 5.2 OL 5.2"')
    if file is None:
        return desk.record(typed_body({**fields, "program": PROGRAM}))
    files = services.flex_files()
    raw = files.bytes_of(file)
    log = files.flex_of(raw, source=str(file), column=fields.get("column"))
    return desk.record_with(raw, logged_body(log, LogFile(raw, file.name), fields, program=PROGRAM))


def correct_flex(desk: Desk, services: Services, correction: Correction) -> Entry:
    """Correct a kept flex test; what touches the find of a file reads the kept file again."""
    body, changes = correction.body, with_meter(correction.changes)
    if "meter" in changes:
        changes = {"meter_is_assumed": None, **changes}
    if changes.get("leads") not in (None, "subtract"):
        changes = {"lead_ohm": None, **changes}
    raw = desk.photo(body.sha256) if body.sha256 is not None else None
    return desk.correct(
        correction.entry, changed_flex(body, changes, raw=raw, files=services.flex_files()), correction.why
    )
