"""Taps in the editor: a row for each window, a tap for each name, and every fault told at its own cell."""

from __future__ import annotations

import json

import pytest

from valvebench.model.draft_field import Part
from valvebench.model.draft_file import data_of, draft_from
from valvebench.model.draft_lacks import check_draft
from valvebench.model.variant_draft import Spot, empty_draft, with_cells, with_merged
from valvebench.ui.editor.paste import rows_of, understand

BARE = {"format": 1, "key": "t", "title": "T", "pins": []}
IDLE = {"state": "idle", "low_kpa": 420, "high_kpa": 480, "low_celsius": 60, "high_celsius": 100}
LOAD = {"state": "load", "low_kpa": 1150, "source": {"kind": "manual", "text": "page 31"}}
TAPS = [
    {"name": "Line", "shows": "the main line", "windows": [IDLE, LOAD]},
    {"name": "Auk"},
    {"name": "Brant", "windows": [{"state": "idle", "high_kpa": 20}]},
]
SHEET = (
    "Tap\tState\tkPa min\tkPa max\tFrom\tUp to\tPage\n"
    "Line\tidle\t420\t480\t60\t100\tpage 31\n"
    "Line\tidle\t450\t520\t\t40\tpage 31\n"
    "Auk\tload\t1150\t\t60\t\tpage 32\n"
)


def draft_with(taps):
    return draft_from(json.dumps({**BARE, "taps": taps}).encode(), source="test")


def said(draft):
    return data_of(draft)[0].get("taps")


def test_every_window_is_a_row_and_comes_back_as_it_was():
    draft = draft_with(TAPS)
    assert draft.texts(Part.TAPS, "name") == ("Line", "Line", "Auk", "Brant")
    assert draft.texts(Part.TAPS, "shows") == ("the main line", "", "", "")
    assert draft.texts(Part.TAPS, "state") == ("idle", "load", "", "idle")
    assert said(draft) == TAPS


def test_a_window_typed_further_down_belongs_to_the_tap_of_its_name():
    row = {"name": "Line", "state": "stall", "low": "1400", "from": "70"}
    draft = with_cells(draft_with(TAPS), {Spot(Part.TAPS, 4, key): text for key, text in row.items()})
    assert said(draft)[0]["windows"] == [IDLE, LOAD, {"state": "stall", "low_kpa": 1400.0, "low_celsius": 70.0}]
    assert [tap["name"] for tap in said(draft)] == ["Line", "Auk", "Brant"]


@pytest.mark.parametrize(
    ("cells", "spot", "words"),
    [
        pytest.param({(3, "low"): "30"}, (3, "low"), "not above the higher limit", id="limits in order"),
        pytest.param({(1, "state"): "Idle ", (1, "from"): "90"}, (1, "state"), "second window", id="overlapping"),
        pytest.param({(2, "low"): "30"}, (2, "state"), "an entry is needed", id="a window without a state"),
        pytest.param({(1, "low"): "much"}, (1, "low"), "much", id="no number"),
        pytest.param({(4, "state"): "idle", (4, "low"): "5"}, (4, "name"), "a name is needed", id="no tap"),
    ],
)
def test_a_fault_is_told_at_its_cell(cells, spot, words):
    draft = with_cells(draft_with(TAPS), {Spot(Part.TAPS, row, key): text for (row, key), text in cells.items()})
    found = [lack for lack in check_draft(draft).wrong if lack.spot.part is Part.TAPS]
    assert [lack.spot for lack in found] == [Spot(Part.TAPS, *spot)]
    assert words in found[0].words


def test_what_a_tap_does_not_say_is_a_hint_and_no_taps_are_none():
    hints = {lack.spot: lack.words for lack in check_draft(draft_with(TAPS)).lacks if lack.spot.part is Part.TAPS}
    assert hints[Spot(Part.TAPS, 2, "low")] == "no window: its pressures get No limit"
    assert hints[Spot(Part.TAPS, 0, "source")] == "nothing says where the limits come from"
    assert Spot(Part.TAPS, 1, "source") not in hints
    assert not [lack for lack in check_draft(empty_draft()).lacks if lack.spot.part is Part.TAPS]


def test_a_table_from_a_spreadsheet_is_understood_and_cold_and_hot_stay_apart():
    plan = understand(Part.TAPS, SHEET)
    assert plan.keys == ("name", "state", "low", "high", "from", "to", "source_text")
    draft = with_merged(empty_draft(), Part.TAPS, rows_of(plan))
    taps = said(with_merged(draft, Part.TAPS, rows_of(plan)))  # pasted twice: the same rows again
    assert [(tap["name"], len(tap["windows"])) for tap in taps] == [("Line", 2), ("Auk", 1)]
    assert taps[0]["windows"][1]["high_celsius"] == 40.0
