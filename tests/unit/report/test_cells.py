"""Text stays text: formula injection (OWASP ASVS 5.0, 1.2.10), illegal characters, over-long text."""

from __future__ import annotations

import io
import json
import math
import os
from pathlib import Path

import openpyxl
import pytest

from valvebench.report.cells import Book, visible
from valvebench.report.look import GENERAL, TEXT
from valvebench.report.pack import packed

ROOT = Path(__file__).parents[3]
CORPORA = Path(os.environ.get("VALVEBENCH_CORPORA", ROOT.parent / "shared" / "corpora"))
LEADING = [
    "=1+1",
    "+1+1",
    "-1+1",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "\x00=1",
    "\uff1d1",
    "#N/A",
    "#REF!",
    "=",
    "'=1",
    "_x003D_1",
]


def read_back(*texts):
    book = Book()
    sheet = book.sheet("One")
    for row, text in enumerate(texts, start=1):
        sheet.text(row, 1, text)
    raw = packed(book.workbook, title="t", program="p", printed=None)
    return [cell for (cell,) in openpyxl.load_workbook(io.BytesIO(raw))["One"].iter_rows(max_row=len(texts))]


@pytest.mark.parametrize("text", LEADING)
def test_no_formula_from_data(text):
    (cell,) = read_back(text)
    assert cell.data_type == "s"
    assert cell.quotePrefix
    assert cell.number_format == "@"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("a\x00b\x1fc", "a\u2400b\u241fc"),
        ("one\r\ntwo\rthree\nfour\tfive", "one\ntwo\u240dthree\nfour\tfive"),
        ("\ud800 \ufffe \uffff", "\ufffd \ufffd \ufffd"),
        ("good\u202egpj.exe", "good[U+202E]gpj.exe"),
        # ECMA-376, ST_Xstring: an underscore that would begin an escape is written as one
        ("_x0041_", "_x005F_x0041_"),
        ("_xyz_ plain", "_xyz_ plain"),
    ],
)
def test_what_cannot_be_written_is_shown(text, shown):
    assert visible(text) == shown
    assert read_back(text)[0].value == shown


@pytest.mark.parametrize("letter", ["a", "\U0001f600"])
def test_a_cut_is_seen(letter):
    """A cell holds 32,767 UTF-16 units (the file format's documented limit)."""
    text = visible(letter * 40_000)
    assert len(text.encode("utf-16-le")) // 2 <= 32_767
    assert "cut here" in text
    assert visible("a" * 32_767) == "a" * 32_767


def test_naughty_strings_stay_what_they_are():
    source = CORPORA / "naughty_strings.json"
    if not source.is_file():
        pytest.skip("no corpus of naughty strings")
    texts = [text for text in json.loads(source.read_text("utf-8")) if text]
    cells = read_back(*texts)
    assert {cell.data_type for cell in cells} == {"s"}
    assert [cell.value for cell in cells] == [visible(text) for text in texts]


def test_numbers_are_numbers_and_what_is_none_is_words():
    book = Book()
    sheet = book.sheet("One")
    for row, value in enumerate((5.25, 3, math.nan, math.inf), start=1):
        sheet.number(row, 1, value)
    sheet.put(5, 1, None, GENERAL)
    sheet.put(6, 1, "open > 60 M", GENERAL)
    sheet.put(7, 1, 4, TEXT)
    cells = [sheet.worksheet.cell(row, 1) for row in range(1, 8)]
    assert [cell.value for cell in cells] == [5.25, 3, "not a number", "not a number", None, "open > 60 M", 4]
    assert [cell.data_type for cell in cells] == ["n", "n", "s", "s", "n", "s", "n"]


def test_equal_looks_share_one_style():
    book = Book()
    book.sheet("One")
    assert book.style(TEXT) is book.style(TEXT._replace())
