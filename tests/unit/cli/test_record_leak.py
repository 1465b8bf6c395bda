"""`valvebench record DIR leak`: typed or from a file, which is kept before its entry.

Two gauges by hand: C = 0.001 dm3/(s bar) behind 300 kPa, the port at 20 kPa: choked, so 0.001 * 4.01325 bar
* 60 s = 0.240795 dm3/min (ISO 6358) at 20 degrees Celsius and 100 kPa.
"""

from __future__ import annotations

import hashlib
import json

import msgspec
import pytest

from tests.data.air_truth import emptied
from tests.unit.cli.conftest import VARIANT, body
from valvebench.compose import open_desk
from valvebench.judge.leak import WATCHED, watched

STEADY = ("--restriction-c", "0.001", "--restriction-b", "0.5")
TYPED = (*STEADY, "--supply-kpa-gauge", "300 300", "--port-kpa-gauge", "20;20")
BY_HAND_ML_MIN = 0.001 * 4.01325 * 60 * 1000
FILE = b"supply_kpa_gauge,port_kpa_gauge\n300,20\n300,20\n"
VACUUM = ("--method", "vacuum", "--blank-kpa", "85", "--known-kpa", "50", "--known-hole-mm", "0.5")


@pytest.fixture
def variant_file(tmp_path):
    heron, *others = VARIANT["devices"]
    heron = {**heron, "normally": "closed", "max_seat_ml_min": 30, "seat_kpa_gauge": 20}
    ports = [
        {"name": "P3", "method": "steady", "kpa_gauge": 20, "max_ml_min": 400},
        {"name": "P4", "method": "vacuum", "kpa_gauge": 30, "max_ml_min": 400},
        {"name": "P5", "method": "decay", "kpa_gauge": 250, "max_ml_min": 10},
    ]
    path = tmp_path / "variant.json"
    path.write_text(json.dumps({**VARIANT, "devices": [heron, *others], "ports": ports}), "utf-8")
    return path


def decay_file(ml_min=4.0, **truth):
    t_s, kpa = emptied(ml_min, volume_ml=50.0, kpa_gauge=250.0, t_s=60.0, hz=2.0, **truth)
    return "\n".join(["t_s,kpa_gauge", *(f"{t:.2f},{p:.2f}" for t, p in zip(t_s, kpa, strict=True))]).encode()


def test_two_gauges_typed_against_the_limit_of_the_port(record, lines, row):
    record("leak", "--port", "P3", *TYPED, "--gauge-id", "blue", "--note", "cold")
    kept = body(lines)
    assert kept["supply_kpa_gauge"] == [300, 300]
    assert (kept["port"], kept["gauge_id"], kept["note"]) == ("P3", "blue", "cold")
    found = row("leak")
    assert (found["verdict"], found["what"], found["port"]) == ("pass", "P3, leak", "P3")
    leak = found["leak"]
    assert leak["leak_ml_min"]["value"] == pytest.approx(BY_HAND_ML_MIN, rel=1e-3)
    assert (leak["at_kpa_gauge"], leak["max_ml_min"], leak["method"]) == (20, 400, "steady")
    assert sum(line["share"] for line in leak["budget"]) == pytest.approx(1.0)


def test_a_seat_is_held_against_the_limit_of_its_solenoid(record, lines, row, run, job):
    record("leak", "--device", "Heron", "--restriction-c", "0.0001", *TYPED[2:])
    assert (body(lines)["device"], "port" in body(lines)) == ("Heron", False)
    found = row("leak")
    assert (found["verdict"], found["what"], found["port"]) == ("pass", "Heron, leak at its seat", None)
    assert found["leak"]["leak_ml_min"]["value"] == pytest.approx(BY_HAND_ML_MIN / 10, rel=1e-2)
    assert (found["leak"]["max_ml_min"], found["limit_source"]) == (30, "page 12")
    assert "seat       Heron " in run("judge", job).out
    record("correct", "--entry", "2", "--port", "P3", "--why", "it was the port beside it")
    assert (row("leak")["what"], "device" in body(lines)["body"]) == ("P3, leak", False)
    record("correct", "--entry", "2", "--device", "Plover", "--why", "it was neither")
    assert (row("leak")["what"], row("leak")["verdict"]) == ("Plover, leak at its seat", "no_limit")


def test_the_same_from_a_file_is_kept_by_its_hash_and_the_find_stands_in_the_entry(record, lines, job, file, row):
    record("leak", file(FILE), "--port", "P3", *STEADY)
    kept, digest = body(lines), hashlib.sha256(FILE).hexdigest()
    assert (job / "blobs" / digest).read_bytes() == FILE
    assert (kept["sha256"], kept["file_name"], kept["size_bytes"]) == (digest, "log.csv", len(FILE))
    assert "supply_kpa_gauge" not in kept
    before = row("leak")
    (job / "blobs" / digest).unlink()
    assert row("leak") == before
    assert before["leak"]["leak_ml_min"]["value"] == pytest.approx(BY_HAND_ML_MIN, rel=1e-3)


def test_a_watched_decay_stays_watched_when_it_is_corrected(record, row, job):
    """The page keeps a run that was looked at while it fell with its noise counted 1.35 times, and says so."""
    options = ("--method", "decay", "--volume-ml", "50", "--times", "0 5 10 30", "--kpa-gauge", "250 249 248 244")
    record("leak", "--port", "P5", *options)
    desk = open_desk(job)
    body = desk.session.items[-1].body
    desk.record(msgspec.structs.replace(body, found=watched(body.found)))
    desk.release()
    record("withdraw", "--entry", "2", "--why", "the same, not watched")
    before = row("leak")["leak"]["leak_ml_min"]["u"]
    record("correct", "--entry", "3", "--gauge-id", "blue", "--volume-pct", "5", "--why", "which gauge it was")
    assert row("leak")["leak"]["leak_ml_min"]["u"] == pytest.approx(before)
    assert row("leak")["reasons"].count(WATCHED) == 1
    record("correct", "--entry", "3", "--hose-id", "short", "--why", "which hose it was")
    assert row("leak")["reasons"].count(WATCHED) == 1, "what nothing depends on is not worked out again"


def test_a_missing_file_is_seen_by_verify(record, run, job, file):
    record("leak", file(FILE), "--port", "P3", *STEADY)
    assert run("verify", job).code == 0
    (job / "blobs" / hashlib.sha256(FILE).hexdigest()).unlink()
    assert run("verify", job).code == 4


def test_a_vacuum_typed_is_held_against_the_limit_for_a_vacuum(record, row):
    record("leak", "--port", "P4", *VACUUM, "--vacuum-kpa", "83 83")
    found = row("leak")
    assert (found["leak"]["at_kpa_gauge"], found["leak"]["method"]) == (-83, "vacuum")
    assert found["verdict"] == "pass"
    assert "The limit is stated for 30 kPa below the air around: it was more even." in found["reasons"]


def test_a_falling_pressure_is_told_where_the_limit_of_the_port_holds(record, row, file):
    record("leak", file(decay_file()), "--port", "P5", "--method", "decay", "--volume-ml", "50", "--held-s", "30")
    leak = row("leak")["leak"]
    assert leak["at_kpa_gauge"] == 250
    assert abs(leak["leak_ml_min"]["value"] - 4.0) < 3 * leak["leak_ml_min"]["u"]


def test_two_readings_and_a_watch_are_a_test(record, row):
    options = ("--method", "decay", "--volume-ml", "50", "--times", "0 60", "--kpa-gauge", "250 242")
    record("leak", "--port", "P5", *options)
    assert row("leak")["leak"]["n"] == 2
    assert row("leak")["leak"]["leak_ml_min"] is not None


def test_judge_shows_port_number_limit_and_why(record, run, job):
    record("leak", "--port", "P3", *TYPED)
    answer = run("judge", job)
    assert "leak       P3             " in answer.out
    assert "< 400" in answer.out
    assert "Most of the doubt: " in answer.out
    record("leak", "--port", "P3", "--restriction-c", "0.01", *TYPED[2:])
    answer = run("judge", job)
    assert answer.code == 1
    assert "is above the 400 ml/min allowed with its doubt" in answer.out


def test_correct_withdraw_and_restore(record, row, run, job):
    record("leak", "--port", "P3", *TYPED)
    record("correct", "--entry", "2", "--restriction-c", "0.01", "--why", "the larger one was in")
    assert row("leak")["leak"]["leak_ml_min"]["value"] == pytest.approx(10 * BY_HAND_ML_MIN, rel=1e-2)
    assert row("leak")["verdict"] == "fail"
    record("withdraw", "--entry", "3", "--why", "it was not")
    assert row("leak")["verdict"] == "pass"
    record("withdraw", "--entry", "2", "--why", "another port")
    assert [one for one in run("judge", job, "--json").data["rows"] if one["kind"] == "leak"] == []
    record("restore", "--entry", "2")
    assert row("leak")["verdict"] == "pass"


def test_correcting_a_file_reads_it_again_and_its_port_moves_the_limit(record, row, file, lines):
    record("leak", file(FILE), "--port", "P4", *STEADY)
    assert row("leak")["verdict"] == "cant_tell"
    record("correct", "--entry", "2", "--port", "P3", "--why", "it was P3")
    assert row("leak")["verdict"] == "pass"
    record("correct", "--entry", "2", "--restriction-mm", "0.1", "--why", "it is a bore")
    kept = body(lines)["body"]
    assert (kept["restriction_mm"], "restriction_c" in kept, kept["file_name"]) == (0.1, False, "log.csv")


def test_a_file_that_is_gone_cannot_be_looked_at_again(record, run, job, file):
    record("leak", file(FILE), "--port", "P3", *STEADY)
    (job / "blobs" / hashlib.sha256(FILE).hexdigest()).unlink()
    assert run("record", job, "correct", "--entry", "2", "--note", "x", "--why", "y").code == 0
    answer = run("record", job, "correct", "--entry", "2", "--celsius", "25", "--why", "y")
    assert answer.code == 2
    assert "missing or changed" in answer.err


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ((), ["neither --port nor --device", "the solenoid whose seat"]),
        (("--port", "P3", "--device", "Heron", *TYPED), ["both --port and --device"]),
        (("--device", "Herron", *TYPED), ["--device", "'Herron'", "Heron"]),
        (("--device", "Reel", *TYPED), ["a solenoid of the variant"]),
        (("--port", "P3"), ["--restriction-mm or --restriction-c", "neither"]),
        (("--port", "P3", *STEADY), ["--supply-kpa-gauge", "--port-kpa-gauge", "a file"]),
        (("--port", "P3", *STEADY, "--supply-kpa-gauge", "300 300", "--port-kpa-gauge", "20"), ["2 of", "1 of"]),
        (("--port", "P3", *TYPED, "--volume-ml", "50"), ["--volume-ml", "--method steady"]),
        (("--port", "P3", *TYPED, "--vacuum-kpa", "31"), ["vacuum_kpa", "none of these with the method steady"]),
        (("--port", "P3", *TYPED, "--gauge", "x"), ["--gauge", "'x'"]),
        (("--port", "P3", *TYPED, "--port-kpa-gauge", "nan nan"), ["nan"]),
        (("--port", "P3", *STEADY, "--supply-kpa-gauge", "20", "--port-kpa-gauge", "300"), ["300"]),
        (("--port", "P4", *VACUUM, "--vacuum-kpa", "90"), ["90"]),
        (
            ("--port", "P5", "--method", "decay", "--volume-ml", "50", "--times", "0", "--kpa-gauge", "250"),
            ["1 reading", "two"],
        ),
        (("--port", "P5", "--method", "decay", "--times", "0 9", "--kpa-gauge", "250 240"), ["--volume-ml"]),
    ],
)
def test_bad_input_is_said_in_one_message_and_nothing_is_kept(run, job, everything, more, words):
    before = everything()
    answer = run("record", job, "leak", *more)
    assert answer.code == 2
    assert all(word in answer.err for word in words), answer.err
    assert "Traceback" not in answer.err
    assert everything() == before


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"supply_kpa,port_kpa\n300,20\n", ["gauge or absolute"]),
        (b"t_s,kpa_gauge\n0,250\n1,240\n", ["header"]),
    ],
)
def test_a_file_that_says_nothing_is_refused_and_not_kept(run, job, everything, file, raw, words):
    before = everything()
    answer = run("record", job, "leak", file(raw), "--port", "P3", *STEADY)
    assert answer.code == 2
    assert all(word in answer.err for word in words), answer.err
    assert everything() == before


def test_readings_and_a_file_are_one_too_many(run, job, file):
    answer = run("record", job, "leak", file(FILE), "--port", "P3", *TYPED)
    assert answer.code == 2
    assert "typed readings and a file" in answer.err
