"""The sheet of flex tests: each with its events and its readings, counted again by formulas anyone can follow."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from valvebench.diagnose.flex_words import ENOUGH, event_words
from valvebench.judge.flex import FlexJudgement
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.model.flex import FlexEvent, FlexTest
from valvebench.model.format import decimals_for
from valvebench.model.session import Session
from valvebench.model.words import VERDICT_TEXT
from valvebench.report.cells import Book, Sheet
from valvebench.report.layout import (
    Column,
    lines_of,
    set_height,
)
from valvebench.report.look import (
    GENERAL,
    LIVE,
    LIVE_ANSWER,
    MONO,
    SECTION,
    TEXT,
    VERDICT,
    WHOLE,
    WRAPPED,
    decimals,
)
from valvebench.report.tables import HEADER_ROW, Live, Value, begin, finish, write_heads, write_row

TITLE: Final = "Flex"
_WHY, _NEXT = 56, 40
COLUMNS: Final = (
    Column("Pair or device", 18),
    Column("Verdict", 12),
    Column("What was flexed", 24),
    Column("Why", _WHY),
    Column("What next", _NEXT),
    Column("Readings", 10),
    Column("Open", 10),
    Column("Middle, \u03a9", 11),
    Column("Spread, \u03a9", 11),
    Column("Drift, \u03a9", 11),
    Column("Open, counted again", 11),
    Column("Middle, again, \u03a9", 11),
    Column("Largest change from one reading to the next, \u03a9", 15),
    Column("Chance to miss a contact in one reading of ten", 16),
    Column("Agreement", 12),
    Column("Meter", 18),
    Column("Read from", 34),
    Column("Entries", 14),
    Column("SHA-256 of the file", 58),
)
EVENT_COLUMNS: Final = (
    *("Pair or device", "What", "First reading", "In words", ""),
    *("Readings", "Time, s", "Size, \u03a9", "U, \u03a9"),
)
READING_COLUMNS: Final = ("Pair or device", "Entry", "Reading", "", "", "Shown, \u03a9", "Change, \u03a9")
_K: Final = 2.0
_SHOWN, _CHANGE = "F", "G"
_WORDS: Final = (
    "Each pair that was watched while something was flexed. One opening, or a jump or step beyond its expanded "
    f"uncertainty (k = 2), fails whatever the limits; a steady series of {ENOUGH} readings or more passes for what was "
    "flexed. A calm reading takes nothing of it back. The readings of a typed test stand below, and formulas count "
    "them again; over range counts as open for the program and not for the formula. A logger's file is kept in the "
    "folder blobs of the session under its hash."
)


@dataclass(frozen=True, kw_only=True)
class FlexCase:
    """One judged flex test with the entries it came from."""

    row: Row
    flex: FlexJudgement
    tests: Mapping[int, FlexTest]

    @property
    def name(self) -> str:
        """Device, or the two nodes."""
        return self.row.what.rpartition(",")[0]

    @property
    def log(self) -> FlexTest | None:
        """The entry of a logger's file; None for typed readings."""
        return next((test for test in self.tests.values() if test.is_logged), None)

    @property
    def readings(self) -> list[tuple[int, float | None]]:
        """Entry and what the meter showed, in their order [ohm]; None is open."""
        return [(entry, ohm) for entry, test in self.tests.items() for ohm in test.ohm]


def flex_cases(session: Session, judged: SessionJudgement) -> list[FlexCase]:
    """Every flex test of a session, in the order they began."""
    bodies = {item.n: item.body for item in session.items if isinstance(item.body, FlexTest)}
    return [
        FlexCase(row=row, flex=row.flex, tests={n: bodies[n] for n in row.entries if n in bodies})
        for row in judged.rows
        if row.flex is not None
    ]


def write_flex(book: Book, cases: Sequence[FlexCase], *, report_id: str) -> None:
    """Nothing where nothing was flexed; else results, events, and the readings they came from."""
    if not cases:
        return
    sheet = begin(book, TITLE, _WORDS, COLUMNS, heading="Flex tests")
    last_row = HEADER_ROW + len(cases)
    events_row = last_row + 2
    readings_row = events_row + 3 + sum(len(case.flex.found.events) or 1 for case in cases)
    first = readings_row + 2
    for row, case in enumerate(cases, start=HEADER_ROW + 1):
        count = len(case.readings)
        write_row(sheet, row, _cells(case, first, first + count - 1), COLUMNS)
        first += count
    finish(sheet, COLUMNS, last_row, report_id=report_id)
    _write_events(sheet, events_row, cases)
    _write_readings(sheet, readings_row, cases)


def _cells(case: FlexCase, first: int, last: int) -> list[Value]:
    live = _live(first, last) if case.readings else [(None, TEXT)] * len(_live(first, last))
    return [*_told(case), *_numbers(case), *live, *_taken(case)]


def _live(first: int, last: int) -> list[Value]:
    """What is counted again from the readings in rows `first` to `last`."""
    shown, change = f"${_SHOWN}${first}:${_SHOWN}${last}", f"${_CHANGE}${first}:${_CHANGE}${last}"
    again = f'IF(COUNT({shown})=0,"",MEDIAN({shown}))'
    is_same = f"AND(K{{row}}=G{{row}},IF(COUNT({shown})=0,TRUE,ABS(L{{row}}-H{{row}})<0.000001))"
    return [
        (Live(f'=COUNTIF({shown},"OL")'), WHOLE),
        (Live(f"={again}"), LIVE),
        (Live(f'=IF(COUNT({change})=0,"",MAX(MAX({change}),-MIN({change})))'), LIVE),
        (Live(f"=0.9^COUNT({shown})"), LIVE),
        (Live(f'=IF({is_same},"agrees","differs")'), LIVE_ANSWER),
    ]


def _told(case: FlexCase) -> list[Value]:
    return [
        (case.name, TEXT),
        (VERDICT_TEXT[case.row.verdict], VERDICT),
        (case.flex.flexed, WRAPPED),
        (" ".join(case.row.reasons), WRAPPED),
        (" ".join(case.row.advice), WRAPPED),
    ]


def _numbers(case: FlexCase) -> list[Value]:
    found = case.flex.found
    look = decimals(decimals_for(found.spread_ohm)) if found.spread_ohm else GENERAL
    return [
        (found.n, WHOLE),
        (found.open_n, WHOLE),
        (found.middle_ohm, LIVE),
        (found.spread_ohm, look),
        (found.drift_ohm, look),
    ]


def _taken(case: FlexCase) -> list[Value]:
    found, log = case.flex.found, case.log
    assumed = " (assumed)" if found.meter_is_assumed else ""
    entries = case.row.entries
    told = str(entries[0]) if len(entries) == 1 else f"{entries[0]} to {entries[-1]}"
    return [
        (f"{found.meter} \u03a9{assumed}", WRAPPED),
        (source_words(log) if log is not None else "typed", WRAPPED),
        (told, WRAPPED),
        (log.sha256 if log is not None else None, MONO),
    ]


def source_words(log: FlexTest) -> str:
    """The file of a logger."""
    column = f", column {log.column}" if log.column else ""
    return f"{log.file_name}{column}, {log.size_bytes} bytes"


def _write_events(sheet: Sheet, row: int, cases: Sequence[FlexCase]) -> None:
    sheet.text(row, 1, "Openings, jumps and steps", SECTION)
    write_heads(sheet, row + 1, EVENT_COLUMNS)
    number = row + 2
    for case in cases:
        for event in case.flex.found.events:
            _write_event(sheet, number, case, event)
            number += 1
        if not case.flex.found.events:
            sheet.text(number, 1, case.name, TEXT)
            sheet.text(number, 2, "none", TEXT)
            number += 1


def _write_event(sheet: Sheet, row: int, case: FlexCase, event: FlexEvent) -> None:
    size = event.size_ohm
    look = decimals(decimals_for(_K * size.u)) if size is not None else GENERAL
    cells: tuple[Value, ...] = (
        (case.name, TEXT),
        (event.kind, TEXT),
        (float(event.sample), WHOLE),
        (event_words(event), WRAPPED),
        (None, TEXT),
        (float(event.count), WHOLE),
        (event.t_s, GENERAL),
        (size.value if size is not None else None, look),
        (_K * size.u if size is not None else None, look),
    )
    for column, (value, each) in enumerate(cells, start=1):
        sheet.put(row, column, value, each)
    set_height(sheet, row, lines_of(event_words(event), _WHY))


def _write_readings(sheet: Sheet, row: int, cases: Sequence[FlexCase]) -> None:
    sheet.text(row, 1, "The readings as the meter showed them", SECTION)
    write_heads(sheet, row + 1, READING_COLUMNS)
    number = row + 2
    for case in cases:
        for place, (entry, ohm) in enumerate(case.readings, start=1):
            sheet.text(number, 1, case.name, TEXT)
            sheet.number(number, 2, entry, WHOLE)
            sheet.number(number, 3, place, WHOLE)
            sheet.put(number, 6, "OL" if ohm is None else ohm, GENERAL)
            if place > 1:
                before, here = f"{_SHOWN}{number - 1}", f"{_SHOWN}{number}"
                change = f'=IF(AND(ISNUMBER({before}),ISNUMBER({here})),ROUND({here}-{before},6),"")'
                sheet.formula(number, 7, change, GENERAL)
            number += 1
