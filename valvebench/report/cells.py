"""Writing cells: text is always text, a number is a real number, a formula is only ever ours."""

from __future__ import annotations

import math
import re
from typing import Any, Final

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

from valvebench.report.look import GENERAL, LINE, TEXT, Look
from valvebench.report.printable import printable

_FONT: Final = "Calibri"
_LARGEST_UNITS: Final = 32_767  # what one cell holds, in UTF-16 units; the library cuts silently there
_KEPT_UNITS: Final = 32_000
_CUT: Final = " [cut here: {units} characters in all, the whole text stands in the journal]"
_ESCAPE: Final = re.compile("_(?=x[0-9A-Fa-f]{4}_)")  # `_x0041_` would be shown as `A`


def visible(text: str) -> str:
    """The text as a cell can hold it: what cannot be written, or would turn the writing round, is shown as a mark."""
    text = _ESCAPE.sub("_x005F_", printable(text))
    return text if len(text) * 2 <= _LARGEST_UNITS else _cut(text)


def _cut(text: str) -> str:
    raw = text.encode("utf-16-le")
    units = len(raw) // 2
    if units <= _LARGEST_UNITS:
        return text
    return raw[: 2 * _KEPT_UNITS].decode("utf-16-le", errors="ignore") + _CUT.format(units=units)


class Book:
    """A workbook under construction; a style is made once and shared by all cells that look alike."""

    def __init__(self) -> None:
        self.workbook: Any = Workbook()
        self.workbook.remove(self.workbook.active)
        self._styles: dict[Look, Any] = {}

    def sheet(self, title: str) -> Sheet:
        """A new sheet at the end."""
        return Sheet(self, self.workbook.create_sheet(title))

    def move_to_end(self, title: str) -> None:
        """A sheet that is read last, though others needed it before; nothing where it is not in this book."""
        if title in self.workbook.sheetnames:
            self.workbook.move_sheet(title, offset=len(self.workbook.worksheets))

    def style(self, look: Look) -> Any:
        """The style of a look."""
        if look not in self._styles:
            self._styles[look] = _made(self.workbook.worksheets[0], look)
        return self._styles[look]


def _made(worksheet: Any, look: Look) -> Any:
    cell = Cell(worksheet)
    cell.font = Font(name=_FONT, size=look.size, bold=look.is_bold, strike=look.is_struck, color=look.color)
    cell.alignment = _alignment(look)
    cell.number_format = "@" if look.is_text else look.number_format
    if look.fill:
        cell.fill = PatternFill("solid", start_color=look.fill)
    if look.is_ruled:
        cell.border = Border(bottom=Side("thin", color=LINE))
    cell.quotePrefix = look.is_text
    return cell._style  # noqa: SLF001  no public way to share a style between cells


def _alignment(look: Look) -> Any:
    """Text stands a little off the numbers and fills beside it."""
    is_indented = look.is_text and not look.align
    horizontal = "left" if is_indented else look.align or None
    return Alignment(vertical="top", wrap_text=look.is_wrapped, horizontal=horizontal, indent=int(is_indented))


class Sheet:
    """Writes cells of one sheet by row and column, both from 1."""

    def __init__(self, book: Book, worksheet: Any) -> None:
        self.worksheet = worksheet
        self._book = book

    def text(self, row: int, column: int, text: str, look: Look = TEXT) -> None:
        """Text that stays text whatever it begins with: the one helper for all of it."""
        cell = self.worksheet.cell(row, column)
        cell.value = visible(text)
        cell.data_type = "s"  # the library made a formula of `=` and an error of `#N/A`
        cell._style = self._book.style(look)  # noqa: SLF001  as above

    def number(self, row: int, column: int, number: float, look: Look = GENERAL) -> None:
        """A real number; what is none is said in words."""
        if not math.isfinite(number):
            self.text(row, column, "not a number")
            return
        cell = self.worksheet.cell(row, column)
        cell.value = number
        cell._style = self._book.style(look)  # noqa: SLF001  as above

    def formula(self, row: int, column: int, formula: str, look: Look) -> None:
        """A live formula; it is made of cell names and our own words, never of data."""
        cell = self.worksheet.cell(row, column)
        cell.value = formula
        cell._style = self._book.style(look)  # noqa: SLF001  as above

    def put(self, row: int, column: int, value: str | float | None, look: Look) -> None:
        """Text, number or nothing, whichever it is."""
        if isinstance(value, str):
            if value:
                self.text(row, column, value, look if look.is_text else _as_text(look))
        elif value is not None:
            self.number(row, column, value, _as_number(look) if look.is_text else look)


def _as_text(look: Look) -> Look:
    return look._replace(is_text=True, number_format="General", align=look.align or "right")


def _as_number(look: Look) -> Look:
    return look._replace(is_text=False)
