"""The sheet Matched sets: solenoids that ought to be equal, and which one is odd, by formulas of this sheet."""

from __future__ import annotations

import re
from types import MappingProxyType
from typing import Final

from openpyxl.utils import get_column_letter

from valvebench.bench.matched import MatchedSets, matched_of
from valvebench.diagnose.matched import FEWEST, MatchedSet, Member
from valvebench.diagnose.matched_words import ANSWER_TEXT, about, odd_of, sentence_of, title_of
from valvebench.model.format import OHM
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.physics.outliers import NORMAL_MAD, ODD_FROM
from valvebench.report.cells import Book, Sheet
from valvebench.report.formulas import Heading
from valvebench.report.layout import embolden, group_headings, paragraph, set_page
from valvebench.report.look import ANSWER, FULL, GENERAL, LIVE, LIVE_ANSWER, QUIET, SECTION, SENTENCE, TENTHS, TEXT

TITLE: Final = "Matched sets"
GROUP_ROW: Final = 6
HEADER_ROW: Final = 7
_PAGES_WIDE: Final = 2
_WIDE: Final = 11
"""Columns that words above and below the table run over: as far as one printed page."""
_INTRODUCTION: Final = (
    "No limits are needed: solenoids of one set, read in the same way at one temperature, are held against each other, "
    "and what they share (meter, leads, room) cancels. Modified z (Iglewicz and Hoaglin): "
    f"{NORMAL_MAD:g} times the distance from the median, over the median of all distances; that median is never taken "
    f"smaller than what the meter\u2019s own step leaves open. Odd is what lies beyond {ODD_FROM:g}. "
    "Rows of one set belong together: do not sort them apart."
)
_LIVE: Final = "Result (live)"
_INPUTS: Final = "Raw inputs"
_STEPS: Final = "Steps (live)"
_PROGRAM: Final = "As the program said"
HEADINGS: Final = (
    Heading("set", "Set", 20.0, "What"),
    Heading("celsius", "Read at, \u00b0C", 8.0, "What"),
    Heading("what", "Solenoid", 18.0, "What"),
    Heading("at_20", f"At 20 \u00b0C, {OHM}", 12.0, _LIVE),
    Heading("median", f"Median, {OHM}", 12.0, _LIVE),
    Heading("distance", f"From the median, {OHM}", 12.0, _LIVE),
    Heading("z", "Modified z", 10.0, _LIVE),
    Heading("answer", "Answer", 14.0, _LIVE),
    Heading("ohm", f"After leads, {OHM}", 12.0, _INPUTS),
    Heading("coil", "Coil, \u00b0C", 9.0, _INPUTS),
    Heading("k_celsius", "Conductor constant, \u00b0C", 12.0, _INPUTS),
    Heading("u", f"Own standard uncertainty at 20 \u00b0C, {OHM}", 13.0, _INPUTS),
    Heading("away", f"Distance without sign, {OHM}", 12.0, _STEPS),
    Heading("mad", f"Median of the distances, {OHM}", 12.0, _STEPS),
    Heading("floor", f"Floor: what the meter leaves open, {OHM}", 14.0, _STEPS),
    Heading("spread", f"Measured by, {OHM}", 12.0, _STEPS),
    Heading("p_median", f"Median, {OHM}", 13.0, _PROGRAM),
    Heading("p_z", "Modified z", 13.0, _PROGRAM),
    Heading("p_answer", "Answer", 14.0, _PROGRAM),
    Heading("agrees", "Agreement (live)", 12.0, _PROGRAM),
    Heading("entries", "Entries", 16.0, _PROGRAM),
)
COLUMN: Final = MappingProxyType({heading.key: number for number, heading in enumerate(HEADINGS, start=1)})
AT_20: Final = "{ohm}*({k_celsius}+20)/({k_celsius}+{coil})"
_ODD, _EVEN, _UNCLEAR = (f'"{ANSWER_TEXT[answer]}"' for answer in (True, False, None))
# `{key}` is the cell of this row, `{key*}` the cells of the whole set.
FORMULAS: Final = MappingProxyType(
    {
        "median": "MEDIAN({at_20*})",
        "distance": "{at_20}-{median}",
        "away": "ABS({distance})",
        "mad": "MEDIAN({away*})",
        "floor": f"{NORMAL_MAD:g}*MAX({{u*}})",
        "spread": "MAX({mad},{floor})",
        "z": f'IF(OR(COUNT({{at_20*}})<{FEWEST},{{spread}}<=0),"",{NORMAL_MAD:g}*{{distance}}/{{spread}})',
        "answer": f"IF(ISNUMBER({{z}}),IF(ABS({{z}})>{ODD_FROM:g},{_ODD},{_EVEN}),{_UNCLEAR})",
        "agrees": (
            "IF(AND(ABS({median}-{p_median})<=1E-9*{p_median},{answer}={p_answer},"
            'IF(ISNUMBER({z}),ABS({z}-{p_z})<=1E-6*MAX(1,ABS({p_z})),{p_z}="")),"agrees","differs")'
        ),
    }
)
_WORDS: Final = frozenset({"answer", "agrees"})
_ZONE: Final = re.compile(r"\{(\w+)(\*?)\}")
_LINE: Final = TEXT._replace(is_wrapped=True, is_ruled=False)


def write_matched(book: Book, session: Session, variant: Variant | None, *, report_id: str) -> None:
    """The sheet, where there is a set at all."""
    found = matched_of(session, variant)
    if not found.sets:
        return
    sheet = book.sheet(TITLE)
    paragraph(sheet, 1, TITLE, SECTION, columns=_WIDE, characters=120)
    paragraph(sheet, 2, _sentence(found), SENTENCE, columns=_WIDE, characters=105)
    paragraph(sheet, 3, found.note, QUIET, columns=_WIDE, characters=145)
    paragraph(sheet, 4, _INTRODUCTION, QUIET, columns=_WIDE, characters=145)
    group_headings(sheet, HEADINGS, group_row=GROUP_ROW, header_row=HEADER_ROW)
    row = HEADER_ROW + 1
    for one in found.sets:
        _write_set(sheet, row, one)
        row += len(one.members)
    # No filter: sorted apart, the rows would read the median of another set.
    sheet.worksheet.freeze_panes = f"D{HEADER_ROW + 1}"
    for key in ("answer", "p_answer"):
        embolden(sheet, f"{_letter(key)}{HEADER_ROW + 1}:{_letter(key)}{row - 1}", ANSWER_TEXT[True])
    for place, one in enumerate(found.sets, start=row + 1):
        words = f"{title_of(one)}: {sentence_of(one)} {about(one)}"
        paragraph(sheet, place, words, _LINE, columns=_WIDE, characters=145)
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW, pages=_PAGES_WIDE)


def _sentence(found: MatchedSets) -> str:
    """The odd ones of all sets, or that there is none."""
    odd = [one for one in found.sets if odd_of(one)]
    if odd:
        return " ".join(f"{title_of(one)}: {sentence_of(one)}" for one in odd)
    if all(one.why for one in found.sets):
        return "Which one is odd cannot be told."
    return "No solenoid stands out of its set."


def _write_set(sheet: Sheet, first_row: int, one: MatchedSet) -> None:
    last_row = first_row + len(one.members) - 1
    for row, member in enumerate(one.members, start=first_row):
        sheet.text(row, COLUMN["set"], one.name)
        sheet.number(row, COLUMN["celsius"], one.celsius, TENTHS)
        _write_member(sheet, row, member)
        for key, formula in FORMULAS.items():
            look = LIVE_ANSWER if key in _WORDS else LIVE
            sheet.formula(row, COLUMN[key], _formula(formula, row, first_row, last_row), look)
        sheet.number(row, COLUMN["p_median"], one.median_ohm, FULL)


def _write_member(sheet: Sheet, row: int, member: Member) -> None:
    sheet.text(row, COLUMN["what"], member.name)
    sheet.number(row, COLUMN["u"], member.u_ohm, FULL)
    if len(member.reads) == 1:
        read = member.reads[0]
        sheet.number(row, COLUMN["ohm"], read.ohm, LIVE)
        sheet.number(row, COLUMN["coil"], read.celsius, GENERAL)
        sheet.number(row, COLUMN["k_celsius"], read.k_celsius, GENERAL)
        sheet.formula(row, COLUMN["at_20"], _formula(AT_20, row, row, row), LIVE)
    else:
        sheet.text(row, COLUMN["ohm"], f"mean of {len(member.reads)}")
        sheet.number(row, COLUMN["at_20"], member.ohm, FULL)
    if member.modified_z is not None:
        sheet.number(row, COLUMN["p_z"], member.modified_z, FULL)
    sheet.text(row, COLUMN["p_answer"], ANSWER_TEXT[member.is_odd], ANSWER)
    sheet.text(row, COLUMN["entries"], " ".join(str(n) for read in member.reads for n in read.entries))


def _letter(key: str) -> str:
    return str(get_column_letter(COLUMN[key]))


def _formula(formula: str, row: int, first_row: int, last_row: int) -> str:
    def cell(found: re.Match[str]) -> str:
        letters = _letter(found[1])
        return f"${letters}${first_row}:${letters}${last_row}" if found[2] else f"{letters}{row}"

    return "=" + _ZONE.sub(cell, formula)
