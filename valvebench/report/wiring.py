"""The sheet of what is wired to what, for a body without a variant: found from its readings, no limit of anybody's."""

from __future__ import annotations

from typing import Final

from valvebench.bench.part_in_hand import Found, found_in, part_name
from valvebench.diagnose.wiring import Wired, WiredKind
from valvebench.diagnose.wiring_left import pairs_in_all
from valvebench.diagnose.wiring_words import KIND_TEXT, only_unclear, pair_text, unclear_words
from valvebench.model.entry import Reading
from valvebench.model.format import decimals_for
from valvebench.model.session import Session
from valvebench.model.variant import Variant
from valvebench.report.cells import Book, Sheet
from valvebench.report.layout import Column, finish_table, header, lines_of, paragraph, set_height, set_page
from valvebench.report.look import GENERAL, QUIET, SECTION, SENTENCE, TEXT, WRAPPED, decimals

TITLE: Final = "Wiring"
COLUMNS: Final = (
    Column("Between", 12),
    Column("What it may be", 16),
    Column("As read, ohm", 13),
    Column("At 20 \u00b0C, ohm", 13),
    Column("Expanded uncertainty, ohm", 14),
    Column("Read alike", 26),
    Column("How it is known", 48),
    Column("Entries", 16),
)
HEADER_ROW: Final = 6
_INTRODUCTION: Final = (
    "Found from the readings of this session alone. Nothing here is a maker\u2019s limit, and a part without a name "
    "is called by its two nodes. What a part may be is told by its resistance only (magnitudes from memory)."
)
_STRAIGHT: Final = "read straight, between its own two nodes"
_NO_LAW: Final = "read straight; what it would read at 20 \u00b0C is not known"
_WORKED_OUT: Final = "worked out from readings of other pairs; no doubt can be stated"
_OPEN_STILL: Final = "not settled: other circuits fit the readings as well"


def has_wiring(session: Session, variant: Variant | None) -> bool:
    """Whether the sheet has anything to say: pairs were read, and no variant says what they are."""
    return variant is None and any(isinstance(item.body, Reading) for item in session.items)


def write_wiring(book: Book, session: Session, *, report_id: str) -> None:
    """Parts, and below them nets, unused pins, what cannot be told, and readings that contradict."""
    found = found_in(session, None)
    sheet, wide = book.sheet(TITLE), len(COLUMNS)
    paragraph(sheet, 1, TITLE, SECTION, columns=wide, characters=120)
    paragraph(sheet, 2, _sentence(found), SENTENCE, columns=wide, characters=110)
    paragraph(sheet, 3, _INTRODUCTION, QUIET, columns=wide, characters=140)
    paragraph(sheet, 4, _count(found), QUIET, columns=wide, characters=140)
    header(sheet, HEADER_ROW, COLUMNS)
    for row, one in enumerate(found.wiring.devices, start=HEADER_ROW + 1):
        _write_part(sheet, row, found, one)
    last_row = HEADER_ROW + max(len(found.wiring.devices), 1)
    if not found.wiring.devices:
        sheet.text(last_row, 1, "No part is known yet.", QUIET)
    finish_table(sheet, header_row=HEADER_ROW, columns=wide, last_row=last_row)
    for row, words in enumerate(_notes(found), start=last_row + 2):
        paragraph(sheet, row, words, TEXT, columns=wide, characters=140)
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW)


def _sentence(found: Found) -> str:
    wiring = found.wiring
    parts = f"{len(wiring.devices)} parts between {len(wiring.pins)} pins"
    return f"{parts}: the wiring is found." if wiring.is_done else f"{parts} so far: the wiring is not settled yet."


def _count(found: Found) -> str:
    read = len({reading.pair for reading in found.source.readings})
    left = "no more are needed" if found.wiring.is_done else f"at most {found.wiring.pairs_left} more are needed"
    return f"{read} of {pairs_in_all(len(found.wiring.nodes))} pairs were read; {left}."


def _write_part(sheet: Sheet, row: int, found: Found, one: Wired) -> None:
    judgement, judged = found.judgement(one), found.rows.get(frozenset(one.between))
    how = _STRAIGHT if judgement is not None else _WORKED_OUT
    if judgement is not None and one.kind is not WiredKind.COIL_LIKE:
        how, judgement = _NO_LAW, None
    if set(one.between) & found.wiring.unsettled:
        how = _OPEN_STILL
    like = ", ".join(pair_text(pair) for pair in one.matched_with)
    if frozenset(one.between) in found.odd():
        like = "the odd one out of its like"
    sheet.text(row, 1, part_name(one))
    sheet.text(row, 2, KIND_TEXT[one.kind])
    sheet.number(row, 3, one.ohm, GENERAL)
    if judgement is not None and judgement.ohm_at_ref is not None:
        doubt = judgement.U_ohm_at_ref
        look = GENERAL if doubt is None else decimals(decimals_for(doubt))
        sheet.number(row, 4, judgement.ohm_at_ref, look)
        sheet.put(row, 5, doubt, look)
    sheet.text(row, 6, like, WRAPPED)
    sheet.text(row, 7, how, WRAPPED)
    sheet.text(row, 8, ", ".join(str(n) for n in judged.entries) if judged is not None else "", WRAPPED)
    set_height(sheet, row, max(lines_of(how, COLUMNS[6].width), lines_of(like, COLUMNS[5].width)))


def _notes(found: Found) -> list[str]:
    wiring = found.wiring
    nets = [net for net in wiring.nets if len(net) > 1]
    alone = [net[0] for net in wiring.nets if len(net) == 1]
    lines = [f"Joined: {', '.join(net)}." for net in nets]
    lines += [f"Open to all others that were read: {', '.join(alone)}."] if alone else []
    lines += [unclear_words(one) for one in only_unclear(wiring)]
    return lines + [
        f"{'Settled' if one.is_settled else 'Contradiction, to be read again'}: {pair_text(one.between)}: {one.why}"
        for one in wiring.contradictions
    ]
