"""What every sheet has: widths, print set-up, header rows that stay, colours of verdicts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Any, Final, NamedTuple, Protocol

from openpyxl.formatting.rule import CellIsRule
from openpyxl.styles import Font, PatternFill
from openpyxl.utils import get_column_letter

from valvebench.report.cells import Sheet
from valvebench.report.look import GROUP, HEADER, VERDICT_COLOUR, Look

_A4: Final = 9
_MARGIN_INCH: Final = 0.5
_LINE_POINTS: Final = 13.5
_HIGHEST_POINTS: Final = 409.0
_LETTER_WIDTH: Final = 1.05  # of a column's unit, a nought; room for a wider typeface


class Column(NamedTuple):
    """One column of a table: its title and width in characters."""

    title: str
    width: float


def set_page(
    sheet: Sheet, *, report_id: str, is_landscape: bool = True, repeat_row: int | None = None, pages: int = 1
) -> None:
    """Paper, so many pages wide, the report's id and the page number at the foot of each page."""
    worksheet = sheet.worksheet
    worksheet.page_setup.paperSize = _A4
    worksheet.page_setup.orientation = "landscape" if is_landscape else "portrait"
    worksheet.page_setup.fitToWidth, worksheet.page_setup.fitToHeight = pages, 0
    worksheet.sheet_properties.pageSetUpPr.fitToPage = True
    worksheet.sheet_view.showGridLines = False
    set_margins(worksheet.page_margins)
    worksheet.oddFooter.left.text = f"Report {report_id}"
    worksheet.oddFooter.right.text = "Page &P of &N"
    if repeat_row is not None:
        worksheet.print_title_rows = f"{repeat_row}:{repeat_row}"
    if pages > 1:
        worksheet.print_title_cols = "A:C"


def set_margins(margins: Any) -> None:
    """The white around the page, the foot in it."""
    margins.left = margins.right = _MARGIN_INCH
    margins.top = _MARGIN_INCH
    margins.bottom = 1.5 * _MARGIN_INCH


def set_widths(sheet: Sheet, widths: Iterable[float]) -> None:
    """Widths of the columns from A on, in characters."""
    for number, width in enumerate(widths, start=1):
        sheet.worksheet.column_dimensions[get_column_letter(number)].width = width


def header(sheet: Sheet, row: int, columns: Sequence[Column], look: Look = HEADER) -> None:
    """A header row with its widths."""
    for number, column in enumerate(columns, start=1):
        sheet.text(row, number, column.title, look)
    set_widths(sheet, (column.width for column in columns))
    set_height(sheet, row, max(lines_of(column.title, 0.8 * column.width) for column in columns))


class Grouped(Protocol):
    """A heading that stands in a group of columns."""

    @property
    def title(self) -> str:
        """What the column holds."""
        ...

    @property
    def width(self) -> float:
        """In characters."""
        ...

    @property
    def group(self) -> str:
        """What stands above its columns."""
        ...


def group_headings(sheet: Sheet, headings: Sequence[Grouped], *, group_row: int, header_row: int) -> None:
    """Header row with widths, and above it the names of the groups over their columns."""
    for group, members in groupby(enumerate(headings, start=1), key=lambda pair: pair[1].group):
        columns = [number for number, _ in members]
        sheet.text(group_row, columns[0], group, GROUP)
        sheet.worksheet.merge_cells(
            start_row=group_row, start_column=columns[0], end_row=group_row, end_column=columns[-1]
        )
    header(sheet, header_row, [Column(heading.title, heading.width) for heading in headings])


def finish_table(sheet: Sheet, *, header_row: int, columns: int, last_row: int, freeze_column: int = 2) -> None:
    """Rows above stay in view, every column can be filtered."""
    worksheet = sheet.worksheet
    worksheet.freeze_panes = f"{get_column_letter(freeze_column)}{header_row + 1}"
    worksheet.auto_filter.ref = f"A{header_row}:{get_column_letter(columns)}{max(last_row, header_row)}"


def colour_verdicts(sheet: Sheet, area: str) -> None:
    """Colour beside the word, by the word: filtering and sorting keep both together."""
    for word, colour in VERDICT_COLOUR.items():
        fill = PatternFill(start_color=colour.fill, end_color=colour.fill, fill_type="solid")
        rule = CellIsRule(operator="equal", formula=[f'"{word}"'], fill=fill, font=Font(color=colour.ink))
        sheet.worksheet.conditional_formatting.add(area, rule)


def embolden(sheet: Sheet, area: str, word: str) -> None:
    """Cells of a word stand out in bold ink: colour is for verdicts.

    Bold where the word stands, never plain where it does not: not every office program takes weight away by a rule.
    """
    rule = CellIsRule(operator="equal", formula=[f'"{word}"'], font=Font(bold=True))
    sheet.worksheet.conditional_formatting.add(area, rule)


def paragraph(sheet: Sheet, row: int, text: str, look: Look, *, columns: int, characters: int) -> None:
    """Text over several columns, in a row high enough for it (merged cells do not grow by themselves)."""
    sheet.text(row, 1, text, look)
    sheet.worksheet.merge_cells(start_row=row, start_column=1, end_row=row, end_column=columns)
    set_height(sheet, row, lines_of(text, characters), size=look.size)


def lines_of(text: str, characters: float) -> int:
    """How many lines a text needs in a column of that many characters."""
    return sum(1 + int(_LETTER_WIDTH * len(part) / characters) for part in text.split("\n"))


def set_height(sheet: Sheet, row: int, lines: int, *, size: float = 10.0) -> None:
    """A row high enough for wrapped text; not every office program finds that out by itself."""
    sheet.worksheet.row_dimensions[row].height = min(lines * _LINE_POINTS * size / 10.0 + 2.0, _HIGHEST_POINTS)
