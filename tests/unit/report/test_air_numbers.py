"""Sheets of leaks, pressures and sweeps: verdicts in words, budgets and readings with formulas; data invented."""

from __future__ import annotations

import io
import json

import openpyxl
import pytest

from tests.data.made_air import leak_test, pressure, seat_test, sweep_test, vacuum_test
from tests.unit.judge.test_tap_rows import TAPS
from tests.unit.report.samples import VARIANT, session_of, workbook_of
from valvebench.model.entry import Correct, Note, Withdraw
from valvebench.model.variant_rules import read_variant
from valvebench.report import air_leaks, air_taps
from valvebench.report.tables import HEADER_ROW

LOG = {"sha256": "cd" * 32, "file_name": "leak.csv", "size_bytes": 512}
NO_VALUES = {"supply_kpa_gauge": (), "port_kpa_gauge": ()}


def variant():
    data = json.loads(VARIANT)
    data["devices"][0]["max_hysteresis_pct"] = 4
    data["ports"].append({"name": "P6", "method": "steady", "kpa_gauge": 250, "max_ml_min": 400})
    return read_variant(json.dumps({**data, "taps": TAPS}).encode(), source="test")


def book_of(*bodies):
    return openpyxl.load_workbook(io.BytesIO(workbook_of(session_of(*bodies), variant())))


def line(book, title, columns, number=1):
    cells = book[title][HEADER_ROW + number]
    return {column.title: cell.value for column, cell in zip(columns, cells, strict=False)}


def texts(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


@pytest.mark.parametrize("title", [air_leaks.TITLE, air_taps.PRESSURES, air_taps.SWEEPS])
def test_without_such_a_test_there_is_no_such_sheet(title):
    assert title not in book_of(Note(text="calm")).sheetnames


def test_a_leak_with_its_limit_budget_and_readings():
    book = book_of(leak_test("P6", 500.0, gauge_id="blue"))
    shown = line(book, air_leaks.TITLE, air_leaks.COLUMNS)
    assert (shown["Port or seat"], shown["Verdict"], shown["Method"]) == ("P6", "Fail", "steady")
    assert (shown["Leak, ml/min"], shown["U, ml/min"], shown["k"], shown["Limit, ml/min"]) == (500, 16, 2, 400)
    assert (shown["Told at, kPa gauge"], shown["Read from"], shown["Entry"]) == (250, "typed", 2)
    assert shown["Gauge"].startswith("blue, ")
    assert shown["U again, ml/min"].startswith("=")
    assert {"restriction", "supply kpa gauge, kPa", "port kpa gauge, kPa"} <= set(texts(book[air_leaks.TITLE]))


def test_a_leak_from_a_file_names_it_and_one_without_a_number_has_no_formulas():
    book = book_of(leak_test("P6", None, **LOG, **NO_VALUES))
    shown = line(book, air_leaks.TITLE, air_leaks.COLUMNS)
    assert (shown["Read from"], shown["SHA-256 of the file"]) == ("leak.csv, 512 bytes", LOG["sha256"])
    assert (shown["Verdict"], shown["U again, ml/min"]) == ("Can't tell", None)


def test_a_leak_at_a_seat_stands_in_the_same_sheet():
    shown = line(book_of(seat_test("Gull")), air_leaks.TITLE, air_leaks.COLUMNS)
    assert (shown["Port or seat"], shown["Verdict"], shown["Leak, ml/min"]) == ("Gull, seat", "No limit", 20)


def test_a_pressure_with_its_window():
    shown = line(book_of(pressure(450.0, note="at the test plug")), air_taps.PRESSURES, air_taps.PRESSURE_COLUMNS)
    assert (shown["Tap"], shown["Verdict"], shown["State"], shown["Note"]) == (
        "Line",
        "Pass",
        "idle",
        "at the test plug",
    )
    assert (shown["Low, kPa"], shown["High, kPa"], shown["Fluid, \u00b0C"]) == (400, 500, 80)
    assert shown["Window for fluid at"] == "60 to 100 \u00b0C"


def test_a_sweep_that_does_not_stand_out():
    shown = line(book_of(sweep_test("Gull", 0.5)), air_taps.SWEEPS, air_taps.SWEEP_COLUMNS)
    assert (shown["Solenoid"], shown["Verdict"], shown["Stands out"]) == ("Gull", "Pass", "not resolved")
    assert (shown["Hysteresis, % of the span"], shown["Limit, %"], shown["Dead band, A"]) == (0.5, 4, None)


def test_the_summary_shows_number_and_limit():
    book = book_of(leak_test("P6", 500.0), pressure(450.0), sweep_test("Gull", 9.0))
    said = texts(book["Summary"])
    assert {"500 \u00b1 16 ml/min", "< 400 ml/min", "450.00 \u00b1 0.95 kPa", "400 to 500 kPa"} <= set(said)
    assert {"9.0 \u00b1 1.0 % of the span", "< 4 %"} <= set(said)


def test_the_trail_tells_each_in_words():
    book = book_of(
        leak_test("P6", 500.0, hose_id="short", note="warm"),
        vacuum_test("P4", 40.0),
        sweep_test("Gull"),
        pressure(450.0),
        Withdraw(entry=2, why="another hose"),
        Correct(entry=5, why="misread", body={"tap": "Line", "kpa_gauge": 440.0, "fluid_celsius": 80, "state": "idle"}),
    )
    said = "\n".join(texts(book["Trail"]))
    assert (
        "Leak of P6, steady; supply kpa gauge: 300; port kpa gauge: 250; restriction c: 0.001; hose id: short" in said
    )
    assert "found in 1 readings: 500 \u00b1 16 ml/min at 250 kPa gauge; note: warm" in said
    assert "vacuum kpa: 30" in said
    assert "Sweep of Gull; sweep.csv, 512 bytes" in said
    assert "tap: Line" in said
    assert "450.0 -> 440.0" in said
