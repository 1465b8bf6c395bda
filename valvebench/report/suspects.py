"""The sheet Suspects: what was complained of, what changes in that shift, what was suspected and where each stands."""

from __future__ import annotations

from typing import Final

from valvebench.bench.suspecting import Suspicion
from valvebench.diagnose.suspected import Suspect, Suspected
from valvebench.diagnose.suspects_weights import family_of
from valvebench.diagnose.suspects_words import NO_CHANCE, STATE_TEXT, changes_lines, complaint_text
from valvebench.report.cells import Book, Sheet
from valvebench.report.layout import (
    Column,
    embolden,
    finish_table,
    header,
    lines_of,
    paragraph,
    set_height,
    set_page,
)
from valvebench.report.look import QUIET, SECTION, SENTENCE, TEXT, WHOLE, WRAPPED, Look, decimals

TITLE: Final = "Suspects"
HEADER_ROW: Final = 7
_WHY, _TESTS, _WHAT = 52, 50, 26
COLUMNS: Final = (
    Column("Order", 7),
    Column("What", _WHAT),
    Column("State", 12),
    Column("Why", _WHY),
    Column("Tests, in this order", _TESTS),
    Column("Found", 12),
    Column("Kind", 11),
    Column("Weight", 8),
    Column("Entries", 12),
)
_WIDE: Final = 5
_STEPS: Final = (
    "The whole part of a weight is its step: 4 and 3 a result points at it (found in the vehicle, on the bench), 2 in "
    "the vehicle, 1 on the bench, 0 proved good; the rest grows with what speaks for it."
)
_IN_VEHICLE: Final = {True: "in the vehicle", False: "on the bench"}
_WEIGHT: Final = decimals(2)


def write_suspects(book: Book, found: Suspicion, *, report_id: str) -> None:
    """Nothing where the complaint names no shift of the variant; else the suspects in their order."""
    suspected = found.suspected
    if suspected is None:
        return
    sheet = book.sheet(TITLE)
    _write_head(sheet, suspected, found.understood.left)
    header(sheet, HEADER_ROW, COLUMNS)
    for number, one in enumerate(suspected.suspects, start=1):
        _write_suspect(sheet, HEADER_ROW + number, number, one)
    last = HEADER_ROW + len(suspected.suspects)
    finish_table(sheet, header_row=HEADER_ROW, columns=len(COLUMNS), last_row=last, freeze_column=3)
    embolden(sheet, f"C{HEADER_ROW + 1}:C{last}", "Points at it")
    if suspected.elsewhere:
        words = f"Failed too, with no part in this shift: {'; '.join(suspected.elsewhere)}."
        paragraph(sheet, last + 2, words, TEXT, columns=_WIDE, characters=140)
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW)


def _write_head(sheet: Sheet, suspected: Suspected, left: tuple[str, ...]) -> None:
    lines = changes_lines(suspected.changes, suspected.steers)
    others = [line for line in suspected.cant_tell if line not in suspected.changes.cant_tell]
    paragraph(sheet, 1, TITLE, SECTION, columns=_WIDE, characters=120)
    paragraph(sheet, 2, f"Complaint: {complaint_text(suspected.told)}.", SENTENCE, columns=_WIDE, characters=95)
    paragraph(sheet, 3, " ".join((*lines, *others, *left)), TEXT, columns=_WIDE, characters=140)
    paragraph(sheet, 4, NO_CHANCE, QUIET, columns=_WIDE, characters=140)
    paragraph(sheet, 5, _STEPS, QUIET, columns=_WIDE, characters=140)


def _write_suspect(sheet: Sheet, row: int, number: int, one: Suspect) -> None:
    why, tests = " ".join(one.why), "\n".join(test.words for test in one.tests)
    entries = " ".join(str(entry) for entry in one.entries)
    cells: tuple[tuple[str | float, Look], ...] = (
        (float(number), WHOLE),
        (one.what, WRAPPED),
        (STATE_TEXT[one.state], TEXT),
        (why, WRAPPED),
        (tests, WRAPPED),
        (_IN_VEHICLE[one.in_vehicle], WRAPPED),
        (family_of(one.cause), TEXT),
        (one.weight, _WEIGHT),
        (entries, WRAPPED),
    )
    for column, (value, look) in enumerate(cells, start=1):
        sheet.put(row, column, value, look)
    set_height(
        sheet, row, max(lines_of(why, _WHY), lines_of(tests, _TESTS), lines_of(one.what, _WHAT), lines_of(entries, 12))
    )
