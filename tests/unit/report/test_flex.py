"""The sheet of flex tests: verdicts in words, events with their moments, readings with formulas; data invented."""

from __future__ import annotations

import io

import openpyxl

from tests.unit.report.samples import session_of, variant, workbook_of
from valvebench.model.entry import Note
from valvebench.model.flex import FlexEvent, FlexFound, FlexTest
from valvebench.model.heat import Sized
from valvebench.report.flex import COLUMNS, HEADER_ROW, TITLE

SHA = "cd" * 32
STEADY = (5.2, 5.3) * 15


def flex(*ohm, a="1", b="7", **more):
    return FlexTest(from_node=a, to_node=b, ohm=ohm, **more)


def book_of(*bodies):
    return openpyxl.load_workbook(io.BytesIO(workbook_of(session_of(*bodies), variant())))


def line(book, number=1):
    cells = book[TITLE][HEADER_ROW + number]
    return {column.title: cell.value for column, cell in zip(COLUMNS, cells, strict=False)}


def texts(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


def test_without_a_flex_test_there_is_no_such_sheet():
    assert TITLE not in book_of(Note(text="calm")).sheetnames


def test_a_failed_test_stands_with_what_was_flexed_and_why():
    book = book_of(flex(5.2, None, 5.2, flexed="the inner conductor plate"))
    shown = line(book)
    assert (shown["Verdict"], shown["What was flexed"]) == ("Fail", "the inner conductor plate")
    assert shown["Why"].startswith("Fail: it opened once, first at reading 2")
    assert (shown["Readings"], shown["Open"], shown["Read from"]) == (3, 1, "typed")
    assert "Open at reading 2." in texts(book[TITLE])


def test_readings_stand_as_they_were_shown_with_their_changes_as_formulas():
    book = book_of(flex(5.2, None, 5.3, 5.5))
    rows = list(book[TITLE].iter_rows(values_only=True))
    (first,) = [place for place, row in enumerate(rows) if row[0] == "The readings as the meter showed them"]
    told = rows[first + 2 : first + 6]
    assert [row[5] for row in told] == [5.2, "OL", 5.3, 5.5]
    assert [row[2] for row in told] == [1, 2, 3, 4]
    assert told[0][6] is None
    assert all(row[6].startswith("=IF(AND(ISNUMBER(") for row in told[1:])


def test_what_is_counted_again_is_a_formula_of_cells_only():
    shown = line(book_of(flex(*STEADY)))
    live = [shown[name] for name in ("Open, counted again", "Middle, again, \u03a9", "Agreement")]
    assert all(formula.startswith("=") for formula in live)
    assert "COUNTIF" in live[0]
    assert "MEDIAN" in live[1]


def test_a_logger_file_is_named_with_its_hash_and_has_no_live_count():
    step = FlexEvent(kind="step", sample=21, t_s=10.5, size_ohm=Sized(value=0.5, u=0.05))
    found = FlexFound(n=40, middle_ohm=5.25, spread_ohm=0.01, meter="0.5%+3x0.01", is_enough=True, events=(step,))
    body = FlexTest(
        from_node="1", to_node="7", sha256=SHA, file_name="flex.csv", size_bytes=700, column="ohm", found=found
    )
    book = book_of(body)
    shown = line(book)
    assert (shown["Verdict"], shown["SHA-256 of the file"]) == ("Fail", SHA)
    assert shown["Read from"] == "flex.csv, column ohm, 700 bytes"
    assert shown["Open, counted again"] is None
    assert any("A step up by 0.50" in text for text in texts(book[TITLE]))


def test_names_from_outside_never_become_formulas():
    book = book_of(flex(5.2, None, 5.2, flexed="=1+1", note="@x"))
    cell = next(cell for row in book[TITLE] for cell in row if cell.value and "1+1" in str(cell.value))
    assert cell.data_type == "s"


def test_summary_and_trail_tell_it_in_words():
    book = book_of(flex(5.2), flex(None, follows=2))
    assert any("flex test" in text for text in texts(book["Summary"]))
    trail = " ".join(texts(book["Trail"]))
    assert "Flex test, 1 to 7 at the case connector; flexed: the harness at the plug; 5.2 \u03a9" in trail
    assert "OL \u03a9; goes on with entry 2" in trail
