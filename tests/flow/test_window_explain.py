"""From ten readings to a named fault, in a real window by keyboard alone: each reading after them is asked for.

The body is invented, its fault put in here; the readings come from a circuit solved by code of its own.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable

import pytest

from tests.data.twenty_pins import CELSIUS, Edges, read_ohm, sound, variant_raw
from tests.flow.test_window_flow import ROOT, RealWindow, open_it, screen, valvebench, wait_for
from valvebench.model.variant_rules import read_variant
from valvebench.ui.pins.plan import Plan

__all__ = ["open_it", "screen"]  # the fixtures serve here too

FIRST_READINGS = 10
MOST_FURTHER = 5
LEADS_OHM, STEP_OHM = 0.1, 0.1
"""A plain meter, its leads not taken off: what the window takes for granted where nothing is said."""
READ_CLIPBOARD = """
from PySide6.QtGui import QGuiApplication
app = QGuiApplication([])
print(app.clipboard().text())
"""


def poor_contact_on_the_common_pin(edges: Edges) -> None:
    edges["20", "20i"] = 0.9


def two_wires_changed_over(edges: Edges) -> None:
    for pin, other in (("3", "13"), ("13", "3")):
        del edges[pin, f"{pin}i"]
        edges[pin, f"{other}i"] = 0.02


class Bench:
    """The window, the body under its tips, and what was pressed and read."""

    def __init__(self, window: RealWindow, edges: Edges) -> None:
        self.window, self.edges = window, edges
        self.keys = 0
        self.has_range = False

    def key(self, *names: str) -> None:
        self.keys += len(names)
        self.window.key(*names)

    def type(self, text: str) -> None:
        self.keys += len(text)
        self.window.type(text)

    def read(self, a: str, b: str) -> None:
        """What the meter shows between two nodes, typed and kept."""
        count, ohm = len(self.window.readings()), read_ohm(self.edges, a, b)
        if ohm is None:
            self.key("asterisk")
            if not self.has_range:
                self.type("60 M")
                self.key("KP_Enter")
                self.has_range = True
        else:
            shown = round((ohm + LEADS_OHM) / STEP_OHM) * STEP_OHM
            self.type(f"{shown:.1f}")
            self.key("KP_Enter")
        wait_for(lambda: len(self.window.readings()) == count + 1, f"the reading {a}-{b}")
        kept = self.window.readings()[-1]
        assert {kept["from"], kept["to"]} == {a, b}, "the window asked for another pair"

    def explained(self) -> dict:
        """What the same readings say on the command line."""
        wait_for(self.window._is_at_rest, "the answer to be worked out")
        done = valvebench("explain", self.window.folder, "--json")
        assert done.returncode in (0, 3), done.stderr
        return json.loads(done.stdout)

    def card(self) -> str:
        """The page as the window copies it; a table before the card copies only itself."""
        for _ in range(12):
            self.window.key("ctrl+c")
            text = clipboard(self.window)
            if text.startswith("Job"):
                return text[text.index("What explains these readings") :]
            self.window.key("shift+Tab")
        raise AssertionError("the page was never copied")


def clipboard(window: RealWindow) -> str:
    done = subprocess.run(
        [sys.executable, "-c", READ_CLIPBOARD],
        env=window._env,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=30,
    )
    return done.stdout


@pytest.fixture
def job(tmp_path):
    (tmp_path / "twenty.json").write_bytes(variant_raw())
    made = valvebench("open-job", tmp_path / "T-61", "--job", "T-61", "--variant", tmp_path / "twenty.json")
    assert made.returncode == 0, made.stderr
    return tmp_path / "T-61"


@pytest.mark.slow
@pytest.mark.parametrize(
    ("fault", "kind", "where", "words"),
    [
        (poor_contact_on_the_common_pin, "terminal_resistive", ["20"], "Pin 20 (common of "),
        (two_wires_changed_over, "swap", ["3", "13"], "The wires of pins 3 and 13 are changed over"),
    ],
    ids=lambda value: value.__name__ if callable(value) else "",
)
def test_from_ten_readings_to_a_named_fault_with_what_the_program_asks_for(
    open_it, job, fault: Callable[[Edges], None], kind, where, words, tmp_path
):
    edges = sound()
    fault(edges)
    bench = Bench(open_it(job), edges)
    bench.type(f"{CELSIUS}")
    bench.key("Return")
    plan = Plan(read_variant(variant_raw(), source="made up"))
    for _ in range(FIRST_READINGS):
        assert plan.pair is not None
        bench.read(*plan.pair)
        plan.step(1)
    first_keys, bench.keys = bench.keys, 0
    bench.key("ctrl+6")
    found, further = bench.explained(), 0
    assert not found["settled"], "ten readings are to leave something to ask"
    while not found["settled"]:
        assert further < MOST_FURTHER, found
        ask = found["next"][0]
        assert ask["what"] in ("pair", "repeat"), ask
        assert f"Next: Measure {ask['from']}\u2013{ask['to']} " in bench.card()
        bench.key("F9")
        wait_for(bench.window._is_at_rest, "the pair that is asked for")
        bench.read(ask["from"], ask["to"])
        bench.key("KP_Enter")
        further += 1
        found = bench.explained()
    best = found["explanations"][0]
    assert (best["fault"], best["where"]) == (kind, where)
    assert bench.card().startswith(f"What explains these readings: {words}")
    bench.window.picture(tmp_path / "named.png")
    assert (tmp_path / "named.png").stat().st_size > 10_000
    print(
        f"\n{fault.__name__.replace('_', ' ')}: named after {FIRST_READINGS} + {further} readings, "
        f"{first_keys} + {bench.keys} keys"
    )
    bench.window.close()
