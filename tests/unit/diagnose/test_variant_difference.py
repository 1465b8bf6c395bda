"""Two variants side by side: each change made by hand to the invented variant is one line, and nothing else is.

Expected texts are written out by hand from the change itself.
"""

from __future__ import annotations

import itertools
import typing
from pathlib import Path

import pytest

from tests.data.made_up import variant_data, variant_of
from valvebench.diagnose.variant_difference import NOT_THERE, Difference, differences, summary_of, words_of
from valvebench.diagnose.variant_facts import _DEVICE_ASPECTS, _DEVICE_NUMBERS
from valvebench.model.variant import AnyDevice
from valvebench.model.variant_rules import read_variant

FOLDER = Path(__file__).parents[3] / "resources" / "variants"
DEMO = [read_variant(path.read_bytes(), source=path.name) for path in sorted(FOLDER.glob("*.json"))]
MARK = {"name": "mark", "values": ["none", "dot"], "this": "dot", "must_match": True, "ask": "Look"}
EARS = {"name": "ears", "values": ["three", "four"], "this": "three", "ask": "Count"}
FULL = variant_data(
    features=[EARS, MARK],
    taps=[{"name": "T1", "shows": "line", "windows": [{"state": "D", "low_kpa": 400.0, "source": {"kind": "memory"}}]}],
    selector_codes=[{"position": "P", "switches": {"Reel": "closed"}}],
    part_numbers=[{"number": "QT-2", "superseded_by": None}],
    order_with=["seal set"],
    fasteners=[{"place": "middle", "length_mm": 60.0, "torque_nm": 10.0, "count": 2}],
    fluid={"by": "overflow", "low_celsius": 35.0, "high_celsius": 45.0, "kind": "amber"},
    checklist=["Screens clean"],
)


def full(**changes):
    return variant_of(**{**FULL, **changes})


def of(table, place, **changes):
    """The same table with keys of one of its rows changed."""
    rows = [dict(row) for row in FULL[table]]
    rows[place] |= changes
    return {table: rows}


def row(table, what, one, other, *, must_match=False):
    return Difference(table, what, one, other, must_match)


ONE_CHANGE = [
    pytest.param(of("features", 1, this="none"), row("Features", "mark", "dot", "none", must_match=True), id="mark"),
    pytest.param(of("features", 0, this="four"), row("Features", "ears", "three", "four"), id="feature"),
    pytest.param(
        of("features", 0, must_match=True),
        row("Features", "ears, must match", "no", "yes"),
        id="must-match",
    ),
    pytest.param(
        of("faces", 0, seen_from="wire"),
        row("Connectors", "A", "grid of 2 by 6", "grid of 2 by 6, drawn from the wire side"),
        id="side",
    ),
    pytest.param(of("pins", 4, x=0.5, y=1.0), row("Pins", "pin 5, place", NOT_THERE, "0.5, 1"), id="pin"),
    pytest.param(
        of("devices", 0, low_ohm=4.9000001),
        row("Devices", "Heron, limits", "4.9\u20135.5 \u03a9 at 20 \u00b0C", "4.9000001\u20135.5 \u03a9 at 20 \u00b0C"),
        id="limit-by-a-hair",
    ),
    pytest.param(
        of("devices", 0, ref_celsius=25.0),
        row("Devices", "Heron, limits", "4.9\u20135.5 \u03a9 at 20 \u00b0C", "4.9\u20135.5 \u03a9 at 25 \u00b0C"),
        id="temperature",
    ),
    pytest.param(
        of("devices", 0, source={"kind": "memory"}),
        row("Devices", "Heron, source of the limits", "manual: shop manual, page 12", "from memory"),
        id="source",
    ),
    pytest.param(of("devices", 0, k=235.0), row("Devices", "Heron, k", "234.5", "235"), id="k"),
    pytest.param(
        of("devices", 0, between=["3", "10"]), row("Devices", "Heron, between", "3 and 11", "3 and 10"), id="nodes"
    ),
    pytest.param(of("devices", 0, duty="on_off"), row("Devices", "Heron, duty", NOT_THERE, "on/off"), id="duty"),
    pytest.param(of("devices", 2, normally="open"), row("Devices", "Plover, at rest", "closed", "open"), id="at-rest"),
    pytest.param(
        of("devices", 4, closes_with="P4"), row("Devices", "Reel, closes with port", "P3", "P4"), id="port-of-switch"
    ),
    pytest.param(
        of("devices", 3, points=[[20, 2540, 2800]]),
        row(
            "Devices",
            "Fluid, limits",
            "20 \u00b0C 2.54\u20132.8 k\u03a9; 80 \u00b0C 300\u2013350 \u03a9",
            "20 \u00b0C 2.54\u20132.8 k\u03a9",
        ),
        id="sensor",
    ),
    pytest.param(
        {"electronics_on_board": True}, row("Whole body", "electronics on board", "no", "yes"), id="electronics"
    ),
    pytest.param(
        {"isolation": {"min_ohm": 2e6, "source": {"kind": "memory"}}},
        row("Whole body", "isolation, limits", "> 1 M\u03a9", "> 2 M\u03a9"),
        id="isolation",
    ),
    pytest.param(of("ports", 0, feeds="Brant"), row("Ports", "P3, feeds", "Auk", "Brant"), id="feeds"),
    pytest.param(of("ports", 2, max_ml_min=400.0), row("Ports", "P5, most leak", NOT_THERE, "400 ml/min"), id="leak"),
    pytest.param(
        of("ports", 1, expect=[{"reaction": "comes_out", "at": "P5"}]),
        row("Ports", "P4, expected", "bleeds", "comes out at P5"),
        id="expected",
    ),
    pytest.param(
        of("taps", 0, windows=[{"state": "D", "high_kpa": 500.0}]),
        row("Taps", "T1, D", "> 400 kPa, from memory", "< 500 kPa, source not said"),
        id="tap",
    ),
    pytest.param(
        {"apply_chart": {"1": ["Auk"], "2": ["Brant"]}},
        row("Gears", "2, clutches", "Auk and Brant", "Brant"),
        id="apply-chart",
    ),
    pytest.param(
        {"solenoid_chart": {"1": {"Heron": "off"}, "2": {"Heron": "off"}}},
        row("Gears", "2, solenoids", "Heron on", "Heron off"),
        id="solenoid-chart",
    ),
    pytest.param({"clutches": ["Auk", "Brant", "Crake"]}, row("Clutches", "Crake", NOT_THERE, "there"), id="clutch"),
    pytest.param(
        of("selector_codes", 0, switches={"Reel": "open"}),
        row("Selector codes", "P", "Reel closed", "Reel open"),
        id="code",
    ),
    pytest.param(
        of("part_numbers", 0, superseded_by="QT-3"),
        row("Part numbers", "QT-2", "in force", "now QT-3"),
        id="superseded",
    ),
    pytest.param({"order_with": []}, row("Order with", "seal set", "there", NOT_THERE), id="order-with"),
    pytest.param(
        of("fasteners", 0, length_mm=68.0),
        row("Fasteners", "middle", "2 of 60 mm, 10 Nm", "2 of 68 mm, 10 Nm"),
        id="fastener",
    ),
    pytest.param(
        {"fluid": {**FULL["fluid"], "high_celsius": 50.0}},
        row("Fluid", "level, fluid temperature", "35 \u00b0C to 45 \u00b0C", "35 \u00b0C to 50 \u00b0C"),
        id="fluid",
    ),
    pytest.param({"checklist": []}, row("Checklist", "Screens clean", "required", NOT_THERE), id="checklist"),
]


def test_a_variant_does_not_differ_from_itself():
    for variant in (full(), *DEMO):
        assert differences(variant, variant) == ()


@pytest.mark.parametrize(("changes", "expected"), ONE_CHANGE)
def test_one_change_is_one_line(changes, expected):
    assert differences(full(), full(**changes)) == (expected,)


@pytest.mark.parametrize(("changes", "expected"), ONE_CHANGE)
def test_the_other_way_round_the_texts_are_exchanged(changes, expected):
    (found,) = differences(full(**changes), full())
    assert (found.one, found.other) == (expected.other, expected.one)


@pytest.mark.parametrize("pair", list(itertools.permutations(range(3), 2)))
def test_every_line_of_the_demo_bodies_is_there_both_ways(pair):
    one, other = (DEMO[i] for i in pair)
    there = {(r.table, r.what, r.one, r.other, r.must_match) for r in differences(one, other)}
    back = {(r.table, r.what, r.other, r.one, r.must_match) for r in differences(other, one)}
    assert there == back
    assert len(there) == len(differences(one, other))


def test_points_that_must_match_come_first():
    changed = full(features=[{**EARS, "this": "four"}, {**MARK, "this": "none"}])
    assert [found.what for found in differences(full(), changed)] == ["mark", "ears"]


def test_what_only_one_has_is_one_line_with_all_that_is_said_of_it():
    rest = [device for device in FULL["devices"] if device["name"] != "Plover"]
    (found,) = differences(full(), full(devices=rest))
    assert (found.what, found.other) == ("Plover", NOT_THERE)
    for words in (
        "solenoid",
        "between 8 and case",
        "12\u201315 \u03a9, temperature not stated",
        "measured on one good body",
    ):
        assert words in found.one


def test_where_pins_stand_matters_only_on_connectors_laid_out_alike():
    ring = full(faces=[{"name": "A", "layout": "ring"}], pins=[{**pin, "x": 0.5, "y": 0.0} for pin in FULL["pins"]])
    assert [found.table for found in differences(full(), ring)] == ["Connectors"]


def test_a_solenoid_that_only_one_chart_has_says_nothing_gear_by_gear():
    chart = {"1": {"Heron": "off", "Gull": "on"}, "2": {"Heron": "on", "Gull": "off"}}
    assert differences(full(), full(solenoid_chart=chart)) == ()


def test_a_chart_that_is_not_there_is_one_line():
    (found,) = differences(full(), full(solenoid_chart={}))
    assert (found.what, found.one, found.other) == ("solenoid chart", "2 lines", NOT_THERE)


@pytest.mark.parametrize("kind", typing.get_args(AnyDevice), ids=lambda kind: kind.__name__)
def test_no_field_of_a_device_is_left_out_of_the_comparison(kind):
    """A field that is new in the file has to be told as well; limits and their source have words of their own."""
    told = {key for key, *_ in (*_DEVICE_ASPECTS, *_DEVICE_NUMBERS)}
    in_limits = {"low_ohm", "high_ohm", "ref_celsius", "k", "points", "beta", "steinhart_hart"}
    in_limits |= {"closed_max_ohm", "max_ohm", "source"}
    assert set(kind.__struct_fields__) - told - in_limits <= {"name", "between", "note"}


# --- in words -----------------------------------------------------------------------------


def test_a_line_as_a_sentence():
    hard = row("Features", "mark", "dot", "none", must_match=True)
    assert words_of(hard, one="body 1", other="body 2") == (
        "Features: mark is dot on body 1, none on body 2. This must match."
    )
    only = row("Devices", "Dot", NOT_THERE, "diode, between 4 and case")
    assert words_of(only, one="body 1", other="body 2") == "Devices: only body 2 has Dot: diode, between 4 and case."
    bare = row("Clutches", "Crake", "there", NOT_THERE)
    assert words_of(bare, one="body 1", other="body 2") == "Clutches: only body 1 has Crake."


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        pytest.param([], "No difference: their tables say the same.", id="none"),
        pytest.param(
            [row("Features", "mark", "a", "b", must_match=True)],
            "They differ in 1 point that must match.",
            id="one-hard",
        ),
        pytest.param(
            [row("Ports", "P3", "a", "b"), row("Ports", "P4", "a", "b")],
            "No point that must match differs; they differ in ports (2).",
            id="soft",
        ),
    ],
)
def test_the_whole_in_one_sentence(rows, words):
    assert summary_of(rows) == words
