"""`valvebench suspects`: what it answers, in words and in JSON, and with which exit code."""

from __future__ import annotations

import json

import openpyxl
import pytest

from tests.data.suspects_body import DATA

KEYS = {"what", "kind", "weight", "why", "tests"}


@pytest.fixture
def file(tmp_path):
    def write(**changed):
        path = tmp_path / "variant.json"
        path.write_text(json.dumps({**DATA, **changed}), "utf-8")
        return path

    return write


@pytest.fixture
def job(run, file, tmp_path):
    """A session with a complaint."""
    folder = tmp_path / "job"
    words = ("--shift", "1-2", "--when", "always", "--feel", "late")
    assert run("open-job", folder, "--variant", file(), "--job", "1", *words).code == 0
    return folder


def test_the_json_answer(run, file):
    answer = run("suspects", file(), "--shift", "2-3", "--when", "hot", "--feel", "bump", "--json")
    assert answer.code == 0
    changes = answer.data["changes"]
    assert (changes["apply"], changes["release"], changes["solenoids"]) == (["Brant"], ["Auk"], ["Gull", "Knot"])
    assert changes["states"][0] == {"solenoid": "Gull", "before": "on", "after": "off", "clutch": "Auk"}
    found = answer.data["suspects"]
    assert all(set(one) >= KEYS for one in found)
    assert all(one["tests"] and one["why"] for one in found)
    weights = [one["weight"] for one in found]
    assert weights == sorted(weights, reverse=True)
    assert {"hydraulic", "electrical"} <= {one["family"] for one in found}
    assert "no source" in answer.data["note"]


def test_the_other_way_round(run, file):
    up = run("suspects", file(), "--shift", "2-3", "--json").data["changes"]
    down = run("suspects", file(), "--shift", "3-2", "--json").data["changes"]
    assert (up["apply"], up["release"]) == (down["release"], down["apply"])


def test_in_words(run, file):
    out = run("suspects", file(), "--shift", "1-2", "--when", "hot").out
    assert "Complaint: 1-2, when hot." in out
    assert "Applies: Crake. Releases: Dipper." in out
    assert "Solenoids that switch: Heron (off to on, with Crake)." in out
    assert "not how likely anything is" in out
    assert "battery isolated" in out
    assert out.index("Fluid level") < out.index("Contact of Heron that grows with heat")


@pytest.mark.parametrize(
    ("options", "words"),
    [
        pytest.param(("--shift", "1-9"), "positions of tern-suspects: P, R, N, 1, 2, 3, lock-up", id="unknown gear"),
        pytest.param(("--shift", "downshift"), "two positions with a dash", id="no gears"),
        pytest.param(("--shift", "1-1"), "two different positions", id="no change"),
        pytest.param(("--shift", "1-2", "--when", "warm"), "one of hot, cold, sometimes, always", id="unknown time"),
        pytest.param(("--shift", "1-2", "--feel", "odd"), "one of harsh, flare", id="unknown feel"),
        pytest.param((), "the shift or event of the complaint", id="no shift"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(run, file, options, words):
    answer = run("suspects", file(), *options)
    assert answer.code == 2
    assert answer.out == ""
    assert words in answer.err


def test_charts_that_say_nothing_leave_it_open(run, file):
    answer = run("suspects", file(apply_chart={}, solenoid_chart={}), "--shift", "1-2", "--json")
    assert answer.code == 3
    assert answer.data["changes"]["apply"] == answer.data["changes"]["solenoids"] == []
    assert answer.data["cant_tell"][0].startswith("Can't tell: this variant has no apply chart")
    half = run("suspects", file(solenoid_chart={}), "--shift", "1-2", "--json")
    assert half.code == 0
    assert len(half.data["cant_tell"]) == 1


def test_a_session_brings_its_complaint_and_its_results(run, file, job):
    record = ("record", job, "reading", "--from", "2", "--to", "7", "--celsius", 20, "--meter", "0.5%+2x0.01")
    assert run(*record, "--leads", "nulled", "--temperature", "taped", "--ohm", "5.5").code == 0
    assert run("record", job, "air", "--port", "P2", "--place", "body", "--result", "fail").code == 0
    answer = run("suspects", file(), "--session", job, "--json").data
    assert answer["complaint"] == {"shift": "1-2", "when": "always", "feel": "late"}
    first, last = answer["suspects"][0], answer["suspects"][-1]
    assert (first["kind"], first["where"], first["state"]) == ("valve_bore", ["Crake"], "points_at_it")
    assert (last["where"], last["state"]) == (["Heron"], "proved_good")


def test_a_complaint_that_turned_out_otherwise(run, file, job):
    assert run("record", job, "complaint", "--shift", "2-3", "--feel", "bind-up").code == 0
    answer = run("suspects", file(), "--session", job, "--json").data
    assert answer["complaint"] == {"shift": "2-3", "when": None, "feel": "bind"}
    assert run("suspects", file(), "--session", job, "--shift", "N-R", "--json").data["complaint"]["shift"] == "N-R"
    assert run("record", job, "complaint").code == 2


def test_a_session_of_another_variant_is_refused(run, file, job):
    answer = run("suspects", file(key="tern-other"), "--session", job)
    assert answer.code == 2
    assert "a session of tern-other" in answer.err


def test_the_workbook_of_a_complaint_has_its_suspects(run, job, tmp_path):
    target = tmp_path / "report.xlsx"
    assert run("report", job, "--xlsx", target).code == 0
    assert "Suspects" in openpyxl.load_workbook(target, read_only=True).sheetnames
