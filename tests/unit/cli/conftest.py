"""A command run inside the test, and a session to run it on."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from valvebench.__main__ import main

# Invented; the same shapes as the example of the file contract.
VARIANT = {
    "format": 1,
    "key": "tern-trial",
    "title": "Quillon Tern, trial body",
    "note": "invented",
    "pins": [{"name": name} for name in ("1", "2", "3", "4", "5", "6")],
    "devices": [
        {
            "name": "Heron",
            "kind": "solenoid",
            "between": ["1", "2"],
            "low_ohm": 4.9,
            "high_ohm": 5.5,
            "source": {"kind": "manual", "text": "page 12"},
        },
        {"name": "Plover", "kind": "solenoid", "between": ["3", "case"], "low_ohm": 12.0, "high_ohm": 15.0},
        {"name": "Knot", "kind": "solenoid", "between": ["4", "case"]},
        {"name": "Reel", "kind": "switch", "between": ["5", "6"], "at_rest": "open", "closes_with": "P3"},
    ],
    "ports": [{"name": "P3", "expect": [{"reaction": "bleeds", "selector": "D"}]}, {"name": "P4"}],
}
PNG = b"\x89PNG\r\n\x1a\n" + b"picture"


class Answer(NamedTuple):
    """What a command said."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> dict[str, Any]:
        found = json.loads(self.out)
        assert isinstance(found, dict)
        return found


@pytest.fixture
def run(capsys):
    def run_it(*words: object) -> Answer:
        try:
            code = main([str(word) for word in words])
        except SystemExit as finished:  # --help
            code = int(finished.code or 0)
        found = capsys.readouterr()
        return Answer(code, found.out, found.err)

    return run_it


@pytest.fixture
def reading(run):
    """The JSON answer to one reading, with its exit code."""

    def read_it(*words: object) -> Answer:
        return run("reading", *words, "--json")

    return read_it


@pytest.fixture
def variant_file(tmp_path) -> Path:
    path = tmp_path / "variant.json"
    path.write_text(json.dumps(VARIANT), "utf-8")
    return path


@pytest.fixture
def picture(tmp_path) -> Path:
    path = tmp_path / "plug.png"
    path.write_bytes(PNG)
    return path


@pytest.fixture
def job(run, tmp_path, variant_file) -> Path:
    """A session with the variant above, opened by Ann."""
    folder = tmp_path / "job 1"
    assert run("open-job", folder, "--variant", variant_file, "--job", "T-1", "--by", "Ann").code == 0
    return folder


@pytest.fixture
def record(run, job):
    """Record into that session and want success; the JSON answer."""

    def record_it(*words: object) -> dict[str, Any]:
        answer = run("record", job, *words, "--json")
        assert answer.code == 0, answer.err
        return answer.data

    return record_it


@pytest.fixture
def lines(job):
    """The lines of that session's journal, as bytes."""
    return lambda: (job / "journal.jsonl").read_bytes().splitlines()


@pytest.fixture
def everything(job):
    """All bytes of that session, to see that nothing changed."""
    return lambda: {path.relative_to(job): path.read_bytes() for path in sorted(job.rglob("*")) if path.is_file()}


@pytest.fixture
def row(run, job):
    """The one row of a kind in that session, as `judge` answers."""

    def one(kind: str) -> dict[str, Any]:
        (found,) = [row for row in run("judge", job, "--json").data["rows"] if row["kind"] == kind]
        return found

    return one


@pytest.fixture
def file(tmp_path):
    """Bytes as a file to take in."""

    def write(raw: bytes, name: str = "log.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(raw)
        return path

    return write


def body(lines: Callable[[], list[bytes]]) -> dict[str, Any]:
    """What the newest entry says."""
    found = json.loads(lines()[-1])["body"]
    assert isinstance(found, dict)
    return found
