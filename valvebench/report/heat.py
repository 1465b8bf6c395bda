"""The sheet of heat runs: each against copper, with its events; a hot fail stands beside every cold pass."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

from valvebench.model.format import celsius_text, decimals_for, ohm_text
from valvebench.model.heat import HeatEvent, HeatKind, Sized
from valvebench.model.words import VERDICT_TEXT
from valvebench.report.cells import Book, Sheet
from valvebench.report.heat_cases import HeatCase, Logs, Waiting
from valvebench.report.heat_ratios import ratios_of, write_ratios
from valvebench.report.layout import (
    Column,
    header,
    lines_of,
    paragraph,
    set_height,
)
from valvebench.report.look import (
    GENERAL,
    MONO,
    MUTED_TEXT,
    QUIET,
    SECTION,
    SENTENCE,
    TENTHS,
    TEXT,
    VERDICT,
    WHOLE,
    WRAPPED,
    decimals,
)
from valvebench.report.summary import ATTENTION_FIRST
from valvebench.report.tables import Value, finish, write_heads, write_row
from valvebench.report.words import HEAT_KIND_TEXT

TITLE: Final = "Heat"
_WHY, _NEXT = 62, 40
COLUMNS: Final = (
    Column("Device", 15),
    Column("Verdict", 12),
    Column("Against copper it is", 22),
    Column("Why", _WHY),
    Column("What next", _NEXT),
    Column("Slope over copper", 10),
    Column("U of the slope", 10),
    Column("Copper at 20 \u00b0C, \u03a9", 11),
    Column("U of copper, \u03a9", 10),
    Column("In series, stays put, \u03a9", 11),
    Column("U of series, \u03a9", 10),
    Column("Too much at the hottest, \u03a9", 11),
    Column("U of too much, \u03a9", 10),
    Column("Grows from, \u00b0C", 15),
    Column("U of start, K", 9),
    Column("Lag behind the probe, s", 15),
    Column("U of lag, s", 9),
    Column("All at reference, \u03a9", 11),
    Column("U (95.45 %), \u03a9", 11),
    Column("Reference, \u00b0C", 12),
    Column("Lowest allowed, \u03a9", 10),
    Column("Highest allowed, \u03a9", 10),
    Column("Limit from", 26),
    Column("Coldest of the coil, \u00b0C", 9),
    Column("Hottest of the coil, \u00b0C", 9),
    Column("Readings", 11),
    Column("Left out as wild", 9),
    Column("Scatter about the fit, \u03a9", 10),
    Column("Conductor constant, \u00b0C", 13),
    Column("Meter", 18),
    Column("Read from", 34),
    Column("Entries", 14),
    Column("SHA-256 of the file", 58),
)
EVENT_COLUMNS: Final = (
    *("Device", "What", "Warming or cooling", "In words", "Read from"),
    *("Time, s", "Coil, \u00b0C", "Probe, \u00b0C", "Size, \u03a9"),
)
HEADER_ROW: Final = 6
_WIDE: Final = 5
_K: Final = 2.0
_INTRODUCTION: Final = (
    "Each warmed device against what copper alone would do. Uncertainties U are expanded (k = 2). An opening, a "
    "contact that stays put or one that grows with heat beyond its U fails whatever the limits; what cannot be "
    "separated is at best Can't tell. A cold reading that passes takes nothing of it back."
)
_WAY_TEXT: Final = MappingProxyType({True: "while it warmed", False: "while it cooled", None: None})
_NO_LIMITS: Final = "no limit stated"


def write_heat(
    book: Book, cases: Sequence[HeatCase], waiting: Sequence[Waiting], logs: Logs, *, report_id: str
) -> None:
    """Results, and below them events, like devices compared, and rounds that say nothing yet."""
    sheet = book.sheet(TITLE)
    paragraph(sheet, 1, "Heat runs", SECTION, columns=_WIDE, characters=130)
    paragraph(sheet, 2, _sentence(cases), SENTENCE, columns=_WIDE, characters=100)
    paragraph(sheet, 3, _INTRODUCTION, QUIET, columns=_WIDE, characters=140)
    header(sheet, HEADER_ROW, COLUMNS)
    for row, case in enumerate(cases, start=HEADER_ROW + 1):
        write_row(sheet, row, _cells(case), COLUMNS)
    last_row = HEADER_ROW + max(len(cases), 1)
    finish(sheet, COLUMNS, last_row, report_id=report_id, header_row=HEADER_ROW)
    row = _write_events(sheet, last_row + 2, cases)
    row = write_ratios(sheet, row + 2, ratios_of(cases, logs))
    for number, one in enumerate(waiting, start=row + 2):
        paragraph(sheet, number, _waiting_words(one), TEXT, columns=_WIDE, characters=140)


def _sentence(cases: Sequence[HeatCase]) -> str:
    """What stands out, by name."""
    if not cases:
        return "No heat run can be judged yet."
    told = {verdict: dict.fromkeys(c.device for c in cases if c.row.verdict is verdict) for verdict in ATTENTION_FIRST}
    return "; ".join(f"{VERDICT_TEXT[verdict]}: {', '.join(names)}" for verdict, names in told.items() if names) + "."


def _waiting_words(one: Waiting) -> str:
    entries = " ".join(str(n) for n in one.entries)
    where = f"{one.device}, " if one.device else ""
    return f"{where}entries {entries or 'none that can be used'}: nothing can be said yet. {one.why}"


def _cells(case: HeatCase) -> list[Value]:
    return [*_told(case), *_sizes(case), *_against_limits(case), *_taken(case)]


def _told(case: HeatCase) -> list[Value]:
    return [
        (case.device, TEXT),
        (VERDICT_TEXT[case.row.verdict], VERDICT),
        (HEAT_KIND_TEXT[case.found.kind], WRAPPED),
        (" ".join(case.row.reasons), WRAPPED),
        (" ".join(case.found.advice), WRAPPED),
    ]


def _sizes(case: HeatCase) -> list[Value]:
    found = case.found
    no_start = "none told: see Why" if found.kind is HeatKind.GROWS_WITH_HEAT else None
    return [
        *_sized(found.slope_over_copper),
        *_sized(found.r20_ohm),
        *_sized(found.series_ohm),
        *_sized(found.excess_ohm_at_hottest),
        *_sized(found.grows_from_celsius, no_start),
        *_sized(found.lag_s, _no_lag(case)),
    ]


def _sized(sized: Sized | None, otherwise: str | None = None) -> list[Value]:
    """Value and expanded uncertainty to one place; what there is not is left empty, or said in words."""
    if sized is None:
        return [(otherwise, WRAPPED), (None, TEXT)]
    look = decimals(decimals_for(_K * sized.u))
    return [(sized.value, look), (_K * sized.u, look)]


def _no_lag(case: HeatCase) -> str:
    if case.found.kind is HeatKind.NOT_SEPARABLE:
        return "not told apart"
    return "none: settled before each reading"


def _against_limits(case: HeatCase) -> list[Value]:
    heat = case.heat
    look = decimals(decimals_for(heat.U_ohm_at_ref))
    limits = heat.limits
    source = case.row.limit_source if limits.is_stated else _NO_LIMITS
    return [
        (heat.ohm_at_ref, look),
        (heat.U_ohm_at_ref, look),
        (limits.ref_celsius, TENTHS),
        (limits.low_ohm, GENERAL),
        (limits.high_ohm, GENERAL),
        (source, WRAPPED),
    ]


def _taken(case: HeatCase) -> list[Value]:
    found, log = case.found, case.log
    assumed = " (assumed)" if found.meter_is_assumed else ""
    return [
        (found.coldest_celsius, TENTHS),
        (found.hottest_celsius, TENTHS),
        (found.n, WHOLE),
        (found.left_out, WHOLE),
        (found.residual_ohm, decimals(decimals_for(found.residual_ohm))),
        (found.k_celsius, GENERAL),
        (f"{found.meter} \u03a9{assumed}", WRAPPED),
        (_source(case), WRAPPED),
        (" ".join(str(n) for n in case.row.entries), WRAPPED),
        (log.sha256 if log is not None else None, MONO),
    ]


def _source(case: HeatCase) -> str:
    log, rounds = case.log, case.rounds
    if log is not None:
        column = f", column {log.column}" if log.column else ""
        start = ", soaked at its start" if log.is_soaked else ""
        return f"{log.file_name}{column}, {log.size_bytes} bytes{start}"
    return f"readings in {len(set(rounds.rounds))} rounds" if rounds is not None else ""


def _write_events(sheet: Sheet, row: int, cases: Sequence[HeatCase]) -> int:
    """The table of openings and steps; the last row it took."""
    sheet.text(row, 1, "Openings and steps", SECTION)
    events = [(case, event) for case in cases for event in case.events]
    if not events:
        sheet.text(row + 1, 1, "None was found in any run.", MUTED_TEXT._replace(is_ruled=False))
        return row + 1
    write_heads(sheet, row + 1, EVENT_COLUMNS)
    for number, (case, event) in enumerate(events, start=row + 2):
        _write_event(sheet, number, case, event)
    return row + 1 + len(events)


def _write_event(sheet: Sheet, row: int, case: HeatCase, event: HeatEvent) -> None:
    size = event.size_ohm
    cells: tuple[Value, ...] = (
        (case.device, TEXT),
        (event.kind, TEXT),
        (_WAY_TEXT[event.heating], TEXT),
        (event_words(event), WRAPPED),
        (_source(case), WRAPPED),
        (event.t_s, WHOLE),
        (event.coil_celsius, TENTHS),
        (event.probe_celsius, TENTHS),
        (size, decimals(decimals_for(abs(size) / 10.0)) if size else GENERAL),
    )
    for column, (value, look) in enumerate(cells, start=1):
        sheet.put(row, column, value, look)
    set_height(sheet, row, max(lines_of(event_words(event), _WHY), lines_of(_source(case), _NEXT)))


def event_words(event: HeatEvent) -> str:
    """An opening or a step as a sentence."""
    what = "It opened" if event.size_ohm is None else f"It jumped by {ohm_text(event.size_ohm)}"
    when = f" {event.t_s:.0f} s after the start" if event.t_s is not None else ""
    way = f", {_WAY_TEXT[event.heating]}" if event.heating is not None else ""
    at = f"{celsius_text(event.coil_celsius)} of the coil, {celsius_text(event.probe_celsius)} of the probe"
    return f"{what}{when} at {at}{way}."
