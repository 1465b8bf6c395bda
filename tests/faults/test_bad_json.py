"""The corpus of bad JSON through the whole program: one message, exit code 2 or 4, nothing changed."""

from __future__ import annotations

import json

import pytest

from tests.corpora import json_files
from tests.fakes.writers import new_job
from valvebench.__main__ import main
from valvebench.archive.session_folder import JOURNAL_NAME, read_session
from valvebench.archive.verify import verify
from valvebench.model.entry import Note, encode_line

BAD_INPUT, NOT_VERIFIED = 2, 4
ALL = [("json_parsing", 318), ("json_transform", 22)]  # counts: JSONTestSuite


@pytest.fixture
def run(capsys):
    """Run a command in this process: its exit code and both outputs."""

    def command(*words):
        code = main([str(word) for word in words])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return command


def tree(folder):
    """Every file below with its bytes; the lock holds none."""
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.name != "lock"}


def is_one_message(err):
    return err.startswith("valvebench: ") and "expected" in err


@pytest.mark.parametrize(("corpus", "count"), ALL)
def test_a_corpus_file_as_variant_is_refused(run, ram_path, corpus, count):
    paths = json_files(corpus)
    assert len(paths) == count
    for path in paths:
        code, out, err = run("open-job", ram_path / "job", "--job", "1", "--variant", path)
        assert (code, out) == (BAD_INPUT, ""), path.name
        assert is_one_message(err), path.name
        assert not any(ram_path.iterdir()), path.name


def in_variant(raw: bytes) -> bytes:
    return b'{"format": 1, "key": "tern", "title": "Quillon Tern", "pins": [], "note": ' + raw + b', "gears": ["1"]}'


def test_bad_json_inside_a_good_variant_is_refused(run, ram_path):
    refused = 0
    variant = ram_path / "variant.json"
    for path in json_files(prefix="n_"):
        variant.write_bytes(in_variant(path.read_bytes()))
        code, _, err = run("open-job", ram_path / "job", "--job", "1", "--variant", variant)
        refused += code == BAD_INPUT and is_one_message(err) and not (ram_path / "job").exists()
    assert refused == 188


def test_good_json_inside_a_good_variant_counts_only_as_text(run, ram_path):
    variant = ram_path / "variant.json"
    for number, path in enumerate(json_files(prefix="y_")):
        variant.write_bytes(in_variant(path.read_bytes()))
        code, *_ = run("open-job", ram_path / str(number), "--job", "1", "--variant", variant)
        is_text = isinstance(json.loads(path.read_bytes()), str)
        assert code == (0 if is_text else BAD_INPUT), path.name


READERS = {
    "verify": lambda job: ("verify", job),
    "judge": lambda job: ("judge", job, "--json"),
    "record": lambda job: ("record", job, "note", "more"),
    "report": lambda job: ("report", job, "--xlsx", job.parent / "report.xlsx"),
}


@pytest.mark.parametrize("reader", READERS)
@pytest.mark.parametrize(("corpus", "count"), ALL)
def test_a_corpus_file_as_journal_is_refused_and_stays_as_it_is(run, ram_path, corpus, count, reader):
    job = ram_path / "job"
    job.mkdir()
    paths = json_files(corpus)
    assert len(paths) == count
    for path in paths:
        (job / JOURNAL_NAME).write_bytes(path.read_bytes())
        before = tree(ram_path)
        code, _, err = run(*READERS[reader](job))
        assert code == NOT_VERIFIED, path.name
        assert tree(ram_path) == before, path.name
        assert err or reader == "verify", path.name


MARK = "@@@"


def with_last_line(job, raw: bytes) -> bytes:
    """A good journal whose last line holds the corpus text where a note has its own."""
    journal = read_session(job)
    good = (job / JOURNAL_NAME).read_bytes()
    line = encode_line(n=4, at="2031-05-04T10:00:00Z", by="Wren", body=Note(text=MARK), prev=journal.line_hashes[-1])
    before, after = line.split(f'"{MARK}"'.encode())
    return good + before + raw + after + b"\n"


@pytest.mark.parametrize(("place", "reader"), [("last", "verify"), ("last", "record"), ("middle", "judge")])
def test_bad_json_inside_a_good_journal_does_not_verify(run, ram_path, place, reader, figure):
    job = ram_path / "job"
    new_job(job).release()
    good = (job / JOURNAL_NAME).read_bytes()
    noticed = 0
    for path in json_files(prefix="n_"):
        first, second, third = good.splitlines(keepends=True)
        middle = first + second.replace(b"5.4", path.read_bytes()) + third
        raw = with_last_line(job, path.read_bytes()) if place == "last" else middle
        (job / JOURNAL_NAME).write_bytes(raw)
        code, *_ = run(*READERS[reader](job))
        noticed += code == NOT_VERIFIED and (job / JOURNAL_NAME).read_bytes() == raw
        (job / JOURNAL_NAME).write_bytes(good)
    assert noticed == 188
    figure(18, f"bad JSON in a journal ({place}, {reader}): {noticed} of 188 do not verify")
    assert verify(job).ok


def test_good_text_inside_a_good_journal_verifies(ram_path):
    job = ram_path / "job"
    new_job(job).release()
    good = (job / JOURNAL_NAME).read_bytes()
    for path in json_files(prefix="y_"):
        (job / JOURNAL_NAME).write_bytes(with_last_line(job, path.read_bytes()))
        text = json.loads(path.read_bytes())
        assert verify(job).ok == (isinstance(text, str) and text != ""), path.name
        (job / JOURNAL_NAME).write_bytes(good)
