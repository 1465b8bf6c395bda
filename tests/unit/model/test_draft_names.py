"""A new name is taken along by everything that names the thing."""

from __future__ import annotations

import json

import pytest

from tests.data.made_up import variant_data
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import draft_of
from valvebench.model.draft_lacks import check_draft
from valvebench.model.draft_names import with_cell
from valvebench.model.variant_draft import Spot, with_cells


@pytest.fixture
def draft():
    ports = [{"name": "P3", "expect": [{"reaction": "comes_out", "at": "P4", "solenoids": {"Heron": "on"}}]}]
    return draft_of(json.loads(json.dumps(variant_data(ports=[*ports, {"name": "P4"}]))))


@pytest.mark.parametrize(
    ("spot", "where", "text"),
    [
        (Spot(Part.PINS, 2, "name"), Spot(Part.DEVICES, 0, "from"), "Eider"),
        (Spot(Part.PINS, 10, "name"), Spot(Part.DEVICES, 1, "to"), "Eider"),
        (Spot(Part.FACES, 0, "name"), Spot(Part.PINS, 11, "face"), "Eider"),
        (Spot(Part.PORTS, 0, "name"), Spot(Part.DEVICES, 4, "with"), "Eider"),
        (Spot(Part.PORTS, 1, "name"), Spot(Part.PORTS, 0, "expect"), "Heron on: comes out at Eider"),
        (Spot(Part.DEVICES, 0, "name"), Spot(Part.PORTS, 0, "expect"), "Eider on: comes out at P4"),
        (Spot(Part.DEVICES, 0, "name"), Spot(Part.GEARS, 1, "solenoids"), "Eider on"),
    ],
)
def test_a_renamed_one_takes_along_what_names_it(draft, spot, where, text):
    renamed = with_cell(draft, spot, "Eider")
    assert renamed.text(*where) == text
    assert not check_draft(renamed).wrong
    old = draft.text(*spot)
    back = with_cell(renamed, spot, old)
    assert back == draft


def test_a_name_used_twice_is_not_followed(draft):
    twice = with_cells(draft, {Spot(Part.PINS, 0, "name"): "3"})
    assert with_cell(twice, Spot(Part.PINS, 0, "name"), "40").text(Part.DEVICES, 0, "from") == "3"


def test_a_cell_that_cannot_be_read_stays_as_it_is(draft):
    typed = with_cells(draft, {Spot(Part.GEARS, 0, "solenoids"): "Heron perhaps"})
    assert with_cell(typed, Spot(Part.DEVICES, 0, "name"), "Eider").text(Part.GEARS, 0, "solenoids") == "Heron perhaps"
