"""Tables that make no sense together are named with their place; what is meant stays silent.

Each case is built by hand from the invented variant, so that exactly one thing is odd about it.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.data.made_up import variant_data, variant_of
from valvebench.model.draft_field import Part
from valvebench.model.draft_file import draft_of
from valvebench.model.draft_lacks import check_draft
from valvebench.model.variant_checks import doubts_of, forward_gears, library_doubts, separating, shifts_of
from valvebench.model.variant_draft import Spot, with_cells
from valvebench.model.variant_rules import read_variant

FOLDER = Path(__file__).parents[3] / "resources" / "variants"
DEMO = [read_variant(path.read_bytes(), source=path.name) for path in sorted(FOLDER.glob("*.json"))]
SHIFTS = {
    "gears": ["P", "R", "N", "1", "2", "3", "lock-up"],
    "clutches": ["Auk", "Brant", "Crake"],
    "apply_chart": {
        "P": [],
        "R": ["Brant"],
        "N": [],
        "1": ["Auk"],
        "2": ["Auk", "Brant"],
        "3": ["Brant", "Crake"],
        "lock-up": ["Crake"],
    },
    "solenoid_chart": {},
}


def said(**changes):
    return {doubt.path: doubt.words for doubt in doubts_of(variant_of(**changes))}


def feature(name="mark", this="dot", **changes):
    return {"name": name, "values": ["none", "dot"], "this": this, "must_match": True, "ask": "Look", **changes}


def with_device(**device):
    return [*variant_data()["devices"], device]


def test_the_demo_bodies_name_nothing_odd():
    """Reading all three files by hand finds nothing of the kind either: charts are whole, every port has its clutch."""
    assert [doubts_of(variant) for variant in DEMO] == [(), (), ()]
    for variant in DEMO:
        assert library_doubts(variant, [other for other in DEMO if other is not variant]) == ()


def test_shifts_go_from_neutral_both_ways_and_then_gear_by_gear():
    variant = variant_of(**SHIFTS)
    assert forward_gears(variant) == ("1", "2", "3")
    assert shifts_of(variant) == (("N", "1"), ("N", "R"), ("1", "2"), ("2", "3"))


@pytest.mark.parametrize(
    ("chart", "path", "words"),
    [
        pytest.param({"2": []}, ("apply_chart", "2"), "no clutch is on", id="gear-without-clutches"),
        pytest.param({"lock-up": []}, ("apply_chart", "lock-up"), "no clutch is on", id="lock-up-without-clutches"),
        pytest.param({"2": ["Auk"]}, ("apply_chart", "2"), "1-2 changes no clutch: Auk in both", id="shift-alike"),
        pytest.param(
            {"3": ["Brant", "Auk"]}, ("apply_chart", "3"), "2-3 changes no clutch: Brant and Auk", id="other-order"
        ),
        pytest.param({"N": ["Brant"]}, ("apply_chart", "R"), "N-R changes no clutch", id="reverse-like-neutral"),
    ],
)
def test_a_line_of_the_apply_chart_is_named(chart, path, words):
    assert words in said(**SHIFTS | {"apply_chart": SHIFTS["apply_chart"] | chart})[path]


def test_no_clutch_in_park_and_neutral_is_no_doubt():
    assert not [path for path in said(**SHIFTS) if path[0] == "apply_chart"]


def test_gears_without_a_line_are_named_once():
    chart = {gear: on for gear, on in SHIFTS["apply_chart"].items() if gear not in ("N", "2", "3")}
    words = said(**SHIFTS | {"apply_chart": chart})
    assert "for N, 2 and 3: write none" in words["gears", 2]
    assert "no apply chart" in said(**SHIFTS | {"apply_chart": {}})["apply_chart",]
    assert "no solenoid chart" in said(**SHIFTS)["solenoid_chart",]


def test_a_clutch_that_no_gear_applies_is_named():
    assert said(clutches=["Auk", "Brant", "Crake", "Dipper"])["clutches",] == (
        "Crake and Dipper: on in no gear of the apply chart"
    )


def test_a_shift_that_switches_no_solenoid_is_named():
    words = said(solenoid_chart={"1": {"Heron": "on"}, "2": {"Heron": "on"}})
    assert words["solenoid_chart", "2"] == "1-2 switches no solenoid: both lines are alike"


def test_a_solenoid_that_never_switches_and_one_that_the_chart_does_not_have():
    words = said(solenoid_chart={"1": {"Heron": "off", "Gull": "on"}, "2": {"Heron": "on", "Gull": "on"}})
    assert words["devices", 1, "name"] == "never switches: on wherever the chart has it"
    assert words["devices", 2, "name"] == "in no line of the solenoid chart"
    assert ("devices", 0, "name") not in words


def test_a_port_that_feeds_nothing_is_named():
    assert set(said()) >= {("ports", 1, "feeds"), ("ports", 2, "feeds")}
    assert ("ports", 0, "feeds") not in said()


def test_two_devices_on_one_pair_whichever_way_round():
    twin = {"name": "Curlew", "kind": "solenoid", "between": ["11", "3"]}
    assert said(devices=with_device(**twin))["devices", 5, "between"].startswith("on the same two nodes as Heron")


@pytest.mark.parametrize("kind", ["diode", "electronics"])
def test_what_may_share_its_nodes_is_not_named(kind):
    beside = {"name": "Dot", "kind": kind, "between": ["3", "11"]}
    assert ("devices", 5, "between") not in said(devices=with_device(**beside))


def test_a_device_that_no_pin_leads_to():
    inside = {"name": "Curlew", "kind": "solenoid", "between": ["J1", "J2"]}
    assert said(devices=with_device(**inside))["devices", 5, "between"] == "no pin leads to it"
    through = {"name": "Curlew", "kind": "solenoid", "between": ["3", "J2"]}
    assert ("devices", 5, "between") not in said(devices=with_device(**through))


def test_a_chain_of_joints_is_walked_from_its_far_end():
    chain = [
        {"name": "Curlew", "kind": "solenoid", "between": ["J1", "J2"]},
        {"name": "Knot", "kind": "solenoid", "between": ["3", "J1"]},
    ]
    assert "no pin leads to it" not in said(devices=[*variant_data()["devices"], *chain]).values()


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        pytest.param({"this": None}, "this", "what is it on this body?", id="not-said"),
        pytest.param({"values": ["dot"]}, "values", "tells nothing apart", id="one-value"),
        pytest.param({"ask": ""}, "ask", "how to look at it", id="no-question"),
        pytest.param({"must_match": False}, "must_match", "no point must match", id="nothing-must-match"),
    ],
)
def test_a_feature_that_helps_nobody_is_named(changes, key, words):
    assert words in said(features=[feature(**changes)])["features", 0, key]


def test_no_features_at_all():
    assert "tells it from others" in said()["features",]


# --- beside the others of the library -----------------------------------------------------


def other(**changes):
    return variant_of(key="other", title="Other body", **changes)


def test_a_feature_separates_only_where_both_say_what_is_seen():
    one = variant_of(features=[feature(), feature("ears", "three", values=["three", "four"])])
    assert separating(one, other(features=[feature(this="none")])) == ("mark",)
    assert separating(one, other(features=[feature()])) == ()
    assert separating(one, other(features=[feature(this=None)])) == ()
    assert separating(one, other(features=[feature("ears", "four", values=["three", "four"])])) == ("ears",)


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        pytest.param({}, "add one of which both say what is seen", id="nothing-to-see"),
        pytest.param({"pins": [{"name": str(n)} for n in range(1, 14)]}, "12 here and 13 there", id="pins"),
        pytest.param({"ports": [{"name": "P3"}, {"name": "P4"}]}, "3 here and 2 there", id="ports"),
    ],
)
def test_two_that_nothing_separates_are_named_with_what_would(changes, words):
    faces = {"faces": []} if "pins" in changes else {}
    (doubt,) = library_doubts(variant_of(), [other(**changes, **faces)])
    assert doubt.words.startswith("no feature tells it from other (Other body)")
    assert words in doubt.words


def test_one_part_number_for_two_variants():
    numbers = [{"number": "QT-2", "superseded_by": None}]
    marks = {"features": [feature(this="none")]}
    (doubt,) = library_doubts(
        variant_of(part_numbers=numbers, features=[feature()]), [other(part_numbers=numbers, **marks)]
    )
    assert (doubt.path, doubt.words) == (("part_numbers", 0, "number"), "QT-2 also orders other (Other body)")


def test_of_many_others_three_are_named_and_the_rest_is_counted():
    numbers = [{"number": "QT-2", "superseded_by": None}]
    many = [variant_of(key=f"b{i}", title=f"B {i}", part_numbers=numbers) for i in range(5)]
    *named, counted, shared = library_doubts(variant_of(part_numbers=numbers), many)
    assert [doubt.words.split(":")[0][-8:] for doubt in named] == ["b0 (B 0)", "b1 (B 1)", "b2 (B 2)"]
    assert counted.words == "no feature tells it from 2 more"
    assert shared.words == "QT-2 also orders b0 (B 0), b1 (B 1), b2 (B 2) and 2 more"


# --- in the editor's list -----------------------------------------------------------------


def lacks(draft, **changes):
    return {lack.spot: lack for lack in check_draft(draft, **changes).lacks}


def test_doubts_stand_in_the_list_of_the_editor_and_keep_nothing_from_being_saved():
    draft = draft_of(variant_data(apply_chart={"1": ["Auk"], "2": ["Auk"]}))
    found = lacks(draft)
    assert "1-2 changes no clutch" in found[Spot(Part.GEARS, 1, "clutches")].words
    assert found[Spot(Part.PORTS, 1, "feeds")].where == "Port P4, Feeds"
    assert not any(lack.is_wrong for lack in found.values())


def test_doubts_wait_while_something_is_wrong():
    draft = with_cells(draft_of(variant_data()), {Spot(Part.DEVICES, 0, "to"): ""})
    assert Spot(Part.PORTS, 1, "feeds") not in lacks(draft)


def test_the_list_of_the_editor_knows_the_others_but_not_itself():
    draft, itself = draft_of(json.loads(json.dumps(variant_data()))), variant_of()
    words = [lack.words for lack in check_draft(draft, others=[itself, other()]).lacks]
    assert sum("no feature tells it from" in one for one in words) == 1
