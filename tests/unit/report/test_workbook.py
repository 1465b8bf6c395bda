"""Structure of the workbook: sheets, print set-up, colours beside words, chart, identity, determinism."""

from __future__ import annotations

import io
import json
import os
import struct
import zlib
from pathlib import Path

import msgspec
import openpyxl
import pytest

from tests.unit.report.samples import PAIRS, PRINTED_AT, chance, everything, session_of, variant, workbook_of
from valvebench.model.entry import (
    AirTest,
    Anchor,
    Close,
    Correct,
    FeatureSeen,
    FluidFound,
    Note,
    OpenJob,
    Photo,
    Reading,
    Restore,
    SwitchTest,
    Withdraw,
    sha256_of,
)
from valvebench.model.variant import CodeRow, Expectation, Port
from valvebench.model.words import AirResult, AnchorKind, CodeState, Place, Reaction, SwitchState, TemperatureSource
from valvebench.report.charts import nice_span
from valvebench.report.formulas import COLUMN
from valvebench.report.readings import COLUMNS as READING_COLUMNS

CORPORA = Path(os.environ.get("VALVEBENCH_CORPORA", Path(__file__).parents[4] / "shared" / "corpora"))
TITLES = ["Summary", "Readings", "Air", "Chart", "Method", "Trail", "Workings", "Raw values", "Chart data"]
FORMULA_SHEETS = {"Workings", "Raw values"}
COMMON = {
    "from_node": "1",
    "to_node": "7",
    "celsius": 23.0,
    "meter": "0.5%+5x0.01",
    "temperature": TemperatureSource.TAPED,
}


@pytest.fixture(scope="module")
def raw():
    return workbook_of(session_of(*everything()), variant())


@pytest.fixture(scope="module")
def book(raw):
    return loaded(raw)


def loaded(raw):
    return openpyxl.load_workbook(io.BytesIO(raw))


def texts(sheet):
    return [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


def column(sheet, title):
    """Values under a heading of the readings."""
    number = [c.title for c in READING_COLUMNS].index(title) + 1
    return [row[number - 1] for row in sheet.iter_rows(min_row=4, values_only=True)]


def test_sheets_in_the_order_they_are_read(book):
    assert book.sheetnames == TITLES


@pytest.mark.parametrize("title", TITLES)
def test_every_sheet_prints_one_size_with_numbered_pages(book, title):
    sheet = book[title]
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert sheet.page_setup.fitToHeight == 0
    assert sheet.oddFooter.right.text == "Page &P of &N"
    assert sheet.oddFooter.left.text.startswith("Report ")


@pytest.mark.parametrize(("title", "frozen"), [("Readings", "D4"), ("Air", "B4"), ("Trail", "B4"), ("Workings", "D6")])
def test_headers_stay_and_can_be_filtered(book, title, frozen):
    sheet = book[title]
    assert sheet.freeze_panes == frozen
    assert sheet.auto_filter.ref.startswith(f"A{int(frozen[1:]) - 1}:")
    assert sheet.print_title_rows


@pytest.mark.parametrize("title", ["Summary", "Readings", "Air", "Workings"])
def test_verdicts_have_colour_beside_the_word(book, title):
    rules = [rule for area in book[title].conditional_formatting for rule in area.rules]
    assert {rule.formula[0] for rule in rules} == {'"Pass"', '"Fail"', '"Can\'t tell"', '"Not usable"'}


def test_formulas_only_where_they_are_ours(book):
    found = {sheet.title for sheet in book for row in sheet for cell in row if cell.data_type == "f"}
    assert found == FORMULA_SHEETS
    assert not [cell for sheet in book for row in sheet for cell in row if cell.data_type == "e"]


def test_chart_is_native_and_complete(book):
    charts = book["Chart"]._charts
    assert len(charts) >= 3
    for chart in charts:
        for axis in (chart.x_axis, chart.y_axis):
            assert axis.delete is False
            assert axis.scaling.min < axis.scaling.max
            assert axis.title is not None
        measured = [series for series in chart.series if series.errBars is not None]
        assert measured
        assert all(series.marker.spPr.solidFill is not None for series in measured)
    titled = {chart.title.tx.rich.p[0].r[0].t: chart for chart in charts}
    limits = [series for series in titled["Gull"].series if series.errBars is None]
    assert [series.tx.v for series in limits] == ["Lower limit", "Upper limit"]


def test_the_band_of_the_chart_moves_with_copper(book):
    """Limit at T is the limit at 20 degrees times (234.5 + T)/254.5 (IEC 60034-1, 8.6.2)."""
    rows = list(book["Chart data"].iter_rows(min_row=4, values_only=True))
    gull = [row for row in rows if row[:2] == ("Gull", "limits")]
    assert gull
    for _, _, celsius, low, high in gull:
        assert low == pytest.approx(4.9 * (234.5 + celsius) / 254.5, rel=1e-12)
        assert high == pytest.approx(5.5 * (234.5 + celsius) / 254.5, rel=1e-12)


def test_the_same_bytes_for_the_same_session(raw):
    assert workbook_of(session_of(*everything()), variant()) == raw


def test_another_printing_is_another_report(raw):
    later = workbook_of(session_of(*everything()), variant(), printed_at="2031-05-06T10:11:13Z")
    number = [loaded(each)["Summary"].oddFooter.left.text for each in (raw, later)]
    assert number[0] != number[1]


def test_summary_says_verdict_head_anchor_and_end():
    session = session_of(
        Reading(**COMMON, ohm=5.3), Close(verdict="pass", scope="x"), Anchor(kind=AnchorKind.OWN_ARCHIVE), job=job()
    )
    said = texts(loaded(workbook_of(session, variant()))["Summary"])
    assert session.head in said
    assert "kept by the shop only" in said
    assert any(text.startswith("Not finished: 1 of ") for text in said)
    assert any(text.startswith("End of the summary of report ") for text in said)
    assert any("as told by the customer" in text for text in said)


def job():
    return OpenJob(
        session="s-1", job="T-1", customer="Harbour Shuttle (invented)", serial="0042", shift="5-6", when="hot"
    )


@pytest.mark.parametrize(
    ("anchors", "words"),
    [
        ((), "not anchored"),
        ((Anchor(kind=AnchorKind.SENT_TO_CUSTOMER, to="Ada"),), "sent to the customer, to Ada"),
    ],
)
def test_anchor_is_said(anchors, words):
    session = session_of(Reading(**COMMON, ohm=5.3), Close(verdict="pass", scope="x"), *anchors)
    assert any(words in text for text in texts(loaded(workbook_of(session))["Summary"]))


def test_corrected_and_withdrawn_readings_stay_readable():
    first = Reading(**COMMON, ohm=5.3)
    right = {"from": "1", "to": "7", "celsius": 23.0, "ohm": 5.2, "meter": "0.5%+5x0.01", "temperature": "taped"}
    session = session_of(
        first,  # 2
        Correct(entry=2, why="misread", body=right),  # 3
        Reading(**COMMON | {"from_node": "2"}, ohm=13.0),  # 4
        Withdraw(entry=4, why="wrong pin"),  # 5
        Reading(**COMMON | {"from_node": "3"}, ohm=8.0),  # 6
        Withdraw(entry=6),  # 7
        Restore(entry=7),  # 8
    )
    book = loaded(workbook_of(session, variant()))
    sheet = book["Readings"]
    assert column(sheet, "Entry") == [2, 3, 4, 6]
    assert column(sheet, "State of the entry") == ["corrected by entry 3", "counts", "withdrawn by entry 5", "counts"]
    assert column(sheet, "Meter showed, \u03a9") == [5.3, 5.2, 13, 8]
    assert [verdict is not None for verdict in column(sheet, "Verdict")] == [False, True, False, True]
    words = [row[4] for row in book["Trail"].iter_rows(min_row=4, values_only=True)]
    assert words[2] == "Entry 2 corrected. ohm: 5.3 -> 5.2. Why: misread"
    assert words[4] == "Entry 4 no longer counts. Why: wrong pin"
    assert words[7] == "Entry 7 counts again."


def test_trail_holds_every_entry_with_its_hash():
    session = session_of(*everything())
    rows = list(loaded(workbook_of(session, variant()))["Trail"].iter_rows(min_row=4, values_only=True))
    assert [(row[0], row[5]) for row in rows] == [(entry.n, entry.sha256) for entry in session.entries]


def test_readings_hold_real_numbers_and_open_in_words():
    session = session_of(
        Reading(**COMMON, ohm=5.3), Reading(from_node="1", to_node="case", open=True, range_ohm=6e7, celsius=23.0)
    )
    sheet = loaded(workbook_of(session, variant()))["Readings"]
    assert column(sheet, "Meter showed, \u03a9") == [5.3, "open > 60 M"]
    assert column(sheet, "At reference, \u03a9")[1] == "open"
    # leads not taken off: 0.2/2 goes off, then copper from 23 to 20 degrees, by hand
    assert column(sheet, "At reference, \u03a9")[0] == pytest.approx(5.2 * 254.5 / 257.5, rel=1e-12)


def test_method_states_rule_risk_coverage_and_cautions(book):
    said = " ".join(texts(book["Method"]))
    for words in (
        "2.3 % in each tail",
        "92.9 to 95.1 %",
        "two-sided coverage of 95.45 %",
        "IEC 60028",
        "relate only to the item tested",
        "not to be reproduced except in full",
        "never oxygen",
        "No accreditation is claimed",
        "not recorded in this session",
    ):
        assert words in said


def test_naughty_text_in_every_field_is_text():
    source = CORPORA / "naughty_strings.json"
    if not source.is_file():
        pytest.skip("no corpus of naughty strings")
    naughty = [text for text in json.loads(source.read_text("utf-8")) if text]
    bodies = [body for number, text in enumerate(naughty) for body in naughty_bodies(number, text)]
    rng = chance("naughty job")
    fields = ("customer", "vehicle", "part", "serial", "supplier", "shift", "when", "feel", "trim", "batch", "mark")
    job = OpenJob(session="s", job="=1+1", **{name: rng.choice(naughty) for name in fields})
    book = loaded(workbook_of(session_of(*bodies, job=job, by="=cmd()"), variant()))
    cells = [cell for sheet in book for row in sheet for cell in row if cell.value is not None]
    assert {cell.data_type for cell in cells if cell.parent.title not in FORMULA_SHEETS} <= {"s", "n"}
    live = {cell.column for cell in cells if cell.data_type == "f" and cell.parent.title == "Workings"}
    assert not live & {COLUMN[key] for key in ("what", "entries", "way", "rule")}
    assert not [cell for cell in cells if cell.data_type == "e"]


def test_each_setting_of_a_port_has_its_own_line():
    expect = (Expectation(reaction=Reaction.HOLDS, selector="D"), Expectation(reaction=Reaction.BLEEDS, selector="R"))
    body = msgspec.structs.replace(variant(), ports=(Port(name="P3", expect=expect),))
    heard = AirTest(port="P3", place=Place.BODY, result=AirResult.BLEEDS, selector="D")
    job = OpenJob(session="s", job="T-1", require_air=True)
    book = loaded(workbook_of(session_of(heard, job=job), body))
    lines = {row[0]: row[1] for row in book["Summary"].iter_rows(values_only=True) if str(row[0]).startswith("port")}
    assert lines == {"port P3 (selector D)": "Fail", "port P3 (selector R)": "Not taken"}


def test_each_selector_position_has_a_line_and_its_reasons_stand_beside_every_entry():
    code = CodeRow(position="P", switches={"Reel": CodeState.CLOSED})
    body = msgspec.structs.replace(variant(), selector_codes=(code,))
    read = SwitchTest(device="Reel", state=SwitchState.OPEN, selector="P")
    book = loaded(workbook_of(session_of(read), body))
    lines = {row[0]: row for row in book["Summary"].iter_rows(values_only=True)}
    assert (lines["selector P"][1], lines["selector P"][4]) == ("Fail", "2")
    why = "Fail: in P Reel is open, it should be closed."
    assert lines["selector P"][5].startswith(why)
    (heard,) = book["Air"].iter_rows(min_row=4, max_row=4, values_only=True)
    assert (heard[2], heard[3], heard[4], heard[6]) == ("Reel", "Fail", "open", "P")
    assert heard[8].startswith(why)


def naughty_bodies(number, text):
    """A reading and a note of each text; the other kinds take turns."""
    name = text[:200]
    others = (
        AirTest(port=name, place=Place.BODY, result=AirResult.PASS, note=text, selector=text),
        FluidFound(colour=text),
        FeatureSeen(name=name, value=text),
    )
    reading = Reading(from_node=name, to_node="case", ohm=5.0, celsius=20.0, note=text, meter_id=text)
    return reading, Note(text=text), others[number % len(others)]


def png(width, height):
    """The smallest picture file that states a size: signature, header, one row of data, end."""

    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\x00" * (width + 1) * min(height, 4))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


@pytest.mark.parametrize(
    ("raw_photo", "shown"),
    [
        pytest.param(png(4, 4), 1, id="a small picture"),
        pytest.param(png(60_000, 60_000), 0, id="a flood of pixels"),
        pytest.param(b"\x89PNG\r\n\x1a\nbroken", 0, id="a broken one"),
        pytest.param(b"<svg/>", 0, id="another kind"),
        pytest.param(None, 0, id="missing"),
    ],
)
def test_photos_are_shown_or_said_to_be_missing(raw_photo, shown):
    sha = sha256_of(raw_photo or b"")
    photo = Photo(sha256=sha, file_name="=x.png", of="connector", size_bytes=9)
    book = loaded(workbook_of(session_of(photo), photos={sha: raw_photo} if raw_photo else {}))
    assert len(book["Photos"]._images) == shown


def test_no_variant_and_no_reading_is_no_trouble():
    book = loaded(workbook_of(session_of()))
    assert book.sheetnames == TITLES
    assert any(text.startswith("Not finished") for text in texts(book["Summary"]))


def test_file_dates_are_those_of_the_printing(book):
    assert book.properties.created.isoformat() == PRINTED_AT[:-1]
    assert book.properties.modified.isoformat() == PRINTED_AT[:-1]


@pytest.mark.parametrize(
    ("low", "high", "span"),
    [(4.9, 5.5, (4.8, 5.6, 0.1)), (0.0, 100.0, (-20.0, 120.0, 20.0)), (5.0, 5.0, (4.999, 5.001, 0.001))],
)
def test_axis_ends_are_round(low, high, span):
    """1, 2 or 5 times a power of ten, by hand."""
    assert nice_span(low, high) == pytest.approx(span)


def test_pairs_of_the_samples_are_in_the_variant():
    pins = {pin.name for pin in variant().pins} | {"case"}
    assert {node for a, b, _ in PAIRS for node in (a, b)} <= pins
