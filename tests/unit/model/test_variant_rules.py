"""A variant file: everything wrong at once, each with line, path, what was found and what was expected."""

from __future__ import annotations

import json
import time

import pytest

from tests.data.made_up import VARIANT, variant_data, variant_of
from valvebench.model.errors import BadInput
from valvebench.model.validate import path_text
from valvebench.model.variant import Link, Solenoid
from valvebench.model.variant_rules import check_written, read_variant
from valvebench.model.words import CheckTime, Duty, Place, SourceKind

SOLENOID = {"name": "X", "kind": "solenoid", "between": ["1", "2"]}
DIODE = {"name": "X", "kind": "diode", "between": ["1", "2"]}
SENSOR = {"name": "X", "kind": "temperature_sensor", "between": ["1", "2"]}


def problems_of(raw):
    with pytest.raises(BadInput) as caught:
        read_variant(raw if isinstance(raw, bytes) else json.dumps(raw).encode(), source="body.json")
    return caught.value


def test_the_example_is_read():
    variant = variant_of()
    heron = variant.device_named("Heron")
    assert isinstance(heron, Solenoid)
    assert (heron.low_ohm, heron.high_ohm, heron.ref_celsius, heron.k) == (4.9, 5.5, 20.0, 234.5)
    assert heron.source.kind is SourceKind.MANUAL
    assert variant.device_named("Plover").ref_celsius is None
    assert variant.device_between("11", "3") is heron
    assert variant.device_between("1", "2") is None
    assert variant.port_named("P4").expect[0].reaction.value == "bleeds"
    assert variant.port_named("P9") is None
    assert variant.device_named("Kite") is None


def test_a_variant_may_be_nearly_empty():
    variant = read_variant(b'{"format": 1, "key": "k", "title": "t", "pins": []}', source="x")
    assert (variant.devices, variant.isolation, variant.gears, variant.electronics_on_board) == ((), None, (), False)


@pytest.mark.parametrize(
    ("changes", "path", "found", "expected"),
    [
        ({"format": 2}, "format", "2", "one of 1"),
        ({"key": "a b"}, "key", "'a b'", "regex"),
        ({"key": "k" * 101}, "key", "'kkk", "length"),
        ({"title": ""}, "title", "''", "length"),
        ({"pins": {}}, "pins", "{}", "a list"),
        ({"pins": [{"name": "1"}, {"name": "1"}]}, "pins[1].name", "'1'", "a name used once"),
        ({"pins": [{"name": "case"}]}, "pins[0].name", "'case'", "the casting"),
        ({"pins": [{"name": "1", "face": "B"}]}, "pins[0].face", "'B'", "a face of this variant"),
        ({"faces": [{"name": "A"}, {"name": "A"}]}, "faces[1].name", "'A'", "a name used once"),
        ({"faces": [{"name": "A", "layout": "heap"}]}, "faces[0].layout", "'heap'", "one of grid, ring, free"),
        ({"devices": [SOLENOID, SOLENOID]}, "devices[1].name", "'X'", "a name used once"),
        ({"devices": [{**DIODE, "anode": "3"}]}, "devices[0].anode", "'3'", "1 or 2, where it ends"),
        (
            {"devices": [{**SENSOR, "in_series_with": "Stork"}]},
            "devices[0].in_series_with",
            "'Stork'",
            "a switch of this variant",
        ),
        ({"devices": [{**SOLENOID, "kind": "coil"}]}, "devices[0].kind", "'coil'", "solenoid"),
        ({"devices": [{"name": "X"}]}, "devices[0].kind", "None", "solenoid"),
        ({"devices": [7]}, "devices[0]", "7", "an object in braces"),
        ({"devices": [{**SOLENOID, "between": ["1"]}]}, "devices[0].between", "['1']", "length 2"),
        ({"devices": [{**SOLENOID, "between": ["1", "1"]}]}, "devices[0].between", "['1', '1']", "two different nodes"),
        ({"devices": [{**SOLENOID, "low_ohm": 6, "high_ohm": 5}]}, "devices[0].low_ohm", "6", "not above the higher"),
        ({"devices": [{**SOLENOID, "low_ohm": 0}]}, "devices[0].low_ohm", "0", "above zero"),
        ({"devices": [{**SOLENOID, "low_ohm": -1}]}, "devices[0].low_ohm", "-1", ">= 0"),
        ({"devices": [{**SOLENOID, "low_ohm": "4.9"}]}, "devices[0].low_ohm", "'4.9'", "a number"),
        ({"devices": [{**SOLENOID, "ref_celsius": 200}]}, "devices[0].ref_celsius", "200", "-50 to 180"),
        ({"devices": [{**SOLENOID, "k": 20}]}, "devices[0].k", "20", "> 50"),
        ({"devices": [{**SOLENOID, "duty": "on-off"}]}, "devices[0].duty", "'on-off'", "one of linear, pulsed, on_off"),
        ({"devices": [{**SOLENOID, "lowohm": 4}]}, "devices[0].lowohm", "'lowohm'", "a key this program knows"),
        ({"devices": [{**SENSOR, "points": [[20, 9, 8]]}]}, "devices[0].points[0]", "9", "not above the higher"),
        ({"devices": [{**SENSOR, "points": [[999, 8, 9]]}]}, "devices[0].points[0]", "999", "-50 to 180"),
        (
            {"devices": [{**SENSOR, "points": [[20, 8, 9], [20, 8, 9]]}]},
            "devices[0].points",
            "a temperature twice",
            "one row for each",
        ),
        ({"devices": [{**SENSOR, "points": [[20, 0, 9]]}]}, "devices[0].points[0]", "[20, 0, 9]", "> 0"),
        (
            {
                "devices": [{"name": "R", "kind": "switch", "between": ["1", "2"], "closes_with": "P33"}],
                "ports": [{"name": "P3"}],
            },
            "devices[0].closes_with",
            "'P33'",
            "a port",
        ),
        ({"isolation": {"min_ohm": 0}}, "isolation.min_ohm", "0", "> 0"),
        ({"ports": [{"name": "P"}, {"name": "P"}]}, "ports[1].name", "'P'", "a name used once"),
        ({"ports": [{"name": "P", "x": 1.5}]}, "ports[0].x", "1.5", "<= 1"),
        (
            {"ports": [{"name": "P", "expect": [{"reaction": "comes_out"}]}]},
            "ports[0].expect[0].at",
            "nothing",
            "where the air",
        ),
        (
            {"ports": [{"name": "P", "expect": [{"reaction": "comes_out", "at": "Q"}]}]},
            "ports[0].expect[0].at",
            "'Q'",
            "a port",
        ),
        (
            {"ports": [{"name": "P", "expect": [{"reaction": "holds", "solenoids": {"Hern": "on"}}]}]},
            "ports[0].expect[0].solenoids.Hern",
            "'Hern'",
            "a solenoid",
        ),
        ({"apply_chart": {"9": []}}, "apply_chart.9", "'9'", "a gear"),
        ({"apply_chart": {"1": ["Owl"]}}, "apply_chart.1[0]", "'Owl'", "a clutch"),
        ({"solenoid_chart": {"9": {}}}, "solenoid_chart.9", "'9'", "a gear"),
        ({"solenoid_chart": {"1": {"Owl": "on"}}}, "solenoid_chart.1.Owl", "'Owl'", "a solenoid"),
        ({"features": [{"name": "f"}, {"name": "f"}]}, "features[1].name", "'f'", "a name used once"),
        ({"features": [{"name": "f", "values": ["a"], "this": "b"}]}, "features[0].this", "'b'", "one of the values"),
        ({"electronics_on_board": "no"}, "electronics_on_board", "'no'", "true or false"),
        ({"fluid": {"by": "eye"}}, "fluid.by", "'eye'", "one of overflow, dipstick"),
        ({"fasteners": [{"place": "rim", "torque_nm": 0}]}, "fasteners[0].torque_nm", "0", "> 0"),
        ({"checklist": [{"text": "x", "when": "later"}]}, "checklist[0].when", "'later'", "one of before_opening"),
        ({"checklist": [5]}, "checklist[0]", "5", "a text in quotes, or an object in braces"),
        ({"order_with": [{"number": "Q"}]}, "order_with[0].text", "nothing", "it is needed"),
        (
            {"pictures": {"body": {"sha256": "0" * 64, "file": "../photo.png"}}},
            "pictures.body.file",
            "'../photo.png'",
            "regex",
        ),
        ({"pictures": {"body": {"sha256": "12", "file": "photo.png"}}}, "pictures.body.sha256", "'12'", "regex"),
        ({"colour": "red"}, "colour", "'colour'", "a key this program knows"),
    ],
)
def test_one_fault(changes, path, found, expected):
    bare = {"format": 1, "key": "k", "title": "t", "pins": [], "gears": ["1"], "clutches": ["Auk"]}
    error = problems_of({**bare, **changes})
    (problem,) = error.problems
    assert problem.where == path
    assert problem.found.startswith(found)
    assert expected in problem.expected
    assert problem.line == 1


@pytest.mark.parametrize(
    ("changes", "path", "found", "expected"),
    [
        ({"fluid": {"by": "dipstick", "low_celsius": 200}}, "fluid.low_celsius", "200", "-50 to 180"),
        ({"fluid": {"by": "dipstick", "low_celsius": 80, "high_celsius": 70}}, "fluid.low_celsius", "80", "not above"),
        ({"fasteners": [{"place": "rim", "count": 0}]}, "fasteners[0].count", "0", "at least 1"),
        ({"fasteners": [{"place": "rim", "order": 0}]}, "fasteners[0].order", "0", "a turn from 1 on"),
        ({"part_numbers": [{"number": "Q"}, {"number": "Q"}]}, "part_numbers[1].number", "'Q'", "named once"),
        (
            {"part_numbers": [{"number": "Q", "superseded_by": "Q"}]},
            "part_numbers[0].superseded_by",
            "'Q'",
            "does not lead back",
        ),
    ],
)
def test_a_rule_for_writing_refuses_no_file_that_is_there(changes, path, found, expected):
    data = {"format": 1, "key": "k", "title": "t", "pins": [], **changes}
    assert read_variant(json.dumps(data).encode(), source="older file").key == "k"
    variant, ((where, problem),) = check_written(data)
    assert variant is None
    assert path_text(where) == path
    assert problem.found.startswith(found)
    assert expected in problem.expected


def test_numbers_that_lead_round_are_told_at_each_of_them():
    chain = [{"number": "A", "superseded_by": "B"}, {"number": "B", "superseded_by": "A"}, {"number": "C"}]
    _, findings = check_written({**variant_data(), "part_numbers": chain})
    wheres = [path_text(path) for path, _ in findings]
    assert wheres == ["part_numbers[0].superseded_by", "part_numbers[1].superseded_by"]


def test_a_bare_text_of_an_older_file_is_a_required_line():
    lines = ["Screen clean", {"text": "Trim code entered", "required": False, "when": "after"}]
    order = ["seal set", {"text": "pan screen", "number": "QT-F2", "note": "invented"}]
    variant = variant_of(checklist=lines, order_with=order)
    first, second = variant.checklist_lines
    assert (first.text, first.required, first.when) == ("Screen clean", True, None)
    assert (second.text, second.required, second.when) == ("Trim code entered", False, CheckTime.AFTER)
    assert [(line.text, line.number) for line in variant.order_lines] == [("seal set", None), ("pan screen", "QT-F2")]


def test_a_photo_belongs_to_a_place():
    photo = {"sha256": "a" * 64, "file": "lower half.jpg"}
    variant = variant_of(pictures={"case": photo})
    assert variant.pictures.of(Place.BODY) is None
    assert [picture.file for picture in variant.named_pictures] == ["lower half.jpg"]
    assert variant_of().named_pictures == ()


BAD = b"""{
  "format": 1,
  "title": "Quillon Tern, body 9",
  "pins": [
    {"name": "1"},
    {"nmae": "2"}
  ],
  "devices": [
    {"name": "Heron", "kind": "solenoid", "between": ["3", "11"],
     "low_ohm": "4.9",
     "duty": "linaer"},
    {"name": "Gull",
     "kind": "solenoids", "between": ["4", "11"]},
    {"name": "Reel", "kind": "switch", "between": "9"}
  ],
  "isolation": {"min_ohm": 0}
}"""


def test_all_faults_of_shape_at_once_each_with_its_line():
    """Lines counted by hand in the text above."""
    error = problems_of(BAD)
    assert {(problem.line, problem.where) for problem in error.problems} == {
        (1, "key"),
        (6, "pins[1].nmae"),
        (6, "pins[1].name"),
        (10, "devices[0].low_ohm"),
        (11, "devices[0].duty"),
        (13, "devices[1].kind"),
        (14, "devices[2].between"),
        (16, "isolation.min_ohm"),
    }
    text = str(error)
    assert text.count("body.json: line ") == 8
    for words in ("Did you mean name?", "Did you mean linear?", "Did you mean solenoid?", "without quotes"):
        assert words in text


def test_all_faults_of_sense_at_once_each_with_its_line():
    lines = json.dumps(
        variant_data(
            pins=[{"name": "1"}, {"name": "1"}],
            apply_chart={"7": ["Auk"]},
            devices=[{**SOLENOID, "low_ohm": 6.0, "high_ohm": 5.0}, {**SENSOR, "name": "Y", "between": ["1", "1"]}],
        ),
        indent=1,
    )
    error = problems_of(lines.encode())
    found = {problem.where: problem.line for problem in error.problems}
    assert found.keys() >= {
        "pins[1].name",
        "apply_chart.7",
        "devices[0].low_ohm",
        "devices[1].between",
        "pins[0].face",
    } - {"pins[0].face"}
    numbered = lines.splitlines()
    assert '"low_ohm": 6.0' in numbered[found["devices[0].low_ohm"] - 1]
    assert '"7"' in numbered[found["apply_chart.7"] - 1]


def test_two_thousand_faults_take_seconds_not_minutes():
    bad = {**SOLENOID, "low_ohm": "x"}
    data = variant_data(devices=[{**bad, "name": f"D{n}"} for n in range(2000)])
    begin = time.perf_counter()
    assert len(problems_of(data).problems) == 2000
    assert time.perf_counter() - begin < 10.0


@pytest.mark.parametrize("raw", [b"[]", b'"x"', b"null", b"1", b"{}"])
def test_another_json_than_an_object(raw):
    error = problems_of(raw)
    assert all(problem.line is not None or raw != b"{}" for problem in error.problems)
    assert "body.json" in str(error)


def test_a_long_value_is_shown_short():
    problem = problems_of(variant_data(title=["x" * 500])).problems[0]
    assert len(problem.found) <= 80


def test_every_kind_of_device_is_read():
    kinds = ["solenoid", "temperature_sensor", "speed_sensor", "switch", "diode", "link", "electronics"]
    devices = [{"name": kind, "kind": kind, "between": ["1", "2"]} for kind in kinds]
    variant = variant_of(devices=devices, ports=[], solenoid_chart={})
    assert [device.name for device in variant.devices] == kinds
    assert isinstance(variant.device_named("link"), Link)
    assert Duty.LINEAR.value == "linear"


def test_the_example_is_not_changed_by_reading_it():
    before = json.dumps(VARIANT)
    variant_of(note="other")
    assert json.dumps(VARIANT) == before
