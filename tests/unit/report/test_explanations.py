"""The sheet Explanations: what explains the readings, in words with the place, and what is never claimed.

The truth of the sample jobs stands in `simulate.quillon`; numbers are from the readings as they were typed.
"""

from __future__ import annotations

import io
import json
import re
import shutil
from math import sqrt
from pathlib import Path

import openpyxl
import pytest

from tests.unit.report.samples import PRINTED_AT, PROGRAM, session_of, variant
from valvebench.__main__ import main
from valvebench.bench.explain_report import explain_job
from valvebench.bench.judging import judged_whole
from valvebench.compose import view_session
from valvebench.diagnose.explain_priors import read_priors
from valvebench.model.entry import Note, Reading
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import AccessPoint, LeadState, TemperatureSource
from valvebench.report.explain_formulas import ACCESS, ANSWERS, TOLD
from valvebench.report.explanations import (
    ACCESS_TITLE,
    ANSWERS_TITLE,
    FLEX_TITLE,
    HEAT_TITLE,
    INVISIBLE_TITLE,
    NEXT_TITLE,
    SHARE,
    TITLE,
    TOLD_TITLE,
)
from valvebench.report.workbook import workbook_bytes

ROOT = Path(__file__).parents[3]
PRIORS = read_priors((ROOT / "resources" / "priors.json").read_bytes(), source="priors.json")


def read(a, b, ohm=None, **more):
    shown = {"ohm": ohm} if ohm is not None else {"open": True, "range_ohm": 6e7}
    common = {"celsius": 20.0, "meter": "0.5%+2x0.01", "leads": LeadState.NULLED}
    return Reading(from_node=a, to_node=b, **(common | {"temperature": TemperatureSource.TAPED} | shown | more))


def book_of(session, of_variant, explained):
    raw = workbook_bytes(
        session,
        of_variant,
        judged_whole(session, of_variant, None),
        printed_at=PRINTED_AT,
        program=PROGRAM,
        photos={},
        explained=explained,
    )
    return openpyxl.load_workbook(io.BytesIO(raw))


def sheet_of(*bodies, of_variant=None):
    session, known = session_of(*bodies), of_variant or variant()
    return book_of(session, known, explain_job(session, known, PRIORS))[TITLE]


def of_sample(name):
    view = view_session(ROOT / "sample_sessions" / name)
    return book_of(view.session, view.variant, explain_job(view.session, view.variant, PRIORS))[TITLE]


def table(sheet, title, columns):
    """Rows of the table below a title, as far as its first column goes, by key."""
    start = next(cell.row for cell in sheet["A"] if cell.value == title) + 1
    assert [sheet.cell(start, n).value for n, _ in enumerate(columns.columns, start=1)] == [
        words for _, words in columns.columns
    ]
    rows = []
    for row in range(start + 1, sheet.max_row + 1):
        if sheet.cell(row, 2).value is None and sheet.cell(row, 3).value is None:
            break
        rows.append({key: sheet.cell(row, n).value for n, (key, _) in enumerate(columns.columns, start=1)})
    return rows


def words(sheet):
    return [cell.value for row in sheet.iter_rows() for cell in row if isinstance(cell.value, str)]


@pytest.fixture(scope="module")
def poor_contact():
    return of_sample("2224-poor-contact")


@pytest.fixture(scope="module")
def mirrored():
    return of_sample("2225-pins-mirrored")


# Whether there is a sheet


@pytest.mark.parametrize(
    ("bodies", "has_variant"),
    [
        pytest.param([read("1", "7", 5.2)], False, id="no variant: nothing is known of the circuit"),
        pytest.param([Note(text="nothing read")], True, id="no reading"),
    ],
)
def test_no_sheet_without_variant_or_reading(bodies, has_variant):
    session, known = session_of(*bodies), variant() if has_variant else None
    assert explain_job(session, known, PRIORS) is None
    assert TITLE not in book_of(session, known, None).sheetnames


def test_readings_that_say_nothing_are_named_with_the_reason():
    sheet = sheet_of(read("1", "7", 5.2, temperature=TemperatureSource.NOT_SOAKED))
    assert sheet["A2"].value == "Nothing was read yet that could be explained."
    told = words(sheet)
    assert ANSWERS_TITLE not in told
    assert "Entry 2" in told
    assert any("before the part has soaked" in one for one in told)


# What it says


def test_the_planted_fault_stands_first_with_its_place_and_size(poor_contact):
    """3 ohm before pin 2, which is Heron's."""
    first = table(poor_contact, ANSWERS_TITLE, ANSWERS)[0]
    assert first["what"].startswith("Pin 2")
    assert "poor contact" in first["what"]
    assert abs(first["size"] - 3.0) <= first["U_size"]
    assert poor_contact["A2"].value.startswith(first["what"])


def test_answers_stand_in_order_and_their_chance_in_words(poor_contact):
    rows = table(poor_contact, ANSWERS_TITLE, ANSWERS)
    shares = [row["share"] for row in rows]
    assert shares == sorted(shares, reverse=True)
    assert all(re.fullmatch(r"about \d{1,2} in 100|less than 1 in 100", row["chance"]) for row in rows)


def test_no_chance_is_ever_certain_nor_longer_than_two_digits(mirrored):
    first = table(mirrored, ANSWERS_TITLE, ANSWERS)[0]
    assert first["chance"] == "odds better than 99 in 100"
    assert SHARE.number_format.startswith('[>0.99]"> 0.99"')
    cell = next(cell for cell in mirrored["D"] if cell.value == first["share"])
    assert cell.number_format == SHARE.number_format
    assert first["p_odds"] == 99


def test_odds_distances_and_differences_are_formulas(poor_contact):
    for title, columns in ((ANSWERS_TITLE, ANSWERS), (TOLD_TITLE, TOLD), (ACCESS_TITLE, ACCESS)):
        for row in table(poor_contact, title, columns):
            written = [row[key] for key in columns.formulas if row[key] is not None]
            assert all(str(value).startswith("=") for value in written)
            assert written


def test_every_reading_stands_once_with_device_place_and_entry(poor_contact):
    rows = table(poor_contact, TOLD_TITLE, TOLD)
    assert len(rows) == 9  # five coils, the sensor, two isolations, Heron at its own terminals
    first = rows[0]
    assert (first["what"], first["read"]) == ("2\u20138, Heron", 8.97)
    assert first["where"] == "case connector, 22.3 \u00b0C, entry 5"
    assert {row["where"].rpartition(" ")[2] for row in rows} == {"4", "5", "6", "7", "8", "9", "10", "11", "13"}
    assert {row["read"] for row in rows if "isolation" in row["what"]} == {"open"}


def test_the_doubt_of_a_reading_has_all_its_parts(poor_contact):
    """0.9 % + 2 x 0.01 at 8.97 ohm, two tips of 0.01, 0.02 of nulled leads, plus or minus 2 K of copper."""
    first = table(poor_contact, TOLD_TITLE, TOLD)[0]
    assert first["own"] == pytest.approx(sqrt((2 * 0.01) ** 2 / 3 + 2 * 0.01**2))
    assert first["gain"] == pytest.approx(0.009 / sqrt(3))
    assert first["leads"] == pytest.approx(0.02)
    assert first["slope"] == pytest.approx(8.97 / (234.5 + 22.3))
    assert first["u_celsius"] == pytest.approx(2 / sqrt(3))


def test_two_access_points_stand_with_what_lies_between(poor_contact):
    (row,) = table(poor_contact, ACCESS_TITLE, ACCESS)
    assert row["what"] == "2\u20138"
    assert row["between"] == "inner conductor: case connector (entry 5) less device terminals (entry 13)"
    assert (row["outer"], row["inner"]) == (8.97, 5.96)
    assert row["p_difference"] == pytest.approx(8.97 - 5.96)
    assert (row["outer_gain"], row["inner_gain"], row["outer_leads"], row["inner_leads"]) == (None,) * 4


def test_what_each_side_has_of_its_own_is_written_where_nothing_is_shared():
    other = {"meter": "1%+3x0.1", "leads": LeadState.NEITHER, "celsius": 22.0}
    sheet = sheet_of(
        read("1", "7", 5.2), read("1", "7", 5.9, at=AccessPoint.VEHICLE_PLUG, **other), read("2", "7", 13.4)
    )
    (row,) = table(sheet, ACCESS_TITLE, ACCESS)
    assert row["gain"] is None
    assert (row["outer_gain"], row["inner_gain"]) == (pytest.approx(0.01 / sqrt(3)), pytest.approx(0.005 / sqrt(3)))
    assert row["outer_leads"] == pytest.approx(0.1 / sqrt(3))  # a rectangle of plus or minus half the 0.2 ohm allowed
    assert (row["outer_u_celsius"], row["inner_u_celsius"]) == (pytest.approx(2 / sqrt(3)),) * 2


def test_few_readings_name_no_winner():
    sheet = sheet_of(read("1", "7", 5.2))
    assert re.match(r"Still possible: \d+ explanations\.", sheet["A2"].value)


def test_what_is_assumed_and_what_to_read_next_are_said(poor_contact):
    assert poor_contact["A5"].value.startswith("Taken as given: coils at 22.3 \u00b0C \u00b1 2.3")
    assert "Other variants were not weighed" in poor_contact["A5"].value
    assert poor_contact["A3"].value.startswith("Next: ")
    told = words(poor_contact)
    assert NEXT_TITLE in told
    assert any("burn" in one for one in told)  # a warm reading is among them, with its caution


def test_faults_that_cannot_show_are_named(poor_contact):
    start = next(cell.row for cell in poor_contact["A"] if cell.value == INVISIBLE_TITLE)
    assert poor_contact.cell(start + 1, 1).value.endswith(".")
    sound = next(r for r in table(poor_contact, ANSWERS_TITLE, ANSWERS) if r["what"] == "Nothing wrong shows")
    assert "listed below" in sound["same"]


def test_a_like_reading_taken_twice_stands_twice_with_both_entries():
    sheet = sheet_of(read("1", "7", 5.2), read("2", "7", 13.4), read("1", "7", 5.2))
    rows = [row for row in table(sheet, TOLD_TITLE, TOLD) if row["what"] == "1\u20137, Gull"]
    assert {row["where"].rpartition(" ")[2] for row in rows} == {"2", "4"}


def test_names_stay_text_and_never_become_formulas():
    data = json.loads((ROOT / "resources" / "variants" / "tern-body-1.json").read_text("utf-8"))
    data["devices"][1]["name"] = "=1+1"
    data["solenoid_chart"] = {}  # it names the solenoid by its old name
    of_variant = read_variant(json.dumps(data).encode(), source="test")
    sheet = sheet_of(read("1", "8", 5.9), read("2", "8", 3.1), read("3", "8", 5.9), of_variant=of_variant)
    first = next(cell for row in sheet.iter_rows() for cell in row if cell.value and "=1+1" in str(cell.value))
    assert first.data_type == "s"


def test_electronics_on_board_are_left_out_and_named():
    data = json.loads((ROOT / "resources" / "variants" / "tern-body-3.json").read_text("utf-8"))
    of_variant = read_variant(json.dumps(data).encode(), source="test")
    told = words(sheet_of(read("1", "2", 5.2), of_variant=of_variant))
    assert any("cannot judge" in one for one in told)


def test_a_reading_that_was_left_out_lends_nothing_to_one_that_says_the_same():
    """Entry 2 is of pins this variant does not have; entry 3 shows the same number."""
    stray = read("8", "9", 5.2)
    sheet = sheet_of(stray, read("1", "7", 5.2), read("2", "7", 13.4))
    rows = table(sheet, TOLD_TITLE, TOLD)
    assert [row["where"].rpartition(" ")[2] for row in rows if row["read"] == 5.2] == ["3"]
    assert "Entry 2" in words(sheet)


def test_what_was_found_as_it_warmed_stands_with_its_size():
    """The truth of the rounds: Heron grows by 0.246 ohm up to 91 degrees; its warm readings count once."""
    sheet = of_sample("2221-plateau-rounds")
    told = words(sheet)
    assert HEAT_TITLE in told
    (grown,) = [one for one in told if one.startswith("Counted as it warmed: Heron grows with heat")]
    size, doubt = map(float, re.search(r"([\d.]+) \u00b1 ([\d.]+)", grown).groups())
    assert abs(size - 0.246) <= doubt
    rows = table(sheet, TOLD_TITLE, TOLD)
    assert all(float(re.search(r"([\d.]+) \u00b0C", row["where"])[1]) < 30 for row in rows)  # rounds 1 and 7
    assert "heat" in sheet["A2"].value


def test_what_a_flex_test_found_has_a_section_of_its_own(tmp_path):
    folder = shutil.copytree(ROOT / "sample_sessions" / "2217-in-work", tmp_path / "2217")
    words_of_flex = ("--ohms", "5.2 5.2 OL 5.2 5.2 5.2", "--celsius", "23", "--flexed", "the harness at the plug")
    assert main(["record", str(folder), "flex", "--from", "4", "--to", "5", *words_of_flex]) == 0
    view = view_session(folder)
    told = words(book_of(view.session, view.variant, explain_job(view.session, view.variant, PRIORS))[TITLE])
    assert FLEX_TITLE in told
    assert any("Curlew (4\u20135) while the harness at the plug was flexed" in one for one in told)


def test_every_reading_of_every_sample_is_found_with_its_own_entry():
    """A reading that was weighed stands with the number of the entry that holds it."""
    for folder in sorted((ROOT / "sample_sessions").iterdir()):
        view = view_session(folder) if folder.is_dir() else None
        if view is None or view.variant is None:
            continue
        kept = {item.n: item.body for item in view.session.items}
        if not any(isinstance(body, Reading) for body in kept.values()):
            continue
        for row in table(of_sample(folder.name), TOLD_TITLE, TOLD):
            reading = kept[int(row["where"].rpartition(" ")[2])]
            assert row["what"].startswith(f"{reading.from_node}\u2013{reading.to_node}, ")
            assert (row["read"] == "open") is reading.open
