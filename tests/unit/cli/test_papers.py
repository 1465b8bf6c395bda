"""`report --pdf`, `claim`, `order`, `tag`: files, answers, and what is refused before anything is written."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pytest

from tests.unit.report.pdf_text import letters_of, pages_of, words_of
from valvebench.archive.verify import verify

SAMPLES = Path(__file__).parents[3] / "sample_sessions"
MARKS = ("one", "two", "three", "four", "five")
CLOSED, OPEN, OTHER = (SAMPLES / name for name in ("2219-grows-with-heat", "2217-in-work", "2218-healthy-spare"))


def test_the_report_is_written_as_pdf_beside_the_workbook(run, tmp_path):
    answer = run("report", CLOSED, "--xlsx", tmp_path / "r.xlsx", "--pdf", tmp_path / "r.pdf", "--json")
    assert answer.code == 0
    assert answer.data == {"xlsx": str(tmp_path / "r.xlsx"), "pdf": str(tmp_path / "r.pdf")}
    raw = (tmp_path / "r.pdf").read_bytes()
    assert verify(CLOSED).head in letters_of(raw)
    assert openpyxl.load_workbook(tmp_path / "r.xlsx").sheetnames[0] == "Summary"


def test_an_open_session_has_a_report_too(run, tmp_path):
    assert run("report", OPEN, "--pdf", tmp_path / "r.pdf").code == 0
    assert "This session is not closed" in words_of((tmp_path / "r.pdf").read_bytes())


def test_the_claim_page_is_one_page_in_both_forms(run, tmp_path):
    answer = run("claim", CLOSED, "--xlsx", tmp_path / "c.xlsx", "--pdf", tmp_path / "c.pdf")
    assert (answer.code, answer.out.splitlines()[0]) == (0, f"claim page written to {tmp_path / 'c.xlsx'}")
    raw = (tmp_path / "c.pdf").read_bytes()
    assert pages_of(raw) == 1
    assert "manual:QuillonTernshopmanual(invented),page12" in letters_of(raw)
    assert openpyxl.load_workbook(tmp_path / "c.xlsx").sheetnames == ["Claim"]


def test_the_claim_names_the_rule_it_is_asked_for(run, tmp_path):
    assert run("claim", CLOSED, "--pdf", tmp_path / "c.pdf", "--rule", "plain").code == 0
    assert "Rule of the session: Plain comparison." in words_of((tmp_path / "c.pdf").read_bytes())


def test_the_order_sheet_sets_the_new_part_beside_the_old(run, tmp_path):
    answer = run("order", CLOSED, "--new", OTHER, "--pdf", tmp_path / "o.pdf", "--xlsx", tmp_path / "o.xlsx")
    assert answer.code == 0
    words = words_of((tmp_path / "o.pdf").read_bytes())
    assert "Not identified" in words
    assert "Old and new part, as Quillon Tern, body 2 needs it" in words


@pytest.fixture
def library(tmp_path):
    """Two invented bodies, told apart by five marks that all must match."""
    folder = tmp_path / "library"
    folder.mkdir()
    for key, value, number in (("tern-a", "dot", "QT-1"), ("tern-b", "bar", "QT-2")):
        features = [
            {"name": name, "values": ["dot", "bar", "star", "wave"], "this": value, "must_match": True}
            for name in MARKS
        ]
        body = {"format": 1, "key": key, "title": f"Body {key[-1]}", "pins": [{"name": "1"}], "features": features}
        body["part_numbers"] = [{"number": number}]
        (folder / f"{key}.json").write_text(json.dumps(body), "utf-8")
    return folder


@pytest.mark.parametrize(
    ("looks", "words"),
    [
        (MARKS, ["Confirmed Body a.", "Part number QT-1"]),
        (MARKS[:-1], ["Not confirmed Most likely Body a", "photo: five.", "only if it is Body a: QT-1"]),
        ((), ["Open Which variant it is stays open.", "none is named"]),
    ],
)
def test_the_order_sheet_says_what_the_identification_says(run, job, record, library, tmp_path, looks, words):
    for name in looks:
        record("feature", "--name", name, "--value", "dot")
    assert run("order", job, "--variants", library, "--pdf", tmp_path / "o.pdf").code == 0
    text = words_of((tmp_path / "o.pdf").read_bytes())
    assert [word for word in words if word not in text] == []
    assert ("QT-1" in text) is bool(looks)
    assert "QT-2" not in text


def test_the_tag_prints_the_words_of_an_e_mail(run, tmp_path):
    answer = run("tag", CLOSED, "--png", tmp_path / "t.png", "--pdf", tmp_path / "t.pdf", "--json")
    head = verify(CLOSED).head
    assert answer.data["head"] == head
    assert answer.data["code"].splitlines()[-1] == f"head {head}"
    assert f"valvebench verify SESSION --head {head}" in answer.data["mail"]
    assert (tmp_path / "t.png").read_bytes().startswith(b"\x89PNG")
    assert pages_of((tmp_path / "t.pdf").read_bytes()) == 1


def test_the_words_alone_need_no_file(run):
    answer = run("tag", CLOSED)
    assert (answer.code, answer.out.splitlines()[0]) == (
        0,
        "Record of bench test, job 2219, Quillon Tern, body 2, serial 0418-52",
    )


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["report", CLOSED], "report: found neither --xlsx nor --pdf"),
        (
            ["report", CLOSED, "--pdf", "r.xlsx"],
            "file of the report: found r.xlsx, expected a file name that ends in .pdf",
        ),
        (["report", CLOSED, "--pdf", "r.pdf", "--compare", OTHER], "--compare: found no --xlsx"),
        (["claim", CLOSED], "claim: found neither --xlsx nor --pdf"),
        (["claim", CLOSED, "--pdf", "c.xlsx"], "--pdf: found c.xlsx, expected a file name that ends in .pdf"),
        (["claim", OPEN, "--pdf", "c.pdf"], "session: found an open session, expected a closed one"),
        (["claim", SAMPLES, "--pdf", "c.pdf"], "found no journal.jsonl, expected a session folder"),
        (["claim", CLOSED, "--pdf", "no such folder/c.pdf"], "found no such folder, expected a folder that is there"),
        (["order", CLOSED, "--new", CLOSED, "--pdf", "o.pdf"], "--new: found the session itself"),
        (["order", CLOSED, "--new", SAMPLES, "--pdf", "o.pdf"], "found no journal.jsonl"),
        (["order", CLOSED, "--variants", "nowhere", "--pdf", "o.pdf"], "--variants: found nowhere, expected a folder"),
        (["tag", OPEN], "session: found an open session, expected a closed one"),
    ],
)
def test_what_is_refused_and_nothing_is_written(run, tmp_path, monkeypatch, words, message):
    monkeypatch.chdir(tmp_path)
    answer = run(*words)
    assert answer.code == 2
    assert message in answer.err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("command", ["report", "claim", "order"])
def test_the_second_file_is_checked_before_the_first_is_written(run, tmp_path, command):
    assert run(command, CLOSED, "--xlsx", tmp_path / "r.xlsx", "--pdf", tmp_path / "gone" / "r.pdf").code == 2
    assert list(tmp_path.iterdir()) == []
