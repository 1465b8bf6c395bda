"""The published schemas: the files are what the command prints, and they take what the program takes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from valvebench.model.entry import BODY_OF_KIND, GENESIS, Note, encode_line
from valvebench.model.schema import schema_of, schema_text
from valvebench.model.variant_rules import read_variant

ROOT = Path(__file__).parents[3]
VARIANTS = sorted((ROOT / "resources" / "variants").glob("*.json"))
# The shapes of the file contract, invented.
EXAMPLE = json.loads("""
{"format": 1, "key": "tern-body-2", "title": "Quillon Tern, body 2", "note": "invented",
 "faces": [{"name": "A", "layout": "grid", "rows": 2, "columns": 6, "seen_from": "mating"}],
 "pins": [{"name": "3", "face": "A", "x": 0.0, "y": 0.0}, {"name": "11"}, {"name": "8"}, {"name": "12"}, {"name": "6"},
  {"name": "9"}],
 "devices": [
  {"name": "Heron", "kind": "solenoid", "duty": "linear", "between": ["3", "11"], "low_ohm": 4.9, "high_ohm": 5.5,
   "ref_celsius": 20, "k": 234.5, "matched_set": "linear", "source": {"kind": "manual", "text": "page 12"}},
  {"name": "Plover", "kind": "solenoid", "duty": "on_off", "between": ["8", "case"], "low_ohm": 12.0,
   "high_ohm": 15.0, "ref_celsius": null, "source": {"kind": "measured", "text": "one good body", "n": 1}},
  {"name": "Fluid", "kind": "temperature_sensor", "between": ["12", "6"],
   "points": [[20, 2540, 2800], [80, 300, 350]], "source": {"kind": "memory", "text": ""}},
  {"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open", "closes_with": "P3"}],
 "isolation": {"min_ohm": 1000000.0}, "electronics_on_board": false,
 "ports": [{"name": "P3", "place": "body", "x": 0.4, "y": 0.2, "feeds": "Auk", "method": "ear", "kpa_gauge": 250,
  "expect": [{"selector": "D", "solenoids": {"Heron": "on"}, "reaction": "holds"}], "max_ml_min": null}],
 "clutches": ["Auk", "Brant"], "gears": ["1", "2", "R"],
 "apply_chart": {"1": ["Auk"], "2": ["Auk", "Brant"]},
 "solenoid_chart": {"1": {"Heron": "off"}, "2": {"Heron": "on"}},
 "features": [{"name": "plate mark", "values": ["none", "dot"], "this": "dot", "must_match": true, "ask": "Look at it",
  "ask_phone": "Is there one"}],
 "part_numbers": [{"number": "QT-2", "superseded_by": null}], "order_with": [], "fasteners": [], "fluid": null,
 "checklist": []}
""")


def problems(value, schema, whole, path="$"):
    """What JSON Schema 2020-12 says against a value: the keywords that our schemas use, no others."""
    unknown = set(schema) - KEYWORDS
    assert not unknown, f"this small validator does not know {unknown}"
    if "$ref" in schema:
        return problems(value, whole["$defs"][schema["$ref"].removeprefix("#/$defs/")], whole, path)
    found = [f"{path}: {text}" for text in (*_own(value, schema), *_unions(value, schema, whole, path))]
    if isinstance(value, dict):
        found += _members(value, schema, whole, path)
    if isinstance(value, list):
        found += _elements(value, schema, whole, path)
    return found


KEYWORDS = {
    *("$ref", "$defs", "$schema", "title", "description", "default", "format", "discriminator"),
    *("type", "const", "enum", "minimum", "maximum", "exclusiveMinimum", "exclusiveMaximum", "minLength", "maxLength"),
    *("pattern", "properties", "required", "additionalProperties", "items", "prefixItems", "minItems", "maxItems"),
    *("anyOf", "oneOf"),
}
TYPES = {"object": dict, "array": list, "string": str, "boolean": bool, "null": type(None)}


def _is_type(value, name):
    if name in ("number", "integer"):
        return isinstance(value, int if name == "integer" else (int, float)) and not isinstance(value, bool)
    return isinstance(value, TYPES[name])


def _own(value, schema):
    if "type" in schema and not _is_type(value, schema["type"]):
        yield f"no {schema['type']}"
        return
    checks = {
        "const": lambda want: value == want,
        "enum": lambda want: value in want,
        "minimum": lambda want: value >= want,
        "maximum": lambda want: value <= want,
        "exclusiveMinimum": lambda want: value > want,
        "exclusiveMaximum": lambda want: value < want,
        "minLength": lambda want: len(value) >= want,
        "maxLength": lambda want: len(value) <= want,
        "pattern": lambda want: re.search(want, value) is not None,
        "minItems": lambda want: len(value) >= want,
        "maxItems": lambda want: len(value) <= want,
        "required": lambda want: set(want) <= set(value),
    }
    yield from (word for word, check in checks.items() if word in schema and not check(schema[word]))


def _unions(value, schema, whole, path):
    for word, fits in (("anyOf", lambda n: n >= 1), ("oneOf", lambda n: n == 1)):
        if word in schema and not fits(sum(not problems(value, one, whole, path) for one in schema[word])):
            yield word


def _members(value, schema, whole, path):
    known, others = schema.get("properties", {}), schema.get("additionalProperties", True)
    for name, member in value.items():
        if name in known:
            yield from problems(member, known[name], whole, f"{path}.{name}")
        elif others is False:
            yield f"{path}: key {name}"
        elif isinstance(others, dict):
            yield from problems(member, others, whole, f"{path}.{name}")


def _elements(value, schema, whole, path):
    first = schema.get("prefixItems", [])
    rest = schema.get("items", True)
    for i, element in enumerate(value):
        wanted = first[i] if i < len(first) else rest
        if isinstance(wanted, dict):
            yield from problems(element, wanted, whole, f"{path}[{i}]")
        elif wanted is False:
            yield f"{path}: element {i}"


@pytest.mark.parametrize("what", ["variant", "entry"])
def test_the_published_file_is_what_the_command_prints(what):
    path = ROOT / "resources" / "schema" / f"{what}.schema.json"
    assert path.read_text("utf-8") == schema_text(what)


def test_the_example_of_the_contract_is_taken_by_both():
    assert problems(EXAMPLE, schema_of("variant"), schema_of("variant")) == []
    assert read_variant(json.dumps(EXAMPLE).encode(), source="example").key == "tern-body-2"


@pytest.mark.parametrize("path", VARIANTS, ids=lambda path: path.stem)
def test_our_variants_are_taken_by_both(path):
    raw = path.read_bytes()
    assert problems(json.loads(raw), schema_of("variant"), schema_of("variant")) == []
    read_variant(raw, source=path.name)


def test_only_four_keys_are_needed():
    least = {"format": 1, "key": "k", "title": "t", "pins": []}
    assert problems(least, schema_of("variant"), schema_of("variant")) == []
    for name in least:
        without = {key: value for key, value in least.items() if key != name}
        assert problems(without, schema_of("variant"), schema_of("variant"))


@pytest.mark.parametrize(
    "change",
    [
        {"format": 2},
        {"key": "a b"},
        {"gearz": []},
        {"devices": [{"name": "x", "kind": "coil", "between": ["1", "2"]}]},
        {"devices": [{"name": "x", "kind": "solenoid", "between": ["1"]}]},
        {"devices": [{"name": "x", "kind": "solenoid", "between": ["1", "2"], "low_ohm": -1}]},
        {"ports": [{"name": "P", "x": 2}]},
        {"pins": [{"name": 1}]},
    ],
)
def test_the_schema_refuses_what_the_program_refuses(change):
    bad = {"format": 1, "key": "k", "title": "t", "pins": []} | change
    assert problems(bad, schema_of("variant"), schema_of("variant"))
    with pytest.raises(ValueError, match="expected"):
        read_variant(json.dumps(bad).encode(), source="bad")


def test_an_entry_line():
    line = json.loads(encode_line(n=2, at="2031-05-06T10:00:00Z", by="Ann", body=Note(text="x"), prev=GENESIS))
    schema = schema_of("entry")
    assert problems(line, schema, schema) == []
    assert problems(line | {"kind": "notes"}, schema, schema)
    assert problems(line | {"prev": "0"}, schema, schema)
    assert problems(line | {"extra": 1}, schema, schema)
    assert problems(line | {"body": {"text": ""}}, schema, schema)


def test_every_kind_of_entry_is_in_the_schema():
    assert schema_of("entry")["properties"]["kind"]["enum"] == list(BODY_OF_KIND)
