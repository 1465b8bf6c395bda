"""The whole job on the command line, each command a process of its own."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any, NamedTuple

import pytest

ROOT = Path(__file__).parents[2]
VARIANT = ROOT / "resources" / "variants" / "tern-body-2.json"
# A picture of one grey point, made by hand after ISO/IEC 15948 (PNG).
PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d49484452000000010000000108000000003a7e9b55"
    "0000000a49444154789c636800000082008177cd72b60000000049454e44ae426082"
)
# Invented readings: one for each device of the body that is read in ohm, at the same room temperature.
READINGS = (
    ("1", "2", "5.2"),
    ("3", "11", "5.25"),
    ("4", "5", "5.15"),
    ("7", "11", "6.9"),  # mistyped, corrected below
    ("8", "case", "13.4"),
    ("2", "11", "10.4"),
    ("5", "11", "20.1"),
    ("12", "6", "2660"),
    ("1", "2", "5.22"),
    ("3", "11", "5.3"),
)
SURE = ("--celsius", "20,5", "--temperature", "taped", "--leads", "nulled", "--meter", "0,2%+2x0,01")


class Answer(NamedTuple):
    code: int
    out: str
    err: str

    @property
    def data(self) -> dict[str, Any]:
        return json.loads(self.out)


@pytest.fixture
def valvebench(tmp_path):
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "error"}

    def run(*words: object) -> Answer:
        command = [sys.executable, "-m", "valvebench", *(str(word) for word in words)]
        done = subprocess.run(
            command,
            env=environment,
            cwd=tmp_path,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
            timeout=120,
        )
        assert "Traceback" not in done.stderr
        return Answer(done.returncode, done.stdout, done.stderr)

    return run


@pytest.mark.slow
def test_the_whole_job(valvebench, tmp_path):
    job = tmp_path / "job 17"

    def kept(*words: object) -> dict[str, Any]:
        answer = valvebench(*words, "--json")
        assert answer.code == 0, answer.err
        line = (job / "journal.jsonl").read_bytes().splitlines()[-1]
        assert answer.data["hash"] == hashlib.sha256(line).hexdigest()
        return answer.data

    kept(
        "open-job", job, "--variant", VARIANT, "--job", "17", "--kind", "bench_check", "--serial", "0042", "--by", "Ann"
    )
    for a, b, ohm in READINGS:
        kept("record", job, "reading", "--from", a, "--to", b, "--ohm", ohm, *SURE)
    assert valvebench("judge", job, "--json").data["verdict"] == "fail"

    kept("record", job, "correct", "--entry", 5, "--ohm", "5.19", "--why", "misread", "--by", "Ben")
    assert valvebench("judge", job, "--json").data["verdict"] == "not_finished"
    kept("record", job, "withdraw", "--entry", 11, "--why", "clip slipped")
    kept("record", job, "restore", "--entry", 11)
    (tmp_path / "plug.png").write_bytes(PNG)
    kept("record", job, "photo", "plug.png", "--of", "the plug")

    judged = valvebench("judge", job, "--json")
    rows = {row["what"]: row for row in judged.data["rows"]}
    assert judged.code == 3
    assert rows["Whimbrel"]["ohm"] == 5.19
    assert rows["Heron"]["entries"] == [3, 11]
    assert {name: rows[name]["verdict"] for name in ("Gull", "Heron", "Curlew", "Whimbrel", "Plover", "Dunlin")} == {
        "Gull": "pass",
        "Heron": "pass",
        "Curlew": "pass",
        "Whimbrel": "pass",
        "Plover": "pass",
        "Dunlin": "pass",
    }
    assert rows["Knot"]["verdict"] == "no_limit"
    assert {"Reel", "Rill"} <= {one["what"] for one in judged.data["missing"]}

    closed = valvebench("record", job, "close", "--json")
    assert closed.code == 0
    assert "unfinished" in closed.err
    head = f"{closed.data['entry']}:{closed.data['hash'][:16]}"
    assert valvebench("record", job, "note", "late").code == 2

    pytest.importorskip("valvebench.report.workbook")
    assert valvebench("report", job, "--xlsx", "job 17.xlsx").code == 0
    check_workbook(tmp_path / "job 17.xlsx", closed.data)

    kept("record", job, "anchor", "--kind", "tag_handed_over", "--to", "Quay Line")
    kept("record", job, "outcome", "--fitted", "yes", "--comeback", "no", "--months", "6")
    verified = valvebench("verify", job, "--head", head, "--json")
    assert verified.code == 0
    assert (verified.data["ok"], verified.data["closed"], verified.data["tail"]) == (True, True, 2)
    assert verified.data["head"].startswith(head)

    journal = job / "journal.jsonl"
    journal.write_bytes(journal.read_bytes().replace(b'"ohm":5.15', b'"ohm":5.16'))
    assert valvebench("verify", job, "--head", head).code == 4
    assert valvebench("judge", job).code == 4


def check_workbook(path: Path, closed: dict[str, Any]) -> None:
    from openpyxl import load_workbook

    book = load_workbook(path)
    assert {"Summary", "Readings", "Air", "Trail", "Method", "Workings"} <= set(book.sheetnames)
    trail = {str(cell.value) for row in book["Trail"] for cell in row}
    assert any(closed["hash"] in text for text in trail)


LOG = ROOT / "resources" / "guide" / "logs" / "tern-pair.csv"
"""Invented: Heron is copper of 5.2 ohm, Gull's contact grows by 10 milliohm a degree from 70 degrees on."""
PLATEAUS = ("22", "45", "70", "95", "120", "60")


@pytest.mark.slow
def test_a_warmed_body(valvebench, tmp_path):
    """Cold all is well; a log and typed rounds show what heat does, and the evidence holds the log."""
    job = tmp_path / "job 18"
    assert valvebench("open-job", job, "--variant", VARIANT, "--job", "18", "--by", "Ann").code == 0
    for a, b in (("1", "2"), ("3", "11")):
        assert valvebench("record", job, "reading", "--from", a, "--to", b, "--ohm", "5.2", *SURE).code == 0
    meter = ("--meter", "0,2%+1x0,01")
    for device in ("Heron", "Gull"):
        assert valvebench("record", job, "heat-run", LOG, "--device", device, *meter, "--note", "oven").code == 0
    for number, celsius in enumerate(PLATEAUS, start=1):
        shown = f"{5.3 * (234.5 + float(celsius)) / 254.5:.2f}"  # conductor law, IEC 60034-1, 8.6.2
        where = ("--from", "4", "--to", "5", "--ohm", shown, "--celsius", celsius, "--temperature", "taped")
        answer = valvebench("record", job, "reading", *where, "--leads", "nulled", *meter, "--round", number)
        assert answer.code == 0, answer.err

    judged = valvebench("judge", job, "--json")
    verdicts = {row["what"]: row["verdict"] for row in judged.data["rows"]}
    assert (judged.code, verdicts["Gull"], verdicts["Gull, heat run"]) == (1, "pass", "fail")
    assert (verdicts["Heron, heat run"], verdicts["Curlew, heat run"]) == ("pass", "pass")
    assert judged.data["scope"].endswith("heat run 2 of 3 passed, 1 failed")

    kept = job / "blobs" / hashlib.sha256(LOG.read_bytes()).hexdigest()
    assert kept.read_bytes() == LOG.read_bytes()
    assert valvebench("report", job, "--xlsx", "job 18.xlsx").code == 0
    assert valvebench("record", job, "close").code == 0
    assert valvebench("verify", job).code == 0
    kept.write_bytes(LOG.read_bytes().replace(b"\n", b"\r\n"))
    assert valvebench("verify", job).code == 4
