"""What the editor says is wrong, and what it says is missing: words, and the cell to go to."""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import variant_data
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import draft_of
from valvebench.model.draft_lacks import check_draft
from valvebench.model.draft_places import with_pin_count
from valvebench.model.variant_draft import Spot, empty_draft, with_cells, with_merged

DEVICES = Part.DEVICES


def draft(**changes):
    return draft_of(json.loads(json.dumps(variant_data(**changes))))


def said(found, *, is_wrong):
    return {lack.spot: lack.words for lack in check_draft(found).lacks if lack.is_wrong is is_wrong}


def test_a_new_variant_says_what_it_needs_and_what_it_lacks():
    new = empty_draft()
    assert set(said(new, is_wrong=True)) == {Spot(Part.BODY, 0, "key"), Spot(Part.BODY, 0, "title")}
    hints = said(new, is_wrong=False)
    assert "no pins yet" in hints[Spot(Part.PINS, 0, "name")]
    assert "no devices yet" in hints[Spot(DEVICES, 0, "name")]
    assert "isolation gets No limit" in hints[Spot(Part.BODY, 0, "isolation")]
    assert "no ports" in hints[Spot(Part.PORTS, 0, "name")]


WRONG = [
    pytest.param({Spot(DEVICES, 0, "low"): "4,9x"}, Spot(DEVICES, 0, "low"), "found '4,9x'", id="not-a-number"),
    pytest.param({Spot(DEVICES, 0, "low"): "6"}, Spot(DEVICES, 0, "low"), "not above the higher", id="order"),
    pytest.param({Spot(DEVICES, 0, "low"): "1,234"}, Spot(DEVICES, 0, "low"), "could be 1.234 or 1234", id="two-ways"),
    pytest.param({Spot(DEVICES, 0, "to"): ""}, Spot(DEVICES, 0, "to"), "a node is needed", id="no-node"),
    pytest.param({Spot(DEVICES, 0, "to"): "3"}, Spot(DEVICES, 0, "to"), "two different nodes", id="same-node"),
    pytest.param({Spot(DEVICES, 1, "name"): "Heron"}, Spot(DEVICES, 1, "name"), "a name used once", id="twice"),
    pytest.param({Spot(DEVICES, 0, "source"): ""}, Spot(DEVICES, 0, "source"), "say which: manual", id="no-kind"),
    pytest.param({Spot(DEVICES, 0, "kind"): "valve"}, Spot(DEVICES, 0, "kind"), "one of solenoid", id="kind"),
    pytest.param({Spot(DEVICES, 4, "with"): "P8"}, Spot(DEVICES, 4, "with"), "a port of this variant", id="no-port"),
    pytest.param({Spot(DEVICES, 0, "ref"): "400"}, Spot(DEVICES, 0, "ref"), "-50 to 180", id="too-hot"),
    pytest.param({Spot(Part.PINS, 0, "face"): "B"}, Spot(Part.PINS, 0, "face"), "a face", id="no-face"),
    pytest.param({Spot(Part.PINS, 0, "name"): "case"}, Spot(Part.PINS, 0, "name"), "is the casting", id="case"),
    pytest.param({Spot(Part.PORTS, 0, "expect"): "hums"}, Spot(Part.PORTS, 0, "expect"), "such as", id="expect"),
    pytest.param({Spot(Part.PORTS, 0, "x"): "2"}, Spot(Part.PORTS, 0, "x"), "1", id="share"),
    pytest.param({Spot(Part.GEARS, 0, "clutches"): "Eider"}, Spot(Part.GEARS, 0, "clutches"), "a clutch", id="clutch"),
    pytest.param(
        {Spot(Part.GEARS, 0, "solenoids"): "Owl on"}, Spot(Part.GEARS, 0, "solenoids"), "a solenoid", id="sol"
    ),
    pytest.param({Spot(Part.BODY, 0, "key"): "a b"}, Spot(Part.BODY, 0, "key"), "expected", id="key"),
    pytest.param({Spot(Part.FLUID, 0, "low"): "35"}, Spot(Part.FLUID, 0, "by"), "overflow, dipstick", id="fluid-by"),
    pytest.param(
        {Spot(Part.FLUID, 0, "by"): "dipstick", Spot(Part.FLUID, 0, "high"): "400"},
        Spot(Part.FLUID, 0, "high"),
        "-50 to 180",
        id="fluid-hot",
    ),
    pytest.param({Spot(Part.FASTENERS, 0, "count"): "3"}, Spot(Part.FASTENERS, 0, "name"), "entry", id="fastener"),
    pytest.param(
        {Spot(Part.CHECKLIST, 0, "name"): "Magnets clean", Spot(Part.CHECKLIST, 0, "required"): "maybe"},
        Spot(Part.CHECKLIST, 0, "required"),
        "required or optional",
        id="required",
    ),
    pytest.param(
        {Spot(Part.PART_NUMBERS, 0, "name"): "Q", Spot(Part.PART_NUMBERS, 0, "next"): "Q"},
        Spot(Part.PART_NUMBERS, 0, "next"),
        "does not lead back",
        id="superseded-by-itself",
    ),
    pytest.param({Spot(Part.BODY, 0, "isolation"): "0"}, Spot(Part.BODY, 0, "isolation"), "expected", id="isolation"),
]


@pytest.mark.parametrize(("cells", "spot", "words"), WRONG)
def test_wrong(cells, spot, words):
    found = said(with_cells(draft(), cells), is_wrong=True)
    assert words in found[spot]
    assert set(found) == {spot}


def test_a_device_half_typed_hides_nothing_about_the_others():
    cells = {Spot(DEVICES, 0, "low"): "6", Spot(DEVICES, 5, "name"): "Knot"}
    found = said(with_cells(draft(), cells), is_wrong=True)
    assert set(found) == {Spot(DEVICES, 0, "low"), Spot(DEVICES, 5, "from")}


MISSING = [
    pytest.param({Spot(DEVICES, 0, "low"): "", Spot(DEVICES, 0, "high"): ""}, Spot(DEVICES, 0, "low"), "No limit"),
    pytest.param({Spot(DEVICES, 0, "source_text"): ""}, Spot(DEVICES, 0, "source_text"), "which page"),
    pytest.param({Spot(DEVICES, 2, "n"): ""}, Spot(DEVICES, 2, "n"), "how many good bodies"),
    pytest.param({Spot(DEVICES, 0, "ref"): ""}, Spot(DEVICES, 0, "ref"), "counts as not stated"),
    pytest.param({Spot(DEVICES, 3, "points"): ""}, Spot(DEVICES, 3, "points"), "No limit"),
    pytest.param({Spot(DEVICES, 0, "from"): "33"}, Spot(DEVICES, 0, "from"), "Did you mean 3?"),
    pytest.param({Spot(DEVICES, 0, "kind"): "electronics"}, Spot(Part.BODY, 0, "electronics"), "stop sign is off"),
    pytest.param(
        {Spot(Part.BODY, 0, "isolation"): "", Spot(Part.BODY, 0, "source"): ""},
        Spot(Part.BODY, 0, "isolation"),
        "No limit",
    ),
    pytest.param({Spot(Part.PORTS, 2, "feeds"): ""}, Spot(Part.PORTS, 2, "expect"), "nothing is expected"),
    pytest.param({Spot(Part.PORTS, 2, "feeds"): ""}, Spot(Part.PORTS, 2, "kpa"), "none will be proposed"),
    pytest.param({Spot(DEVICES, 0, "duty"): ""}, Spot(DEVICES, 0, "duty"), "linear, pulsed or on/off"),
    pytest.param({}, Spot(Part.BODY, 0, "picture_body"), "plain board"),
    pytest.param({}, Spot(Part.FASTENERS, 0, "name"), "which length goes where"),
    pytest.param({}, Spot(Part.FLUID, 0, "by"), "how the level is checked"),
    pytest.param({}, Spot(Part.CHECKLIST, 0, "name"), "before opening"),
    pytest.param({}, Spot(Part.PART_NUMBERS, 0, "name"), "order the part by"),
    pytest.param({}, Spot(Part.ORDER_WITH, 0, "name"), "seals and screens"),
    pytest.param({Spot(Part.FASTENERS, 0, "name"): "rim"}, Spot(Part.FASTENERS, 0, "length"), "shorter hole"),
    pytest.param({Spot(Part.FASTENERS, 0, "name"): "rim"}, Spot(Part.FASTENERS, 0, "torque"), "none will be proposed"),
    pytest.param(
        {Spot(Part.FASTENERS, row, key): text for row in (0, 1) for key, text in (("name", "rim"), ("length", "30"))},
        Spot(Part.FASTENERS, 1, "name"),
        "more than once",
    ),
    pytest.param({Spot(Part.FLUID, 0, "by"): "overflow"}, Spot(Part.FLUID, 0, "low"), "how warm the fluid is"),
    pytest.param(
        {Spot(Part.CHECKLIST, row, "name"): text for row, text in enumerate(("Screen clean", "Magnets clean"))},
        Spot(Part.CHECKLIST, 0, "when"),
        "2 lines do not say when",
    ),
    pytest.param(
        {Spot(Part.PART_NUMBERS, 0, "name"): "Q", Spot(Part.PART_NUMBERS, 0, "next"): "R"},
        Spot(Part.PART_NUMBERS, 0, "next"),
        "R has no row of its own",
    ),
    pytest.param({Spot(DEVICES, 1, "source"): ""}, Spot(DEVICES, 1, "source"), "where the limits come from"),
]


@pytest.mark.parametrize(("cells", "spot", "words"), MISSING)
def test_missing(cells, spot, words):
    assert words in said(with_cells(draft(), cells), is_wrong=False)[spot]


def test_pins_without_a_device_are_one_line():
    hints = said(draft(), is_wrong=False)
    assert hints[Spot(Part.PINS, 0, "name")] == "no device ends at pins 1, 2, 5, 7, 10"


def test_the_place_is_told_as_people_say_it():
    wheres = {lack.spot: lack.where for lack in check_draft(with_cells(draft(), {Spot(DEVICES, 5, "n"): "x"})).lacks}
    assert wheres[Spot(Part.PINS, 0, "name")] == "Pin 1"
    assert wheres[Spot(DEVICES, 1, "duty")] == "Gull, Duty"
    assert wheres[Spot(DEVICES, 5, "n")] == "Devices row 6, n"
    assert wheres[Spot(Part.PORTS, 2, "kpa")] == "Port P5, kPa gauge"
    assert wheres[Spot(Part.FLUID, 0, "by")] == "Level is checked by"
    assert wheres[Spot(Part.ORDER_WITH, 0, "name")] == "Order with"


def test_a_line_of_the_checklist_is_told_by_its_number():
    cells = {Spot(Part.CHECKLIST, 0, "name"): "Screens and connector sleeve clean and whole"}
    wheres = {lack.spot: lack.where for lack in check_draft(with_cells(draft(), cells)).lacks}
    assert wheres[Spot(Part.CHECKLIST, 0, "when")] == "Checklist row 1, When"


def test_a_joint_inside_and_a_terminal_are_no_mistakes():
    rows = [{"name": "A", "from": "1", "to": "joint"}, {"name": "B", "from": "joint", "to": "A.1"}]
    hints = said(with_merged(with_pin_count(empty_draft(), 0, 4), DEVICES, rows), is_wrong=False)
    assert not [spot for spot in hints if spot.key in ("from", "to")]


def test_electronics_on_board_ask_for_no_isolation():
    on = with_cells(empty_draft(), {Spot(Part.BODY, 0, "electronics"): "yes"})
    assert Spot(Part.BODY, 0, "isolation") not in said(on, is_wrong=False)
