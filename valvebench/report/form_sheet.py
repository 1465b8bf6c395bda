"""A form on a worksheet that prints on one page: twelve columns, and no row too low for its text."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import singledispatchmethod
from typing import Final, NamedTuple

from openpyxl.utils import get_column_letter

from valvebench.report.cells import Book, Sheet
from valvebench.report.form import Block, Form, Line, Lines, Photos, Signatures, Table, Words
from valvebench.report.identity import moment
from valvebench.report.layout import colour_verdicts, lines_of, set_height, set_margins, set_widths
from valvebench.report.look import (
    HEADER,
    LABEL,
    MONO,
    MUTED,
    PARAGRAPH,
    QUIET,
    SECTION,
    SENTENCE,
    TITLE,
    VERDICT,
    WRAPPED,
    Look,
)
from valvebench.report.pack import packed
from valvebench.report.photos import picture_of
from valvebench.report.square_code import png_of_code

COLUMNS: Final = 12
_WIDTH: Final = 8.6
_WIDTH_SIZE: Final = 11.0
"""Columns are as wide as so many noughts of this size."""
_A4: Final = 9
_LABEL_COLUMNS: Final = 2
_MOST_LINES: Final = 28
"""Lines in one row; a row can be no higher than thirty."""
_CODE_COLUMNS: Final = 2
_CODE_PX: Final = 110
_CODE_TOP_LINES: Final = 2
_PHOTO_PX: Final = (200, 150)
_PHOTOS_IN_ROW: Final = 3
_POINTS_OF_PX: Final = 0.75
_MISSING: Final = PARAGRAPH._replace(color=MUTED)
_CODE: Final = MONO._replace(is_ruled=False, is_wrapped=True)
_SIGN: Final = QUIET


class Part(NamedTuple):
    """A text over some columns."""

    text: str
    first: int
    last: int
    look: Look

    @property
    def characters(self) -> float:
        """How many stand in one line."""
        return (self.last - self.first + 1) * _WIDTH * _WIDTH_SIZE / max(self.look.size, 10.0) - 1.0


def form_xlsx(form: Form, *, sheet: str, program: str, printed_at: str) -> bytes:
    """The bytes of a workbook that holds this form alone, the same for the same form."""
    book = Book()
    write_form(book, form, title=sheet)
    return packed(book.workbook, title=form.title, program=program, printed=moment(printed_at))


def write_form(book: Book, form: Form, *, title: str) -> None:
    """One sheet, one page."""
    writer = _Writer(book.sheet(title))
    writer.top(form)
    for block in form.blocks:
        writer.block(block)
    writer.finish(form)


class _Writer:
    """Goes down the sheet row by row."""

    def __init__(self, sheet: Sheet) -> None:
        self._sheet, self._row = sheet, 1
        self._photos = 0
        set_widths(sheet, [_WIDTH] * COLUMNS)

    def top(self, form: Form) -> None:
        """Title, what it is about, the word and its sentence; the code stands at the right of all that."""
        code = png_of_code(form.code)
        last = COLUMNS - (_CODE_COLUMNS if code is not None else 0)
        if code is not None:
            self._add_code(code)
        self._parts(Part(form.title, 1, last, TITLE._replace(is_wrapped=True)))
        self._parts(Part(form.about, 1, last, QUIET))
        if form.word:
            self._parts(
                Part(form.word, 1, 2, VERDICT._replace(size=11.0, is_wrapped=True)),
                Part(form.sentence, 3, last, SENTENCE._replace(size=11.0)),
            )
            colour_verdicts(self._sheet, f"A{self._row - 1}:B{self._row - 1}")
        elif form.sentence:
            self._parts(Part(form.sentence, 1, last, SENTENCE._replace(size=11.0)))
        if code is not None:
            self._row += _CODE_TOP_LINES

    def _add_code(self, raw: bytes) -> None:
        from openpyxl.drawing.image import Image

        picture = Image(io.BytesIO(raw))
        picture.width = picture.height = _CODE_PX
        self._sheet.worksheet.add_image(picture, f"K{self._row}")

    def _parts(self, *parts: Part) -> None:
        """Texts beside each other, over as many rows as the longest needs."""
        pieces = [_pieces(part) for part in parts]
        for number in range(max(len(own) for own in pieces)):
            lines = 1
            for part, own in zip(parts, pieces, strict=True):
                text = own[number] if number < len(own) else ""
                self._merge(part, text)
                lines = max(lines, lines_of(text, part.characters))
            set_height(self._sheet, self._row, lines, size=max(part.look.size for part in parts))
            self._row += 1

    def _merge(self, part: Part, text: str) -> None:
        self._sheet.text(self._row, part.first, text, part.look)
        if part.last > part.first:
            self._sheet.worksheet.merge_cells(
                start_row=self._row, start_column=part.first, end_row=self._row, end_column=part.last
            )

    def _section(self, title: str) -> None:
        self._sheet.worksheet.row_dimensions[self._row].height = 6.0
        self._row += 1
        if title:
            self._parts(Part(title, 1, COLUMNS, SECTION))

    # -- blocks ----------------------------------------------------------------------------

    @singledispatchmethod
    def block(self, block: Block) -> None:
        """Any block."""
        raise TypeError(block)

    @block.register
    def _(self, block: Words) -> None:
        self._section(block.title)
        self._parts(Part(block.text, 1, COLUMNS, QUIET if block.is_quiet else PARAGRAPH))

    @block.register
    def _(self, block: Lines) -> None:
        self._section(block.title)
        step = COLUMNS // block.columns
        for row in block.rows():
            width = step * block.width_of(row)
            self._parts(*(part for place, line in enumerate(row) for part in _line(line, place * step + 1, width)))

    @block.register
    def _(self, block: Table) -> None:
        self._section(block.title)
        if not block.rows:
            self._parts(Part(block.none, 1, COLUMNS, PARAGRAPH))
            return
        ends = [sum(head.twelfths for head in block.heads[: place + 1]) for place in range(len(block.heads))]
        spans = [(end - head.twelfths + 1, end) for end, head in zip(ends, block.heads, strict=True)]
        self._parts(*(Part(head.title, *span, HEADER) for head, span in zip(block.heads, spans, strict=True)))
        top = self._row
        for row in block.rows:
            looks = [VERDICT if place == block.verdicts else WRAPPED for place in range(len(row))]
            self._parts(*(Part(text, *span, look) for text, span, look in zip(row, spans, looks, strict=True)))
        if block.verdicts is not None:
            first, last = (get_column_letter(column) for column in spans[block.verdicts])
            colour_verdicts(self._sheet, f"{first}{top}:{last}{self._row - 1}")

    @block.register
    def _(self, block: Photos) -> None:
        self._section(block.title)
        step = COLUMNS // _PHOTOS_IN_ROW
        for start in range(0, len(block.shown), _PHOTOS_IN_ROW):
            row = block.shown[start : start + _PHOTOS_IN_ROW]
            pictures = [picture_of(one.raw, *_PHOTO_PX) for one in row]
            for place, picture in enumerate(pictures):
                if picture is not None:
                    cell = self._sheet.worksheet.cell(self._row, place * step + 1)
                    self._sheet.worksheet.add_image(picture, cell.coordinate)
            height = max((picture.height for picture in pictures if picture is not None), default=0)
            if height:
                self._sheet.worksheet.row_dimensions[self._row].height = height * _POINTS_OF_PX + 4.0
                self._row += 1
            self._parts(
                *(Part(one.caption, place * step + 1, (place + 1) * step, QUIET) for place, one in enumerate(row))
            )

    @block.register
    def _(self, block: Signatures) -> None:
        self._sheet.worksheet.row_dimensions[self._row].height = 30.0
        self._row += 1
        step = COLUMNS // len(block.labels)
        for place in range(len(block.labels)):
            for column in range(place * step + 1, (place + 1) * step):
                self._sheet.text(self._row, column, "", WRAPPED)
        self._row += 1
        self._parts(
            *(Part(text, place * step + 1, (place + 1) * step - 1, _SIGN) for place, text in enumerate(block.labels))
        )

    def finish(self, form: Form) -> None:
        """Paper: everything on one page of A4, the foot as on the PDF."""
        worksheet = self._sheet.worksheet
        worksheet.page_setup.paperSize, worksheet.page_setup.orientation = _A4, "portrait"
        worksheet.page_setup.fitToWidth, worksheet.page_setup.fitToHeight = 1, 1 if form.is_one_page else 0
        worksheet.sheet_properties.pageSetUpPr.fitToPage = True
        worksheet.sheet_view.showGridLines = False
        worksheet.print_options.horizontalCentered = True
        set_margins(worksheet.page_margins)
        worksheet.print_area = f"A1:L{self._row - 1}"
        worksheet.oddFooter.left.text = form.foot.replace("&", "&&")
        worksheet.oddFooter.right.text = "Page &P of &N"


def _line(line: Line, first: int, columns: int) -> tuple[Part, Part]:
    look = _MISSING if line.is_missing else _CODE if line.is_code else PARAGRAPH
    split = first + _LABEL_COLUMNS
    return Part(line.label, first, split - 1, LABEL), Part(line.text, split, first + columns - 1, look)


def _pieces(part: Part) -> Sequence[str]:
    """The text in pieces that a row can hold, broken between words where there are any."""
    rest, pieces = part.text, []
    while lines_of(rest, part.characters) > _MOST_LINES:
        cut = _fitting(rest, part)
        pieces.append(rest[:cut].rstrip())
        rest = rest[cut:].lstrip(" ")
    return [*pieces, rest]


def _fitting(text: str, part: Part) -> int:
    """How much of the beginning fits into one row."""
    low, high = 1, len(text)
    while low < high:
        middle = (low + high + 1) // 2
        if lines_of(text[:middle], part.characters) <= _MOST_LINES:
            low = middle
        else:
            high = middle - 1
    gap = max(text.rfind(" ", 0, low), text.rfind("\n", 0, low))
    return gap + 1 if gap > low // 2 else low
