"""The sheet of every reading: what counts, what was corrected, what was withdrawn."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.model.entry import Reading
from valvebench.model.format import decimals_for, open_text
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT, ItemState, Verdict
from valvebench.report.cases import Case
from valvebench.report.cells import Book, Sheet
from valvebench.report.history import Fate
from valvebench.report.layout import Column, colour_verdicts, finish_table, header, lines_of, set_height, set_page
from valvebench.report.look import (
    CHANCE,
    GENERAL,
    GONE,
    MUTED_TEXT,
    TENTHS,
    TEXT,
    VERDICT,
    WHOLE,
    WRAPPED,
    Look,
    decimals,
)
from valvebench.report.words import lead_words, meter_words

COLUMNS: Final = (
    Column("Entry", 6.5),
    Column("What", 15),
    Column("From - to", 11),
    Column("Verdict", 12),
    Column("Lean", 9.5),
    Column("Plain comparison", 11.5),
    Column("Meter showed, \u03a9", 13),
    Column("Times read", 6.5),
    Column("Coil, \u00b0C", 7.5),
    Column("Round of a heat run", 8),
    Column("Corrected, \u03a9", 11.5),
    Column("At reference, \u03a9", 11.5),
    Column("Reference, \u00b0C", 9.5),
    Column("U (95.45 %), \u03a9", 10.5),
    Column("Coverage factor k", 9),
    Column("Lowest allowed, \u03a9", 12),
    Column("Highest allowed, \u03a9", 12),
    Column("Limit from", 24),
    Column("Chance inside", 8),
    Column("Entries judged together", 12),
    Column("State of the entry", 19),
    Column("Why", 70),
    Column("Rule", 13),
    Column("Leads", 18),
    Column("Meter", 20),
    Column("Where", 15),
    Column("When", 20),
    Column("Who", 12),
    Column("Note", 24),
)
HEADER_ROW: Final = 3
_WHY_WIDTH: Final = next(column.width for column in COLUMNS if column.title == "Why")
_SOURCE_WIDTH: Final = next(column.width for column in COLUMNS if column.title == "Limit from")
_NOTE_WIDTH: Final = COLUMNS[-1].width
VERDICT_COLUMNS: Final = "DF"
_NO_DOUBT_DECIMALS: Final = 3


class Line(NamedTuple):
    """One line of the sheet: an entry, and the judged row where it counts."""

    fate: Fate
    reading: Reading
    case: Case | None


def write_readings(book: Book, fates: Sequence[Fate], cases: Sequence[Case], *, report_id: str) -> None:
    """The sheet with its header, filter and colours."""
    sheet = book.sheet("Readings")
    sheet.text(
        1,
        1,
        "Every reading that was kept. Resistances in ohm at the coil temperature unless said otherwise.",
        MUTED_TEXT,
    )
    header(sheet, HEADER_ROW, COLUMNS)
    lines = _lines(fates, cases)
    for row, line in enumerate(lines, start=HEADER_ROW + 1):
        _write(sheet, row, line)
    last_row = HEADER_ROW + len(lines)
    finish_table(sheet, header_row=HEADER_ROW, columns=len(COLUMNS), last_row=last_row, freeze_column=4)
    for letter in VERDICT_COLUMNS:
        colour_verdicts(sheet, f"{letter}{HEADER_ROW + 1}:{letter}{last_row + 1}")
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW, pages=2)


def _lines(fates: Sequence[Fate], cases: Sequence[Case]) -> list[Line]:
    by_entry: Mapping[int, Case] = {n: case for case in cases for n in case.row.entries}
    return [
        Line(fate, fate.body, by_entry.get(fate.root) if fate.counts else None)
        for fate in fates
        if isinstance(fate.body, Reading)
    ]


def _write(sheet: Sheet, row: int, line: Line) -> None:
    cells = [*_what(line), *_numbers(line), *_origin(line)]
    for column, (value, look) in enumerate(cells, start=1):
        if value is not None:
            sheet.put(row, column, value, look)
    set_height(sheet, row, _lines_needed(line))


def _lines_needed(line: Line) -> int:
    case = line.case
    why = lines_of(" ".join(case.row.reasons), _WHY_WIDTH) if case is not None else 1
    source = lines_of(case.row.limit_source or "", _SOURCE_WIDTH) if case is not None else 1
    return max(why, source, lines_of(line.reading.note or "", _NOTE_WIDTH))


Value = tuple[str | float | None, Look]


def _what(line: Line) -> list[Value]:
    reading, case = line.reading, line.case
    name = TEXT if line.fate.counts else GONE
    what = case.row.what if case is not None else None
    pair = f"{reading.from_node} - {reading.to_node}"
    return [(line.fate.entry.n, WHOLE), (what, name), (pair, name), *_verdicts(case), *_shown(reading)]


def _verdicts(case: Case | None) -> list[Value]:
    if case is None:
        return [(None, VERDICT)] * 3
    judgement = case.judgement
    lean = judgement.lean.value if judgement.lean is not None else None
    return [(VERDICT_TEXT[judgement.verdict], VERDICT), (lean, TEXT), (_word(judgement.plain_verdict), VERDICT)]


def _word(verdict: Verdict | None) -> str | None:
    return VERDICT_TEXT[verdict] if verdict is not None else None


def _shown(reading: Reading) -> list[Value]:
    times = len(reading.repeats_ohm) or 1
    return [(shown(reading), GENERAL), (times, WHOLE), (reading.celsius, TENTHS), (reading.round, WHOLE)]


def shown(reading: Reading) -> str | float | None:
    """What the meter showed, a number [ohm], or the words for an open reading and for two voltages."""
    if reading.open:
        return f"open {open_text(reading.range_ohm)}"
    if reading.volts_x is not None:
        return f"{reading.volts_x:g} V / {reading.volts_check:g} V"
    return reading.displayed_ohm


def _numbers(line: Line) -> list[Value]:
    if line.case is None:
        return [(None, TEXT)] * 10
    judgement = line.case.judgement
    value, limit = value_look(line.case), decimals(_places(line.case))
    limits = judgement.limits
    return [
        (judgement.ohm, value),
        (_open_words(line.case) or judgement.ohm_at_ref, value),
        (judgement.ref_celsius, TENTHS),
        (judgement.U_ohm_at_ref, value),
        (judgement.k_coverage, CHANCE),
        (limits.low_ohm, _limit_look(limits.low_ohm, limit)),
        (limits.high_ohm, _limit_look(limits.high_ohm, limit)),
        (line.case.row.limit_source, WRAPPED),
        (judgement.p_inside, CHANCE),
        (" ".join(str(n) for n in line.case.row.entries), TEXT),
    ]


def _open_words(case: Case) -> str | None:
    return "open" if case.judgement.state is ItemState.OPEN else None


def _places(case: Case) -> int:
    """Decimals that leave two digits of the expanded uncertainty."""
    expanded = case.judgement.U_ohm_at_ref
    return _NO_DOUBT_DECIMALS if expanded is None else decimals_for(expanded)


def value_look(case: Case) -> Look:
    """Value and uncertainty to the same place."""
    return decimals(_places(case))


def _limit_look(ohm: float | None, look: Look) -> Look:
    """A limit as it was stated; a computed one to the place of the value."""
    is_short = ohm is not None and ohm == float(f"{ohm:.6g}")
    return GENERAL if is_short else look


def _where(reading: Reading) -> str:
    """The access point, and where the lever stood if that was said."""
    lever = f", lever in {reading.selector}" if reading.selector else ""
    return f"{reading.at.value.replace('_', ' ')}{lever}"


def _origin(line: Line) -> list[Value]:
    reading, entry, case = line.reading, line.fate.entry, line.case
    why = " ".join(case.row.reasons) if case is not None else None
    rule = RULE_TEXT[case.judgement.rule] if case is not None else None
    return [
        (line.fate.state, TEXT if line.fate.counts else MUTED_TEXT),
        (why, WRAPPED),
        (rule, TEXT),
        (lead_words(reading), TEXT),
        (meter_words(reading), TEXT),
        (_where(reading), TEXT),
        (entry.at, TEXT),
        (entry.by, TEXT),
        (reading.note, WRAPPED),
    ]
