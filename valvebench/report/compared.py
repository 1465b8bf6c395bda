"""The sheet Compare: two bodies pair by pair, each difference again by formulas of its own row."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from valvebench.diagnose.compare import Detail
from valvebench.diagnose.compare_doubt import Budget, Part
from valvebench.diagnose.compared import Compared, Side
from valvebench.diagnose.comparison import ANSWER_TEXT, Comparison, amount_text, comparison, state_text
from valvebench.model.session import Session
from valvebench.physics.uncertainty import INFINITE, Line
from valvebench.report.cells import Book, Sheet
from valvebench.report.compared_air import write_compared_air
from valvebench.report.compared_formulas import COLUMN, FORMULAS, HEADINGS, RECTANGLES, formula_at, letter
from valvebench.report.layout import embolden, finish_table, group_headings, paragraph, set_page
from valvebench.report.look import ANSWER, FULL, GENERAL, LIVE, LIVE_ANSWER, QUIET, SECTION, SENTENCE, TEXT, WHOLE

TITLE: Final = "Compare"
GROUP_ROW: Final = 6
HEADER_ROW: Final = 7
_PAGES_WIDE: Final = 5
_WIDE: Final = 9
"""Columns that words above the table run over: as far as one printed page."""
_INTRODUCTION: Final = (
    "This body against another one, without limits: a difference is no verdict. What both readings share (one meter, "
    "one set of leads, one room) cancels in a difference; what is each reading's own does not. Every difference is "
    "computed again from the inputs of its row, that of leaks and pressures below the notes; the column "
    "\u201cAgreement\u201d says whether that is what the program said."
)
_WORDS: Final = frozenset({"answer", "agrees"})
_GIVEN: Final = "given"
_AS_GIVEN: Final = frozenset({"gain", "k_celsius", "slope", "a_celsius", "b_celsius"})


def write_compared(book: Book, here: Side, other: Side, *, report_id: str) -> None:
    """The sheet of a comparison, with live formulas and below them what does not cancel."""
    found = comparison(here, other)
    sheet = book.sheet(TITLE)
    _write_head(sheet, found, here.session, other.session)
    group_headings(sheet, HEADINGS, group_row=GROUP_ROW, header_row=HEADER_ROW)
    for row, detail in enumerate(found.details, start=HEADER_ROW + 1):
        _write_row(sheet, row, detail)
    last_row = HEADER_ROW + max(len(found.details), 1)
    finish_table(sheet, header_row=HEADER_ROW, columns=len(HEADINGS), last_row=last_row, freeze_column=2)
    for key in ("answer", "p_answer"):
        embolden(sheet, f"{letter(key)}{HEADER_ROW + 1}:{letter(key)}{last_row}", ANSWER_TEXT[True])
    below = _write_notes(sheet, found, last_row + 2)
    write_compared_air(sheet, found.details, below + 1)
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW, pages=_PAGES_WIDE)


def _write_head(sheet: Sheet, found: Comparison, here: Session, other: Session) -> None:
    names = f"{_name(here)} compared with {_name(other)}"
    paragraph(sheet, 1, TITLE, SECTION, columns=_WIDE, characters=100)
    paragraph(sheet, 2, f"{found.sentence}.", SENTENCE, columns=_WIDE, characters=80)
    paragraph(sheet, 3, names, QUIET, columns=_WIDE, characters=110)
    paragraph(sheet, 4, _INTRODUCTION, QUIET, columns=_WIDE, characters=105)


def _name(session: Session) -> str:
    serial = f", serial {session.job.serial}" if session.job.serial else ""
    return f"Job {session.job.job}{serial}, head {session.head}"


def _write_row(sheet: Sheet, row: int, detail: Detail) -> None:
    compared = detail.compared
    sheet.text(row, COLUMN["what"], compared.what)
    sheet.text(row, COLUMN["p_answer"], ANSWER_TEXT[compared.significant], ANSWER)
    sheet.text(row, COLUMN["why"], _why(compared), TEXT)
    if detail.budget is None:
        _write_states(sheet, row, detail)
        return
    _write_inputs(sheet, row, detail.budget)
    for key in FORMULAS:
        look = LIVE_ANSWER if key in _WORDS else WHOLE if key == "dominated" else LIVE
        sheet.formula(row, COLUMN[key], formula_at(key, row), look)
    numbers = {"p_difference": compared.difference, "p_u": compared.u_difference, "p_k": compared.k}
    for key, number in numbers.items():
        if number is not None:
            sheet.number(row, COLUMN[key], number, FULL)


def _why(compared: Compared) -> str:
    """What cancels; a difference that is no resistance stands here with its unit, as the columns hold ohm."""
    if compared.unit in ("", "ohm") or compared.difference is None or compared.u_difference is None:
        return compared.why
    by = amount_text(compared, compared.difference, (compared.k or 0.0) * compared.u_difference)
    return f"Difference {by}. {compared.why}"


def _write_states(sheet: Sheet, row: int, detail: Detail) -> None:
    """Heard, open, or not to be told: nothing to compute, and the answer stands as it was given."""
    compared = detail.compared
    sheet.text(row, COLUMN["a_ohm"], state_text(compared.a, compared.unit))
    sheet.text(row, COLUMN["b_ohm"], state_text(compared.b, compared.unit))
    sheet.text(row, COLUMN["answer"], ANSWER_TEXT[compared.significant], ANSWER)


def _write_inputs(sheet: Sheet, row: int, budget: Budget) -> None:
    law = budget.law
    numbers = {"gain": budget.gain_percent, "k_celsius": law.k_celsius if law is not None else None}
    if law is not None and law.k_celsius is None:
        numbers["slope"] = law.slope_per_celsius
    for side, part in (("a", budget.a), ("b", budget.b)):
        numbers |= _part_inputs(side, part)
        terms = "; ".join(line.term for line in (*_rectangles(part), *_bells(part)))
        sheet.text(row, COLUMN[f"{side}_terms"], terms)
    for key, number in numbers.items():
        if number is not None:
            sheet.number(row, COLUMN[key], number, GENERAL if key in _AS_GIVEN or key.endswith("_dof") else LIVE)


def _rectangles(part: Part) -> Sequence[Line]:
    return [line for line in part.lines if line.is_rectangular]


def _bells(part: Part) -> Sequence[Line]:
    return [line for line in part.lines if not line.is_rectangular]


def _part_inputs(side: str, part: Part) -> dict[str, float | None]:
    rectangles = _rectangles(part)
    if len(rectangles) > RECTANGLES:
        raise ValueError(f"{len(rectangles)} rectangles, the sheet has room for {RECTANGLES}")
    numbers: dict[str, float | None] = {f"{side}_ohm": part.ohm, f"{side}_celsius": part.celsius}
    numbers |= {f"{side}_r{n}": float(line.u_ohm) for n, line in enumerate(rectangles, start=1)}
    for line in _bells(part):
        # Repeats stand in the second place, where their degrees of freedom are asked for.
        numbers[f"{side}_n{1 if line.term == _GIVEN else 2}"] = float(line.u_ohm)
        numbers[f"{side}_dof"] = line.dof if line.dof != INFINITE else numbers.get(f"{side}_dof")
    if part.u_celsius is not None:
        numbers[f"{side}_w{'r' if part.u_celsius.is_rectangular else 'n'}"] = float(part.u_celsius.u_ohm)
    return numbers


def _write_notes(sheet: Sheet, found: Comparison, row: int) -> int:
    only = ((found.only_a, "this body"), (found.only_b, "the other body"))
    lines = [f"Read on {words} only: {', '.join(pairs)}." for pairs, words in only if pairs]
    told = (*lines, *found.notes)
    for place, words in enumerate(told, start=row):
        paragraph(sheet, place, words, QUIET, columns=_WIDE, characters=105)
    return row + len(told)
