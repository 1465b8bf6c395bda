"""Tables of judged tests: one row a test, formulas beside what the program says."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from valvebench.model.words import Rule
from valvebench.physics.uncertainty import Doubt
from valvebench.report.cells import Book, Sheet
from valvebench.report.layout import (
    Column,
    colour_verdicts,
    finish_table,
    header,
    lines_of,
    paragraph,
    set_height,
    set_page,
)
from valvebench.report.look import HEADER, QUIET, SECTION, Look

HEADER_ROW: Final = 4
_WIDE: Final = 5

Value = tuple[str | float | None, Look]


class Live(str):
    """A formula; its own row stands for `{row}`."""

    __slots__ = ()


def begin(book: Book, title: str, words: str, columns: Sequence[Column], *, heading: str = "") -> Sheet:
    """A sheet with its heading (else its title), what it holds, and the header."""
    sheet = book.sheet(title)
    paragraph(sheet, 1, heading or title, SECTION, columns=_WIDE, characters=130)
    paragraph(sheet, 2, words, QUIET, columns=_WIDE, characters=140)
    header(sheet, HEADER_ROW, columns)
    return sheet


def write_row(sheet: Sheet, row: int, cells: Sequence[Value], columns: Sequence[Column]) -> None:
    """One row, formulas told from values, high enough for its words."""
    for column, (value, look) in enumerate(cells, start=1):
        if isinstance(value, Live):
            sheet.formula(row, column, str(value).replace("{row}", str(row)), look)
        else:
            sheet.put(row, column, value, look)
    needed = [
        lines_of(value, columns[place].width)
        for place, (value, look) in enumerate(cells)
        if look.is_wrapped and isinstance(value, str)
    ]
    set_height(sheet, row, max(needed, default=1))


def write_heads(sheet: Sheet, row: int, titles: Sequence[str]) -> None:
    """The header of a further table below the first; an empty title leaves its column out."""
    for column, title in enumerate(titles, start=1):
        if title:
            sheet.text(row, column, title, HEADER)
    set_height(sheet, row, 2)


def finish(
    sheet: Sheet, columns: Sequence[Column], last_row: int, *, report_id: str, header_row: int = HEADER_ROW
) -> None:
    """Filter, colours and paper; the verdict stands in the second column."""
    finish_table(sheet, header_row=header_row, columns=len(columns), last_row=last_row)
    colour_verdicts(sheet, f"B{header_row + 1}:B{last_row}")
    set_page(sheet, report_id=report_id, repeat_row=header_row, pages=3)


def guard_share(rule: Rule, doubt: Doubt) -> float:
    """How much of the expanded uncertainty a rule asks for."""
    if rule is Rule.PLAIN:
        return 0.0
    return float(doubt.k90 / doubt.k95) if rule is Rule.PROVED5 else 1.0


def verdict_formula(value: str, guard: str, *, low: str | None = None, high: str) -> Live:
    """The verdict of a value with its guard against one limit or two, each a cell of the row `{row}`."""
    slack = f"0.000000001*ABS({value})"
    inside = f"IF(ISNUMBER({high}),{value}<={high}-{guard}+{slack},TRUE)"
    outside = f"IF(ISNUMBER({high}),{value}>{high}+{guard}+{slack},FALSE)"
    stated = f"ISNUMBER({high})"
    if low is not None:
        inside = f"AND({inside},IF(ISNUMBER({low}),{value}>={low}+{guard}-{slack},TRUE))"
        outside = f"OR({outside},IF(ISNUMBER({low}),{value}<{low}-{guard}-{slack},FALSE))"
        stated = f"OR({stated},ISNUMBER({low}))"
    told = f'IF({inside},"Pass",IF({outside},"Fail","Can\'t tell"))'
    return Live(f'=IF(NOT(ISNUMBER({value})),"",IF({stated},{told},"No limit"))')


def agrees_formula(*pairs: tuple[str, str]) -> Live:
    """`agrees` where each two cells of a row hold the same number to a millionth, or both none."""
    tests = [
        f"IF(ISNUMBER({one}),IF(ISNUMBER({two}),ABS({one}-{two})<=0.000001*ABS({one})+0.000000000001,FALSE),TRUE)"
        for one, two in pairs
    ]
    return Live(f'=IF(AND({",".join(tests)}),"agrees","differs")')
