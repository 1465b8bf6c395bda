"""The sheet Matched sets: which of equal solenoids is odd, in words and by formulas."""

from __future__ import annotations

import io

import openpyxl
import pytest

from tests.unit.diagnose.test_matched import NAMES, read, variant
from tests.unit.report.samples import PRINTED_AT, PROGRAM, session_of
from valvebench.bench.matched import OF_VARIANT
from valvebench.diagnose.matched import TOO_FEW
from valvebench.judge.session import judge_session
from valvebench.report.matched import COLUMN, GROUP_ROW, HEADER_ROW, HEADINGS, TITLE
from valvebench.report.workbook import workbook_bytes


def book_of(*bodies, of_variant=None):
    session = session_of(*bodies)
    raw = workbook_bytes(
        session,
        of_variant,
        judge_session(session, of_variant),
        printed_at=PRINTED_AT,
        program=PROGRAM,
        photos={},
    )
    return openpyxl.load_workbook(io.BytesIO(raw))


def sheet_of(*ohms, **more):
    bodies = [read(n, ohm, **more) for n, ohm in enumerate(ohms, start=1)]
    return book_of(*bodies, of_variant=variant())[TITLE]


def lines(sheet):
    """Rows of the table by solenoid."""
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=HEADER_ROW + 1)]
    keys = [{key: row[n - 1] for key, n in COLUMN.items()} for row in rows]
    return {line["what"]: line for line in keys if line["p_answer"] is not None}


def words(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


def test_headings_stand_in_their_groups_and_stay_in_view():
    sheet = sheet_of(5.0, 5.0, 5.0)
    assert [cell.value for cell in sheet[HEADER_ROW]] == [heading.title for heading in HEADINGS]
    groups = [cell.value for cell in sheet[GROUP_ROW] if cell.value]
    assert groups == ["What", "Result (live)", "Raw inputs", "Steps (live)", "As the program said"]
    assert sheet.freeze_panes == f"D{HEADER_ROW + 1}"


def test_the_odd_one_is_named_with_its_distance():
    """Median 5.1; 5.25 lies 0.15 above it, u = 0.05/sqrt(3) from five counts of 0.01: z = 0.15/u = 5.2."""
    sheet = sheet_of(5.1, 5.1, 5.1, 5.25)
    found = lines(sheet)
    assert [line["p_answer"] for line in found.values()] == ["not odd"] * 3 + ["the odd one"]
    assert found["Plover"]["p_z"] == pytest.approx(0.15 / (0.05 / 3**0.5), rel=1e-6)
    assert found["Plover"]["p_median"] == pytest.approx(5.1)
    told = words(sheet)
    assert "Linear, read at 20 \u00b0C: Plover is the odd one: 0.150 \u03a9 above the median." in told
    assert OF_VARIANT in told
    assert any("modified z of Plover 5.2; odd above z 3.5" in text for text in told)


def test_what_was_read_stands_beside_what_is_worked_out_from_it():
    found = lines(sheet_of(5.1, 5.1, 5.1, celsius=40.0))["Gull, left"]
    assert (found["ohm"], found["coil"], found["k_celsius"], found["entries"]) == (5.1, 40.0, 234.5, "2")
    live = ("at_20", "median", "distance", "z", "answer", "away", "mad", "floor", "spread", "agrees")
    assert all(str(found[key]).startswith("=") for key in live)


def test_several_readings_of_one_solenoid_are_their_mean_and_say_so():
    sheet = book_of(*(read(n, 5.0) for n in (1, 2, 3)), read(1, 5.2, celsius=23.0), of_variant=variant())[TITLE]
    found = lines(sheet)["Gull, left"]
    assert found["ohm"] == "mean of 2"
    assert found["at_20"] == pytest.approx((5.0 + 5.2 * 254.5 / 257.5) / 2)  # copper, IEC 60034-1, 8.6.2
    assert found["entries"] == "2 5"


def test_two_cannot_say_which():
    sheet = sheet_of(5.0, 6.0)
    assert {line["p_answer"] for line in lines(sheet).values()} == {"can't tell"}
    told = words(sheet)
    assert "Which one is odd cannot be told." in told
    assert any(TOO_FEW in text for text in told)


def test_each_temperature_has_rows_and_words_of_its_own():
    bodies = [read(n, 5.0) for n in (1, 2, 3)] + [read(n, 6.18, celsius=80.0) for n in (1, 2, 3)]
    sheet = book_of(*bodies, of_variant=variant())[TITLE]
    celsius = [row[COLUMN["celsius"] - 1].value for row in sheet.iter_rows(min_row=HEADER_ROW + 1)]
    assert celsius[:6] == [20.0] * 3 + [80.0] * 3
    told = words(sheet)
    assert "No solenoid stands out of its set." in told
    assert sum("None of the 3 stands out." in text for text in told) == 2


def test_rows_of_a_set_are_not_sorted_apart():
    assert sheet_of(5.0, 5.0, 5.0).auto_filter.ref is None


def test_only_the_odd_one_stands_out_and_no_colour_does():
    sheet = sheet_of(5.1, 5.1, 5.1, 5.25)
    rules = [rule for area in sheet.conditional_formatting for rule in area.rules]
    assert {(rule.formula[0], rule.dxf.font.bold, rule.dxf.fill) for rule in rules} == {('"the odd one"', True, None)}


def test_a_body_without_a_set_has_no_such_sheet():
    assert TITLE not in book_of(read(1, 5.0), read(2, 9.0)).sheetnames


def test_a_name_that_looks_like_a_formula_stays_a_name():
    names = ("=1+1", *NAMES[1:])
    bodies = [read(n, 5.0) for n in (1, 2, 3)]
    sheet = book_of(*bodies, of_variant=variant(names))[TITLE]
    (cell,) = [cell for row in sheet for cell in row if cell.value == "=1+1"]
    assert (cell.data_type, cell.quotePrefix) == ("s", True)
