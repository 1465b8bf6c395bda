"""A whole bench check in a real window, one hand on the number block; a write that fails in the middle."""

from __future__ import annotations

import json
import resource

import openpyxl
import pytest

from tests.flow.test_window_flow import RealWindow, enter, open_it, screen, valvebench, wait_for
from tests.patience import PATIENCE_S

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

READINGS = 24
PORTS = 8
TYPED = ("5.31", "10.4", "12.6", "5.24", "5.19", "13.4", "2360", "*", "*", "*", "*", "5.28")
"""Invented; in whatever order the pairs come, a wrong value is a finding too and is kept all the same."""


@pytest.fixture
def job(tmp_path):
    from tests.flow.test_window_flow import ROOT

    variant = ROOT / "resources" / "variants" / "tern-body-2.json"
    made = valvebench("open-job", tmp_path / "T-32", "--job", "T-32", "--kind", "bench_check", "--variant", variant)
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-32"


def airs(window: RealWindow) -> int:
    return sum(line["kind"] == "air" for line in window.lines())


@pytest.mark.slow
def test_24_readings_and_8_ports_to_a_closed_session_by_keyboard_alone(open_it, job):
    window = open_it(job)
    window.set_up()
    typed = (TYPED * 2)[:READINGS]
    enter(window, typed)
    assert len(window.readings()) == READINGS
    window.key("ctrl+5")
    for count in range(1, PORTS + 1):
        window.key("KP_Add")
        wait_for(lambda wanted=count: airs(window) == wanted, f"port {count}")
    window.key("ctrl+1", *["Tab"] * 9, "space", "space")
    wait_for(lambda: window.lines()[-1]["kind"] == "close", "the closing entry")
    written = valvebench("report", job, "--xlsx", job.with_suffix(".xlsx"))
    assert written.returncode == 0, written.stderr
    assert {"Readings", "Air"} <= set(openpyxl.load_workbook(job.with_suffix(".xlsx")).sheetnames)
    verified = json.loads(valvebench("verify", job, "--json").stdout)
    assert (verified["ok"], verified["closed"]) == (True, True)
    keys = sum(1 if each == "*" else len(each) + 1 for each in typed)
    print(f"\nkeystrokes: {keys} for {READINGS} readings, {PORTS} for {PORTS} ports")
    window.close()


@pytest.mark.slow
def test_a_write_that_fails_keeps_the_value_in_the_field(open_it, job):
    """The system refuses to let the file grow; once it may, Enter alone keeps what still stands in the field."""
    window = open_it(job)
    window.set_up()
    enter(window, ("5.31", "10.4"))
    size = (job / "journal.jsonl").stat().st_size
    before, most = resource.prlimit(window.process.pid, resource.RLIMIT_FSIZE)
    resource.prlimit(window.process.pid, resource.RLIMIT_FSIZE, (size + 10, most))
    window.type("12.6")
    window.key("KP_Enter")
    wait_for(window._is_at_rest, "the window to come to rest")
    assert (job / "journal.jsonl").stat().st_size == size
    resource.prlimit(window.process.pid, resource.RLIMIT_FSIZE, (before, most))
    window.key("KP_Enter")
    wait_for(lambda: len(window.readings()) == 3, "the value that stood in the field")
    assert window.readings()[-1]["ohm"] == 12.6
    window.process.kill()
    window.process.wait(timeout=PATIENCE_S)
    assert json.loads(valvebench("verify", job, "--json").stdout)["ok"]
