"""The sheet Compare: what stands in it, and that words of a person stay words."""

from __future__ import annotations

import io

import openpyxl
import pytest

from tests.data.made_air import leak_test
from tests.unit.report.samples import PRINTED_AT, PROGRAM, session_of, variant
from valvebench.diagnose.compared import Side
from valvebench.diagnose.comparison import NO_COMMON_PAIR, SAME_PLACES
from valvebench.judge.session import judge_session
from valvebench.model.entry import AirTest, OpenJob, Reading
from valvebench.model.words import AirResult, LeadState, Place, TemperatureSource
from valvebench.report.cells import Book
from valvebench.report.compared import GROUP_ROW, HEADER_ROW, TITLE, write_compared
from valvebench.report.compared_air import AIR_TITLE
from valvebench.report.compared_formulas import COLUMN, HEADINGS
from valvebench.report.workbook import workbook_bytes

FINE = "0.5%+5x0.01"
OTHER_METER = "0.9%+2x0.1"


def read(ohm=None, *, pair=("1", "7"), **more):
    common = {"celsius": 20.0, "meter": FINE, "leads": LeadState.NULLED, "temperature": TemperatureSource.TAPED}
    return Reading(from_node=pair[0], to_node=pair[1], ohm=ohm, **(common | more))


def sheet_of(here, other, *, of_variant=None, job=None):
    session = session_of(*here, job=job)
    raw = workbook_bytes(
        session,
        of_variant,
        judge_session(session, of_variant),
        printed_at=PRINTED_AT,
        program=PROGRAM,
        photos={},
        other=Side(session_of(*other), of_variant),
    )
    return openpyxl.load_workbook(io.BytesIO(raw))["Compare"]


def lines(sheet):
    """Rows of the table by what they compare."""
    last = int(sheet.auto_filter.ref.split(":")[1].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    rows = sheet.iter_rows(min_row=HEADER_ROW + 1, max_row=last, values_only=True)
    return {row[0]: {key: row[n - 1] for key, n in COLUMN.items()} for row in rows if row[0] is not None}


def words(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


def test_headings_stand_in_their_groups():
    sheet = sheet_of([read(5.2)], [read(5.2)])
    assert [cell.value for cell in sheet[HEADER_ROW]] == [heading.title for heading in HEADINGS]
    groups = [cell.value for cell in sheet[GROUP_ROW] if cell.value]
    assert groups[:3] == ["What", "Result (live)", "Raw inputs"]
    assert groups[-1] == "As the program said"
    assert sheet.freeze_panes == f"B{HEADER_ROW + 1}"


def test_a_difference_is_said_and_no_verdict_stands_there():
    sheet = sheet_of([read(6.2)], [read(5.2)])
    line = lines(sheet)["1\u20137"]
    assert line["p_answer"] == "different"
    assert line["p_difference"] == pytest.approx(1.0)  # 6.2 - 5.2, both at 20 degrees
    assert (line["a_ohm"], line["b_ohm"]) == (6.2, 5.2)
    assert line["why"].startswith("Same meter, same two hours.")
    assert not {"Pass", "Fail", "Can't tell"} & set(words(sheet))


def test_only_what_differs_stands_out():
    """A rule makes bold and none takes weight away, which not every office program does."""
    sheet = sheet_of([read(6.2), read(5.2, pair=("2", "7"))], [read(5.2), read(5.2, pair=("2", "7"))])
    answers = [sheet.cell(HEADER_ROW + n, COLUMN[key]) for n in (1, 2) for key in ("answer", "p_answer")]
    assert [cell.font.bold for cell in answers] == [False] * 4
    rules = [rule for area in sheet.conditional_formatting for rule in area.rules]
    assert {(rule.operator, rule.formula[0], rule.dxf.font.bold) for rule in rules} == {("equal", '"different"', True)}


def test_every_computed_cell_of_a_measured_line_is_a_formula():
    line = lines(sheet_of([read(5.3)], [read(5.2)]))["1\u20137"]
    assert all(str(line[key]).startswith("=") for key in ("difference", "U", "answer", "u", "k", "agrees"))


def test_another_meter_shares_nothing():
    same = lines(sheet_of([read(5.2)], [read(5.2)]))["1\u20137"]
    other = lines(sheet_of([read(5.2)], [read(5.2, meter=OTHER_METER)]))["1\u20137"]
    assert same["gain"] == 0.5  # the per cent of the meter's statement
    assert other["gain"] is None
    assert "nothing cancels" in other["why"]
    assert other["p_u"] > same["p_u"]


def test_what_cannot_be_told_has_words_and_no_number():
    line = lines(sheet_of([read(5.2)], [read(9.2, temperature=TemperatureSource.NOT_SOAKED)]))["1\u20137"]
    assert line["answer"] == line["p_answer"] == "can't tell"
    assert line["why"].startswith("Straight from washer or vehicle")
    assert line["difference"] is line["p_difference"] is line["p_u"] is line["agrees"] is None


def test_open_against_a_value():
    line = lines(sheet_of([read(open=True, range_ohm=6e7)], [read(5.2)]))["1\u20137"]
    assert line["answer"] == "different"
    assert line["a_ohm"].startswith(">")
    assert line["b_ohm"].startswith("5.2")
    assert line["why"] == "Open on one, not on the other."


def test_ports_are_heard():
    ports = [
        [AirTest(port="P3", place=Place.BODY, result=result, kpa_gauge=200.0)]
        for result in (AirResult.PASS, AirResult.BLEEDS)
    ]
    (line,) = lines(sheet_of(*ports, of_variant=variant())).values()
    assert line["why"] == "Heard, not measured."
    assert line["difference"] is None


def test_nothing_in_common():
    sheet = sheet_of([read(5.2)], [read(8.0, pair=("3", "7"))])
    assert lines(sheet) == {}
    found = words(sheet)
    assert "Nothing was read on both bodies." in found
    assert "Read on this body only: 1\u20137." in found
    assert "Read on the other body only: 3\u20137." in found
    assert NO_COMMON_PAIR in found
    assert any(SAME_PLACES in text for text in found)


@pytest.mark.parametrize("evil", ["=1+1", "+cmd|'/c calc'!A1", "-2", "@SUM(A1)", "#N/A"])
def test_words_of_a_person_stay_words(evil):
    sheet = sheet_of(
        [read(5.2, pair=(evil, "7"))], [read(9.2, pair=(evil, "7"))], job=OpenJob(session="s", job=evil, serial=evil)
    )
    cells = [cell for row in sheet for cell in row if isinstance(cell.value, str) and evil in cell.value]
    assert cells
    assert {cell.data_type for cell in cells} == {"s"}
    assert all(cell.quotePrefix for cell in cells)


def test_a_leak_stands_with_its_unit_and_its_difference_in_words():
    sides = [Side(session_of(leak_test("P6", ml_min, u=1.0)), None) for ml_min in (44.0, 40.0)]
    book = Book()
    write_compared(book, *sides, report_id="R")
    said = [cell.value for row in book.workbook[TITLE] for cell in row if isinstance(cell.value, str)]
    assert {"44 ml/min", "40 ml/min", "leak P6 (steady)"} <= set(said)
    assert any(text.startswith("Difference 4.0") and "ml/min" in text for text in said)


def test_leaks_are_computed_again_below_and_without_any_there_is_no_such_table():
    sheet = sheet_of([leak_test("P6", 250.0)], [leak_test("P6", 240.0)])
    assert AIR_TITLE in words(sheet)
    assert "leak P6 (steady), ml/min" in words(sheet)
    assert AIR_TITLE not in words(sheet_of([read(5.2)], [read(5.2)]))
