"""Raw values and live formulas: anyone can follow a judgement, change an input and see what happens."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from valvebench.model.format import OHM
from valvebench.model.words import RULE_TEXT, VERDICT_TEXT
from valvebench.report import formulas
from valvebench.report.cases import Case
from valvebench.report.cells import Book, Sheet
from valvebench.report.formulas import COLUMN, HEADINGS, Template, letter
from valvebench.report.layout import (
    Column,
    colour_verdicts,
    finish_table,
    group_headings,
    header,
    paragraph,
    set_page,
)
from valvebench.report.look import (
    FULL,
    GENERAL,
    LIVE,
    LIVE_WORD,
    QUIET,
    SECTION,
    TEXT,
    VERDICT,
    WHOLE,
    Look,
)
from valvebench.report.working import RAW_TITLE, Working, inputs, way_text

TITLE: Final = "Workings"
GROUP_ROW: Final = 4
HEADER_ROW: Final = 5
RAW_HEADER_ROW: Final = 3
_PAGES_WIDE: Final = 5  # eighty columns on one page could not be read
_INTRODUCTION: Final = (
    "Every judged reading again, from its raw inputs, by formulas of this sheet alone. The last column says "
    "whether they agree with what the program judged (values to a thousand-millionth part). Change an input "
    "to see what it does; the columns \u201cAs the program judged\u201d stay. The formulas are computed when "
    "an office program opens this file."
)
_WORDS: Final = frozenset({"verdict", "lean", "plain", "agrees"})
_WHOLE_NUMBERS: Final = frozenset({"dominated", "freedom"})
_RAW_COLUMNS: Final = (
    Column("Line in Workings", 9),
    Column("Entry", 8),
    Column("Between", 14),
    Column(f"Meter showed, {OHM}", 14),
    Column("Coil, \u00b0C", 10),
    Column(f"Carried to the mean temperature, {OHM} (live)", 20),
    Column("First value of the entry (1 = yes)", 11),
)
_ENOUGH_REPEATS: Final = 5


def write_workings(book: Book, cases: Sequence[Case], *, report_id: str) -> None:
    """The sheet of formulas and the sheet of raw values they read."""
    works = _workings(cases)
    sheet = book.sheet(TITLE)
    paragraph(sheet, 1, TITLE, SECTION, columns=12, characters=140)
    paragraph(sheet, 2, _INTRODUCTION, QUIET, columns=14, characters=130)
    group_headings(sheet, HEADINGS, group_row=GROUP_ROW, header_row=HEADER_ROW)
    last_row = HEADER_ROW + max(len(works), 1)
    writer = _Writer(sheet, first_row=HEADER_ROW + 1, last_row=last_row)
    for work in works:
        writer.write(work)
    _finish(sheet, last_row, report_id)
    _write_raw(book.sheet(RAW_TITLE), works, report_id=report_id)


def _workings(cases: Sequence[Case]) -> list[Working]:
    works: list[Working] = []
    raw_row, numbers, steps = RAW_HEADER_ROW + 1, dict[tuple[str, str], int](), _pool_steps(cases)
    for row, case in enumerate(cases, start=HEADER_ROW + 1):
        number = numbers.setdefault(case.set_up, len(numbers) + 1)
        pool_step = steps.get(case.set_up, case.reading.meter_spec().step)
        work = Working(case, row=row, raw_first=raw_row, set_up=number, pool_step=pool_step)
        raw_row += len(work.shown)
        works.append(work)
    return works


def _pool_steps(cases: Sequence[Case]) -> dict[tuple[str, str], float]:
    """Display step [ohm] of each set-up: that of its first repeated readings."""
    steps: dict[tuple[str, str], float] = {}
    for case in cases:
        if len(case.reading.repeats_ohm) > 1:
            steps.setdefault(case.set_up, case.reading.meter_spec().step)
    return steps


def _finish(sheet: Sheet, last_row: int, report_id: str) -> None:
    finish_table(sheet, header_row=HEADER_ROW, columns=len(HEADINGS), last_row=last_row, freeze_column=4)
    for key in ("verdict", "plain", "p_verdict", "p_plain"):
        colour_verdicts(sheet, f"{letter(key)}{HEADER_ROW + 1}:{letter(key)}{last_row}")
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW, pages=_PAGES_WIDE)


class _Writer:
    """Fills rows; every formula is laid out once and used for all rows."""

    def __init__(self, sheet: Sheet, *, first_row: int, last_row: int) -> None:
        self._sheet = sheet
        self._rows = {"first_row": first_row, "last_row": last_row}
        self._templates: dict[str, Template] = {}

    def write(self, work: Working) -> None:
        """One row."""
        self._names(work)
        self._inputs(work)
        self._program(work)
        if work.is_open:
            self._formulas(work, formulas.OPEN)
            self._factor(work)
        else:
            self._value(work)

    def _formula(self, work: Working, key: str, formula: str) -> None:
        if formula not in self._templates:
            self._templates[formula] = formulas.template(formula, **self._rows)
        self._sheet.formula(work.row, COLUMN[key], self._templates[formula].at(work.row), _look(key))

    def _formulas(self, work: Working, wanted: Mapping[str, str]) -> None:
        for key, formula in wanted.items():
            self._formula(work, key, formula)

    def _names(self, work: Working) -> None:
        self._sheet.number(work.row, COLUMN["line"], work.row - HEADER_ROW, WHOLE)
        self._sheet.text(work.row, COLUMN["what"], work.case.row.what)
        self._sheet.text(work.row, COLUMN["entries"], " ".join(str(n) for n in work.case.row.entries))
        self._sheet.text(work.row, COLUMN["way"], way_text(work))

    def _inputs(self, work: Working) -> None:
        for key, number in inputs(work).items():
            if number is not None:
                self._sheet.number(work.row, COLUMN[key], number)
        self._sheet.text(work.row, COLUMN["rule"], RULE_TEXT[work.judgement.rule])
        if work.shown:
            self._live_raw(work)
        else:
            self._sheet.number(work.row, COLUMN["celsius"], work.case.reading.celsius)

    def _live_raw(self, work: Working) -> None:
        row = work.row
        self._sheet.formula(row, COLUMN["times"], f"=COUNT({work.raw('D')})", WHOLE)
        self._sheet.formula(row, COLUMN["shown"], f"=AVERAGE({work.raw('F')})", GENERAL)
        self._sheet.formula(row, COLUMN["celsius"], self._mean_celsius(work), GENERAL)

    def _mean_celsius(self, work: Working) -> str:
        """The mean over entries: an entry with repeats counts once, as its temperature was taken once."""
        entries = len({entry for entry, _, _ in work.shown})
        if entries in (1, len(work.shown)):
            return f"=AVERAGE({work.raw('E')})"
        return f"=SUMPRODUCT({work.raw('E')},{work.raw('G')})/SUM({work.raw('G')})"

    def _value(self, work: Working) -> None:
        self._own_lines(work)
        self._factor(work)
        self._spread(work)
        if work.is_not_usable:
            self._formulas(work, formulas.NOT_USABLE)
            return
        self._temperature(work)
        self._repeats(work)
        self._formulas(work, formulas.COMMON)
        if work.judgement.limits.is_stated:
            self._formulas(work, formulas.CHANCE)

    def _factor(self, work: Working) -> None:
        if work.judgement.limits.k_celsius is None:
            self._sheet.number(work.row, COLUMN["factor"], 1)
        else:
            self._formula(work, "factor", formulas.FACTOR)

    def _own_lines(self, work: Working) -> None:
        own = formulas.WAYS[work.way]
        if work.is_not_usable or work.instrument.u_ohm is not None:
            own = {key: formula for key, formula in own.items() if not key.startswith("r_")}
        if work.instrument.u_ohm is not None:
            own = own | {"n_given": formulas.GIVEN}
        self._formulas(work, own)

    def _temperature(self, work: Working) -> None:
        limits, reading = work.judgement.limits, work.case.reading
        is_copper = limits.k_celsius is not None
        if is_copper or limits.slope_per_celsius:
            per_kelvin = formulas.PER_KELVIN_COPPER if is_copper else formulas.PER_KELVIN_SENSOR
            given = reading.u_celsius is not None
            key, tail = ("n_celsius", "{u_celsius}") if given else ("r_celsius", "{half_width}/SQRT(3)")
            self._formula(work, key, f"{per_kelvin}*{tail}")
        if is_copper and not limits.is_ref_stated:
            self._formula(work, "r_ref", formulas.REFERENCE)

    def _spread(self, work: Working) -> None:
        if len(work.shown) > 1:
            self._sheet.formula(work.row, COLUMN["squares"], f"=DEVSQ({work.raw('F')})", LIVE)
            self._formula(work, "freedom", "{times}-1")

    def _repeats(self, work: Working) -> None:
        times = len(work.shown)
        if times <= 1:
            return
        own = times >= _ENOUGH_REPEATS
        self._formula(work, "spread", formulas.OWN_SPREAD if own else formulas.POOLED_SPREAD)
        self._formula(work, "n_repeats", formulas.REPEATS_CHECK if work.way == "check" else formulas.REPEATS)

    def _program(self, work: Working) -> None:
        judgement, row = work.judgement, work.row
        numbers = {
            "p_value": judgement.ohm,
            "p_at_ref": judgement.ohm_at_ref,
            "p_u": judgement.u_ohm_at_ref,
            "p_k": judgement.k_coverage,
            "p_U": judgement.U_ohm_at_ref,
            "p_chance": judgement.p_inside,
        }
        for key, number in numbers.items():
            if number is not None:
                self._sheet.number(row, COLUMN[key], number, FULL)
        self._sheet.text(row, COLUMN["p_verdict"], VERDICT_TEXT[judgement.verdict], VERDICT)
        if judgement.lean is not None:
            self._sheet.text(row, COLUMN["p_lean"], judgement.lean.value, VERDICT)
        if judgement.plain_verdict is not None:
            self._sheet.text(row, COLUMN["p_plain"], VERDICT_TEXT[judgement.plain_verdict], VERDICT)


def _look(key: str) -> Look:
    if key in _WORDS:
        return LIVE_WORD
    return WHOLE if key in _WHOLE_NUMBERS else LIVE


def _write_raw(sheet: Sheet, works: Sequence[Working], *, report_id: str) -> None:
    """Every single displayed value, in the order in which the workings read them."""
    sheet.text(
        1, 1, "Every displayed value that counts; the sheet Workings reads them here.", QUIET._replace(is_wrapped=False)
    )
    header(sheet, RAW_HEADER_ROW, _RAW_COLUMNS)
    row = RAW_HEADER_ROW
    for work in works:
        before = 0
        for row, value in enumerate(work.shown, start=work.raw_first):
            _write_raw_row(sheet, row, work, value)
            sheet.number(row, 7, int(value[0] != before), WHOLE)
            before = value[0]
    finish_table(sheet, header_row=RAW_HEADER_ROW, columns=len(_RAW_COLUMNS), last_row=row)
    set_page(sheet, report_id=report_id, is_landscape=False, repeat_row=RAW_HEADER_ROW)


def _write_raw_row(sheet: Sheet, row: int, work: Working, value: tuple[int, float, float]) -> None:
    entry, ohm, celsius = value
    reading = work.case.reading
    sheet.number(row, 1, work.row - HEADER_ROW, WHOLE)
    sheet.number(row, 2, entry, WHOLE)
    sheet.text(row, 3, f"{reading.from_node} - {reading.to_node}", TEXT)
    sheet.number(row, 4, ohm)
    sheet.number(row, 5, celsius)
    sheet.formula(row, 6, _carried(work, row), GENERAL)


def _carried(work: Working, row: int) -> str:
    """To the mean temperature by the conductor law; other kinds stay as they are."""
    if work.judgement.limits.k_celsius is None:
        return f"=D{row}"
    constant, mean = (f"{TITLE}!${letter(key)}${work.row}" for key in ("k_celsius", "celsius"))
    return f"=D{row}*(({constant}+{mean})/({constant}+E{row}))"
