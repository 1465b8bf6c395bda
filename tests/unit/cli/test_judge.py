"""`valvebench judge`: keys of the contract, exit codes of every session verdict, what is missing."""

from __future__ import annotations

import json
import math

import pytest

from tests.unit.cli.conftest import VARIANT

TOP = {"job", "variant", "verdict", "scope", "closed", "anchors", "rows", "missing"}
ROW = {
    *("entries", "what", "kind", "from", "to", "at", "port", "ohm", "state", "celsius", "ohm_at_ref", "U_ohm_at_ref"),
    *("low_ohm", "high_ohm", "limit_source", "p_inside", "verdict", "lean", "plain_verdict", "covers", "reasons"),
}
SURE = ("--celsius", "20", "--u-celsius", "0", "--u-ohm", "0.02", "--leads", "four_wire")
HERON = ("reading", "--from", "1", "--to", "2", *SURE)
PLOVER = ("reading", "--from", "3", "--to", "case", *SURE)


@pytest.fixture
def judged(run, job):
    return lambda *words: run("judge", job, *words, "--json")


@pytest.fixture
def finished(record):
    """The devices without trouble: Plover passes, Knot has no limit, Reel is open; Heron is left to the test."""
    record(*PLOVER, "--ohm", "13.5")
    record("reading", "--from", "4", "--to", "case", *SURE, "--ohm", "20")
    record("reading", "--from", "5", "--to", "6", "--open", "--range-ohm", "6e7", "--celsius", "20")
    return record


def test_keys(judged, record):
    record(*HERON, "--ohm", "5.2")
    record("reading", "--from", "5", "--to", "6", "--open", "--range-ohm", "6e7", "--celsius", "20")
    record("air", "--port", "P3", "--place", "body", "--result", "pass")
    data = judged().data
    assert set(data) >= TOP
    assert [set(row) >= ROW for row in data["rows"]] == [True] * 3
    assert (data["job"], data["variant"], data["closed"], data["anchors"]) == ("T-1", "tern-trial", False, [])


def test_a_row(judged, record):
    record(*HERON, "--ohm", "5.2", "--at", "vehicle_plug")
    (row,) = judged().data["rows"]
    assert (row["entries"], row["what"], row["kind"]) == ([2], "Heron", "solenoid")
    assert (row["from"], row["to"], row["at"], row["port"]) == ("1", "2", "vehicle_plug", None)
    assert (row["ohm"], row["state"], row["celsius"]) == (5.2, "value", 20.0)
    assert (row["ohm_at_ref"], row["U_ohm_at_ref"]) == (5.2, pytest.approx(0.04))
    assert (row["low_ohm"], row["high_ohm"], row["limit_source"]) == (4.9, 5.5, "manual: page 12")
    assert (row["verdict"], row["lean"], row["plain_verdict"]) == ("pass", None, "pass")
    assert row["p_inside"] == pytest.approx(1.0)


def test_repeated_readings_all_count(judged, record):
    # four readings of one pair: mean 5.25; one display step of 0.1 over sqrt(4), infinite degrees of freedom
    for ohm in ("5.1", "5.2", "5.3", "5.4"):
        record(
            "reading",
            "--from",
            "1",
            "--to",
            "2",
            "--ohm",
            ohm,
            "--celsius",
            "20",
            "--u-celsius",
            "0",
            "--leads",
            "four_wire",
        )
    (row,) = judged().data["rows"]
    u = math.hypot((0.01 * 5.25 + 0.3) / math.sqrt(3), 0.1 / 2)
    assert row["entries"] == [2, 3, 4, 5]
    assert row["ohm"] == pytest.approx(5.25)
    # meter 0.2035 against repeats 0.05: one rectangle dominates, 4.07 > 3.33
    assert row["U_ohm_at_ref"] == pytest.approx(0.9545 * math.sqrt(3) * u)


def test_other_direction_is_the_same_pair(judged, record):
    record(*HERON, "--ohm", "5.1")
    record("reading", "--from", "2", "--to", "1", *SURE, "--ohm", "5.3")
    (row,) = judged().data["rows"]
    assert row["entries"] == [2, 3]


def test_unlike_conditions_stand_apart(judged, record):
    record(*HERON, "--ohm", "5.1")
    record(*HERON, "--ohm", "5.1", "--at", "vehicle_plug")
    record("reading", "--from", "1", "--to", "2", "--ohm", "5.3", "--celsius", "60", "--leads", "nulled")
    assert [row["entries"] for row in judged().data["rows"]] == [[2], [3], [4]]


def test_a_meter_check_serves_until_leads_or_meter_change(judged, record):
    # R = 5 (5.4 - 0.2)/(5.2 - 0.2) = 5.2; without the check 5.4 - 0.1
    heron = ("reading", "--from", "1", "--to", "2", "--ohm", "5.4", "--celsius", "20")
    record("meter-check", "--check-ohm", "5", "--read", "5.2", "--zero-read", "0.2")
    record(*heron)
    record(*heron, "--leads", "nulled")
    record(*heron)
    ohms = [row["ohm"] for row in judged().data["rows"]]
    assert ohms == [pytest.approx(5.2), pytest.approx(5.4), pytest.approx(5.3)]


def test_a_meter_check_of_another_meter_does_not_serve(judged, record):
    record("meter-check", "--check-ohm", "5", "--read", "5.2", "--zero-read", "0.2", "--meter-id", "red")
    record("reading", "--from", "1", "--to", "2", "--ohm", "5.4", "--celsius", "20", "--meter-id", "blue")
    assert judged().data["rows"][0]["ohm"] == pytest.approx(5.3)


def test_a_meter_check_of_another_range_does_not_serve(judged, record):
    record("meter-check", "--check-ohm", "5", "--read", "5.2", "--zero-read", "0.2", "--range-ohm", "400")
    record("reading", "--from", "1", "--to", "2", "--ohm", "5.4", "--celsius", "20", "--range-ohm", "4000")
    assert judged().data["rows"][0]["ohm"] == pytest.approx(5.3)


def test_pass(judged, finished):
    finished(*HERON, "--ohm", "5.2")
    answer = judged()
    assert (answer.code, answer.data["verdict"], answer.data["missing"]) == (0, "pass", [])
    assert "3 of 4 electrical" in answer.data["scope"]
    assert "1 without limit" in answer.data["scope"]
    assert "air not required" in answer.data["scope"]


def test_fail(judged, finished):
    finished(*HERON, "--ohm", "6.2")
    answer = judged()
    assert (answer.code, answer.data["verdict"]) == (1, "fail")


def test_fail_goes_before_not_finished(judged, record):
    record(*HERON, "--ohm", "6.2")
    answer = judged()
    assert (answer.code, answer.data["verdict"]) == (1, "fail")
    assert answer.data["missing"]


def test_not_finished(judged, record):
    record(*HERON, "--ohm", "5.2")
    answer = judged()
    assert (answer.code, answer.data["verdict"]) == (3, "not_finished")
    assert [one["what"] for one in answer.data["missing"]] == ["Plover", "Knot", "Reel"]
    assert (answer.data["missing"][0]["from"], answer.data["missing"][0]["to"]) == ("3", "case")


def test_not_usable_is_not_finished(judged, finished):
    finished("reading", "--from", "1", "--to", "2", "--ohm", "5.2", "--celsius", "40", "--temperature", "not_soaked")
    answer = judged()
    assert (answer.code, answer.data["verdict"]) == (3, "not_finished")
    assert [one["what"] for one in answer.data["missing"]] == ["Heron"]


def test_cant_tell(judged, finished):
    finished(*HERON, "--ohm", "5.49")
    answer = judged()
    row = next(row for row in answer.data["rows"] if row["what"] == "Heron")
    assert (answer.code, answer.data["verdict"]) == (3, "cant_tell")
    assert (row["verdict"], row["lean"], row["plain_verdict"]) == ("cant_tell", "inside", "pass")
    assert judged("--rule", "plain").data["verdict"] == "pass"


def test_no_limit(run, tmp_path):
    run("open-job", tmp_path / "bare", "--job", "2")
    run("record", tmp_path / "bare", "reading", "--from", "1", "--to", "2", "--ohm", "5", "--celsius", "20")
    answer = run("judge", tmp_path / "bare", "--json")
    assert (answer.code, answer.data["verdict"], answer.data["variant"]) == (0, "no_limit", None)


def test_limits_in_the_reading_serve_without_a_variant(run, tmp_path):
    run("open-job", tmp_path / "bare", "--job", "2")
    words = ("reading", "--from", "1", "--to", "2", *SURE, "--ohm", "5.2", "--low", "5", "--high", "6")
    run("record", tmp_path / "bare", *words)
    answer = run("judge", tmp_path / "bare", "--json")
    assert (answer.code, answer.data["verdict"]) == (0, "pass")
    assert answer.data["rows"][0]["low_ohm"] == 5.0


def test_nothing_recorded(judged):
    answer = judged()
    assert (answer.code, answer.data["verdict"], answer.data["rows"]) == (3, "not_finished", [])


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        (("--port", "P3", "--place", "body", "--result", "bleeds", "--selector", "D"), "pass"),  # expected to bleed
        (("--port", "P3", "--place", "body", "--result", "bleeds", "--selector", "R"), "no_limit"),
        (("--port", "P4", "--place", "body", "--result", "bleeds"), "no_limit"),
        (("--port", "P4", "--place", "case", "--result", "fail"), "fail"),
        (("--port", "P4", "--place", "case", "--result", "pass"), "pass"),
        (("--port", "P4", "--place", "body", "--result", "not_possible"), "not_taken"),
    ],
)
def test_air(judged, record, words, verdict):
    record("air", *words)
    (row,) = judged().data["rows"]
    assert (row["verdict"], row["kind"], row["port"], row["ohm"]) == (verdict, "air", words[1], None)


@pytest.mark.parametrize(
    ("words", "verdict"),
    [
        (("--state", "open"), "pass"),
        (("--state", "closed"), "fail"),
        (("--state", "closed", "--kpa-gauge", "250"), "pass"),
        (("--state", "open", "--kpa-gauge", "250"), "fail"),
    ],
)
def test_switch(judged, record, words, verdict):
    record("switch", "--device", "Reel", *words)
    assert judged().data["rows"][0]["verdict"] == verdict


def test_solenoid(judged, record):
    record("solenoid", "--device", "Heron", "--click", "no")
    assert judged().data["rows"][0]["verdict"] == "fail"


def test_air_counts_where_the_job_asks_for_it(run, tmp_path, variant_file):
    run("open-job", tmp_path / "j", "--job", "2", "--variant", variant_file, "--require-air")
    data = run("judge", tmp_path / "j", "--json").data
    ports = [one for one in data["missing"] if one["kind"] == "air"]
    assert [(one["port"], one["from"], one["to"]) for one in ports] == [("P3", None, None), ("P4", None, None)]
    assert "air not taken" in data["scope"]


def test_each_setting_of_a_port_is_asked_for_and_judged_on_its_own(run, tmp_path):
    expect = [{"selector": "D", "reaction": "holds"}, {"selector": "R", "reaction": "bleeds"}]
    (tmp_path / "v.json").write_text(json.dumps(VARIANT | {"ports": [{"name": "P3", "expect": expect}]}), "utf-8")
    job = tmp_path / "j"
    run("open-job", job, "--job", "2", "--variant", tmp_path / "v.json", "--require-air")
    run("record", job, "air", "--port", "P3", "--place", "body", "--result", "bleeds", "--selector", "R")
    data = run("judge", job, "--json").data
    (row,) = data["rows"]
    assert (row["what"], row["port"], row["verdict"]) == ("port P3 (selector R)", "P3", "pass")
    assert [(one["what"], one["port"]) for one in data["missing"] if one["kind"] == "air"] == [
        ("port P3 (selector D)", "P3")
    ]
    assert data["scope"].endswith("air 1 of 2 passed")


def test_judging_changes_nothing(judged, record, everything):
    record(*HERON, "--ohm", "5.2")
    before = everything()
    judged()
    assert everything() == before


def test_text(run, job, record):
    record(*HERON, "--ohm", "5.49")
    out = run("judge", job).out
    assert out.startswith("Not finished: ")
    assert "Heron" in out
    assert "Can't tell" in out
    assert "missing: Plover" in out


def test_broken_evidence_is_not_judged(run, job, record):
    record(*HERON, "--ohm", "5.2")
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b'"job":"T-1"', b'"job":"T-9"'))
    answer = run("judge", job, "--json")
    assert (answer.code, answer.out) == (4, "")
    assert "line 1" in answer.err


@pytest.mark.parametrize("words", [(), ("none",), (__file__,), ("none", "--rule", "strict"), ("a" * 5000,)])
def test_bad_input(run, words):
    answer = run("judge", *words)
    assert (answer.code, answer.out) == (2, "")
    assert answer.err.startswith("valvebench: ")


def test_json_is_one_line_of_ascii(judged, record):
    record(*HERON, "--ohm", "5.2")
    out = judged().out
    assert out.isascii()
    assert out.count("\n") == 1
    json.loads(out)
