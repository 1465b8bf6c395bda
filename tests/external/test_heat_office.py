"""The live formulas of the sheets Heat rounds and Heat workings, computed by an office suite.

Oracles: LibreOffice, which knows nothing of this program, and numpy's least squares on the readings
as they were typed.  The truth of the runs is the test's own: copper by IEC 60034-1, a meter with a
gain and a step, seeds by the name of the run.
"""

from __future__ import annotations

import subprocess

import numpy as np
import openpyxl
import pytest

from tests.external_tools import need
from tests.unit.report.samples import chance, session_of, variant
from valvebench.bench.judging import judged_whole
from valvebench.model.entry import MeterCheck, Reading
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.report.cells import Book
from valvebench.report.heat_cases import heat_cases
from valvebench.report.heat_formulas import COLUMN, READING_LETTER, ROUNDS_TITLE, WORKINGS_TITLE
from valvebench.report.heat_workings import HEADER_ROW, ROUNDS_HEADER_ROW, write_heat_rounds
from valvebench.report.pack import packed

PLATEAUS = (23.0, 35.0, 47.0, 58.0, 69.0, 80.0, 91.0, 81.0, 72.0, 60.0, 49.0, 37.0, 26.0)
EXTRAS = {
    "copper": lambda _: 0.0,
    "series": lambda _: 0.6,
    "knee": lambda celsius: 0.02 * max(0.0, celsius - 55.0),
    "swell": lambda celsius: 0.02 * 1.06 ** (celsius - 20.0),
}
LEADS = (LeadState.FOUR_WIRE, LeadState.NULLED, LeadState.NEITHER, LeadState.SUBTRACT)
MANY = 36
"""Readings from which the program's doubt also holds how neighbours resemble one another."""


def readings(name, extra, leads, plateaus=PLATEAUS, open_at=None):
    rng, found = chance(f"heat office {name}"), []
    gain, tips = 1.0 + rng.uniform(-0.002, 0.002), 0.0 if leads in LEADS[:2] else 0.15
    for number, celsius in enumerate(plateaus, start=1):
        true = 5.2 * (234.5 + celsius) / 254.5 + EXTRAS[extra](celsius) + tips
        shown = round(true * gain + rng.gauss(0.0, 0.004), 2)
        at = {"from_node": "1", "to_node": "7", "celsius": celsius, "round": number, "leads": leads}
        at |= {"meter": "0.5%+2x0.01", "temperature": TemperatureSource.TAPED}
        at |= {"lead_ohm": 0.15} if leads is LeadState.SUBTRACT else {}
        value = {"open": True, "range_ohm": 6e7} if number == open_at else {"ohm": shown}
        found.append(Reading(**at, **value))
    return found


def jobs():
    made = {
        f"{extra} {leads.value}": readings(f"{extra} {leads.value}", extra, leads)
        for extra in EXTRAS
        for leads in LEADS
    }
    made["one open"] = readings("one open", "copper", LeadState.FOUR_WIRE, open_at=7)
    rng = chance("many")
    many = [round(rng.uniform(22.0, 95.0), 1) for _ in range(MANY)]
    made["many"] = readings("many", "copper", LeadState.FOUR_WIRE, many)
    check = MeterCheck(check_ohm=5.0, read_ohm=5.02, zero_read_ohm=0.0, meter="0.5%+2x0.01", leads=LeadState.FOUR_WIRE)
    made["checked"] = [check, *readings("checked", "series", LeadState.FOUR_WIRE)]
    return made


def book_of(bodies):
    """The two sheets alone: opening files is what takes the time."""
    session, of_variant = session_of(*bodies), variant()
    cases, _ = heat_cases(session, of_variant, judged_whole(session, of_variant, None))
    book = Book()
    write_heat_rounds(book, cases, session, report_id="test")
    return packed(book.workbook, title="test", program="test", printed=None)


@pytest.fixture(scope="module")
def recalculated(tmp_path_factory):
    """By job: the line of Heat workings and the rows of Heat rounds, as an office suite computes them."""
    office = need("soffice", "libreoffice")
    folder = tmp_path_factory.mktemp("office")
    names = list(jobs())
    for name, bodies in jobs().items():
        (folder / f"{name}.xlsx").write_bytes(book_of(bodies))
    files = [str(folder / f"{name}.xlsx") for name in names]
    profile = f"-env:UserInstallation={(folder / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(folder / "out"), *files]
    subprocess.run(command, check=True, capture_output=True, timeout=300)
    return {name: computed(folder / "out" / f"{name}.xlsx") for name in names}


def computed(path):
    book = openpyxl.load_workbook(path, data_only=True)
    (line,) = list(book[WORKINGS_TITLE].iter_rows(min_row=HEADER_ROW + 1, values_only=True))
    rounds = list(book[ROUNDS_TITLE].iter_rows(min_row=ROUNDS_HEADER_ROW + 1, values_only=True))
    rows = [dict(zip(READING_LETTER, row, strict=False)) for row in rounds]
    return {key: line[number - 1] for key, number in COLUMN.items() if number <= len(line)}, rows


@pytest.mark.parametrize("name", list(jobs()))
def test_a_straight_line_by_numpy_is_the_sheets(recalculated, name):
    line, rows = recalculated[name]
    values = [(row["celsius"], row["ohm"]) for row in rows if row["ohm"] != "open"]
    celsius, ohm = np.array(values).T
    copper, offset = np.polyfit((234.5 + celsius) / 254.5, ohm, 1)
    assert line["n"] == celsius.size
    assert line["copper"] == pytest.approx(copper, rel=1e-9)
    assert line["slope"] == pytest.approx(copper / (copper + offset), rel=1e-9)
    left = [row["off"] for row in rows if row["off"] is not None]
    assert left == pytest.approx(list(ohm - copper * (234.5 + celsius) / 254.5 - offset), abs=1e-9)


@pytest.mark.parametrize("name", list(jobs()))
def test_what_the_program_found_is_computed_again(recalculated, name):
    line, _ = recalculated[name]
    assert "agree" in line["agrees"]


def test_every_kind_and_every_way_of_agreeing_was_seen(recalculated):
    lines = [line for line, _ in recalculated.values()]
    assert {line["kind"] for line in lines} == {
        "copper only",
        "a contact that stays put",
        "a contact that grows with heat",
    }
    assert {line["agrees"] for line in lines} >= {"agrees", "agrees within U", "values agree"}


def test_a_changed_number_is_noticed(tmp_path):
    """The formulas compare: another find of the program does not pass."""
    office = need("soffice", "libreoffice")
    book = tmp_path / "changed.xlsx"
    book.write_bytes(book_of(readings("changed", "copper", LeadState.FOUR_WIRE)))
    opened = openpyxl.load_workbook(book)
    opened[WORKINGS_TITLE].cell(HEADER_ROW + 1, COLUMN["p_u_slope"]).value *= 1.001
    opened.save(book)
    profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
    command = [office, profile, "--headless", "--convert-to", "xlsx", "--outdir", str(tmp_path / "out"), str(book)]
    subprocess.run(command, check=True, capture_output=True, timeout=180)
    line, _ = computed(tmp_path / "out" / "changed.xlsx")
    assert line["agrees"] == "differs"
