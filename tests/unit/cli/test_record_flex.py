"""`valvebench record DIR flex`: typed in one go or from a logger's file, which is kept before its entry."""

from __future__ import annotations

import hashlib

import pytest

from tests.unit.cli.conftest import body

STEADY = " ".join(["5.2", "5.3"] * 15)
LOG = b"t_s,ohm\n" + b"".join(b"%d,5.2%d\n" % (second, second % 3) for second in range(40))
OPENED = LOG.replace(b"\n20,5.22\n", b"\n20,OL\n")
PAIR = ("--from", "1", "--to", "2")


def test_typed_readings_are_kept_as_the_meter_showed_them(record, lines, row):
    record("flex", *PAIR, "--ohms", "5.2 5,2 OL 5.2", "--flexed", "the inner conductor plate", "--celsius", "23")
    kept = body(lines)
    assert kept["ohm"] == [5.2, 5.2, None, 5.2]
    assert (kept["from"], kept["to"], kept["flexed"], kept["celsius"]) == ("1", "2", "the inner conductor plate", 23)
    found = row("flex")
    assert (found["verdict"], found["what"]) == ("fail", "Heron, flex test")
    assert found["flex"]["events"] == [{"kind": "open", "reading": 3, "count": 1, "t_s": None, "size_ohm": None}]
    assert (found["flex"]["n"], found["flex"]["open_n"], found["flex"]["flexed"]) == (4, 1, "the inner conductor plate")


def test_judge_ends_with_fail_though_the_pair_reads_well_at_rest(record, run, job):
    record("flex", *PAIR, "--ohms", "5.2 OL 5.2")
    record("reading", *PAIR, "--ohm", "5.2", "--celsius", "20", "--u-ohm", "0.01")
    answer = run("judge", job)
    assert answer.code == 1
    assert "Heron flexed" in answer.out
    assert "Fail: it opened once, first at reading 2, while the harness at the plug was flexed" in answer.out


def test_enough_steady_readings_pass_for_what_was_flexed(record, row):
    record("flex", *PAIR, "--ohms", STEADY, "--meter-like", "tenths")
    found = row("flex")
    assert (found["verdict"], found["flex"]["enough"], found["flex"]["problem"]) == ("pass", True, None)
    assert "of what was not flexed they say nothing" in found["reasons"][0]


def test_few_readings_cannot_tell(record, row):
    record("flex", *PAIR, "--ohms", "5.2 5.2 5.3")
    found = row("flex")
    assert (found["verdict"], found["lean"]) == ("cant_tell", "inside")
    assert found["advice"] == ["Go on flexing and reading until there are 30."]


def test_times_name_the_moment(record, row):
    record("flex", *PAIR, "--ohms", "5.2 OL 5.2", "--times", "0 2,5 4")
    assert row("flex")["flex"]["events"][0]["t_s"] == 2.5


def test_a_file_is_kept_by_its_hash_and_the_find_stands_in_the_entry(record, lines, job, file, row):
    record("flex", file(OPENED), *PAIR, "--note", "held by the latch")
    kept, digest = body(lines), hashlib.sha256(OPENED).hexdigest()
    assert (job / "blobs" / digest).read_bytes() == OPENED
    assert (kept["sha256"], kept["file_name"], kept["size_bytes"]) == (digest, "log.csv", len(OPENED))
    assert kept["found"]["events"] == [{"kind": "open", "sample": 21, "t_s": 20.0}]
    assert "ohm" not in kept
    assert row("flex")["verdict"] == "fail"
    (job / "blobs" / digest).unlink()
    assert row("flex")["verdict"] == "fail"


def test_a_missing_file_is_seen_by_verify(record, run, job, file):
    record("flex", file(LOG), *PAIR)
    assert run("verify", job).code == 0
    (job / "blobs" / hashlib.sha256(LOG).hexdigest()).unlink()
    assert run("verify", job).code == 4


def test_correct_withdraw_and_restore(record, row, run, job):
    record("flex", *PAIR, "--ohms", "5.2 OL 5.2")
    record("correct", "--entry", "2", "--ohms", "5.2 5.2 5.2", "--why", "the clip slipped")
    assert row("flex")["verdict"] == "cant_tell"
    record("withdraw", "--entry", "3", "--why", "it did not")
    assert row("flex")["verdict"] == "fail"
    record("withdraw", "--entry", "2", "--why", "another pair")
    assert [one for one in run("judge", job, "--json").data["rows"] if one["kind"] == "flex"] == []
    record("restore", "--entry", "2")
    assert row("flex")["verdict"] == "fail"


def test_correcting_the_meter_of_a_file_looks_at_it_again(record, row, file):
    record("flex", file(LOG), *PAIR)
    assert row("flex")["flex"]["meter_is_assumed"] is True
    record("correct", "--entry", "2", "--meter", "0.2%+1x0.01", "--why", "now known")
    assert (row("flex")["flex"]["meter"], row("flex")["flex"]["meter_is_assumed"]) == ("0.2%+1x0.01", False)
    record("correct", "--entry", "2", "--flexed", "the inner conductor plate", "--why", "it was that")
    assert row("flex")["flex"]["flexed"] == "the inner conductor plate"
    assert row("flex")["flex"]["meter"] == "0.2%+1x0.01"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ((), ["no --from, --to"]),
        (PAIR, ["no readings", "--ohms"]),
        ((*PAIR, "--ohms", "5.2 nan"), ["--ohms, reading 2", "nan", "OL"]),
        ((*PAIR, "--ohms", "5.2 abc"), ["--ohms, reading 2", "abc"]),
        ((*PAIR, "--ohms", "-3 5.2"), ["reading 1", "-3", "0 to 1e12"]),
        (("--from", "3", "--to", "3", "--ohms", "5.2"), ["another node"]),
        ((*PAIR, "--ohms", "5.2 5.3", "--times", "0"), ["1 times", "2 readings"]),
        ((*PAIR, "--ohms", "5.2 5.3", "--times", "1 1"), ["times that grow"]),
        ((*PAIR, "--ohms", "5.2", "--leads", "subtract"), ["lead-ohm"]),
        ((*PAIR, "--ohms", "5.2", "--celsius", "300"), ["celsius", "300"]),
        ((*PAIR, "--ohms", "5.2", "--meter", "x"), ["meter"]),
    ],
)
def test_bad_input_is_said_in_one_message_and_nothing_is_kept(run, job, lines, more, words):
    before = lines()
    answer = run("record", job, "flex", *more)
    assert answer.code == 2
    assert all(word in answer.err for word in words), answer.err
    assert "Traceback" not in answer.err
    assert lines() == before


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"ohm\n" + b"OL\n" * 9, ["open in every reading", "Pins"]),
        (b"ohm\n5.2\n5.2\n", ["2 readings", "at least 8"]),
        (b"volt\n5.2\n", ["header", "ohm"]),
    ],
)
def test_a_file_that_says_nothing_is_refused_and_not_kept(run, job, lines, file, raw, words):
    before = lines()
    answer = run("record", job, "flex", file(raw), *PAIR)
    assert answer.code == 2
    assert all(word in answer.err for word in words), answer.err
    assert (lines(), [*(job / "blobs").glob("*")] == []) == (before, not list((job / "blobs").glob("*")))
    assert hashlib.sha256(raw).hexdigest() not in {path.name for path in (job / "blobs").glob("*")}


def test_readings_and_a_file_are_one_too_many(run, job, file):
    answer = run("record", job, "flex", file(LOG), *PAIR, "--ohms", "5.2")
    assert answer.code == 2
    assert "readings and a file" in answer.err
