"""`valvebench record DIR pressure` and `record DIR sweep`, as `judge` answers them."""

from __future__ import annotations

import hashlib
import json

import pytest

from tests.unit.cli.conftest import VARIANT, body

PRESSURE = ("--tap", "Line", "--kpa-gauge", "452,5", "--fluid-celsius", "80", "--state", "idle")
UP = [(0.1 * n, 60.0 * n) for n in range(11)]
LOOP_KPA = 24.0
"""Exactly 4 % of a span of 600 kPa, between branches that are straight and parallel but for their ends."""


def sweep_file(loop_kpa=LOOP_KPA):
    lines = [f"{a:.2f},{kpa:.1f},up" for a, kpa in UP]
    lines += [f"{a:.2f},{kpa + (loop_kpa if 0 < n < 10 else 0):.1f},down" for n, (a, kpa) in reversed([*enumerate(UP)])]
    return "\n".join(["ampere,kpa_gauge,branch", *lines]).encode()


@pytest.fixture
def variant_file(tmp_path):
    windows = [{"state": "idle", "low_kpa": 400, "high_kpa": 500, "low_celsius": 60, "high_celsius": 100}]
    devices = [{**VARIANT["devices"][0], "max_hysteresis_pct": 8}, *VARIANT["devices"][1:]]
    path = tmp_path / "variant.json"
    taps = [{"name": "Line", "windows": windows}]
    path.write_text(json.dumps({**VARIANT, "devices": devices, "taps": taps}), "utf-8")
    return path


def test_a_pressure_is_kept_and_held_against_its_window(record, lines, row, run, job):
    record("pressure", *PRESSURE, "--gauge", "1%+1x1", "--gauge-id", "blue")
    kept = body(lines)
    assert (kept["tap"], kept["kpa_gauge"], kept["state"], kept["gauge"]) == ("Line", 452.5, "idle", "1%+1x1")
    found = row("pressure")
    assert (found["verdict"], found["celsius"]) == ("pass", 80)
    assert (found["pressure"]["low_kpa"], found["pressure"]["high_kpa"]) == (400, 500)
    assert "tap        Line (idle, 60 to 100" in run("judge", job).out


def test_correct_withdraw_and_restore_a_pressure(record, row, run, job):
    record("pressure", *PRESSURE)
    record("correct", "--entry", "2", "--kpa-gauge", "300", "--why", "misread")
    assert row("pressure")["verdict"] == "fail"
    record("withdraw", "--entry", "3", "--why", "it was not")
    assert row("pressure")["verdict"] == "pass"
    record("withdraw", "--entry", "2", "--why", "another body")
    assert not [one for one in run("judge", job, "--json").data["rows"] if one["kind"] == "pressure"]
    record("restore", "--entry", "2")
    assert row("pressure")["verdict"] == "pass"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ((), ["--tap", "--kpa-gauge", "--fluid-celsius", "--state"]),
        ((*PRESSURE[:-2], "--state", " "), ["--state"]),
        ((*PRESSURE, "--gauge", "x"), ["--gauge"]),
        ((*PRESSURE[:4], "--fluid-celsius", "900", "--state", "idle"), ["fluid_celsius", "900"]),
        ((*PRESSURE[:2], "--kpa-gauge", "-200", *PRESSURE[4:]), ["kpa_gauge", "-200"]),
    ],
)
def test_a_bad_pressure_is_said_in_one_message_and_nothing_is_kept(run, job, everything, more, words):
    before = everything()
    answer = run("record", job, "pressure", *more)
    assert answer.code == 2
    assert all(word in answer.err for word in words), answer.err
    assert everything() == before


def test_a_sweep_is_kept_with_its_file_and_held_against_its_solenoid(record, job, lines, row, file):
    raw = sweep_file()
    record("sweep", file(raw), "--device", "Heron", "--gauge-id", "blue")
    kept, digest = body(lines), hashlib.sha256(raw).hexdigest()
    assert (job / "blobs" / digest).read_bytes() == raw
    assert (kept["sha256"], kept["file_name"], kept["gauge_id"]) == (digest, "log.csv", "blue")
    sweep = row("sweep")["sweep"]
    loop = sweep["hysteresis_pct_span"]["mean_10_90"]
    assert abs(loop["value"] - 4.0) < 3 * loop["u"] + 0.2
    assert (sweep["max_hysteresis_pct"], sweep["hysteresis_pct_span"]["resolved"]) == (8, True)
    (job / "blobs" / digest).unlink()
    assert row("sweep")["sweep"] == sweep


def test_correct_withdraw_and_restore_a_sweep(record, row, run, job, file):
    record("sweep", file(sweep_file()), "--device", "Heron")
    record("correct", "--entry", "2", "--device", "Plover", "--why", "it was that one")
    assert row("sweep")["what"] == "Plover, sweep"
    record("correct", "--entry", "2", "--rated-ampere", "2", "--why", "now known")
    assert (row("sweep")["what"], row("sweep")["entries"]) == ("Plover, sweep", [2])
    record("withdraw", "--entry", "2", "--why", "another body")
    assert not [one for one in run("judge", job, "--json").data["rows"] if one["kind"] == "sweep"]
    record("restore", "--entry", "2")
    assert row("sweep")["what"] == "Plover, sweep"


@pytest.mark.parametrize(
    ("raw", "more", "words"),
    [
        (sweep_file(), (), ["no --device"]),
        (sweep_file(), ("--device", "Herron"), ["Did you mean Heron?"]),
        (sweep_file(), ("--device", "Heron", "--rated-ampere", "0"), ["--rated-ampere", "more than 0"]),
        (b"ampere,kpa_gauge,branch\n0,0,up\n1,1,up\n", ("--device", "Heron"), ["log.csv"]),
        (b"volt\n1\n", ("--device", "Heron"), ["header"]),
    ],
)
def test_a_bad_sweep_is_said_in_one_message_and_nothing_is_kept(run, job, everything, file, raw, more, words):
    before = everything()
    answer = run("record", job, "sweep", file(raw), *more)
    assert answer.code == 2
    assert all(word in answer.err for word in words), answer.err
    assert everything() == before
