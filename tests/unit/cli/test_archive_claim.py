"""`valvebench archive claim`: the page of what is kept, and nothing of evidence that does not verify."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.unit.report.pdf_text import letters_of, pages_of
from valvebench.archive.verify import verify

SAMPLES = Path(__file__).parents[3] / "sample_sessions"
CLOSED = SAMPLES / "2219-grows-with-heat"


@pytest.fixture
def shelf(run, tmp_path):
    """An archive with one closed session."""
    job = shutil.copytree(CLOSED, tmp_path / "job", ignore=shutil.ignore_patterns("lock"))
    assert run("archive", "--at", tmp_path / "shelf", "add", job, "--no-anchor").code == 0
    return tmp_path / "shelf"


@pytest.fixture
def ident(run, shelf):
    return run("archive", "--at", shelf, "find", "2219", "--json").data["sessions"][0]["id"]


def test_the_page_is_that_of_the_session_that_was_kept(run, shelf, ident, tmp_path):
    answer = run("archive", "--at", shelf, "claim", ident[:8], "--pdf", tmp_path / "c.pdf", "--json")
    assert (answer.code, answer.data) == (0, {"pdf": str(tmp_path / "c.pdf")})
    raw = (tmp_path / "c.pdf").read_bytes()
    assert pages_of(raw) == 1
    assert verify(CLOSED).head in letters_of(raw)


def test_the_session_itself_is_not_needed_any_more(run, shelf, ident, tmp_path):
    shutil.rmtree(tmp_path / "job")
    assert run("archive", "--at", shelf, "claim", ident, "--xlsx", tmp_path / "c.xlsx", "--rule", "plain").code == 0
    assert (tmp_path / "c.xlsx").is_file()


def test_nothing_is_printed_of_what_was_changed(run, shelf, ident, tmp_path):
    with closing(sqlite3.connect(shelf / "archive.sqlite")) as database, database:
        database.execute("UPDATE journal SET bytes = CAST(replace(CAST(bytes AS TEXT), '201655', '101655') AS BLOB)")
    answer = run("archive", "--at", shelf, "claim", ident, "--pdf", tmp_path / "c.pdf")
    assert answer.code == 4
    assert "No claim page was printed." in answer.err
    assert not (tmp_path / "c.pdf").exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--pdf", "c.pdf"], "id: found 'nothing'"),
        ([], "claim: found neither --xlsx nor --pdf"),
        (["--pdf", "c.xlsx"], "--pdf: found c.xlsx, expected a file name that ends in .pdf"),
    ],
)
def test_what_is_refused(run, shelf, tmp_path, monkeypatch, words, message):
    monkeypatch.chdir(tmp_path)
    answer = run("archive", "--at", shelf, "claim", "nothing", *words)
    assert answer.code == 2
    assert message in answer.err
