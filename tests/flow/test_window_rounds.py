"""A body warmed and cooled in a real window, by keyboard alone: seven solenoids, four plateaus up, three down.

Every value is the test's own truth: copper by R(t) = R20 (234.5 + t) / 254.5 (IEC 60034-1, 8.6.2), and in one
linear solenoid a contact that adds 0.016 ohm for every degree above 50.  Names and numbers are invented.
"""

from __future__ import annotations

import json
import signal
from pathlib import Path

import openpyxl
import pytest

from tests.flow.test_window_flow import RealWindow, open_it, screen, valvebench, wait_for
from tests.patience import PATIENCE_S

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

PLATEAUS = (23.4, 45.2, 70.5, 97.8, 80.1, 55.3, 31.0)
BETWEEN = {
    frozenset(("1", "2")): ("Gull", 5.20),
    frozenset(("3", "11")): ("Heron", 5.24),
    frozenset(("4", "5")): ("Curlew", 5.12),
    frozenset(("7", "11")): ("Whimbrel", 5.28),
    frozenset(("8", "case")): ("Plover", 13.2),
    frozenset(("2", "11")): ("Dunlin", 10.4),
    frozenset(("5", "11")): ("Knot", 20.1),
}
HOT = "Heron"
"""Where the contact is."""


def shown(name: str, r20_ohm: float, celsius: float) -> str:
    ohm = r20_ohm * (234.5 + celsius) / 254.5
    return f"{ohm + (max(0.0, 0.016 * (celsius - 50)) if name == HOT else 0.0):.2f}"


@pytest.fixture
def job(tmp_path) -> Path:
    from tests.flow.test_window_flow import ROOT

    variant = ROOT / "resources" / "variants" / "tern-body-2.json"
    made = valvebench("open-job", tmp_path / "T-51", "--job", "T-51", "--kind", "bench_check", "--variant", variant)
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-51"


class Hands:
    """Counts every key that the run takes."""

    def __init__(self, window: RealWindow) -> None:
        self.window, self.keys = window, 0

    def type(self, text: str) -> None:
        self.window.type(text)
        self.window.key("KP_Enter")
        self.keys += len(text) + 1

    def key(self, name: str) -> None:
        self.window.key(name)
        self.keys += 1

    def keep(self, text: str) -> None:
        count = len(self.window.readings())
        self.type(text)
        wait_for(lambda: len(self.window.readings()) == count + 1, f"reading {count + 1}, {text}")

    def go_round(self, order: list[frozenset[str]], celsius: float) -> None:
        """The settled temperature, then every pair as the page asks for it."""
        self.type(f"{celsius:g}")
        for pair in order:
            self.keep(shown(*BETWEEN[pair], celsius))


def asked_for() -> list[frozenset[str]]:
    """The order in which the clip is moved least: all at 11 first, as the guide says; then the single ones."""
    return [
        frozenset(pair)
        for pair in (("3", "11"), ("7", "11"), ("2", "11"), ("5", "11"), ("1", "2"), ("4", "5"), ("8", "case"))
    ]


@pytest.mark.slow
def test_49_readings_to_a_named_hot_contact_by_keyboard_alone(open_it, job, tmp_path):
    window = open_it(job)
    window.set_up()
    hands = Hands(window)
    hands.key("F5")
    for celsius in PLATEAUS:
        hands.go_round(asked_for(), celsius)
        if celsius == PLATEAUS[3]:
            pictures(window, tmp_path, "hottest")
    kept = window.readings()
    assert [(r["round"], r["celsius"]) for r in kept] == [(n, t) for n, t in enumerate(PLATEAUS, 1) for _ in range(7)]
    assert [frozenset((r["from"], r["to"])) for r in kept] == asked_for() * 7
    wait_for(window._is_at_rest, "the finds")
    pictures(window, tmp_path, "pins")
    window.key("asterisk")
    hands.keys += 1
    print(f"\nkeystrokes: {hands.keys} for 49 readings at 7 plateaus")
    for key, name in (("ctrl+4", "heat"), ("ctrl+6", "findings")):
        window.key(key)
        wait_for(window._is_at_rest, name)
        pictures(window, tmp_path, name)
    window.key("ctrl+1", *["Tab"] * 9, "space", "space")
    wait_for(lambda: window.lines()[-1]["kind"] == "close", "the closing entry")
    check_closed(job, window.lines()[-1]["body"])
    window.close()


def pictures(window: RealWindow, folder: Path, name: str) -> None:
    """In each of the three palettes; the last key brings the first one back."""
    for palette in ("light", "dark", "contrast"):
        window.picture(folder / f"{name}-{palette}.png")
        window.key("ctrl+shift+l")
        wait_for(window._is_at_rest, "the palette")


def check_closed(job: Path, close: dict) -> None:
    judged = json.loads(valvebench("judge", job, "--json").stdout)
    heat = {row["what"].partition(",")[0]: row for row in judged["rows"] if row["kind"] == "heat-run"}
    assert set(heat) == {name for name, _ in BETWEEN.values()}
    assert [name for name, row in heat.items() if row["verdict"] == "fail"] == [HOT]
    assert "too much at the hottest" in heat[HOT]["reasons"][0]
    assert close["verdict"] == "fail"
    assert json.loads(valvebench("verify", job, "--json").stdout)["ok"]
    written = valvebench("report", job, "--xlsx", job.with_suffix(".xlsx"))
    assert written.returncode == 0, written.stderr
    assert "Readings" in openpyxl.load_workbook(job.with_suffix(".xlsx")).sheetnames


@pytest.mark.slow
def test_killed_in_the_middle_of_a_round_it_goes_on_there(open_it, job):
    window = open_it(job)
    window.set_up()
    hands = Hands(window)
    order = asked_for()
    hands.key("F5")
    hands.go_round(order, 23.4)
    hands.go_round(order[:3], 61.0)
    window.type("6.1")
    before = (job / "journal.jsonl").read_bytes()
    window.process.send_signal(signal.SIGKILL)
    window.process.wait(timeout=PATIENCE_S)
    assert (job / "journal.jsonl").read_bytes() == before
    again = Hands(open_it(job))
    again.go_round(order[3:], 61.0)
    rounds = [reading["round"] for reading in again.window.readings()]
    assert rounds == [1] * 7 + [2] * 7
    assert [frozenset((r["from"], r["to"])) for r in again.window.readings()] == order * 2
    again.window.process.kill()
    again.window.process.wait(timeout=PATIENCE_S)
    assert json.loads(valvebench("verify", job, "--json").stdout)["ok"]
