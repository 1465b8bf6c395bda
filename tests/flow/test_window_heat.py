"""A logger's file taken in in a real window, by keyboard alone, to a named contact that grows with heat."""

from __future__ import annotations

import json

import pytest

from tests.fakes.heat_logs import copper, grows, log_of
from tests.flow.test_window_flow import ROOT, open_it, screen, valvebench, wait_for

__all__ = ["open_it", "screen"]  # the fixtures serve here too

PARTS = {"Heron": grows, "Gull": copper, "Curlew": copper}
"""Invented: of three solenoids one has a contact that grows with heat."""


@pytest.fixture
def job(tmp_path):
    variant = ROOT / "resources" / "variants" / "tern-body-2.json"
    made = valvebench("open-job", tmp_path / "T-33", "--job", "T-33", "--kind", "bench_check", "--variant", variant)
    assert made.returncode == 0, made.stderr
    (tmp_path / "run.csv").write_bytes(log_of(PARTS, separator=";", decimal=","))
    return tmp_path / "T-33"


@pytest.mark.slow
def test_a_log_becomes_three_runs_and_one_is_named(open_it, job, tmp_path):
    window = open_it(job)
    window.key("ctrl+4", "ctrl+l")
    window.type(str(tmp_path / "run.csv"))
    window.key("Return")
    wait_for(window._is_at_rest, "the file to be read")
    window.key("Return")
    wait_for(lambda: sum(line["kind"] == "heat-run" for line in window.lines()) == len(PARTS), "three runs")
    wait_for(window._is_at_rest, "the run to be drawn")
    window.key("plus", "Right", "0", "Down", "Tab", "Up", "0")
    window.picture(tmp_path / "drawn.png")
    assert (tmp_path / "drawn.png").stat().st_size > 10_000
    found = {line["body"]["device"]: line["body"]["found"]["kind"] for line in window.lines()[1:]}
    assert found == {"Heron": "grows_with_heat", "Gull": "copper", "Curlew": "copper"}
    assert json.loads(valvebench("verify", job, "--json").stdout)["ok"]
    judged = json.loads(valvebench("judge", job, "--json").stdout)
    assert judged["verdict"] == "fail"
    assert "Traceback" not in window.close()
