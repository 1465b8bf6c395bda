"""A draft holds everything a variant file says, and gives it back."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.data.made_up import VARIANT
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import data_of, draft_from, variant_bytes
from valvebench.model.draft_names import with_cell
from valvebench.model.errors import BadInput
from valvebench.model.variant_draft import Spot
from valvebench.model.variant_rules import read_variant

SHIPPED = sorted((Path(__file__).parents[3] / "resources" / "variants").glob("*.json"))
ODD = {
    "format": 1,
    "key": "odd",
    "title": "Odd names; and signs",
    "pins": [{"name": "1"}, {"name": "2", "x": 1.234, "y": 0}],
    "devices": [
        {
            "name": "a",
            "kind": "solenoid",
            "between": ["1", "joint"],
            "low_ohm": 1.234,
            "high_ohm": 1234,
            "max_hysteresis_pct": 4,
        },
        {
            "name": "b",
            "kind": "temperature_sensor",
            "between": ["joint", "2"],
            "beta": {"r_ohm": 1e4, "b_kelvin": 3435},
        },
        {"name": "c", "kind": "diode", "between": ["1", "2"], "across": "a"},
        {"name": "d", "kind": "link", "between": ["2", "case"], "max_ohm": 2},
        {"name": "e", "kind": "speed_sensor", "between": ["1", "a.1"], "ref_celsius": None},
        {"name": "f", "kind": "electronics", "between": ["1", "2"], "source": {"kind": "measured", "n": 2}},
    ],
    "isolation": {"min_ohm": 1e6, "source": {"kind": "memory"}},
    "ports": [{"name": "P: 1", "expect": [{"reaction": "comes_out", "at": "P: 1", "selector": "D; 2"}]}],
    "taps": [{"name": "Line", "windows": [{"state": "idle, cold", "low_kpa": 400, "high_celsius": 40}]}],
    "clutches": ["Auk, the first", "Brant"],
    "gears": ["1", "2"],
    "apply_chart": {"1": [], "2": ["Auk, the first"]},
    "solenoid_chart": {"2": {"a": "on"}},
    "features": [{"name": "mark", "values": ["none"], "this": "none", "must_match": True}],
    "pictures": {"case": {"sha256": "0" * 64, "file": "case.jpg"}},
    "fasteners": [{"place": "rim", "length_mm": 30}, {"place": "rim", "length_mm": 45, "order": 2, "note": "last"}],
    "fluid": {"by": "overflow", "low_celsius": 35, "note": "engine running"},
    "checklist": ["one", {"text": "two", "required": False}, {"text": "three", "when": "after"}],
    "part_numbers": [{"number": "QT-9", "superseded_by": "QT-9-A"}],
    "order_with": ["seal set", {"text": "screen", "number": "QT-F9"}],
}


@pytest.mark.parametrize(
    "raw",
    [*(path.read_bytes() for path in SHIPPED), json.dumps(VARIANT).encode(), json.dumps(ODD).encode()],
    ids=[*(path.stem for path in SHIPPED), "made-up", "odd"],
)
def test_a_file_comes_back_as_the_same_variant(raw):
    draft = draft_from(raw, source="before")
    data, unread = data_of(draft)
    assert unread == []
    written = variant_bytes(data)
    assert read_variant(written, source="after") == read_variant(raw, source="before")
    assert draft_from(written, source="after") == draft


def test_the_file_has_a_line_for_every_row():
    data, _ = data_of(draft_from(json.dumps(ODD).encode(), source="odd"))
    lines = variant_bytes(data).decode().splitlines()
    assert sum(line.startswith('    {"name": ') for line in lines) == 2 + 6 + 1 + 1 + 1
    assert sum(line.startswith('    {"place": ') for line in lines) == 2
    assert '    "one",' in lines


def test_a_line_that_says_nothing_else_stays_a_bare_text():
    data, _ = data_of(draft_from(json.dumps(ODD).encode(), source="odd"))
    assert data["checklist"] == ["one", {"text": "two", "required": False}, {"text": "three", "when": "after"}]
    assert data["order_with"] == ["seal set", {"text": "screen", "number": "QT-F9"}]


def test_a_temperature_left_empty_is_not_stated_and_one_left_out_of_a_file_is_twenty():
    draft = draft_from(json.dumps(ODD).encode(), source="odd")
    assert draft.texts(Part.DEVICES, "ref") == ("20", "", "", "", "not stated", "")
    data, _ = data_of(with_cell(draft, Spot(Part.DEVICES, 0, "ref"), ""))
    assert data["devices"][0]["ref_celsius"] is None


def test_what_no_column_shows_leaves_with_the_kind_it_belongs_to():
    draft = draft_from(json.dumps(ODD).encode(), source="odd")
    data, unread = data_of(with_cell(draft, Spot(Part.DEVICES, 1, "kind"), "link"))
    assert data["devices"][1] == {"name": "b", "kind": "link", "between": ["joint", "2"]}
    assert unread == []


def test_a_cell_that_means_nothing_for_the_kind_is_told():
    draft = draft_from(json.dumps(ODD).encode(), source="odd")
    _, unread = data_of(with_cell(draft, Spot(Part.DEVICES, 3, "low"), "1"))
    assert [one.spot for one in unread] == [Spot(Part.DEVICES, 3, "low")]
    assert "means nothing for this kind (link)" in unread[0].words


def test_a_file_that_is_wrong_is_not_opened():
    with pytest.raises(BadInput, match="low_ohm"):
        draft_from(json.dumps({**ODD, "devices": [{**ODD["devices"][0], "low_ohm": 2e3}]}).encode(), source="odd")
