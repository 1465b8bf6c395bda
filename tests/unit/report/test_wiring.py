"""The sheet Wiring: what an unknown body's readings say, and that nothing there passes for a limit."""

from __future__ import annotations

import io

import openpyxl
import pytest

from tests.unit.report.samples import session_of, workbook_of
from valvebench.compose import data_folder, view_session
from valvebench.model.entry import Reading
from valvebench.report.workbook import workbook_bytes


def sheets_of(name):
    view = view_session(data_folder() / "sample_sessions" / name)
    raw = workbook_bytes(
        view.session,
        view.variant,
        view.judged(),
        printed_at="2031-05-06T10:00:00Z",
        program="valvebench",
        photos={},
    )
    return openpyxl.load_workbook(io.BytesIO(raw))


@pytest.fixture(scope="module")
def sheet():
    return sheets_of("2230-body-unknown")["Wiring"]


def words(sheet):
    return [str(cell.value) for row in sheet.iter_rows() for cell in row if cell.value is not None]


def test_every_part_of_the_invented_body_has_its_row(sheet):
    """The simulated truth of the sample job: six coils and one sensor, five of them on pin 11."""
    rows = {
        row[0].value: [cell.value for cell in row] for row in sheet.iter_rows(min_row=7) if row[2].value is not None
    }
    assert set(rows) == {"2\u201311", "3\u201311", "5\u201311", "6\u201312", "7\u201311", "8\u2013case", "9\u201311"}
    assert rows["6\u201312"][1] == "sensor-like"
    assert rows["8\u2013case"][1] == "coil-like"


def test_each_number_has_its_doubt_or_says_why_not(sheet):
    for row in sheet.iter_rows(min_row=7):
        if row[2].value is not None:
            reasons = ("no doubt can be stated", "not settled", "is not known")
            assert row[4].value is not None or any(reason in row[6].value for reason in reasons)


def test_only_copper_is_carried_to_20_degrees(sheet):
    """A sensor moves by a law of its own, which nobody has stated for a body without a variant."""
    (sensor,) = (row for row in sheet.iter_rows(min_row=7) if row[1].value == "sensor-like")
    assert (sensor[3].value, sensor[4].value) == (None, None)


def test_it_says_that_nothing_here_is_a_limit_and_how_much_was_read(sheet):
    told = " ".join(words(sheet))
    assert "Nothing here is a maker\u2019s limit" in told
    assert "of 78 pairs were read; no more are needed" in told  # 12 pins and the casting: 13 * 12 / 2


def test_the_odd_one_and_unused_pins_are_named(sheet):
    told = " ".join(words(sheet))
    assert "the odd one out of its like" in told
    assert "Open to all others that were read: 1, 4, 10." in told


def test_a_session_with_a_variant_has_no_such_sheet():
    assert "Wiring" not in sheets_of("2218-healthy-spare").sheetnames


def test_a_reading_to_repeat_is_said_once():
    twice = [Reading(from_node="1", to_node="2", ohm=ohm, celsius=20.0, meter="0.5%+5x0.01") for ohm in (5.0, 50.0)]
    sheet = openpyxl.load_workbook(io.BytesIO(workbook_of(session_of(*twice))))["Wiring"]
    (told,) = [text for text in words(sheet) if "Readings of one pair differ" in text]
    assert told.startswith("Contradiction, to be read again: 1\u20132")
