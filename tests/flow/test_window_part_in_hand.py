"""An unknown body in a real window, by keyboard alone: readings become a variant that is the truth of the body."""

from __future__ import annotations

import json
from pathlib import Path

import openpyxl
import pytest

from tests.fakes.hand_bodies import ODD_PART, TWELVE
from tests.flow.test_window_flow import CountedWindow, open_it, screen, valvebench, wait_for
from tests.patience import PATIENCE_S
from valvebench.bench.part_in_hand import Found, found_in
from valvebench.compose import view_session
from valvebench.model.variant import Solenoid
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import SourceKind

__all__ = ["PATIENCE_S", "open_it", "screen"]  # the fixtures serve here too

JOB = "2221"


class FirstPage(CountedWindow):
    """The program without a session, its own files in a folder of its own."""

    def __init__(self, screen: str, home: Path) -> None:
        self.variants = home / "variants"
        settings = home / "settings"
        settings.mkdir(parents=True)
        folders = {"jobs_folder": str(home / "jobs"), "variants_folder": str(self.variants)}
        (settings / "settings.json").write_text(json.dumps(folders), encoding="ascii")
        super().__init__(screen, home / "jobs" / f"job-{JOB}", VALVEBENCH_SETTINGS=str(settings))

    def found(self) -> Found:
        """What the page must have found: the same finder on what is on disk."""
        return found_in(view_session(self.folder).session, None)


@pytest.fixture
def window(screen, tmp_path):
    opened = FirstPage(screen, tmp_path)
    yield opened
    opened.process.kill()
    opened.process.communicate()


def begin(window: FirstPage) -> None:
    """The way in without a variant has a key of its own."""
    window.key("ctrl+shift+n")
    window.type(JOB)
    window.key("Tab")
    window.type("12")
    window.key("Return")
    wait_for(lambda: (window.folder / "journal.jsonl").is_file() and len(window.lines()) == 2, "the connector")
    wait_for(window._is_at_rest, "the first question")


def set_meter(window: FirstPage, meter: str) -> None:
    """Bench set-up: how warm the coils are and, back up the form, the meter."""
    window.key("F2")
    wait_for(window._is_at_rest, "the set-up")
    window.type("20")
    window.key(*["shift+Tab"] * 4)
    window.type(meter)
    window.key("Return")
    wait_for(window._is_at_rest, "the walk again")


def walk(window: FirstPage, *, step_ohm: float) -> int:
    """Answer every question as the body would; returns how many readings that took."""
    while steps := window.found().wiring.next:
        count = len(window.readings())
        black, red = steps[0].black, steps[0].red
        shown = TWELVE.shown(red, black, step_ohm=step_ohm)
        if shown == "*":
            window.key("asterisk")
            if not any(reading.get("open") for reading in window.readings()):
                window.type("60M")
                window.key("KP_Enter")
        else:
            window.type(shown)
            window.key("KP_Enter")
        wait_for(lambda before=count: len(window.readings()) == before + 1, f"reading {count + 1}, {shown}")
        kept = window.readings()[-1]
        assert (kept["from"], kept["to"]) == (black, red), "the page asked for another pair"
        wait_for(window._is_at_rest, "the next question")
    return len(window.readings())


def name_and_save(window: FirstPage) -> Path:
    """A name for the first part, the others as offered; then the title."""
    wait_for(window._is_at_rest, "the first name")
    window.type("Plover")
    window.key(*["Return"] * len(TWELVE.parts))
    wait_for(window._is_at_rest, "the title")
    window.type("Quillon Tern, body unknown")
    window.key("Return")
    (path,) = wait_for(lambda: list(window.variants.glob("*.json")), "the variant")
    return path


@pytest.mark.slow
@pytest.mark.parametrize(
    ("meter", "step_ohm"),
    [pytest.param("1%+3x0.1", 0.1, id="0.1 ohm steps"), pytest.param("0.5%+5x0.01", 0.01, id="0.01 ohm steps")],
)
def test_from_an_unknown_body_to_a_variant_by_keyboard_alone(window, meter, step_ohm):
    begin(window)
    set_meter(window, meter)
    count = walk(window, step_ohm=step_ohm)
    assert {reading.get("meter") for reading in window.readings()} == {meter}
    assert window.found().odd() == {ODD_PART}
    path = name_and_save(window)
    body = read_variant(path.read_bytes(), source=str(path))
    assert {frozenset(one.between) for one in body.devices} == TWELVE.wires
    assert {one.name for one in body.devices} >= {"Plover", "Sensor 1"}
    with_limits = [one for one in body.devices if isinstance(one, Solenoid) and one.low_ohm is not None]
    assert {one.source.kind for one in with_limits} == {SourceKind.MEASURED}
    assert ODD_PART not in {frozenset(one.between) for one in with_limits}
    wait_for(lambda: window.lines()[-1]["kind"] == "note", "the note that names the variant")
    workbook = window.folder.with_suffix(".xlsx")
    assert valvebench("report", window.folder, "--xlsx", workbook).returncode == 0
    assert "Readings" in openpyxl.load_workbook(workbook).sheetnames
    assert json.loads(valvebench("verify", window.folder, "--json").stdout)["ok"]
    print(f"\n{count} readings of 78 pairs, {window.keys} keys from the first page to the variant")
