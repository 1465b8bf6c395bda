"""`valvebench record DIR heat-run FILE`: the file first, then the entry; refused, nothing is kept."""

from __future__ import annotations

import hashlib

import pytest

from tests.data.heat_logs import R20, growing, log_of, nothing, probe_and_coil, ramp
from tests.unit.cli.conftest import body

METER = ("--meter", "0.2%+1x0.001", "--celsius-accuracy", "0.5")
HOTTEST = max(probe_and_coil()[2])
SINGLE, PAIR = log_of(ohm=nothing), log_of(Heron=nothing, Plover=growing)


def test_the_file_is_kept_by_its_hash_and_the_find_stands_in_the_entry(record, lines, job, file):
    path = file(SINGLE)
    record("heat-run", path, "--device", "Heron", *METER, "--note", "in the oven")
    entry = body(lines)
    digest = hashlib.sha256(SINGLE).hexdigest()
    assert (job / "blobs" / digest).read_bytes() == SINGLE
    assert (entry["sha256"], entry["file_name"], entry["size_bytes"]) == (digest, "log.csv", len(SINGLE))
    assert (entry["device"], entry["meter"], entry["celsius_accuracy"], entry["note"]) == (
        "Heron", "0.2%+1x0.001", 0.5, "in the oven",
    )  # fmt: skip
    assert entry["program"].startswith("valvebench ")
    found = entry["found"]
    assert (found["kind"], found["n"]) == ("copper", 241)
    assert abs(found["at_20_ohm"]["value"] - R20) <= 2 * found["at_20_ohm"]["u"]
    assert "column" not in entry


@pytest.mark.parametrize(
    ("raw", "more", "kind"),
    [
        pytest.param(SINGLE, (), "copper", id="the only column"),
        pytest.param(PAIR, (), "copper", id="the column of its own name"),
        pytest.param(PAIR, ("--column", "Plover"), "grows_with_heat", id="the column that is named"),
    ],
)
def test_which_column_is_meant(record, lines, file, raw, more, kind):
    record("heat-run", file(raw), "--device", "Heron", *METER, *more)
    assert body(lines)["found"]["kind"] == kind


def test_a_logged_contact_that_grows_fails_and_the_row_says_it_all(run, job, record, row, file):
    record("heat-run", file(log_of(ohm=growing)), "--device", "Heron", *METER)
    one = row("heat-run")
    assert (one["what"], one["verdict"], one["entries"]) == ("Heron, heat run", "fail", [2])
    assert (one["low_ohm"], one["high_ohm"], one["limit_source"]) == (4.9, 5.5, "manual: page 12")
    assert abs(one["ohm_at_ref"] - R20) <= one["U_ohm_at_ref"]
    assert one["celsius"] == pytest.approx(HOTTEST, abs=2.0)
    excess = one["heat"]["excess_ohm_at_hottest"]
    assert excess["value"] == pytest.approx(growing(HOTTEST), abs=2 * excess["u"])
    assert one["heat"]["kind"] == "grows_with_heat"
    assert one["advice"] == one["heat"]["advice"] != []
    answer = run("judge", job)
    assert answer.code == 1
    assert "heat run 0 of 1 passed, 1 failed" in answer.out
    assert "too much at the hottest" in answer.out


def test_other_rows_have_no_heat(run, job, record):
    record("reading", "--from", "1", "--to", "2", "--ohm", "5.2", "--celsius", "20")
    (one,) = run("judge", job, "--json").data["rows"]
    assert one["heat"] is None


def test_it_opened(record, row, file):
    record("heat-run", file(log_of(ohm=nothing, opened=(100, 101))), "--device", "Heron", *METER)
    (event,) = row("heat-run")["heat"]["events"]
    assert (event["kind"], event["t_s"], event["heating"]) == ("open", 1500.0, True)


def test_a_part_that_started_soaked(record, lines, file):
    record("heat-run", file(SINGLE), "--device", "Heron", *METER, "--soaked-start")
    assert body(lines)["is_soaked"] is True


ROUNDS = b"probe_celsius;ohm\n" + b"\n".join(
    f"{t};{R20 * (234.5 + t) / 254.5:.2f}".replace(".", ",").encode() for t in (20, 45, 70, 95, 120, 80, 50)
)


def test_rounds_in_a_file_need_no_times(record, lines, file):
    record("heat-run", file(ROUNDS), "--device", "Heron", "--rounds")
    entry = body(lines)
    assert (entry["is_settled"], entry["found"]["kind"], entry["found"]["n"]) == (True, "copper", 7)
    assert (entry["found"]["meter_is_assumed"], entry["found"].get("lag_s")) == (True, None)


REFUSED = {
    "no such file": (None, ("--device", "Heron"), "none.csv: cannot be read"),
    "no device": (SINGLE, (), "no --device"),
    "a device nobody knows": (SINGLE, ("--device", "Herron"), "Did you mean Heron?"),
    "a device that is no winding": (SINGLE, ("--device", "Reel"), "a winding of the variant: Heron, Plover, Knot"),
    "no log": (b"\x00\x01", ("--device", "Heron"), "expected"),
    "several columns, none of that name": (PAIR, ("--device", "Knot"), "Heron, Plover, and none is called Knot"),
    "a column that is not there": (PAIR, ("--device", "Heron", "--column", "Ploverr"), "Did you mean Plover?"),
    "a column where there are no names": (SINGLE, ("--device", "Heron", "--column", "Gull"), "names no device"),
    "no times": (ROUNDS, ("--device", "Heron"), "--rounds"),
    "an impossible accuracy": (SINGLE, ("--device", "Heron", "--celsius-accuracy", "0"), "more than 0, at most 50"),
    "a meter that cannot be read": (SINGLE, ("--device", "Heron", "--meter", "good"), "percent, counts and step"),
    "nothing can be said": (SINGLE[:200], ("--device", "Heron"), "expected at least 10 degrees"),
    "all open": (log_of(ohm=nothing, opened=range(241)), ("--device", "Heron"), "open in every sample"),
}  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_refused_gets_one_message_and_keeps_nothing(run, job, everything, file, tmp_path, name):
    raw, more, words = REFUSED[name]
    path = tmp_path / "none.csv" if raw is None else file(raw)
    before = everything()
    answer = run("record", job, "heat-run", path, *more)
    assert (answer.code, answer.out) == (2, "")
    assert words in answer.err
    assert "Traceback" not in answer.err
    assert everything() == before


def test_without_a_variant_any_name_will_do(run, tmp_path, file):
    job = tmp_path / "bare"
    assert run("open-job", job, "--job", "T-2").code == 0
    assert run("record", job, "heat-run", file(SINGLE), "--device", "Kite", *METER).code == 0
    answer = run("judge", job, "--json")
    assert (answer.code, answer.data["verdict"]) == (0, "no_limit")
    assert answer.data["scope"].endswith("heat run 0 of 1 passed, 1 without limit")


def test_a_run_that_cannot_be_separated_passes_nothing(record, row, file):
    record("heat-run", file(ramp()), "--device", "Heron", *METER)
    assert (row("heat-run")["verdict"], row("heat-run")["heat"]["kind"]) == ("cant_tell", "not_separable")


@pytest.fixture
def correct(run, job):
    def it(*words):
        return run("record", job, "correct", "--entry", "2", "--why", "slip", *words, "--json")

    return it


def test_a_remark_is_corrected_without_the_file(record, correct, lines, job, file):
    record("heat-run", file(SINGLE), "--device", "Heron", *METER)
    found = body(lines)["found"]
    (job / "blobs" / hashlib.sha256(SINGLE).hexdigest()).unlink()
    assert correct("--note", "second oven").code == 0
    assert (body(lines)["body"]["note"], body(lines)["body"]["found"]) == ("second oven", found)


def test_what_touches_the_find_reads_the_kept_file_again(record, correct, lines, row, file):
    path = file(ramp())
    record("heat-run", path, "--device", "Heron", *METER)
    path.unlink()
    assert correct("--soaked-start").code == 0
    changed = body(lines)["body"]
    assert (changed["is_soaked"], changed["found"]["kind"]) == (True, "copper")
    assert (changed["meter"], changed["celsius_accuracy"]) == ("0.2%+1x0.001", 0.5)
    assert row("heat-run")["verdict"] == "pass"
    assert correct("--not-soaked").code == 0
    assert ("is_soaked" in body(lines)["body"], row("heat-run")["verdict"]) == (False, "cant_tell")


def test_the_other_device_and_the_other_column(record, correct, row, file):
    record("heat-run", file(PAIR), "--device", "Heron", *METER)
    assert correct("--device", "Plover", "--column", "Plover").code == 0
    assert (row("heat-run")["what"], row("heat-run")["heat"]["kind"], row("heat-run")["high_ohm"]) == (
        "Plover, heat run",
        "grows_with_heat",
        15.0,
    )


def test_settled_after_all_and_back(record, correct, row, file):
    record("heat-run", file(SINGLE), "--device", "Heron", *METER)
    assert correct("--rounds").code == 0
    assert row("heat-run")["heat"]["lag_s"] is None
    assert correct("--timed").code == 0
    assert row("heat-run")["heat"]["lag_s"] is not None


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("--device", "Herron"), "Did you mean Heron?"),
        (("--soaked-start", "--not-soaked"), "also its opposite"),
        (("--device", "Heron"), "nothing that differs"),
    ],
    ids=["unknown device", "both ways", "nothing new"],
)
def test_a_correction_that_is_refused_changes_nothing(record, correct, everything, file, words, message):
    record("heat-run", file(SINGLE), "--device", "Heron", *METER)
    before = everything()
    answer = correct(*words)
    assert answer.code == 2
    assert message in answer.err
    assert everything() == before


def test_a_kept_file_that_was_changed_is_seen(run, job, record, correct, file):
    record("heat-run", file(SINGLE), "--device", "Heron", *METER)
    (job / "blobs" / hashlib.sha256(SINGLE).hexdigest()).write_bytes(SINGLE + b"\n")
    answer = run("verify", job, "--json")
    assert (answer.code, answer.data["problems"][0]["line"]) == (4, 2)
    assert "missing or changed" in correct("--device", "Plover").err


def test_an_intermittent_contact_does_not_fill_the_journal(record, lines, file, monkeypatch):
    """Open at every eighth of 241 samples: 31 openings."""
    monkeypatch.setattr("valvebench.bench.heat_find.MOST_EVENTS_KEPT", 10)
    record("heat-run", file(log_of(ohm=nothing, opened=range(0, 241, 8))), "--device", "Heron", *METER)
    found = body(lines)["found"]
    assert len(found["events"]) == 10
    assert any(reason.startswith("21 more openings and steps") for reason in found["reasons"])


def test_a_typed_round(record, lines, run, job):
    for n, t in enumerate((20, 45, 70, 95, 120), start=1):
        shown = f"{R20 * (234.5 + t) / 254.5:.2f}"
        where = ("--from", "1", "--to", "2", "--ohm", shown, "--celsius", t, "--temperature", "taped")
        record("reading", *where, "--meter", "0.5%+2x0.01", "--leads", "nulled", "--round", n)
    assert body(lines)["round"] == 5
    rows = run("judge", job, "--json").data["rows"]
    (heat,) = [row for row in rows if row["kind"] == "heat-run"]
    assert (heat["entries"], heat["from"], heat["to"], heat["at"]) == ([2, 3, 4, 5, 6], "1", "2", "case_connector")
    assert (heat["heat"]["kind"], heat["verdict"]) == ("copper", "pass")
    assert len(rows) == 6, "each reading is judged as a reading of its own too"


def test_a_round_is_a_whole_number(run, job):
    answer = run("record", job, "reading", "--from", "1", "--to", "2", "--ohm", "5", "--celsius", "20", "--round", "0")
    assert (answer.code, "a whole number from 1" in answer.err) == (2, True)
