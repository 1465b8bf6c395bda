"""`valvebench open-job`: the first line, the frozen variant, and what is refused."""

from __future__ import annotations

import hashlib
import json

import pytest

FIELDS = {
    "--vehicle": "harbour shuttle 7",
    "--odometer-km": "120500,5",
    "--customer": "Quay Line",
    "--part": "QT-2",
    "--batch": "B7",
    "--trim": "2031-04",
    "--serial": "0042",
    "--mark": "blue dot",
    "--supplier": "North Stores, 118",
    "--comeback-of": "T-0",
    "--shift": "5-6",
    "--when": "hot",
    "--feel": "bump",
}


def first_line(folder):
    return (folder / "journal.jsonl").read_bytes().splitlines()[0]


def test_every_field_is_kept(run, tmp_path):
    words = [word for pair in FIELDS.items() for word in pair]
    answer = run("open-job", tmp_path / "j", "--job", "T-1", "--kind", "enquiry", *words, "--by", "Ann", "--json")
    entry = json.loads(first_line(tmp_path / "j"))
    wanted = {flag[2:].replace("-", "_"): value for flag, value in FIELDS.items()} | {"odometer_km": 120500.5}
    assert answer.code == 0
    assert {"job": "T-1", "kind": "enquiry", **wanted}.items() <= entry["body"].items()
    assert (entry["n"], entry["by"], entry["kind"], entry["prev"]) == (1, "Ann", "open-job", "0" * 64)


@pytest.mark.parametrize("kind", ["complaint", "bench_check", "enquiry"])
def test_kinds(run, tmp_path, kind):
    assert run("open-job", tmp_path / "j", "--job", "1", "--kind", kind).code == 0


def test_entry_and_hash(run, tmp_path):
    data = run("open-job", tmp_path / "j", "--job", "1", "--json").data
    assert data["entry"] == 1
    assert data["hash"] == hashlib.sha256(first_line(tmp_path / "j")).hexdigest()


def test_the_variant_is_frozen_by_its_hash(run, tmp_path, job, variant_file):
    frozen = hashlib.sha256(variant_file.read_bytes()).hexdigest()
    variant_file.write_text("{}", "utf-8")
    assert json.loads(first_line(job))["body"]["variant"] == frozen
    assert hashlib.sha256((job / "blobs" / frozen).read_bytes()).hexdigest() == frozen
    assert run("judge", job, "--json").data["variant"] == "tern-trial"


def test_time_is_rfc_3339_in_utc(job):
    from datetime import datetime, timedelta

    at = datetime.fromisoformat(json.loads(first_line(job))["at"])
    assert at.utcoffset() == timedelta(0)


def test_no_job_number(run, tmp_path):
    answer = run("open-job", tmp_path / "j")
    assert (answer.code, answer.out) == (2, "")
    assert "--job" in answer.err
    assert not (tmp_path / "j").exists()


def test_a_session_is_not_opened_over(run, job, everything):
    before = everything()
    answer = run("open-job", job, "--job", "2")
    assert answer.code == 2
    assert "a session" in answer.err
    assert everything() == before


def test_a_folder_with_something_in_it(run, tmp_path):
    (tmp_path / "full").mkdir()
    (tmp_path / "full" / "letter.txt").write_text("dear", "utf-8")
    answer = run("open-job", tmp_path / "full", "--job", "2")
    assert answer.code == 2
    assert "letter.txt" in answer.err
    assert [path.name for path in (tmp_path / "full").iterdir()] == ["letter.txt"]


def test_a_file_in_the_way(run, tmp_path):
    (tmp_path / "file").write_text("", "utf-8")
    assert run("open-job", tmp_path / "file", "--job", "2").code == 2


def test_an_empty_folder_serves(run, tmp_path):
    (tmp_path / "new").mkdir()
    assert run("open-job", tmp_path / "new", "--job", "2").code == 0


def test_no_variant_file(run, tmp_path):
    answer = run("open-job", tmp_path / "j", "--job", "2", "--variant", tmp_path / "none.json")
    assert answer.code == 2
    assert "none.json" in answer.err
    assert not (tmp_path / "j").exists()


def test_every_problem_of_a_bad_variant(run, tmp_path):
    bad = tmp_path / "bad.json"
    bad.write_text(
        '{"format": 1, "key": "k",\n "title": "t", "pins": [{"name": 1}],\n'
        ' "devices": [{"name": "x", "kind": "solenoyd"}],\n "gearz": []}',
        "utf-8",
    )
    answer = run("open-job", tmp_path / "j", "--job", "2", "--variant", bad)
    assert (answer.code, answer.out) == (2, "")
    assert not (tmp_path / "j").exists()
    for said in ("line 2, pins[0].name", "line 3, devices[0].kind", "Did you mean solenoid?", "line 4, gearz"):
        assert said in answer.err
    assert answer.err.count("bad.json: line") == 3


@pytest.mark.parametrize(
    "raw", [b"", b"{", b"[]", b"\xff\xfe", b'{"format": 2}', b'{"format": 1, "format": 1}', b"null"]
)
def test_what_is_no_variant(run, tmp_path, raw):
    bad = tmp_path / "bad.json"
    bad.write_bytes(raw)
    answer = run("open-job", tmp_path / "j", "--job", "2", "--variant", bad)
    assert (answer.code, answer.out) == (2, "")
    assert "bad.json" in answer.err
    assert not (tmp_path / "j").exists()


def test_unknown_kind(run, tmp_path):
    answer = run("open-job", tmp_path / "j", "--job", "2", "--kind", "benchcheck")
    assert answer.code == 2
    assert "Did you mean bench_check?" in answer.err
