"""Files of loggers: what is read, and what is refused with its line and column. All logs are invented."""

from __future__ import annotations

import io
import zipfile
from datetime import datetime, time, timedelta

import numpy as np
import pytest
from openpyxl import Workbook

from valvebench.capture import lines
from valvebench.capture.heat_log import heat_log
from valvebench.model.errors import BadInput

PLAIN = "t_s,probe_celsius,ohm\n0,20.5,5.21\n10,30.5,OL\n20,40.5,5.62\n"


def read(text, **options):
    return heat_log(text if isinstance(text, bytes) else text.encode(), source="run.csv", **options)


def only(text, **options):
    log = read(text, **options)
    assert log.is_single
    return log.runs[""]


def refusal(text, **options):
    with pytest.raises(BadInput) as caught:
        read(text, **options)
    return str(caught.value)


def is_plain(run):
    return (
        run.t_s.tolist() == [0, 10, 20]
        and run.probe_celsius.tolist() == [20.5, 30.5, 40.5]
        and run.ohm.tolist() == [5.21, np.inf, 5.62]
    )


@pytest.mark.parametrize(
    "text",
    [
        PLAIN,
        PLAIN.replace(",", ";"),
        PLAIN.replace(",", "\t"),
        PLAIN.replace(",", ";").replace(".", ","),
        PLAIN.replace(",", "\t").replace(".", ","),
        PLAIN.replace("\n", "\r\n"),
        "\ufeff" + PLAIN,
        PLAIN.encode("utf-16"),
        "Logger 4, invented\nStarted today\n\n" + PLAIN,
        PLAIN.replace("\n", ",\n"),
        PLAIN.replace("\n", "\n\n"),
        PLAIN.replace(",", " , "),
        PLAIN.replace("OL", ""),
        PLAIN.replace("OL", "inf"),
        PLAIN.replace("OL", "0.L"),
        PLAIN.replace("OL", "9.9E37"),
        PLAIN.replace("t_s,probe_celsius,ohm", "Time [s],Temperature (\u00b0C),Resistance [\u03a9]"),
        PLAIN.replace("t_s,probe_celsius,ohm", "Time [s],Temperature (\u00b0C),Resistance [\u2126]").encode(),
        PLAIN.replace("t_s,probe_celsius,ohm", "Time [s],Temperature (\u00b0C),ohm").encode("latin-1"),
    ],
)
def test_the_same_run_in_every_dialect(text):
    assert is_plain(only(text))


def test_units_of_the_header_are_turned():
    """68 degrees Fahrenheit are 20 degrees Celsius by definition."""
    run = only("t [min],temp [F],r [kohm]\n0,68,0.005\n1,77,0.006\n")
    assert run.t_s.tolist() == [0, 60]
    assert run.probe_celsius == pytest.approx([20, 25])
    assert run.ohm == pytest.approx([5, 6])


@pytest.mark.parametrize(
    "clocks",
    [
        ("08:00:00", "08:00:10", "08:01:00"),
        ("23:59:50", "00:00:00", "00:00:50"),
        ("2030-01-31 23:59:50", "2030-02-01 00:00:00.0", "2030-02-01 00:00:50"),
        ("2030-01-31T23:59:50Z", "2030-02-01T00:00:00Z", "2030-02-01T01:00:50+01:00"),
        ("0:00", "0:00:10", "0:01"),
    ],
)
def test_a_clock_becomes_seconds_since_the_first_line(clocks):
    rows = "\n".join(f"{clock};20;5,2" for clock in clocks)
    assert only(f"time;probe_celsius;ohm\n{rows}\n").t_s.tolist() == [0, 10, 60]


def test_a_time_without_a_unit_is_not_guessed():
    assert "line 2, column 1 (time): found '0', expected a clock" in refusal(PLAIN.replace("t_s", "time"))


def test_a_column_for_each_device():
    log = read("t_s,probe_celsius,Heron_ohm,humidity,Gull [ohm]\n0,20,5.2,40,5.3\n1,21,5.3,40,OL\n")
    assert list(log.runs) == ["Heron", "Gull"]
    assert log.runs["Gull"].ohm.tolist() == [5.3, np.inf]
    assert (log.has_shared_lines, log.not_used) == (True, ("humidity",))


def test_a_device_column():
    log = read("t_s,device,probe_celsius,ohm\n0,Heron,20,5.2\n1,Gull,21,5.3\n2,Heron,22,5.4\n")
    assert log.runs["Heron"].t_s.tolist() == [0, 2]
    assert log.runs["Gull"].ohm.tolist() == [5.3]
    assert not log.has_shared_lines


def test_without_times_it_must_be_said_that_these_are_rounds():
    text = "probe_celsius,ohm\n20,5.2\n60,6.0\n"
    assert "found no time column" in refusal(text)
    assert "--rounds" in refusal(text)
    assert only(text, is_rounds=True).t_s is None


def test_times_do_not_count_in_rounds():
    assert only(PLAIN, is_rounds=True).t_s is None


def test_every_fault_is_told_at_once_with_line_and_column():
    text = "t_s,probe_celsius,ohm\n1,20,nan\n2,,5.1\n3,900,5.1\n4,20,1_0\n5,20,5,1\nx,20,-3\n"
    message = refusal(text)
    for part in (
        "line 2, column 3 (ohm): found 'nan'",
        "line 3, column 2 (probe_celsius): found nothing",
        "line 4, column 2 (probe_celsius): found '900'",
        "line 5, column 3 (ohm): found '1_0'",
        "line 6, line: found 4 cells, expected 3, as the header has. With a decimal comma",
        "line 7, column 1 (t_s): found 'x'",
        "line 7, column 3 (ohm): found '-3'",
    ):
        assert part in message
    assert len(message.splitlines()) == 7


def test_many_faults_are_counted():
    message = refusal("t_s,probe_celsius,ohm\n" + "1,x,5\n" * 500)
    assert len(message.splitlines()) == 21
    assert "found 480 more of such faults" in message


def test_two_decimal_signs_in_one_file_are_refused():
    message = refusal("t_s;probe_celsius;ohm\n0;20,5;5,2\n1;21;5.3\n")
    assert "line 3, column 3 (ohm): found '5.3', expected , as decimal sign" in message


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("", "found nothing, expected a header"),
        ("a,b\n1,2\n", "found 'a, b', expected a header with t_s, probe_celsius and ohm"),
        ("t_s,probe_celsius,ohm\n", "a header and nothing below it"),
        ("t_s,ohm\n1,2\n", "no probe temperature"),
        ("t_s,probe_celsius,Heron_ohm,Heron_ohm\n", "Heron twice"),
        ("t_s,t_s,probe_celsius,ohm\n", "time in column 1 (t_s) and column 2 (t_s)"),
        ("t_s,probe_celsius,ohm,Heron_ohm\n", "ohm without a name"),
        ("t_s,device,probe_celsius,Heron_ohm\n", "a device column beside Heron_ohm"),
        ("t_s,device,probe_celsius,ohm\n1,,20,5\n", "line 2, column 2 (device): found nothing"),
        (b"\x00\x01\x02\x03\xff", "bytes that are no text"),
        (b"\xd0\xcf\x11\xe0rest", "a workbook of the old kind"),
        (b"PK\x03\x04rest", "a damaged workbook"),
    ],
)
def test_what_is_no_log_is_told(text, part):
    assert part in refusal(text)


def workbook(rows):
    book, raw = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(raw)
    return raw.getvalue()


HEAD = ("t_s", "probe_celsius", "ohm")


def test_a_workbook_reads_as_the_text_does():
    assert is_plain(only(workbook([HEAD, (0, 20.5, 5.21), (10, 30.5, "OL"), (20, 40.5, 5.62)])))


@pytest.mark.parametrize(
    "clocks",
    [
        (time(8, 0, 0), time(8, 0, 10)),
        (datetime(2030, 1, 31, 23, 59, 55), datetime(2030, 2, 1, 0, 0, 5)),  # noqa: DTZ001  a workbook knows no zone
        (timedelta(0), timedelta(seconds=10)),
    ],
)
def test_clocks_of_a_workbook(clocks):
    rows = [("time", *HEAD[1:]), *((clock, 20, 5.2) for clock in clocks)]
    assert only(workbook(rows)).t_s.tolist() == [0, 10]


def test_an_error_cell_has_its_line():
    assert "line 3, column 3 (ohm): found '#N/A'" in refusal(workbook([HEAD, (0, 20, 5), (1, 20, "#N/A")]))


def packed(name, content):
    raw = io.BytesIO(workbook([HEAD, (0, 20, 5)]))
    with zipfile.ZipFile(raw, "a", zipfile.ZIP_DEFLATED) as file:
        file.writestr(name, content)
    return raw.getvalue()


def replaced(content):
    """A workbook whose sheet is something else."""
    with zipfile.ZipFile(io.BytesIO(workbook([HEAD, (0, 20, 5)]))) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    raw = io.BytesIO()
    with zipfile.ZipFile(raw, "w", zipfile.ZIP_DEFLATED) as new:
        for name, part in (parts | {"xl/worksheets/sheet1.xml": content}).items():
            new.writestr(name, part)
    return raw.getvalue()


LAUGHS = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;">]><worksheet>&b;</worksheet>'
FAR = (
    b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
    b'<row r="1"><c r="A1"><v>1</v></c></row><row r="1000000"><c r="A1000000"><v>1</v></c></row>'
    b"</sheetData></worksheet>"
)


@pytest.mark.parametrize(
    ("raw", "part"),
    [
        (packed("xl/bomb.xml", bytes(20_000_000)), "packed into"),
        (replaced(LAUGHS), "cannot be read"),
        (replaced(FAR), "blank rows"),
        (replaced(b"<worksheet><"), "cannot be read"),
        (packed("xl/worksheets/sheet9.xml", bytes(2_000_000)), "packed into"),
    ],
    ids=["large part", "entities", "far cell", "torn", "dense sheet"],
)
def test_a_hostile_workbook_is_refused(raw, part):
    assert part in refusal(raw)


def test_a_file_beyond_the_limits_is_refused(monkeypatch):
    monkeypatch.setattr(lines, "MOST_ROWS", 2)
    assert "more than 2 rows" in refusal(PLAIN)
    monkeypatch.setattr(lines, "LARGEST_BYTES", 10)
    assert "expected at most 10 bytes" in refusal(PLAIN)


def test_a_very_long_cell_and_a_very_wide_line_are_refused():
    assert "no table" in refusal(PLAIN + "1,2," + "5" * 200_000)
    assert "found 300 cells, expected at most 256" in refusal(PLAIN + "," * 299)


def test_openings_and_numbers_stay_in_place_beyond_one_stretch(monkeypatch):
    monkeypatch.setattr("valvebench.capture.heat_log._STRETCH", 2)
    assert is_plain(only(PLAIN))
