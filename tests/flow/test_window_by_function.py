"""Eight body ports by ear in eight keys, a solenoid and a switch by function, in a real window by keyboard alone."""

from __future__ import annotations

import json

import pytest

from tests.flow.test_window_flow import ROOT, RealWindow, open_it, screen, valvebench, wait_for
from tests.patience import PATIENCE_S

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

PORTS = 8


@pytest.fixture
def job(tmp_path):
    """All ports on the body: the first two stand in the case of the real file."""
    facts = json.loads((ROOT / "resources" / "variants" / "tern-body-2.json").read_text("utf-8"))
    for port in facts["ports"][:2]:
        port |= {"place": "body", "expect": [{"selector": "D", "reaction": "holds"}]}
    variant = tmp_path / "body.json"
    variant.write_text(json.dumps(facts), encoding="utf-8")
    made = valvebench("open-job", tmp_path / "T-71", "--job", "T-71", "--kind", "bench_check", "--variant", variant)
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-71"


def of_kind(window: RealWindow, kind: str) -> list[dict]:
    return [line["body"] for line in window.lines() if line["kind"] == kind]


def press_and_wait(window: RealWindow, *keys: str, kind: str) -> None:
    """Each key is one entry."""
    for key in keys:
        wanted = len(of_kind(window, kind)) + 1
        window.key(key)
        wait_for(lambda wanted=wanted: len(of_kind(window, kind)) == wanted, f"{kind} {wanted}")


@pytest.mark.slow
def test_eight_ports_a_solenoid_and_a_switch_by_keys_alone(open_it, job):
    window = open_it(job)
    window.set_up()
    window.key("ctrl+5")
    keys = ["KP_Add"] * PORTS
    press_and_wait(window, *keys, kind="air")
    answered = of_kind(window, "air")
    assert (len({one["port"] for one in answered}), {one["place"] for one in answered}) == (PORTS, {"body"})
    print(f"{PORTS} body ports by ear: {len(keys)} keys")
    window.key("Right", "Right")
    window.key("KP_Add")  # its supply is limited: no entry
    press_and_wait(window, "KP_3", "KP_Add", "KP_Add", kind="solenoid")
    window.key("Left")
    press_and_wait(window, "KP_Add", kind="switch")
    window.key("KP_4")
    for typed in ("180", "150", "0.4"):
        window.type(typed)
        window.key("KP_Enter")
    press_and_wait(window, "KP_Add", kind="switch")
    clicked, *_ = of_kind(window, "solenoid")
    assert (clicked["heard"], clicked["tries"], clicked["supply"]) == (3, 3, "limited_current")
    moved = of_kind(window, "switch")[-1]
    assert (moved["up_kpa_gauge"], moved["down_kpa_gauge"], moved["closed_ohm"]) == (180.0, 150.0, 0.4)
    window.close()
    judged = json.loads(valvebench("judge", job, "--json").stdout)
    rows = [row for row in judged["rows"] if row["from"] is None and row["kind"] in ("solenoid", "switch")]
    name = moved["device"]
    assert [(row["what"], len(row["entries"]), row["verdict"]) for row in rows] == [
        (clicked["device"], 3, "pass"),
        (name, 1, "pass"),
        (name, 1, "pass"),
    ]
    assert any("30 kPa apart" in reason for reason in rows[-1]["reasons"])
