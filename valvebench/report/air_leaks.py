"""The sheet of measured leaks: each with its budget, added up again by formulas, and its typed readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from valvebench.judge.leak import LeakJudgement, lines_of
from valvebench.judge.row import Row
from valvebench.judge.session import SessionJudgement
from valvebench.model.air_tests import TYPED_OF, LeakTest
from valvebench.model.format import decimals_for
from valvebench.model.leak import LeakFound
from valvebench.model.session import Session
from valvebench.model.words import VERDICT_TEXT
from valvebench.physics.uncertainty import combine
from valvebench.report.cells import Book, Sheet
from valvebench.report.layout import Column
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
from valvebench.report.tables import (
    HEADER_ROW,
    Live,
    Value,
    agrees_formula,
    begin,
    finish,
    guard_share,
    verdict_formula,
    write_heads,
    write_row,
)
from valvebench.report.words import leak_set_up

TITLE: Final = "Air leaks"
COLUMNS: Final = (
    Column("Port or seat", 14),
    Column("Verdict", 12),
    Column("Method", 10),
    Column("Why", 60),
    Column("What next", 40),
    Column("Leak, ml/min", 11),
    Column("U, ml/min", 11),
    Column("k", 8),
    Column("Told at, kPa gauge", 11),
    Column("Limit, ml/min", 11),
    Column("Share of U asked for by the rule", 12),
    Column("u from the budget", 12),
    Column("k again", 10),
    Column("U again, ml/min", 12),
    Column("Verdict at this pressure, again", 14),
    Column("Agreement", 12),
    Column("Mean over the run, ml/min", 12),
    Column("Conductance, dm\u00b3/(s bar)", 13),
    Column("As a round hole, mm", 11),
    Column("Taken with", 44),
    Column("Gauge", 20),
    Column("Read from", 34),
    Column("Entry", 8),
    Column("SHA-256 of the file", 58),
)
BUDGET_COLUMNS: Final = (
    *(
        "Port or seat",
        "Entry",
        "",
        "Doubt",
        "",
        "u, ml/min",
        "Rectangle",
        "Degrees of freedom",
        "u\u00b2",
        "u\u2074 / degrees",
    ),
    "Share",
)
READING_COLUMNS: Final = ("Port or seat", "Entry", "Reading", "What", "", "Shown")
_K: Final = 2.0
_WORDS: Final = (
    "Every leak that was measured. A leak is held against the most the port, or the seat of the solenoid, may lose at "
    "the pressure that limit is stated for; at another pressure it proves what a leak proves that grows with its "
    "pressure. The budget below is added up again by formulas, and the verdict at the pressure of the test follows "
    "from it; where the two verdicts differ, \u201cWhy\u201d says what else counts. Volumes at the reference that is "
    "named. A file is kept in the folder blobs of the session under its hash."
)
_UNIT_OF: Final = {"t_s": "s"}


class LeakCase(NamedTuple):
    """One judged leak with its entry."""

    row: Row
    leak: LeakJudgement
    test: LeakTest

    @property
    def place(self) -> str:
        """The port, or the solenoid with its seat."""
        return f"{self.test.of}, seat" if self.test.is_seat else self.test.of

    @property
    def entry(self) -> int:
        """The number of its entry."""
        return self.row.entries[0]


def leak_cases(session: Session, judged: SessionJudgement) -> list[LeakCase]:
    """Every measured leak of a session, in the order of the entries."""
    bodies: Mapping[int, LeakTest] = {i.n: i.body for i in session.items if isinstance(i.body, LeakTest)}
    return [LeakCase(row, row.leak, bodies[row.entries[0]]) for row in judged.rows if row.leak is not None]


def write_leaks(book: Book, cases: Sequence[LeakCase], *, report_id: str) -> None:
    """Nothing where no leak was measured; else results, budgets, and the typed readings."""
    if not cases:
        return
    sheet = begin(book, TITLE, _WORDS, COLUMNS)
    last_row = HEADER_ROW + len(cases)
    first = last_row + 4
    for row, case in enumerate(cases, start=HEADER_ROW + 1):
        count = len(case.leak.found.lines)
        write_row(sheet, row, _cells(case, first, first + count - 1), COLUMNS)
        first += count
    finish(sheet, COLUMNS, last_row, report_id=report_id)
    _write_budgets(sheet, last_row + 2, cases)
    _write_readings(sheet, first + 1, cases)


def _cells(case: LeakCase, first: int, last: int) -> list[Value]:
    return [*_told(case), *_numbers(case), *_live(case, first, last), *_hole(case.leak.found), *_taken(case)]


def _told(case: LeakCase) -> list[Value]:
    return [
        (case.place, TEXT),
        (VERDICT_TEXT[case.row.verdict], VERDICT),
        (case.test.method.value, TEXT),
        (" ".join(case.row.reasons), WRAPPED),
        (" ".join(case.row.advice), WRAPPED),
    ]


def _numbers(case: LeakCase) -> list[Value]:
    leak, found = case.leak, case.leak.found
    is_told = found.leak_ml_min is not None
    look = decimals(decimals_for(leak.U_ml_min)) if is_told else GENERAL
    return [
        (found.leak_ml_min.value if found.leak_ml_min is not None else None, look),
        (leak.U_ml_min if is_told else None, look),
        (leak.k_coverage if is_told else None, LIVE),
        (found.at_kpa_gauge, decimals(1)),
        (leak.max_ml_min, GENERAL),
        (guard_share(leak.rule, combine(lines_of(found.lines))) if found.lines else None, LIVE),
    ]


def _live(case: LeakCase, first: int, last: int) -> list[Value]:
    found = case.leak.found
    if found.leak_ml_min is None or not found.lines:
        return [(None, TEXT)] * 5
    u, flat = f"$F${first}:$F${last}", f"$G${first}:$G${last}"
    largest = f"SUMPRODUCT(MAX({u}*({flat}=1)))"
    weight = f"SUM($J${first}:$J${last})"
    nu = f"SUMSQ({u})^2/{weight}"
    many = f"IF({nu}>1000,2,TINV(1-0.9545,MAX(INT({nu}*(1+0.000000001)),1)))"
    dominated = f"{largest}^2>3.33^2*(SUMSQ({u})-{largest}^2)"
    return [
        (Live(f"=SQRT(SUMSQ({u}))"), LIVE),
        (Live(f"=IF({dominated},0.9545*SQRT(3),IF({weight}=0,2,{many}))"), LIVE),
        (Live("=L{row}*M{row}"), LIVE),
        (verdict_formula("F{row}", "K{row}*N{row}", high="J{row}"), LIVE_ANSWER),
        (agrees_formula(("H{row}", "M{row}"), ("G{row}", "N{row}")), LIVE_ANSWER),
    ]


def _hole(found: LeakFound) -> list[Value]:
    mean, c, mm = found.mean_leak_ml_min, found.conductance_dm3_s_bar, found.orifice_mm
    return [
        (one.value if one is not None else None, decimals(decimals_for(_K * one.u)) if one is not None else GENERAL)
        for one in (mean, c, mm)
    ]


def _taken(case: LeakCase) -> list[Value]:
    test, found = case.test, case.leak.found
    assumed = " (assumed)" if found.gauge_is_assumed else ""
    name = f"{test.gauge_id}, " if test.gauge_id else ""
    source = f"{test.file_name}, {test.size_bytes} bytes" if test.is_logged else "typed"
    return [
        (leak_set_up(test), WRAPPED),
        (f"{name}{found.gauge}{assumed}", WRAPPED),
        (source, WRAPPED),
        (float(case.entry), WHOLE),
        (test.sha256, MONO),
    ]


def _write_budgets(sheet: Sheet, row: int, cases: Sequence[LeakCase]) -> None:
    sheet.text(row, 1, "The budgets, line by line", SECTION)
    write_heads(sheet, row + 1, BUDGET_COLUMNS)
    number = row + 2
    for case in cases:
        lines = case.leak.found.lines
        whole = f"SUM($I${number}:$I${number + len(lines) - 1})"
        for line in lines:
            cells: list[Value] = [
                (case.place, TEXT),
                (float(case.entry), WHOLE),
                (None, TEXT),
                (line.term, TEXT),
                (None, TEXT),
                (line.u_ml_min, GENERAL),
                (1.0 if line.is_rectangular else 0.0, WHOLE),
                ("infinite" if line.dof is None else line.dof, GENERAL),
                (Live("=F{row}^2"), GENERAL),
                (Live("=IF(ISNUMBER(H{row}),F{row}^4/H{row},0)"), GENERAL),
                (Live(f"=I{{row}}/{whole}"), decimals(3)),
            ]
            write_row(sheet, number, cells, COLUMNS)
            number += 1


def _write_readings(sheet: Sheet, row: int, cases: Sequence[LeakCase]) -> None:
    typed = [case for case in cases if not case.test.is_logged]
    if not typed:
        return
    sheet.text(row, 1, "The readings that were typed", SECTION)
    write_heads(sheet, row + 1, READING_COLUMNS)
    number = row + 2
    for case in typed:
        for name in TYPED_OF[case.test.method]:
            for place, value in enumerate(getattr(case.test, name), start=1):
                words = f"{name.replace('_', ' ')}, {_UNIT_OF.get(name, 'kPa')}"
                cells: list[Value] = [(case.place, TEXT), (float(case.entry), WHOLE), (float(place), WHOLE)]
                write_row(sheet, number, [*cells, (words, TEXT), (None, TEXT), (value, GENERAL)], COLUMNS)
                number += 1
