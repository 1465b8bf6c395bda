"""A leak as a number with two typed gauges, in a real window by keyboard alone, to proved verdicts; values invented."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tests.flow.test_window_flow import ROOT, RealWindow, open_it, screen, valvebench, wait_for
from tests.patience import PATIENCE_S

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

TO_P6 = ["Down"] * 5
ENTER = "KP_Enter"
PASSES = ("255", "250")
FAILS = ("280", "225.4")
"""Supply and port [kPa] before and behind 0.004 dm3/(s bar) with b = 0.5, by ISO 6358 with 101.3 kPa around:
60 000 x 0.004 x 3.563 x sqrt(1 - ((351.3/356.3 - 0.5)/0.5)^2) = 201 ml/min, and 0.004 at 3.813 bar and a ratio of
326.7/381.3 = 641 ml/min at 225 kPa; the limit of 400 holds at 250 kPa."""


@pytest.fixture
def job(tmp_path) -> Path:
    """The sample job of the new body: its gauges and restriction are what the page remembers."""
    folder = tmp_path / "2234"
    source = ROOT / "sample_sessions" / "2234-air-new-body"
    shutil.copytree(source, folder, ignore=shutil.ignore_patterns("lock"))
    return folder


def leaks(window: RealWindow) -> list[dict]:
    return [line for line in window.lines() if line["kind"] == "leak"]


def measure(window: RealWindow, pair: tuple[str, str]) -> int:
    """Two gauges typed, looked at, kept; how many keys that took."""
    count = len(leaks(window))
    for text in pair:
        window.type(text)
        window.key(ENTER)
    wait_for(window._is_at_rest, "the leak")
    window.key(ENTER)
    wait_for(lambda: len(leaks(window)) == count + 1, "the entry")
    return sum(len(text) + 1 for text in pair) + 1


@pytest.mark.slow
def test_a_typed_test_with_two_gauges_to_a_proved_verdict_by_keyboard_alone(open_it, job):
    window = open_it(job)
    window.set_up()
    window.key("ctrl+5")
    window.key(*TO_P6, "F6")
    wait_for(window._is_at_rest, "the page of the leak")
    keys = len(TO_P6) + 1 + measure(window, PASSES)
    print(f"Two gauges typed to a proved Pass: {keys} keys from the first question of Ports")
    print(f"The next one, to a proved Fail: {measure(window, FAILS)} keys")
    passed, failed = (line["body"] for line in leaks(window)[-2:])
    assert (passed["port"], passed["supply_kpa_gauge"], passed["port_kpa_gauge"]) == ("P6", [255], [250])
    assert passed["found"]["leak_ml_min"]["value"] == pytest.approx(201, rel=0.01)
    assert (failed["restriction_c"], failed["gauge_id"]) == (0.004, "shop pair")
    numbers = [line["n"] for line in leaks(window)[-2:]]
    window.close()
    judged = json.loads(valvebench("judge", job, "--json").stdout)
    rows = {row["entries"][0]: row["verdict"] for row in judged["rows"] if row["kind"] == "leak"}
    assert [rows[number] for number in numbers] == ["pass", "fail"]
    assert valvebench("verify", job).returncode == 0
