"""The three variant files of the invented gearbox: they load, hang together and say what they are."""

from __future__ import annotations

import itertools
import json
import re
from pathlib import Path

import pytest

from valvebench.judge.nets import has_path_beside
from valvebench.judge.targets import wanted_electrical
from valvebench.model.variant import Coil, Diode, Electronics, Solenoid, Switch, TemperatureSensor
from valvebench.model.variant_codes import twins
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import CodeState, SourceKind

FOLDER = Path(__file__).parents[3] / "resources" / "variants"
FILES = sorted(FOLDER.glob("*.json"))
BIRDS = {"Gull", "Heron", "Curlew", "Whimbrel", "Plover", "Dunlin", "Knot"} | {
    "Auk", "Brant", "Crake", "Dipper", "Egret", "Fulmar",
}  # fmt: skip


def variant(name):
    path = FOLDER / f"{name}.json"
    return read_variant(path.read_bytes(), source=path.name)


ALL = [variant(path.stem) for path in FILES]
each = pytest.mark.parametrize("body", ALL, ids=lambda body: body.key)


def test_there_are_three_bodies():
    assert [path.stem for path in FILES] == ["tern-body-1", "tern-body-2", "tern-body-3"]


@each
def test_key_is_the_file_name_and_the_note_says_invented(body):
    assert variant(body.key).key == body.key
    assert body.note.startswith("Invented example")


@each
def test_every_source_says_invented(body):
    sources = [device.source for device in body.devices] + [body.isolation.source if body.isolation else None]
    assert all("invented" in source.text for source in sources if source is not None)
    limited = [d for d in body.devices if isinstance(d, Coil) and d.low_ohm is not None]
    assert all(device.source is not None for device in limited)


@each
def test_solenoids_and_clutches_carry_bird_names(body):
    names = [d.name for d in body.devices if isinstance(d, Solenoid)] + list(body.clutches)
    assert set(names) <= BIRDS
    assert not any(re.search(r"\d", name) for name in names)


@each
def test_every_file_is_plain_json_with_one_newline_at_its_end(body):
    raw = (FOLDER / f"{body.key}.json").read_bytes()
    assert raw.endswith(b"}\n")
    assert not raw.endswith(b"\n\n")
    assert json.loads(raw)["format"] == 1


@each
def test_part_numbers_lead_to_one_that_is_still_sold(body):
    by_number = {part.number: part.superseded_by for part in body.part_numbers}
    for start in by_number:
        walked, number = [], start
        while number is not None:
            assert number not in walked
            walked.append(number)
            number = by_number[number]


@each
def test_no_device_has_a_second_path_beside_it(body):
    wired = [device for device in body.devices if not isinstance(device, Diode)]  # a diode lies beside its solenoid
    assert not any(has_path_beside(body, device) for device in wired)


@each
def test_one_clutch_changes_for_another_in_each_forward_shift(body):
    gears = [gear for gear in body.gears if gear.isdigit()]
    assert gears == list("1234567")
    for lower, higher in itertools.pairwise(gears):
        old, new = set(body.apply_chart[lower]), set(body.apply_chart[higher])
        assert (len(old - new), len(new - old)) == (1, 1), f"{lower}-{higher}"


def test_body_1_is_checked_with_a_dipstick_and_has_a_round_connector():
    body = variant("tern-body-1")
    assert (body.fluid.by, body.fluid.low_celsius, body.fluid.high_celsius) == ("dipstick", 70.0, 80.0)
    assert body.faces[0].layout == "ring"
    assert len(body.pins) == 8


def test_body_1_has_a_lever_switch_a_sensor_behind_it_and_a_diode():
    body = variant("tern-body-1")
    assert [code.position for code in body.selector_codes] == ["P", "R", "N", "D", "3", "2"]
    assert twins(body.selector_codes) == ()
    closed = [code.position for code in body.selector_codes if code.switches["Stork"] is CodeState.CLOSED]
    assert closed == ["P", "N"]
    assert body.device_named("Fluid").in_series_with == "Stork"
    assert body.device_named("Dot").across == "Plover"


def test_body_2_pressure_switches_answer_to_the_clutches_their_ports_feed():
    body = variant("tern-body-2")
    fed = {
        device.name: body.port_named(device.closes_with).feeds for device in body.devices if isinstance(device, Switch)
    }
    assert fed == {"Reel": "Auk", "Rill": "Crake"}
    for code in body.pressure_codes:
        applied = {name for name, clutch in fed.items() if clutch in body.apply_chart[code.position]}
        assert {name for name, state in code.switches.items() if state is CodeState.CLOSED} == applied
    assert {code.position for code in body.pressure_codes} == set(body.gears) - {"lock-up"}


def test_body_2_is_the_one_of_the_drawings():
    body = variant("tern-body-2")
    solenoids = [d for d in body.devices if isinstance(d, Solenoid)]
    assert (len(body.pins), len(solenoids), len(body.ports)) == (12, 7, 9)
    pairs = {device.name: device.between for device in body.devices}
    assert pairs["Gull"] == ("1", "2")
    assert pairs["Heron"] == ("3", "11")
    assert pairs["Curlew"] == ("4", "5")
    assert pairs["Plover"] == ("8", "case")
    assert pairs["Fluid"] == ("12", "6")
    assert len([d for d in solenoids if "11" in d.between]) == 4
    assert len([d for d in body.devices if isinstance(d, Switch)]) == 2
    assert any(isinstance(d, TemperatureSensor) for d in body.devices)
    assert body.fluid.by == "overflow"


def test_body_2_shows_every_kind_of_knowledge():
    solenoids = [d for d in variant("tern-body-2").devices if isinstance(d, Solenoid)]
    kinds = {d.source.kind for d in variant("tern-body-2").devices if d.source is not None}
    assert kinds == {SourceKind.MANUAL, SourceKind.MEASURED, SourceKind.MEMORY}
    assert [d.name for d in solenoids if d.low_ohm is None and d.high_ohm is None] == ["Knot"]
    assert [d.name for d in solenoids if d.ref_celsius is None] == ["Plover"]


# Gull is normally open: Auk is applied while it is off; the others apply while they are on.
STEERS = {"Gull": ("Auk", "off"), "Curlew": ("Brant", "on"), "Heron": ("Crake", "on"), "Whimbrel": ("Dipper", "on"),
          "Plover": ("Egret", "on"), "Dunlin": ("Fulmar", "on")}  # fmt: skip


@pytest.mark.parametrize("key", ["tern-body-1", "tern-body-2"])
def test_the_charts_of_a_body_agree(key):
    body = variant(key)
    for gear, states in body.solenoid_chart.items():
        applied = {STEERS[name][0] for name, state in states.items() if name in STEERS and STEERS[name][1] == state}
        steered = {clutch for name, (clutch, _) in STEERS.items() if name in states}
        assert applied == set(body.apply_chart[gear]) & steered, gear


@pytest.mark.parametrize("key", ["tern-body-1", "tern-body-2"])
def test_every_gear_and_lock_up_has_its_own_line_in_both_charts(key):
    body = variant(key)
    assert set(body.apply_chart) == set(body.solenoid_chart) == {*"PRN1234567", "lock-up"}
    driven = [tuple(sorted(body.solenoid_chart[gear].items())) for gear in "R1234567"]
    assert len(set(driven)) == len(driven)


def test_dipper_of_body_1_works_in_a_driven_gear_with_two_other_clutches():
    chart = variant("tern-body-1").apply_chart
    for gear in "R1234567":
        others = set(chart[gear]) - {"Dipper"}
        assert ("Dipper" in chart[gear]) == (len(others) == 2), gear


def test_heron_works_in_the_shift_of_the_complaint():
    chart = variant("tern-body-2").solenoid_chart
    assert (chart["5"]["Heron"], chart["6"]["Heron"]) == ("off", "on")


def test_body_3_must_not_be_probed():
    body = variant("tern-body-3")
    assert body.electronics_on_board
    assert all(isinstance(device, Electronics) for device in body.devices)
    assert wanted_electrical(body) == ()


def looks_of(body, *, must_match=False):
    return {feature.name: feature.this for feature in body.features if feature.must_match or not must_match}


def test_every_two_bodies_differ_in_at_least_six_features():
    for one, other in itertools.combinations(map(looks_of, ALL), 2):
        assert one.keys() == other.keys()
        assert sum(one[name] != other[name] for name in one) >= 6


def test_every_two_bodies_differ_in_a_point_that_must_match():
    for one, other in itertools.combinations([looks_of(body, must_match=True) for body in ALL], 2):
        assert any(one[name] != other[name] for name in one)


def test_most_features_mislead_when_seen_alone():
    """Two of the three bodies share what is seen, so nothing else than the third is ruled out by it."""
    shared = [f.name for f in ALL[0].features if len({looks_of(body)[f.name] for body in ALL}) == 2]
    assert len(shared) >= 6


@each
def test_a_feature_is_asked_alike_of_every_body_at_the_bench_and_by_phone(body):
    def asked(of):
        return [(f.name, f.values, f.must_match, f.ask, f.ask_phone) for f in of.features]

    assert asked(body) == asked(ALL[0])
    for feature in body.features:
        assert feature.this in feature.values
        assert feature.ask_phone.endswith("?")
        assert feature.ask


def test_something_is_ordered_with_every_body():
    assert all(body.order_lines and body.part_numbers for body in ALL)
    assert any(line.number and line.note for body in ALL for line in body.order_lines)
