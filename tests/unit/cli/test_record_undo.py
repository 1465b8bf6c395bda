"""Correct, withdraw, restore, close and what may follow: entries with a reason, nothing overwritten."""

from __future__ import annotations

import hashlib
import json

import pytest

READING = ("reading", "--from", "1", "--to", "2", "--ohm", "5.2", "--celsius", "20", "--leads", "four_wire")


def row(run, job, entry=2):
    rows = run("judge", job, "--json").data["rows"]
    return next((one for one in rows if entry in one["entries"]), None)


def test_a_correction_counts_and_keeps_the_original(run, record, lines, job):
    record(*READING)
    before = lines()
    record("correct", "--entry", "2", "--ohm", "5,3", "--why", "misread", "--by", "Ben")
    entry = json.loads(lines()[-1])
    assert lines()[:2] == before
    assert (entry["kind"], entry["by"], entry["body"]["entry"], entry["body"]["why"]) == (
        "correct",
        "Ben",
        2,
        "misread",
    )
    assert entry["body"]["body"]["from"] == "1"
    assert row(run, job)["ohm"] == 5.3


def test_the_newest_correction_counts(run, record, job):
    record(*READING)
    record("correct", "--entry", "2", "--ohm", "5.3", "--why", "misread")
    record("correct", "--entry", "2", "--ohm", "5.4", "--why", "misread again")
    assert row(run, job)["ohm"] == 5.4
    record("withdraw", "--entry", "4", "--why", "the first was right")
    assert row(run, job)["ohm"] == 5.3
    record("withdraw", "--entry", "3", "--why", "no, the original")
    assert row(run, job)["ohm"] == 5.2
    record("restore", "--entry", "4")
    assert row(run, job)["ohm"] == 5.4


def test_a_correction_of_a_correction(run, record, job):
    record(*READING)
    record("correct", "--entry", "2", "--ohm", "5.3", "--why", "a")
    record("correct", "--entry", "3", "--ohm", "5.4", "--why", "b")
    assert row(run, job)["ohm"] == 5.4


@pytest.mark.parametrize(
    ("first", "words", "kept", "gone"),
    [
        ((), ("--open", "--range-ohm", "400"), {"open": True, "range_ohm": 400.0}, "ohm"),
        ((), ("--repeats", "5 6"), {"repeats_ohm": [5.0, 6.0]}, "ohm"),
        (("--temperature", "taped"), ("--celsius-accuracy", "4"), {"celsius_accuracy": 4.0}, "temperature"),
        (("--meter-like", "hundredths"), ("--meter", "1%+2x0.1"), {"meter": "1%+2x0.1"}, "meter_is_assumed"),
        (("--ref-not-stated",), ("--ref-celsius", "25"), {"ref_celsius": 25.0}, "ref_not_stated"),
    ],
)
def test_a_new_statement_takes_the_place_of_the_old(record, lines, first, words, kept, gone):
    record(*READING, *first)
    record("correct", "--entry", "2", *words, "--why", "as written on the card")
    body = json.loads(lines()[-1])["body"]["body"]
    assert kept.items() <= body.items()
    assert gone not in body


def test_tips_go_with_their_lead_state(record, lines):
    record(
        "reading",
        "--from",
        "1",
        "--to",
        "2",
        "--ohm",
        "5",
        "--celsius",
        "20",
        "--leads",
        "subtract",
        "--lead-ohm",
        "0.2",
    )
    record("correct", "--entry", "2", "--leads", "nulled", "--why", "were nulled")
    body = json.loads(lines()[-1])["body"]["body"]
    assert body["leads"] == "nulled"
    assert "lead_ohm" not in body


@pytest.mark.parametrize("by", [("--by", "Ben"), ("--by=Ben",)])
def test_by_of_a_correction(record, lines, by):
    record(*READING)
    record("correct", "--entry", "2", "--ohm", "5.3", "--why", "misread", *by)
    assert json.loads(lines()[-1])["by"] == "Ben"


@pytest.mark.parametrize(
    ("kind", "words", "change", "field", "value"),
    [
        ("note", ("dry",), ("--text", "oily"), "text", "oily"),
        ("feature", ("--name", "mark", "--value", "dot"), ("--value", "none"), "value", "none"),
        ("air", ("--port", "P4", "--place", "body", "--result", "pass"), ("--result", "fail"), "result", "fail"),
        ("switch", ("--device", "Reel", "--state", "open"), ("--state", "closed"), "state", "closed"),
        ("solenoid", ("--device", "Heron", "--click", "yes"), ("--click", "no"), "click", False),
        ("fluid", ("--colour", "red"), ("--colour", "brown"), "colour", "brown"),
        ("meter-check", ("--check-ohm", "5", "--read", "5", "--leads", "nulled"), ("--read", "5,1"), "read_ohm", 5.1),
    ],
)
def test_other_kinds_are_corrected_by_their_own_options(record, lines, kind, words, change, field, value):
    record(kind, *words)
    record("correct", "--entry", "2", *change, "--why", "mistyped")
    assert json.loads(lines()[-1])["body"]["body"][field] == value


def test_the_words_of_a_photo(record, lines, picture):
    record("photo", picture, "--of", "plug")
    record("correct", "--entry", "2", "--of", "the wire side", "--why", "turned over")
    assert json.loads(lines()[-1])["body"]["body"]["of"] == "the wire side"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--why", "x"), "nothing that differs"),
        (("--why", "x", "--ohm", "5.2"), "nothing that differs"),
        (("--why", "x", "--ohm", "five"), "'five'"),
        (("--why", "x", "--click", "yes"), "--click"),
        (("--why", " ", "--ohm", "5.3"), "--why"),
        (("--why", "x", "--celsius", "300"), "300"),
        (("--why", "x", "--to", "1"), "another node"),
    ],
)
def test_refused_corrections(run, record, job, lines, words, said):
    record(*READING)
    before = lines()
    answer = run("record", job, "correct", "--entry", "2", *words)
    assert (answer.code, answer.out) == (2, "")
    assert said in answer.err
    assert lines() == before


def test_withdraw_and_restore(run, record, job):
    record(*READING)
    record("withdraw", "--entry", "2", "--why", "wrong pins")
    assert row(run, job) is None
    again = run("record", job, "withdraw", "--entry", "2", "--why", "again")
    assert again.code == 2
    assert "withdrawn" in again.err
    record("restore", "--entry", "3")  # by the number of its withdrawal
    assert row(run, job)["ohm"] == 5.2
    record("withdraw", "--entry", "2", "--why", "wrong pins after all")
    record("restore", "--entry", "2")  # by its own number
    assert row(run, job)["ohm"] == 5.2


def test_what_is_withdrawn_is_not_corrected(run, record, job):
    record(*READING)
    record("withdraw", "--entry", "2", "--why", "wrong pins")
    answer = run("record", job, "correct", "--entry", "2", "--ohm", "5.3", "--why", "x")
    assert answer.code == 2


def test_closing_unfinished_says_so(run, job, lines):
    answer = run("record", job, "close", "--json")
    entry = json.loads(lines()[-1])
    assert answer.code == 0
    assert set(answer.data) >= {"entry", "hash"}
    assert "unfinished" in answer.err
    assert "Heron" in answer.err
    assert (entry["kind"], entry["body"]["verdict"]) == ("close", "not_finished")
    assert "Heron" in entry["body"]["missing"]
    assert answer.data["hash"] == hashlib.sha256(lines()[-1]).hexdigest()


def test_only_outcome_and_anchor_follow(run, record, job, lines):
    record(*READING)
    record("close")
    after = lines()
    refused = [
        READING,
        ("note", "x"),
        ("correct", "--entry", "2", "--ohm", "5", "--why", "x"),
        ("withdraw", "--entry", "2", "--why", "x"),
        ("restore", "--entry", "2"),
        ("close",),
    ]
    for words in refused:
        answer = run("record", job, *words)
        assert (answer.code, answer.out) == (2, "")
        assert "closed session" in answer.err
    assert lines() == after
    record("outcome", "--fitted", "yes", "--comeback", "no", "--months", "3,5", "--odometer-km", "130000")
    assert json.loads(lines()[-1])["body"] == {"fitted": True, "comeback": "no", "months": 3.5, "odometer_km": 130000.0}


@pytest.mark.parametrize("kind", ["tag_handed_over", "sent_to_customer", "time_stamp_service"])
def test_anchors(run, record, job, kind):
    record("close")
    record("anchor", "--kind", kind, "--to", "Quay Line")
    for command in ("judge", "verify"):
        anchors = run(command, job, "--json").data["anchors"]
        assert [(one["kind"], one["to"]) for one in anchors] == [(kind, "Quay Line")]


@pytest.mark.parametrize(
    "words", [("anchor",), ("anchor", "--kind", "tag"), ("outcome",), ("outcome", "--fitted", "perhaps")]
)
def test_refused_after_closing(run, record, job, lines, words):
    record("close")
    after = lines()
    assert run("record", job, *words).code == 2
    assert lines() == after


def test_pictures_after_closing_are_not_kept(run, record, job, picture):
    record("close")
    before = sorted((job / "blobs").iterdir())
    assert run("record", job, "photo", picture, "--of", "late").code == 2
    assert sorted((job / "blobs").iterdir()) == before
