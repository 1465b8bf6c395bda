"""Code tables while they are written: cells one by one, and what is said of them.  All invented."""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import variant_data
from valvebench.model.draft_codes import codes_in, next_state, switches_in, with_code, word_of
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import data_of, draft_of
from valvebench.model.draft_lacks import check_draft
from valvebench.model.draft_names import with_cell
from valvebench.model.variant_draft import Spot, with_cells

SELECTOR, PRESSURE, DEVICES = Part.SELECTOR_CODES, Part.PRESSURE_CODES, Part.DEVICES
SWITCHES = [
    {"name": "Stork", "kind": "switch", "between": ["1", "case"]},
    {"name": "Snipe", "kind": "switch", "between": ["2", "case"]},
    {"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open", "closes_with": "P3"},
]
MANUAL = {"kind": "manual", "text": "page 4"}
CODES = [
    {"position": "P", "switches": {"Stork": "closed", "Snipe": "open"}, "source": MANUAL},
    {"position": "N", "switches": {"Stork": "open", "Snipe": "either"}, "source": MANUAL},
]


def draft(devices=SWITCHES, selector=CODES, pressure=()):
    data = variant_data(
        devices=list(devices),
        selector_codes=list(selector),
        pressure_codes=list(pressure),
        solenoid_chart={},
        ports=[{"name": "P3", "feeds": "Auk"}],
    )
    return draft_of(json.loads(json.dumps(data)))


def said(found, *, is_wrong):
    parts = (SELECTOR, PRESSURE, DEVICES)
    return {
        lack.spot: lack.words
        for lack in check_draft(found).lacks
        if lack.is_wrong is is_wrong and lack.spot.part in parts
    }


def test_a_table_comes_in_as_rows_and_goes_out_as_it_was():
    found = draft(pressure=[{"position": "1", "switches": {"Reel": "closed"}}])
    assert found.texts(SELECTOR, "name") == ("P", "N")
    assert found.text(SELECTOR, 0, "switches") == "Stork closed, Snipe open"
    assert found.text(SELECTOR, 0, "source_text") == "page 4"
    data, unread = data_of(found)
    assert (data["selector_codes"], unread) == (CODES, [])
    assert data["pressure_codes"] == [{"position": "1", "switches": {"Reel": "closed"}}]


@pytest.mark.parametrize(
    ("text", "switch", "state", "expected"),
    [
        ("Stork closed, Snipe open", "Snipe", "closed", "Stork closed, Snipe closed"),
        ("Stork closed", "Snipe", "o", "Stork closed, Snipe open"),
        ("Stork closed, Snipe open", "Stork", "", "Snipe open"),
        ("Stork closed", "Stork", "", ""),
        ("", "Stork", "1", "Stork closed"),
        ("nonsense", "Stork", "any", "Stork either"),
        ("", "Stork", "maybe", '{"Stork": "maybe"}'),
    ],
)
def test_one_cell_of_a_row(text, switch, state, expected):
    assert with_code(text, switch, state) == expected


def test_one_key_goes_round_the_states():
    seen = [""]
    for _ in range(4):
        seen.append(next_state(seen[-1]))
    assert seen == ["", "closed", "open", "either", ""]
    assert next_state("maybe") == "closed"


def test_states_as_people_write_them():
    assert [word_of(text) for text in ("C", "0", " X ", "*", "Any", "shut")] == [
        "closed",
        "open",
        "closed",
        "either",
        "either",
        "shut",
    ]
    assert codes_in("Stork shut") is None


def test_columns_are_the_switches_of_the_draft_and_names_besides():
    found = with_cells(draft(), {Spot(SELECTOR, 0, "switches"): "Storck closed"})
    assert switches_in(found, SELECTOR) == ("Stork", "Snipe", "Storck")
    assert switches_in(found, PRESSURE) == ("Reel",)
    assert switches_in(draft(devices=SWITCHES[:2]), PRESSURE) == ("Stork", "Snipe")


@pytest.mark.parametrize(
    ("changes", "spot", "words"),
    [
        ({(0, "switches"): "Storck closed"}, (0, "switches"), "found 'Storck', expected a switch of this variant"),
        ({(0, "switches"): "Stork maybe"}, (0, "switches"), "switches with closed, open or either"),
        ({(0, "switches"): '{"Stork": "maybe"}'}, (0, "switches"), "one of open, closed, either"),
        ({(0, "switches"): ""}, (0, "switches"), "open, closed or either for at least one switch"),
        ({(1, "name"): "p"}, (1, "name"), "a position that has one row"),
        ({(1, "name"): ""}, (1, "name"), "an entry is needed"),
    ],
    ids=["unknown switch", "no state", "another word", "empty row", "row twice", "no position"],
)
def test_what_keeps_a_table_from_being_saved(changes, spot, words):
    found = with_cells(draft(), {Spot(SELECTOR, *cell): text for cell, text in changes.items()})
    assert words in said(found, is_wrong=True)[Spot(SELECTOR, *spot)]


def test_positions_with_one_code_are_named():
    found = with_cells(draft(), {Spot(SELECTOR, 1, "switches"): "Stork closed"})
    assert said(found, is_wrong=True) == {}
    hints = said(found, is_wrong=False)
    assert hints[Spot(SELECTOR, 1, "name")] == "P and N cannot be told apart by any switch"


def test_a_code_without_a_source_is_named():
    hints = said(with_cells(draft(), {Spot(SELECTOR, 0, "source"): ""}), is_wrong=False)
    assert Spot(SELECTOR, 0, "source_text") not in hints
    bare = draft(selector=[{"position": "P", "switches": {"Stork": "open"}}])
    assert said(bare, is_wrong=False)[Spot(SELECTOR, 0, "source")] == "nothing says where this code comes from"


@pytest.mark.parametrize(
    ("position", "state", "words"),
    [
        ("1", "closed", None),
        ("1", "either", None),
        ("1", "open", "Reel is open, but 1 applies Auk, which it answers to at P3: closed is expected"),
        ("R", "closed", "R is neither a gear nor a position of the selector codes"),
        ("P", "closed", None),
    ],
)
def test_a_pressure_switch_is_held_against_the_apply_chart(position, state, words):
    """In the invented chart gear 1 applies Auk, which port P3 feeds; Reel is open at rest and closes with P3."""
    found = draft(pressure=[{"position": position, "switches": {"Reel": state}, "source": MANUAL}])
    hints = {spot: text for spot, text in said(found, is_wrong=False).items() if spot.part is PRESSURE}
    assert list(hints.values()) == ([] if words is None else [words])


def test_a_renamed_switch_is_renamed_in_the_tables():
    found = with_cell(draft(), Spot(DEVICES, 0, "name"), "Sora")
    assert found.text(SELECTOR, 0, "switches") == "Sora closed, Snipe open"


SENSOR = {"name": "Fluid", "kind": "temperature_sensor", "between": ["12", "6"], "in_series_with": "Stork"}
DIODE = {"name": "Dot", "kind": "diode", "between": ["1", "2"], "across": "Owl"}


def test_a_contact_that_nothing_places_and_a_diode_of_unknown_lie_are_named():
    hints = said(draft(devices=[*SWITCHES, SENSOR, DIODE], selector=[]), is_wrong=False)
    assert "nothing says in which positions Stork is closed" in hints[Spot(DEVICES, 3, "with")]
    assert hints[Spot(DEVICES, 4, "with")] == "Owl is no device of this body"
    assert "which way the diode lies" in hints[Spot(DEVICES, 4, "anode")]
    told = said(draft(devices=[*SWITCHES, SENSOR, {**DIODE, "anode": "1"}]), is_wrong=False)
    assert Spot(DEVICES, 3, "with") not in told
    assert Spot(DEVICES, 4, "anode") not in told
