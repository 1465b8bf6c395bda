"""The sheet with every entry of the journal and its hash."""

from __future__ import annotations

from typing import Final

from valvebench.model.session import Session
from valvebench.report.cells import Book
from valvebench.report.layout import Column, finish_table, header, lines_of, set_height, set_page
from valvebench.report.look import MONO, MUTED_TEXT, TEXT, WHOLE, WRAPPED
from valvebench.report.words import trail_words

COLUMNS: Final = (
    Column("Entry", 7),
    Column("When", 26),
    Column("Who", 14),
    Column("Kind", 13),
    Column("What was kept", 90),
    Column("SHA-256 of the line", 58),
)
HEADER_ROW: Final = 3


def write_trail(book: Book, session: Session, *, report_id: str) -> None:
    """Every line of the journal, in order; nothing is left out or rewritten."""
    sheet = book.sheet("Trail")
    sheet.text(1, 1, f"Every entry, in order. Head: {session.head}", MUTED_TEXT)
    header(sheet, HEADER_ROW, COLUMNS)
    for row, (entry, words) in enumerate(zip(session.entries, trail_words(session), strict=True), start=HEADER_ROW + 1):
        sheet.number(row, 1, entry.n, WHOLE)
        sheet.text(row, 2, entry.at)
        sheet.text(row, 3, entry.by)
        sheet.text(row, 4, entry.kind, TEXT)
        sheet.text(row, 5, words, WRAPPED)
        sheet.text(row, 6, entry.sha256, MONO)
        set_height(sheet, row, lines_of(words, COLUMNS[4].width))
    last_row = HEADER_ROW + len(session.entries)
    finish_table(sheet, header_row=HEADER_ROW, columns=len(COLUMNS), last_row=last_row)
    set_page(sheet, report_id=report_id, repeat_row=HEADER_ROW)
