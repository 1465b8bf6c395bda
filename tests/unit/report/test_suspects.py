"""The sheet of suspects: the complaint, what changes, each line in its order; data invented."""

from __future__ import annotations

import io
from pathlib import Path

import openpyxl

from tests.data.suspects_body import BODY
from tests.unit.report.samples import PRINTED_AT, PROGRAM, session_of
from valvebench.bench.judging import judged_whole
from valvebench.bench.suspecting import suspicion_of
from valvebench.diagnose.suspects_weights import read_weights
from valvebench.model.entry import AirTest, Complaint, OpenJob
from valvebench.model.words import AirResult, Place
from valvebench.report.suspects import COLUMNS, HEADER_ROW, TITLE
from valvebench.report.workbook import workbook_bytes

RAW = (Path(__file__).parents[3] / "resources" / "suspects.json").read_bytes()
WEIGHTS = read_weights(RAW, source="suspects.json")
LEAKS = AirTest(port="P2", place=Place.BODY, result=AirResult.FAIL)
ELSEWHERE = AirTest(port="P3", place=Place.BODY, result=AirResult.FAIL)


def book_of(*bodies, shift="1-2"):
    job = OpenJob(session="s-1", job="T-1", shift=shift, when="hot", feel="late")
    session = session_of(*bodies, job=job)
    judged = judged_whole(session, BODY, None)
    found = suspicion_of(session, BODY, WEIGHTS, rows=judged.rows)
    given = {"printed_at": PRINTED_AT, "program": PROGRAM, "photos": {}, "suspicion": found}
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(session, BODY, judged, **given)))


def line(book, number=1):
    cells = book[TITLE][HEADER_ROW + number]
    return {column.title: cell.value for column, cell in zip(COLUMNS, cells, strict=False)}


def texts(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


def test_the_first_line_is_what_a_result_points_at():
    book = book_of(LEAKS, ELSEWHERE)
    first = line(book)
    assert (first["Order"], first["What"], first["State"]) == (
        1,
        "Valve or bore that feeds Crake is worn",
        "Points at it",
    )
    assert (first["Kind"], first["Found"], first["Entries"]) == ("hydraulic", "on the bench", "2")
    assert first["Why"].startswith("Port P2, which feeds Crake: Fail.")
    assert first["Tests, in this order"] == "Air at P2 of the body, which feeds Crake"
    words = " ".join(texts(book[TITLE]))
    assert "Complaint: 1-2, when hot, feels like a late shift." in words
    assert "Applies: Crake. Releases: Dipper." in words
    assert "not how likely anything is" in words
    assert "Failed too, with no part in this shift: port P3: Fail." in words


def test_lines_fall_in_weight_and_print_on_one_page_wide():
    book = book_of()
    weights = [line(book, number)["Weight"] for number in range(1, 6)]
    assert weights == sorted(weights, reverse=True)
    sheet = book[TITLE]
    assert sheet.page_setup.fitToWidth == 1
    assert sheet.freeze_panes == f"C{HEADER_ROW + 1}"


def test_a_complaint_that_names_no_shift_makes_no_sheet():
    assert TITLE not in book_of(shift="downshift").sheetnames
    assert TITLE not in book_of(Complaint(feel="late")).sheetnames


def test_a_corrected_complaint_stands_on_the_summary():
    words = " ".join(texts(book_of(Complaint(shift="2-3", feel="slip"))["Summary"]))
    assert "shift 2-3, feels like slip" in words
