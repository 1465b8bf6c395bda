"""A pair flexed in a real window, by keyboard alone, and a kill in the middle that loses nothing; values invented."""

from __future__ import annotations

import json
import signal
from pathlib import Path

import pytest

from tests.flow.test_window_flow import PATIENCE_S, ROOT, open_it, screen, valvebench, wait_for

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

CALM = ["5.24", "5.25", "5.24", "5.23"]


@pytest.fixture
def job(tmp_path) -> Path:
    variant = ROOT / "resources" / "variants" / "tern-body-2.json"
    made = valvebench("open-job", tmp_path / "T-61", "--job", "T-61", "--kind", "bench_check", "--variant", variant)
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-61"


def flexed(window):
    """The readings on disk: None is open."""
    return [line["body"]["ohm"][0] for line in window.lines() if line["kind"] == "flex"]


def keep(window, text):
    count = len(flexed(window))
    if text == "OL":
        window.key("KP_Multiply")
    else:
        window.type(text)
        window.key("KP_Enter")
    wait_for(lambda: len(flexed(window)) == count + 1, f"reading {count + 1}, {text}")


@pytest.mark.slow
def test_a_contact_that_opens_is_named_by_keyboard_alone_and_a_kill_loses_nothing(open_it, job, tmp_path):
    window = open_it(job)
    window.set_up()
    window.key("F6")
    for text in CALM:
        keep(window, text)
    assert flexed(window) == [5.24, 5.25, 5.24, 5.23]
    window.process.send_signal(signal.SIGKILL)
    window.process.wait(PATIENCE_S)
    again = open_it(job)
    again.key("F6")
    for text in (*CALM, "OL", *CALM):
        keep(again, text)
    again.key("KP_Divide")
    wait_for(again._is_at_rest, "the verdict on Pins")
    again.picture(tmp_path / "pins.png")
    again.key("F6")
    wait_for(again._is_at_rest, "an empty page for the next series")
    again.picture(tmp_path / "flex.png")
    kept = [line for line in again.lines() if line["kind"] == "flex"]
    assert {line["body"]["follows"] for line in kept[1:]} == {kept[0]["n"]}
    again.close()
    judged = json.loads(valvebench("judge", job, "--json").stdout)
    (row,) = [row for row in judged["rows"] if row["kind"] == "flex"]
    assert (row["what"], row["verdict"], row["flex"]["n"]) == ("Heron, flex test", "fail", 13)
    assert [(event["kind"], event["reading"]) for event in row["flex"]["events"]] == [("open", 9)]
    assert valvebench("verify", job).returncode == 0
