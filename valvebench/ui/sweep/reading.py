"""A file or a pasted table -> what is found in it and what is drawn of it; heavy, so ask beside the window.  No Qt."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, Final, NamedTuple

from valvebench.bench.air_log import AirFiles, SweepLog
from valvebench.bench.desk import PROGRAM
from valvebench.bench.heat_find import LogFile
from valvebench.bench.leak_runs import sweep_body
from valvebench.model.air_tests import SweepTest
from valvebench.model.errors import bad
from valvebench.model.leak import SweepFound
from valvebench.model.variant import Variant
from valvebench.ui.sweep.shown import CurveShown

PASTED: Final = "pasted-sweep.csv"
MOST_PASTED: Final = 1_000_000
_HEADER: Final = ("ampere", "kpa_gauge", "branch")
_NUMBER: Final = re.compile(r"[+-]?\d+([.,]\d+)?")
_MOST_DRAWN: Final = 2_000


class Looked(NamedTuple):
    """A sweep that was read: the bytes that will be kept, its entry, and what is drawn."""

    raw: bytes
    body: SweepTest
    curve: CurveShown


def pasted_bytes(text: str) -> bytes:
    """A table from a spreadsheet as a file: tabs stay, a header is put in where there is none (raises BadInput)."""
    lines = [line for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n") if line.strip()]
    if len(lines) < 2 or len(text) > MOST_PASTED:
        raise bad("clipboard", "no table", "rows of ampere, kpa_gauge and branch (up or down)", "Copy the table first.")
    separator = next((sign for sign in ("\t", ";", ",") if sign in lines[0]), "\t")
    first = [cell.strip() for cell in lines[0].split(separator)]
    if _NUMBER.fullmatch(first[0]):
        if len(first) != len(_HEADER):
            found = f"{len(first)} columns without headings"
            raise bad("clipboard", found, "ampere, kpa_gauge and branch (up or down), or headings above them")
        lines = [separator.join(_HEADER), *lines]
    return ("\n".join(lines) + "\n").encode()


def look(raw: bytes, name: str, fields: Mapping[str, Any], variant: Variant | None, *, files: AirFiles) -> Looked:
    """Read and find (raises BadInput)."""
    log = files.sweep_of(raw, source=name)
    body = sweep_body(log, LogFile(raw, name), fields, variant, program=PROGRAM)
    return Looked(raw, body, curve_of(log, body.found))


def look_again(raw: bytes, body: SweepTest, *, files: AirFiles) -> Looked:
    """A kept sweep, drawn from its file; what it says stands in its entry."""
    return Looked(raw, body, curve_of(files.sweep_of(raw, source=body.file_name), body.found))


def curve_of(log: SweepLog, found: SweepFound) -> CurveShown:
    """What is drawn: of a long file every so many readings."""
    from valvebench.diagnose.sweep import sweep_curve

    every = max(1, len(log.ampere) // _MOST_DRAWN)
    points = [
        (float(ampere), float(kpa), bool(up > 0.5))
        for ampere, kpa, up in zip(log.ampere[::every], log.kpa[::every], log.is_up[::every], strict=True)
    ]
    fit = sweep_curve(log.ampere, log.kpa, log.is_up, unit_kpa=log.unit_kpa)
    return CurveShown(
        up=tuple((ampere, kpa) for ampere, kpa, is_up in points if is_up),
        down=tuple((ampere, kpa) for ampere, kpa, is_up in points if not is_up),
        dead_ampere=found.dead_band_ampere.value if found.dead_band_ampere is not None else None,
        **fit._asdict(),
    )
