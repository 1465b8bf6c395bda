"""`valvebench report`: the sheet of a comparison, charts of kept logs, and what is refused."""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pytest

from valvebench.__main__ import main

SAMPLES = Path(__file__).parents[3] / "sample_sessions"
OLD, NEW = SAMPLES / "2231-old-body", SAMPLES / "2232-new-body"


def report(target, *more):
    return main(["report", str(OLD), "--xlsx", str(target), *map(str, more)])


def test_compare_adds_its_sheet(tmp_path):
    assert report(tmp_path / "with.xlsx", "--compare", NEW) == 0
    assert "Compare" in openpyxl.load_workbook(tmp_path / "with.xlsx").sheetnames


def test_without_compare_there_is_no_such_sheet(tmp_path):
    assert report(tmp_path / "plain.xlsx") == 0
    assert "Compare" not in openpyxl.load_workbook(tmp_path / "plain.xlsx").sheetnames


@pytest.mark.parametrize(
    ("other", "words"),
    [
        (SAMPLES, "found no journal.jsonl, expected a session folder"),
        (SAMPLES / "nowhere", "found no journal.jsonl, expected a session folder"),
        (OLD, "found the session itself, expected another session folder"),
        (NEW / ".." / OLD.name, "found the session itself, expected another session folder"),
    ],
    ids=["not a session", "not there", "same session", "same session by another way"],
)
def test_what_is_no_other_session_is_refused(tmp_path, capsys, other, words):
    assert report(tmp_path / "no.xlsx", "--compare", other) == 2
    err = capsys.readouterr().err
    assert words in err
    assert "Traceback" not in err
    assert not (tmp_path / "no.xlsx").exists()


# Logs of heat runs, kept beside the journal


@pytest.fixture
def warmed(tmp_path):
    """A copy of the sample job with a logger's file of four devices, and the file in it."""
    folder = shutil.copytree(SAMPLES / "2222-opens-when-hot", tmp_path / "job", ignore=shutil.ignore_patterns("lock"))
    (log,) = (path for path in (folder / "blobs").iterdir() if path.read_bytes().startswith(b"t_s,"))
    return folder, log


def heat_charts(folder):
    """How many charts of heat runs its workbook has, and the words above them."""
    target = folder / "book.xlsx"
    assert main(["report", str(folder), "--xlsx", str(target)]) == 0
    sheet = openpyxl.load_workbook(target)["Heat chart"]
    return len(sheet._charts), [cell.value for row in sheet for cell in row if isinstance(cell.value, str)]


def test_every_device_of_a_kept_log_has_its_chart(warmed):
    folder, _ = warmed
    assert heat_charts(folder)[0] == 4


@pytest.mark.parametrize("spoil", [lambda log: log.unlink(), lambda log: log.write_bytes(b"t_s,probe_celsius\n")])
def test_a_log_that_is_gone_or_changed_costs_the_charts_only(warmed, spoil):
    folder, log = warmed
    spoil(log)
    charts, words = heat_charts(folder)
    assert charts == 0
    assert words.count("No chart: the logger\u2019s file is not there or not as it was.") == 4


def test_the_find_stands_though_its_log_is_gone(warmed):
    folder, log = warmed
    log.unlink()
    assert main(["report", str(folder), "--xlsx", str(folder / "book.xlsx")]) == 0
    rows = list(openpyxl.load_workbook(folder / "book.xlsx")["Heat"].iter_rows(values_only=True))
    assert {row[0]: row[1] for row in rows if row[1] in ("Pass", "Fail")} == {
        "Gull": "Pass",
        "Heron": "Fail",
        "Curlew": "Pass",
        "Whimbrel": "Pass",
    }
