"""`valvebench record`: every kind lands on disk as it was given, with the hash that was printed."""

from __future__ import annotations

import hashlib
import json

import pytest

from valvebench.compose import open_desk

CHECK = ("--check-ohm", "5.000", "--read", "5,1", "--zero-read", "0.1")
KINDS = {
    "reading": (
        ("--from", "1", "--to", "2", "--ohm", "5,2", "--celsius", "-2,5"),
        {"from": "1", "to": "2", "ohm": 5.2, "celsius": -2.5},
    ),
    "reading open": (
        ("--from", "3", "--to", "case", "--open", "--range-ohm", "6e7", "--celsius", "23"),
        {"from": "3", "to": "case", "open": True, "range_ohm": 6e7, "celsius": 23.0},
    ),
    "reading at the terminals": (
        ("--from", "Heron.1", "--to", "Heron.2", "--ohm", "5", "--celsius", "23", "--at", "device_terminals"),
        {"from": "Heron.1", "to": "Heron.2", "at": "device_terminals"},
    ),
    "reading with its meter": (
        ("--from", "1", "--to", "2", "--ohm", "5", "--celsius", "23", "--meter", "0,9%+2x0,1", "--meter-id", "blue"),
        {"meter": "0.9%+2x0.1", "meter_id": "blue"},
    ),
    "reading repeated": (
        ("--from", "1", "--to", "2", "--repeats", "5,1;5.2 5.3", "--celsius", "23", "--leads", "nulled"),
        {"repeats_ohm": [5.1, 5.2, 5.3], "leads": "nulled"},
    ),
    "meter-check": (
        (*CHECK, "--check-pct", "0.05", "--meter", "1%+3x0.1", "--meter-id", "blue", "--range-ohm", "400"),
        {
            "check_ohm": 5.0,
            "read_ohm": 5.1,
            "zero_read_ohm": 0.1,
            "check_pct": 0.05,
            "meter_id": "blue",
            "range_ohm": 400.0,
        },
    ),
    "air": (
        (
            *("--port", "P4", "--place", "body", "--result", "bleeds", "--kpa-gauge", "250", "--selector", "D"),
            *("--solenoids", "Heron=on; Knot=off", "--gauge-id", "G", "--note", "faint"),
            *("--cover", "no", "--out-at", "P6"),
        ),
        {
            "port": "P4",
            "place": "body",
            "result": "bleeds",
            "kpa_gauge": 250.0,
            "selector": "D",
            "solenoids": {"Heron": "on", "Knot": "off"},
            "gauge_id": "G",
            "note": "faint",
            "has_cover": False,
            "came_out_at": "P6",
        },
    ),
    "switch": (
        (
            *("--device", "Reel", "--state", "closed", "--kpa-gauge", "250", "--selector", "D", "--air", "yes"),
            *("--up-kpa-gauge", "180", "--down-kpa-gauge", "150", "--closed-ohm", "0.4"),
        ),
        {
            "device": "Reel",
            "state": "closed",
            "kpa_gauge": 250.0,
            "selector": "D",
            "has_air": True,
            "up_kpa_gauge": 180.0,
            "down_kpa_gauge": 150.0,
            "closed_ohm": 0.4,
        },
    ),
    "solenoid": (
        (
            *("--device", "Heron", "--click", "yes", "--air-off", "holds", "--air-on", "flows", "--kpa-gauge", "250"),
            *("--heard", "3", "--tries", "3", "--supply", "limited_current", "--limit-ampere", "1.1"),
        ),
        {
            "device": "Heron",
            "click": True,
            "air_off": "holds",
            "air_on": "flows",
            "kpa_gauge": 250.0,
            "heard": 3,
            "tries": 3,
            "supply": "limited_current",
            "limit_ampere": 1.1,
        },
    ),
    "feature": (
        ("--name", "plate mark", "--value", "dot", "--seen", "phone"),
        {"name": "plate mark", "value": "dot", "seen": "phone"},
    ),
    "fluid": (
        ("--colour", "brown", "--smell", "burnt", "--level", "low", "--debris", "grey paste", "--cooler", "replaced"),
        {"colour": "brown", "smell": "burnt", "level": "low", "debris": "grey paste", "cooler": "replaced"},
    ),
    "connector": (("--pins", "12", "--rows", "3", "--casting", "no"), {"pins": 12, "rows": 3, "case": False}),
    "note": (("plug dry of oil",), {"text": "plug dry of oil"}),
}


@pytest.mark.parametrize("name", KINDS)
def test_kinds(record, lines, name):
    words, body = KINDS[name]
    kind = name.split()[0]
    data = record(kind, *words)
    raw = lines()[-1]
    entry = json.loads(raw)
    assert data == {"entry": 2, "hash": hashlib.sha256(raw).hexdigest()}
    assert (entry["n"], entry["kind"]) == (2, kind)
    assert body.items() <= entry["body"].items()
    assert entry["prev"] == hashlib.sha256(lines()[0]).hexdigest()


@pytest.mark.parametrize("word", ["flushed", "replaced", "not_flushed", "not_known"])
def test_the_cooler_is_corrected_and_the_rest_stays(record, lines, word):
    record("fluid", "--colour", "brown")
    record("correct", "--entry", "2", "--cooler", word, "--why", "asked again")
    entry = json.loads(lines()[-1])
    assert entry["body"] == {"entry": 2, "why": "asked again", "body": {"colour": "brown", "cooler": word}}


def test_photo_is_kept_by_its_hash(record, lines, job, picture):
    record("photo", picture, "--of", "the plug")
    entry = json.loads(lines()[-1])
    digest = hashlib.sha256(picture.read_bytes()).hexdigest()
    assert entry["body"] == {"sha256": digest, "file_name": "plug.png", "of": "the plug", "size_bytes": 15}
    assert (job / "blobs" / digest).read_bytes() == picture.read_bytes()


@pytest.mark.parametrize("result", ["pass", "fail", "bleeds", "not_possible"])
@pytest.mark.parametrize("place", ["case", "body"])
def test_air_words(record, result, place):
    record("air", "--port", "P4", "--place", place, "--result", result)


@pytest.mark.parametrize("at", ["vehicle_plug", "case_connector", "device_terminals"])
def test_access_points(record, at):
    record("reading", "--from", "1", "--to", "2", "--ohm", "5", "--celsius", "20", "--at", at)


def test_by_is_who_did_it(record, lines):
    record("note", "one", "--by", "Ben")
    assert json.loads(lines()[-1])["by"] == "Ben"


def test_it_is_on_disk_before_the_command_says_so(job, capsys, monkeypatch):
    """At the last sync the line is in the file and nothing has been said yet."""
    import os

    from valvebench.__main__ import main

    seen: list[tuple[str, bool]] = []
    real = os.fsync

    def fsync(descriptor):
        real(descriptor)
        seen.append((capsys.readouterr().out, b"a late remark" in (job / "journal.jsonl").read_bytes()))

    monkeypatch.setattr(os, "fsync", fsync)
    assert main(["record", str(job), "note", "a late remark"]) == 0
    assert {said for said, _ in seen} == {""}
    assert seen[-1] == ("", True)
    assert "entry 2" in capsys.readouterr().out


READING = ("reading", "--from", "1", "--to", "2", "--celsius", "20")
REFUSED = {
    "no kind": ((), "nothing"),
    "unknown kind": (("redding",), "Did you mean reading?"),
    "no nodes": (("reading", "--ohm", "5", "--celsius", "20"), "--from, --to"),
    "one node twice": (("reading", "--from", "1", "--to", "1", "--ohm", "5", "--celsius", "20"), "another node"),
    "open without range": ((*READING, "--open"), "range-ohm"),
    "no value": (READING, "reading"),
    "letters": ((*READING, "--ohm", "five"), "'five'"),
    "four wires and tips": ((*READING, "--ohm", "5", "--leads", "four_wire", "--lead-ohm", "0.2"), "lead-ohm"),
    "access point": ((*READING, "--ohm", "5", "--at", "plug"), "vehicle_plug"),
    "check without reading": (("meter-check", "--check-ohm", "5"), "--read"),
    "check without tips": (("meter-check", "--check-ohm", "5", "--read", "5.2"), "tips"),
    "air without result": (("air", "--port", "P3", "--place", "case"), "--result"),
    "air result": (("air", "--port", "P3", "--place", "case", "--result", "bleed"), "Did you mean bleeds?"),
    "solenoid state": (
        ("air", "--port", "P3", "--place", "case", "--result", "pass", "--solenoids", "Heron"),
        "NAME=on",
    ),
    "pressure": (("air", "--port", "P3", "--place", "case", "--result", "pass", "--kpa-gauge", "-200"), "-200"),
    "click": (("solenoid", "--device", "Heron", "--click", "maybe"), "yes or no"),
    "switch state": (("switch", "--device", "Reel", "--state", "shut"), "open, closed"),
    "feature": (("feature", "--name", "plate mark"), "--value"),
    "no fluid": (("fluid",), "colour"),
    "cooler in other words": (("fluid", "--cooler", "rinsed"), "one of flushed, replaced, not_flushed, not_known"),
    "empty note": (("note", ""), "''"),
    "blank note": (("note", "  "), "a text"),
    "no note": (("note",), "text"),
    "no text": (("note", "a\udcffb"), "UTF-8"),
    "no picture": (("photo", __file__, "--of", "x"), "PNG"),
    "missing picture": (("photo", "none.png", "--of", "x"), "none.png"),
    "outcome before closing": (("outcome", "--fitted", "yes"), "after closing"),
    "anchor before closing": (("anchor", "--kind", "tag_handed_over"), "after closing"),
    "correct nothing": (("correct", "--why", "x"), "--entry"),
    "correct without reason": (("correct", "--entry", "2"), "--why"),
    "correct what is not there": (("correct", "--entry", "9", "--why", "x"), "9"),
    "correct the job": (("correct", "--entry", "1", "--why", "x"), "1"),
    "withdraw the job": (("withdraw", "--entry", "1", "--why", "x"), "open-job"),
    "withdraw without reason": (("withdraw", "--entry", "1"), "--why"),
    "withdraw what is not there": (("withdraw", "--entry", "9", "--why", "x"), "9"),
    "restore what stands": (("restore", "--entry", "1"), "withdrawn"),
    "number nought": (("restore", "--entry", "0"), "'0'"),
    "number with sign": (("restore", "--entry", "+1"), "'+1'"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_refused_and_nothing_changed(run, job, everything, name):
    words, said = REFUSED[name]
    before = {name: raw for name, raw in everything().items() if name.name != "lock"}
    answer = run("record", job, *words, "--json") if words else run("record", job)
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert "Traceback" not in answer.err
    assert {name: raw for name, raw in everything().items() if name.name != "lock"} == before


def test_no_session(run, tmp_path):
    answer = run("record", tmp_path / "none", "note", "x")
    assert (answer.code, answer.out) == (2, "")
    assert "open-job" in answer.err
    assert not (tmp_path / "none").exists()


def test_nothing_at_all(run):
    answer = run("record")
    assert (answer.code, answer.out) == (2, "")
    assert "meter-check" in answer.err


def test_a_second_writer_is_refused(run, job, everything):
    desk = open_desk(job)
    try:
        before = everything()
        answer = run("record", job, "note", "x")
        assert (answer.code, answer.out) == (2, "")
        assert "open in another" in answer.err
        assert everything() == before
        assert run("judge", job).code == 3  # looking on is allowed
        assert run("verify", job).code == 0
    finally:
        desk.release()
    assert run("record", job, "note", "x").code == 0


def test_a_broken_journal_takes_nothing_more(run, job, record):
    record("note", "one")
    path = job / "journal.jsonl"
    path.write_bytes(path.read_bytes().replace(b"T-1", b"T-2"))
    before = path.read_bytes()
    answer = run("record", job, "note", "two")
    assert (answer.code, answer.out) == (4, "")
    assert "verify" in answer.err
    assert path.read_bytes() == before


@pytest.mark.parametrize("kind", ["reading", "meter-check", "air", "switch", "solenoid", "feature", "fluid", "correct"])
def test_help_of_every_kind(run, kind):
    answer = run("record", "anywhere", kind, "--help")
    assert answer.code == 0
    assert "--by" in answer.out


def test_help(run):
    answer = run("record", "--help")
    assert answer.code == 0
    assert "withdraw" in answer.out
