"""Forms as a worksheet: one page, every text whole and in rows high enough for it, text stays text."""

from __future__ import annotations

import io

import openpyxl
import pytest

from tests.unit.report.test_form_pdf import AT, form, photo, table
from valvebench.report.form import Line, Lines, Photos, Shown, Signatures, Words
from valvebench.report.form_sheet import form_xlsx
from valvebench.report.layout import lines_of
from valvebench.report.square_code import png_of_code

POINTS_OF_LINE = 13.5
HIGHEST_POINTS = 409.0  # what office programs allow for one row


def raw_of(*blocks, **more):
    return form_xlsx(form(*blocks, **more), sheet="Sheet", program="test", printed_at=AT)


def sheet_of(*blocks, **more):
    return openpyxl.load_workbook(io.BytesIO(raw_of(*blocks, **more)))["Sheet"]


def texts(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str) and cell.value]


def test_it_prints_on_one_page_of_a4():
    sheet = sheet_of(table(3))
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight, sheet.page_setup.paperSize) == (1, 1, 9)
    assert sheet.print_area == f"'Sheet'!$A$1:$L${sheet.max_row}"
    assert sheet.oddFooter.left.text == "Foot 1"


def test_everything_stands_on_it():
    blocks = (
        Lines(title="Job", lines=(Line("Customer", "Ann"), Line("Part", "QT-2")), columns=2),
        table(2),
        Words(text="a paragraph"),
        Photos(title="Photos", shown=(Shown("the plug", photo()), Shown("gone", None))),
        Signatures(labels=("Name", "Date")),
    )
    sheet = sheet_of(*blocks, word="Fail", sentence="Fail: 1 of 2", code="valvebench tag 1")
    found = texts(sheet)
    for expected in ("Sheet", "about it", "Fail", "Fail: 1 of 2", "Customer", "Ann", "QT-2", "item 1", "a paragraph"):
        assert expected in found
    assert [found.index(text) for text in ("the plug", "gone", "Name", "Date")]
    assert len(sheet._images) == 2


def test_a_verdict_has_colour_beside_its_word():
    areas = [str(area.sqref) for area in sheet_of(table(2), word="Fail", sentence="x").conditional_formatting]
    assert areas == ["A3:B3", "D7:E8"]


@pytest.mark.parametrize("length", [100, 3000, 9999])
@pytest.mark.parametrize("columns", [1, 2])
def test_a_long_text_is_whole_in_rows_high_enough(length, columns):
    text = " ".join(f"w{n}" for n in range(length))[:length].rstrip()
    sheet = sheet_of(Lines(lines=(Line("Note", text),), columns=columns))
    pieces = [cell for row in sheet for cell in row if isinstance(cell.value, str) and cell.value.startswith("w")]
    assert " ".join(cell.value for cell in pieces) == text
    for cell in pieces:
        span = next(area for area in sheet.merged_cells.ranges if cell.coordinate in area)
        characters = sum(
            sheet.column_dimensions[letter].width for letter in "ABCDEFGHIJKL"[span.min_col - 1 : span.max_col]
        )
        height = sheet.row_dimensions[cell.row].height
        assert lines_of(cell.value, characters * 1.1) * POINTS_OF_LINE <= height < HIGHEST_POINTS


def test_a_word_without_blanks_is_broken_and_whole():
    word = "x1" * 4000
    assert word in "".join(texts(sheet_of(Words(text=word))))


@pytest.mark.parametrize("text", ["=1+1", "@x", "#N/A", "a\x00b", "\u202eabc", "1e5"])
def test_text_stays_text(text):
    sheet = sheet_of(Words(text=text), Lines(lines=(Line(text, text),)))
    assert {cell.data_type for row in sheet for cell in row if cell.value is not None} == {"s"}


def test_the_same_bytes_for_the_same_form():
    assert raw_of(table(3)) == raw_of(table(3))


def test_a_text_too_long_for_a_small_label_has_no_code():
    assert png_of_code("x" * 2000) is None
    assert png_of_code("") is None
    assert len(sheet_of(table(1), code="x" * 2000)._images) == 0
