"""The sheets of heat runs: what each says, by whose readings, and that text from outside stays text."""

from __future__ import annotations

import io
import zlib

import numpy as np
import openpyxl
import pytest

from tests.unit.report.samples import session_of, variant, workbook_of
from valvebench.diagnose.heat_data import HeatRun
from valvebench.model.entry import Note, Reading
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, HeatTest, Sized
from valvebench.model.words import LeadState, TemperatureSource
from valvebench.report import heat, heat_formulas
from valvebench.report.heat_ratios import TITLE

SHA = "ab" * 32
PLATEAUS = (23.0, 47.0, 69.0, 91.0, 72.0, 49.0, 26.0)
EVIL = "=1+1"


def copper(celsius, ohm_at_20=5.2):
    """Copper by IEC 60034-1, 234.5."""
    return ohm_at_20 * (234.5 + celsius) / 254.5


def round_readings(extra=lambda _: 0.0, *, ohm_at_20=5.2, open_from=999.0):
    """One reading of a pair at each plateau, to hundredths; open above a temperature."""
    common = {"from_node": "1", "to_node": "7", "meter": "0.2%+2x0.01", "leads": LeadState.FOUR_WIRE}
    readings = []
    for number, celsius in enumerate(PLATEAUS, start=1):
        at = {**common, "celsius": celsius, "round": number, "temperature": TemperatureSource.TAPED}
        if celsius > open_from:
            readings.append(Reading(**at, open=True, range_ohm=6e7))
        else:
            readings.append(Reading(**at, ohm=round(copper(celsius, ohm_at_20) + extra(celsius), 2)))
    return readings


def found(**more):
    """A find as a logger's run has one, its numbers made up."""
    facts = {
        "n": 240,
        "kind": HeatKind.COPPER,
        "slope_over_copper": Sized(value=1.002, u=0.004),
        "r20_ohm": Sized(value=5.2, u=0.02),
        "at_20_ohm": Sized(value=5.2, u=0.02),
        "coldest_celsius": 22.0,
        "hottest_celsius": 96.0,
        "lag_s": Sized(value=70.0, u=2.0),
        "residual_ohm": 0.004,
        "separable": True,
        "meter": "0.2%+2x0.01",
    }
    return HeatFound(**(facts | more))


def run(device="Gull", **more):
    facts = {"sha256": SHA, "file_name": "warm.csv", "size_bytes": 7000, "column": "Gull", "meter": "0.2%+2x0.01"}
    facts |= {"found": found(), "program": "test"}
    return HeatTest(device=device, **(facts | more))


def loaded(raw):
    return openpyxl.load_workbook(io.BytesIO(raw))


def book_of(*bodies, logs=None):
    return loaded(workbook_of(session_of(*bodies), variant(), logs=logs))


def line(book, number=1):
    """A run of the sheet Heat by the titles of its columns."""
    cells = book["Heat"][heat.HEADER_ROW + number]
    values = [cell.value for cell in cells]
    titles = [column.title for column in heat.COLUMNS]
    first = {}
    for title, value in zip(titles, values, strict=True):
        first.setdefault(title, value)
    return first | {f"after {a}": value for a, value in zip(titles, values[1:], strict=False)}


def texts(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


# When there is something to say


def test_without_heat_there_is_no_such_sheet():
    titles = book_of(Note(text="cold")).sheetnames
    assert not [title for title in titles if "Heat" in title]


def test_rounds_bring_their_sheets_in_reading_order():
    titles = book_of(*round_readings()).sheetnames
    assert titles[2:6] == ["Air", "Heat", "Heat chart", "Heat rounds"]
    assert titles[-3:] == ["Heat workings", "Chart data", "Heat chart data"]


def test_a_log_alone_has_no_sheets_of_rounds():
    titles = book_of(run()).sheetnames
    assert "Heat" in titles
    assert "Heat rounds" not in titles


# Rounds


def test_copper_in_rounds_passes_with_its_numbers():
    told = line(book_of(*round_readings()))
    assert (told["Device"], told["Verdict"], told["Against copper it is"]) == ("Gull", "Pass", "copper only")
    assert told["Slope over copper"] == pytest.approx(1.0, abs=0.01)
    assert told["Copper at 20 \u00b0C, \u03a9"] == pytest.approx(5.2, abs=0.01)
    assert told["Lag behind the probe, s"] == "none: settled before each reading"
    assert (told["Lowest allowed, \u03a9"], told["Highest allowed, \u03a9"]) == (4.9, 5.5)
    assert told["Read from"] == "readings in 7 rounds"
    assert told["Entries"] == "2 3 4 5 6 7 8"


def test_a_contact_that_grows_fails_though_every_single_reading_passes():
    """0.006 ohm for each kelvin above 50: 0.246 at 91, and 5.06 + 0.246 * 254.5 / 325.5 = 5.25 is inside 5.5."""
    book = book_of(*round_readings(lambda celsius: 0.006 * max(0.0, celsius - 50.0), ohm_at_20=5.06))
    told = line(book)
    assert (told["Verdict"], told["Against copper it is"]) == ("Fail", "a contact that grows with heat")
    assert told["Too much at the hottest, \u03a9"] == pytest.approx(0.246, abs=0.02)
    assert told["Grows from, \u00b0C"] == pytest.approx(50.0, abs=3.0)
    readings = [row[3] for row in book["Readings"].iter_rows(min_row=4, values_only=True)]
    assert set(readings) == {"Pass"}
    assert book["Summary"]["A4"].value == "Fail"
    (item,) = [r for r in book["Summary"].iter_rows(values_only=True) if r[0] == "Gull, heat run"]
    assert item[1] == "Fail"
    assert item[2].endswith("at 20 \u00b0C")
    assert "too much at the hottest" in item[5]
    assert item[5].endswith("that tells harness and device apart.")


def test_a_start_that_is_not_told_says_where_the_reason_stands():
    told = line(
        book_of(run(found=found(kind=HeatKind.GROWS_WITH_HEAT, excess_ohm_at_hottest=Sized(value=0.3, u=0.02))))
    )
    assert told["Grows from, \u00b0C"] == "none told: see Why"


def test_uncertainties_are_expanded():
    told = line(book_of(run()))
    assert told["U of the slope"] == pytest.approx(0.008)
    assert told["after Lag behind the probe, s"] == pytest.approx(4.0)


def test_each_reading_of_a_round_stands_with_its_round_and_entry():
    sheet = book_of(*round_readings(open_from=90.0))["Heat rounds"]
    rows = [[cell.value for cell in row[:8]] for row in sheet.iter_rows(min_row=5, max_row=11)]
    assert [row[1:4] for row in rows] == [["Gull", number, number + 1] for number in range(1, 8)]
    assert [row[5] for row in rows] == list(PLATEAUS)
    assert [row[4] for row in rows] == ["warming"] * 4 + ["cooling"] * 3
    assert rows[3][6:] == ["open > 60 M", "open"]


def test_readings_name_their_round():
    sheet = book_of(*round_readings(), round_readings()[0])["Readings"]
    titles = [cell.value for cell in sheet[3]]
    rounds = [row[titles.index("Round of a heat run")] for row in sheet.iter_rows(min_row=4, values_only=True)]
    assert rounds == [1, 2, 3, 4, 5, 6, 7, 1]


def test_an_opening_in_a_round_is_an_event():
    book = book_of(*round_readings(open_from=90.0))
    assert line(book)["Verdict"] == "Fail"
    assert "It opened at 91 \u00b0C of the coil, 91 \u00b0C of the probe, while it warmed." in texts(book["Heat"])


def test_rounds_that_say_nothing_yet_say_why():
    sheet = book_of(*round_readings()[:2])["Heat"]
    (words,) = [text for text in texts(sheet) if text.startswith("Gull, entries 2 3: nothing can be said yet.")]
    assert "at least 5" in words


def test_rounds_without_a_variant_are_said_to_be_nobodys():
    sheet = loaded(workbook_of(session_of(*round_readings())))["Heat"]
    assert sheet["A2"].value == "No heat run can be judged yet."
    assert [text for text in texts(sheet) if text.startswith("entries 2 3 4 5 6 7 8: nothing can be said yet. Without")]


# Like devices


def ratios(book):
    rows = list(book["Heat"].iter_rows(values_only=True))
    at = next((i for i, row in enumerate(rows) if row[0] == TITLE), len(rows))
    return [row[:7] for row in rows[at + 2 :] if row[1]]


def test_like_devices_of_one_log_are_compared_at_the_same_moments():
    """Two coppers of 5.2 and 5.0 ohm: 1.04 throughout; one that holds 0.4 ohm more at the hottest is not alike."""
    celsius = log().probe_celsius
    other, grown = copper(celsius, 5.0), copper(celsius) + 0.4 * np.maximum(celsius - 60.0, 0.0) / 36.0
    noise = np.random.default_rng(zlib.crc32(b"ratios")).normal(size=(3, celsius.size)) * 0.002
    ohms = (copper(celsius) + noise[0], other + noise[1], grown + noise[2])
    logs = {n: HeatRun(celsius, ohm, log().t_s) for n, ohm in enumerate(ohms, start=2)}
    book = book_of(run("Gull"), run("Curlew", column="Curlew"), run("Heron", column="Heron"), logs=logs)
    told = {row[:2]: row[2:] for row in ratios(book)}
    assert told["Gull", "Curlew"][0] == "it stays"
    assert told["Gull", "Curlew"][2] == "warm.csv"
    assert told["Gull", "Curlew"][3] == pytest.approx(1.04, abs=told["Gull", "Curlew"][4])
    assert told["Gull", "Heron"][0] == "it changes"


def test_runs_of_different_files_are_not_compared():
    logs = {2: log(), 3: log()}
    assert ratios(book_of(run(), run("Curlew", sha256="cd" * 32), logs=logs)) == []


# Logger's files


def test_a_run_of_a_log_names_file_column_and_hash():
    told = line(book_of(run()))
    assert told["Read from"] == "warm.csv, column Gull, 7000 bytes"
    assert told["SHA-256 of the file"] == SHA
    assert told["Readings"] == 240
    assert told["Meter"] == "0.2%+2x0.01 \u03a9"


def test_an_assumed_meter_is_called_so():
    assert line(book_of(run(found=found(meter_is_assumed=True))))["Meter"] == "0.2%+2x0.01 \u03a9 (assumed)"


def test_events_stand_with_time_temperatures_and_direction():
    event = HeatEvent(kind="open", t_s=2940.0, probe_celsius=88.3, coil_celsius=86.7, heating=True)
    step = HeatEvent(kind="step", t_s=3000.0, probe_celsius=90.0, coil_celsius=88.0, heating=False, size_ohm=0.25)
    sheet = book_of(run(found=found(events=(event, step))))["Heat"]
    rows = [row[:9] for row in sheet.iter_rows(values_only=True) if row[1] in ("open", "step")]
    assert rows[0][:3] == ("Gull", "open", "while it warmed")
    assert rows[0][5:] == (2940, 86.7, 88.3, None)
    assert rows[1][2] == "while it cooled"
    assert rows[1][5:] == (3000, 88, 90, 0.25)


def test_what_fails_comes_first_in_the_sentence():
    bad = run("Curlew", found=found(kind=HeatKind.FIXED_SERIES, series_ohm=Sized(value=0.4, u=0.02)))
    assert book_of(run(), bad)["Heat"]["A2"].value == "Fail: Curlew; Pass: Gull."


def test_cannot_be_separated_is_not_a_pass():
    told = line(book_of(run(found=found(kind=HeatKind.NOT_SEPARABLE, separable=False, lag_s=None))))
    assert (told["Verdict"], told["Against copper it is"]) == ("Can't tell", "cannot be separated")
    assert told["Lag behind the probe, s"] == "not told apart"


@pytest.mark.parametrize("title", ["Heat", "Heat chart", "Trail", "Method", "Summary"])
def test_names_from_outside_never_become_formulas(title):
    body = run(EVIL, file_name=EVIL, column=EVIL, note=EVIL)
    for row in book_of(body)[title]:
        assert [cell.value for cell in row if cell.data_type == "f"] == []


def test_formulas_of_the_rounds_are_made_of_cells_only():
    book = book_of(*round_readings())
    written = [c.value for title in ("Heat rounds", "Heat workings") for row in book[title] for c in row]
    formulas = [value for value in written if isinstance(value, str) and value.startswith("=")]
    assert len(formulas) > 7 * 4
    assert not [one for one in formulas if "Gull" in one]


# Charts


def log(count=241):
    """A log of copper, settled all the way."""
    celsius = np.interp(np.arange(count), [0, count // 2, count - 1], [22.0, 96.0, 40.0])
    return HeatRun(celsius, copper(celsius), np.arange(count) * 60.0)


def chart_notes(book):
    return [text for text in texts(book["Heat chart"]) if text.startswith(("Gull", "drawn", "No chart", "Every"))]


def test_a_run_whose_file_is_gone_says_so_and_has_no_chart():
    book = book_of(run())
    assert chart_notes(book) == ["Gull, entry 2", "No chart: the logger\u2019s file is not there or not as it was."]
    assert book["Heat chart"]._charts == []


def test_a_short_log_is_drawn_whole_and_a_long_one_thinned_and_says_so():
    short, long = (chart_notes(book_of(run(), logs={2: log(count)})) for count in (241, 2401))
    assert short[0] == "Gull, entry 2: all samples of 241 that are not open,"
    assert long[0] == "Gull, entry 2: one of every 8 samples of 2401 that are not open,"
    book = book_of(run(), logs={2: log(2401)})
    drawn = [r for r in book["Heat chart data"].iter_rows(min_row=4, values_only=True) if r[1].startswith("Read while")]
    assert 250 <= len(drawn) <= 300


def test_a_chart_draws_against_the_coil_that_lags():
    notes = chart_notes(book_of(run(), logs={2: log()}))
    assert notes[1] == "drawn against the coil, 70 s behind the probe, its first 360 s left out."


def test_on_a_ramp_the_coil_is_drawn_rate_times_lag_behind_and_in_its_direction():
    """By the closed form of a first-order lag: 74 K up in 120 minutes, 56 down; 70 s of it is 0.72 and 0.54 K."""
    rows = list(book_of(run(), logs={2: log()})["Heat chart data"].iter_rows(min_row=4, values_only=True))
    warming, cooling = ([row[2:4] for row in rows if row[1] == f"Read while it {way}"] for way in ("warmed", "cooled"))
    for celsius, ohm in warming[:100]:
        assert ohm == pytest.approx(copper(celsius + 74.0 / 7200.0 * 70.0), abs=1e-3)
    for celsius, ohm in cooling[20:]:
        assert ohm == pytest.approx(copper(celsius - 56.0 / 7200.0 * 70.0), abs=1e-3)
    assert warming == sorted(warming)
    assert cooling[10:] == sorted(cooling[10:], reverse=True)


def test_where_copper_lies_is_not_drawn_where_it_cannot_be_told():
    apart = found(kind=HeatKind.NOT_SEPARABLE, separable=False, lag_s=None)
    book = book_of(run(found=apart), logs={2: log()})
    series = {row[1] for row in book["Heat chart data"].iter_rows(min_row=4, values_only=True)}
    assert series == {"Lower limit", "Upper limit", "Read while it warmed", "Read while it cooled"}


def test_rounds_are_drawn_by_way_with_copper_and_limits():
    book = book_of(*round_readings())
    rows = list(book["Heat chart data"].iter_rows(min_row=4, values_only=True))
    assert {row[1]: [r[1] for r in rows].count(row[1]) for row in rows} == {
        "Lower limit": 25,
        "Upper limit": 25,
        "Copper alone": 25,
        "Read while it warmed": 4,
        "Read while it cooled": 3,
    }
    lower = next(row for row in rows if row[1] == "Lower limit")
    assert lower[3] == pytest.approx(copper(lower[2], 4.9), abs=1e-9)
    assert len(book["Heat chart"]._charts) == 1


# What the house says about it


def test_the_method_explains_heat_only_where_there_is_some():
    assert "Against copper" in texts(book_of(run())["Method"])
    assert "Against copper" not in texts(book_of(Note(text="cold"))["Method"])


def test_the_trail_tells_a_heat_run_in_words():
    (words,) = [text for text in texts(book_of(run())["Trail"]) if text.startswith("Heat run of Gull")]
    assert f"SHA-256 {SHA}" in words
    assert "found in 240 readings: copper only" in words


def test_every_heading_of_the_workings_is_filled_or_explained():
    """No key of a formula is without its column."""
    groups = (heat_formulas.LINE, heat_formulas.ALL_AT_20, heat_formulas.SERIES, heat_formulas.GROWTH)
    assert {key for group in groups for key in group} <= set(heat_formulas.COLUMN)
