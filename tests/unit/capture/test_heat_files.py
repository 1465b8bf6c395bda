"""How a logger's file is written, told before it is taken in. All logs are invented."""

from __future__ import annotations

import io

import pytest
from openpyxl import Workbook

from valvebench.bench.heat_log import LogColumn, Stopped
from valvebench.capture.heat_files import LINES_SHOWN, LogFiles, head_of
from valvebench.capture.heat_log import heat_log
from valvebench.model.errors import BadInput

PLAIN = "t_s,probe_celsius,Gull_ohm\n0,20.5,5.21\n10,30.5,OL\n20,40.5,5.62\n"


def head(text):
    return head_of(text if isinstance(text, bytes) else text.encode(), source="run.csv")


def workbook(*rows):
    book, out = Workbook(), io.BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("text", "told"),
    [
        pytest.param(PLAIN, ("comma", "point", "seconds"), id="comma"),
        pytest.param(PLAIN.replace(",", "\t"), ("tab", "point", "seconds"), id="tab"),
        pytest.param(PLAIN.replace(",", ";").replace(".", ","), ("semicolon", "comma", "seconds"), id="decimal-comma"),
        pytest.param("t_s,probe_c,ohm\n0,20,5\n1,21,6\n", ("comma", "", "seconds"), id="whole-numbers"),
        pytest.param(PLAIN.replace("t_s", "time [min]"), ("comma", "point", "minutes"), id="minutes"),
        pytest.param(
            PLAIN.replace("t_s", "time").replace("\n0,", "\n14:05:09,"), ("comma", "point", "clock"), id="clock"
        ),
        pytest.param(
            PLAIN.replace("t_s", "time").replace("\n0,", "\n2030-01-31 14:05:09,"),
            ("comma", "point", "date and time"),
            id="date",
        ),
        pytest.param("probe_celsius,ohm\n20.5,5.21\n", ("comma", "point", ""), id="no-time"),
        pytest.param(
            workbook(["t_s", "probe_celsius", "ohm"], [0, 20.5, 5.21]),
            ("sheet of a workbook", "", "seconds"),
            id="workbook",
        ),
    ],
)
def test_it_says_how_the_file_is_written(text, told):
    found = head(text)
    assert (found.separator, found.decimal_sign, found.time) == told


def test_it_names_every_column_with_what_it_holds_and_its_unit():
    found = head("Logger 4\n\nt_s;probe_fahrenheit;Gull_ohm;Heron_kohm;humidity\n0;70;5;1;40\n")
    assert found.columns == (
        LogColumn("t_s", "time"),
        LogColumn("probe_fahrenheit", "probe", "", "\u00b0F"),
        LogColumn("Gull_ohm", "ohm", "Gull", "ohm"),
        LogColumn("Heron_kohm", "ohm", "Heron", "kilohm"),
        LogColumn("humidity", "other"),
    )
    assert (found.lines, found.passed_over) == ((("0", "70", "5", "1", "40"),), 1)


def test_it_shows_the_first_lines_only():
    found = head("t_s,probe_c,ohm\n" + "".join(f"{n},20.5,5.2\n" for n in range(1000)))
    assert len(found.lines) == LINES_SHOWN


def test_without_a_header_it_says_so():
    with pytest.raises(BadInput, match="header"):
        head("1,2,3\n4,5,6\n")


def test_reading_tells_how_far_it_is_and_can_be_stopped():
    raw = ("t_s,probe_c,ohm\n" + "".join(f"{n},20.5,5.2\n" for n in range(45_000))).encode()
    told: list[int] = []
    heat_log(raw, source="run.csv", step=lambda count: not told.append(count))
    assert told == list(range(0, 45_000, 2_000))
    with pytest.raises(Stopped):
        heat_log(raw, source="run.csv", step=lambda count: count < 20_000)


def test_it_reads_through_the_given_door(tmp_path):
    files = LogFiles(lambda path: PLAIN.encode() if path == tmp_path else b"")
    raw = files.bytes_of(tmp_path)
    assert list(files.log_of(raw, source="x", is_rounds=False).runs) == ["Gull"]
    assert files.head_of(raw, source="x").separator == "comma"
