"""Every kind of entry: its bytes, its way back, and what is refused."""

from __future__ import annotations

import hashlib
import json

import pytest

from valvebench.model.entry import (
    BODY_OF_KIND,
    DATA_KINDS,
    GENESIS,
    KIND_OF_BODY,
    TAIL_KINDS,
    FluidFound,
    Note,
    Reading,
    body_from,
    decode_line,
    encode_line,
    sha256_of,
)
from valvebench.model.errors import BadInput
from valvebench.model.words import AccessPoint, LeadState

AT, BY = "2031-05-04T10:00:00Z", "bench"
HASH = "ab" * 32
READING = {"from": "3", "to": "11", "celsius": 23.5, "ohm": 5.2}
# Invented: a contact that grows with heat, and one opening.
FOUND = {
    "n": 360,
    "kind": "grows_with_heat",
    "slope_over_copper": {"value": 1.4, "u": 0.02},
    "r20_ohm": {"value": 5.2, "u": 0.03},
    "at_20_ohm": {"value": 5.2, "u": 0.03},
    "grows_from_celsius": {"value": 61.5, "u": 2.5},
    "excess_ohm_at_hottest": {"value": 0.75, "u": 0.05},
    "coldest_celsius": 22.0,
    "hottest_celsius": 98.5,
    "lag_s": {"value": 45.5, "u": 4.5},
    "residual_ohm": 0.0125,
    "separable": True,
    "meter": "0.5%+5x0.01",
    "events": [{"kind": "open", "t_s": 812.5, "probe_celsius": 97.0, "coil_celsius": 94.5, "heating": True}],
}
# Invented: a step while the harness was flexed.
FLEX_FOUND = {
    "n": 40,
    "middle_ohm": 5.25,
    "spread_ohm": 0.0125,
    "drift_ohm": 0.5,
    "meter": "0.5%+5x0.01",
    "is_enough": True,
    "events": [{"kind": "step", "sample": 21, "t_s": 10.5, "size_ohm": {"value": 0.5, "u": 0.03125}}],
}
FLEX = {"from": "3", "to": "11", "flexed": "the inner conductor plate"}
FLEX_FILE = {"sha256": HASH, "file_name": "flex.csv", "size_bytes": 512, "column": "ohm", "found": FLEX_FOUND}
# Invented: a leak by two gauges, and a sweep without a loop that stands out.
LEAK_FOUND = {
    "method": "steady",
    "n": 1,
    "leak_ml_min": {"value": 240.75, "u": 8.5},
    "at_kpa_gauge": 20.0,
    "from_kpa_gauge": 20.0,
    "to_kpa_gauge": 20.0,
    "ref_celsius": 20.0,
    "ref_kpa_abs": 100.0,
    "law": "orifice",
    "lines": [{"term": "restriction", "u_ml_min": 7.25}, {"term": "supply gauge", "u_ml_min": 4.5, "dof": 4.0}],
    "gauge": "1%+1x1 (kPa)",
    "gauge_is_assumed": True,
}
LEAK = {"port": "P4", "method": "steady", "restriction_c": 0.001, "found": LEAK_FOUND}
AIR_FILE = {"sha256": HASH, "file_name": "air.csv", "size_bytes": 512}
SWEEP_FOUND = {
    "n": 42,
    "hysteresis_pct_span": {
        "max": {"value": 0.25, "u": 0.25},
        "mean_10_90": {"value": 0.0, "u": 0.125},
        "resolved": False,
    },
    "hysteresis_pct_current": None,
    "linearity_pct": None,
    "dead_band_ampere": {"value": 0.0875, "u": 0.0125},
    "span_kpa": 600.0,
    "rated_ampere": 1.0,
    "noise_kpa": 1.25,
}
HEAT_RUN = {"device": "Heron", "sha256": HASH, "file_name": "run.csv", "size_bytes": 4096, "found": FOUND}
EXAMPLES = [
    ("open-job", {"session": "s", "job": "4711", "kind": "bench_check"}),
    (
        "open-job",
        {"session": "s", "job": "4711", "variant": HASH, "odometer_km": 120000.5, "require_air": True, "shift": "5-6"},
    ),
    ("reading", READING),
    ("reading", {**READING, "at": "vehicle_plug", "leads": "subtract", "lead_ohm": 0.2, "meter": "0.9%+2x0.1"}),
    ("reading", {"from": "3", "to": "case", "celsius": 23.0, "open": True, "range_ohm": 6e7}),
    ("reading", {"from": "3", "to": "11", "celsius": 23.0, "repeats_ohm": [5.1, 5.2], "rule": "proved5"}),
    ("reading", {"from": "Heron.1", "to": "Heron.2", "celsius": 20.0, "ohm": 5.0, "at": "device_terminals"}),
    ("reading", {**READING, "celsius": 88.5, "round": 4}),
    ("meter-check", {"check_ohm": 5.0, "read_ohm": 5.2, "zero_read_ohm": 0.2}),
    ("meter-check", {"check_ohm": 5.0, "read_ohm": 5.0, "leads": "nulled", "range_ohm": 400.0, "meter_id": "blue"}),
    ("air", {"port": "P4", "place": "case", "result": "bleeds", "solenoids": {"Heron": "on"}, "kpa_gauge": 250.0}),
    ("switch", {"device": "Reel", "state": "open", "kpa_gauge": 250.0}),
    ("solenoid", {"device": "Heron", "click": True, "air_off": "holds", "air_on": "flows"}),
    ("heat-run", HEAT_RUN),
    ("heat-run", {**HEAT_RUN, "column": "Heron", "is_soaked": True, "meter": "0.5%+5x0.01", "celsius_accuracy": 3.0}),
    ("flex", {**FLEX, "ohm": [5.25, None, 5.5], "t_s": [0.0, 0.5, 1.0]}),
    ("flex", {**FLEX, "ohm": [5.25], "follows": 7, "celsius": 23.5, "leads": "subtract", "lead_ohm": 0.25}),
    ("flex", {**FLEX, **FLEX_FILE, "at": "vehicle_plug"}),
    ("leak", {**LEAK, "supply_kpa_gauge": [300.0], "port_kpa_gauge": [20.0], "gauge_id": "blue", "rule": "proved5"}),
    ("leak", {**LEAK, **AIR_FILE, "hose_id": "short", "reference": "dry0", "max_ml_min": 400.0}),
    ("pressure", {"tap": "Line", "kpa_gauge": 450.0, "fluid_celsius": 80.0, "state": "idle", "gauge": "1%+1x1"}),
    ("sweep", {**AIR_FILE, "device": "Heron", "rated_ampere": 1.0, "found": SWEEP_FOUND}),
    ("feature", {"name": "plate mark", "value": "dot", "seen": "phone"}),
    ("fluid", {"colour": "brown", "debris": "none"}),
    ("fluid", {"cooler": "not_flushed"}),
    ("complaint", {"shift": "4-5", "when": "hot", "feel": "late"}),
    ("connector", {"pins": 12, "rows": 3}),
    ("photo", {"sha256": HASH, "file_name": "a.jpg", "of": "the plate", "size_bytes": 12}),
    ("note", {"text": "a \u00e4 \u2028 line"}),
    ("correct", {"entry": 2, "why": "typing error", "body": READING}),
    ("withdraw", {"entry": 2, "why": "wrong pair"}),
    ("withdraw", {"entry": 2}),
    ("restore", {"entry": 3}),
    ("close", {"verdict": "pass", "scope": "2 of 2 electrical", "rule": "plain", "missing": ["Heron"]}),
    ("outcome", {"fitted": True, "comeback": "hot", "months": 6.0}),
    ("anchor", {"kind": "tag_handed_over", "to": "customer"}),
]


@pytest.mark.parametrize(("kind", "data"), EXAMPLES, ids=[f"{kind}-{n}" for n, (kind, _) in enumerate(EXAMPLES)])
def test_there_and_back(kind, data):
    body = body_from(kind, data)
    assert type(body) is BODY_OF_KIND[kind]
    line = encode_line(n=3, at=AT, by=BY, body=body, prev=HASH)
    entry = decode_line(line, source="line 3")
    assert (entry.n, entry.at, entry.by, entry.kind, entry.body, entry.prev) == (3, AT, BY, kind, body, HASH)
    assert entry.sha256 == hashlib.sha256(line).hexdigest()
    assert b"\n" not in line
    written = json.loads(line)
    assert written["body"].items() <= {**data, **defaults(kind, data)}.items()


def defaults(kind, data):
    """Only what was said is written: a default that was stated may be left out."""
    return {key: value for key, value in data.items() if value is not None}


def test_every_kind_has_an_example():
    assert {kind for kind, _ in EXAMPLES} == set(BODY_OF_KIND)
    assert {KIND_OF_BODY[body] for body in BODY_OF_KIND.values()} == set(BODY_OF_KIND)


def test_kinds_fall_into_three_groups():
    assert {"outcome", "anchor"} == TAIL_KINDS
    assert set(BODY_OF_KIND) - DATA_KINDS - TAIL_KINDS == {"open-job", "correct", "withdraw", "restore", "close"}


@pytest.mark.parametrize(
    ("kind", "data", "where", "words"),
    [
        ("weather", {}, "kind", "one of air, anchor"),
        ("reading", {**READING, "to": "3"}, "to", "another node"),
        ("reading", {**READING, "celsius": 999}, "celsius", "-50 to 180"),
        ("reading", {**READING, "ohm": "5.2"}, "ohm", "a number"),
        ("reading", {**READING, "ohms": 5.2}, "ohms", "a key this program knows"),
        ("reading", {**READING, "at": "plug"}, "at", "one of vehicle_plug"),
        ("reading", {**READING, "leads": "null"}, "leads", "one of nulled"),
        ("reading", {**READING, "celsius_accuracy": -1}, "celsius_accuracy", ">= 0"),
        ("reading", {**READING, "from": ""}, "from", "length"),
        ("reading", {"from": "3", "to": "11", "ohm": 5.2}, "celsius", "it is needed"),
        ("reading", [], "file", "an object in braces"),
        ("meter-check", {"check_ohm": 5.0, "read_ohm": 5.0}, "check-ohm", "tips shorted"),
        ("meter-check", {"check_ohm": 0, "read_ohm": 5.0, "leads": "nulled"}, "check-ohm", "above zero"),
        ("meter-check", {"check_ohm": 5, "read_ohm": 5, "leads": "nulled", "meter": "good"}, "meter", "percent"),
        ("meter-check", {"check_ohm": 5, "read_ohm": 0.1, "leads": "subtract", "lead_ohm": 0.2}, "check-read", "tips"),
        ("air", {"port": "P4", "place": "car", "result": "pass"}, "place", "one of case, body"),
        ("air", {"port": "P4", "place": "body", "result": "pass", "kpa_gauge": 1e6}, "kpa_gauge", "<= 10000"),
        (
            "air",
            {"port": "P4", "place": "body", "result": "pass", "solenoids": {"Heron": "up"}},
            "solenoids.Heron",
            "on",
        ),
        ("air", {"port": "P4", "place": "body", "result": "pass", "solenoids": []}, "solenoids", "an object"),
        ("fluid", {}, "fluid", "one of colour"),
        ("complaint", {}, "complaint", "one of shift, when or feel"),
        ("complaint", {"shift": ""}, "complaint", "one of shift, when or feel"),
        ("fluid", {"colour": ""}, "fluid", "one of colour, smell, level, debris or cooler"),
        ("fluid", {"cooler": "rinsed"}, "cooler", "one of flushed, replaced, not_flushed, not_known"),
        ("photo", {"sha256": "xyz", "file_name": "a", "of": "b", "size_bytes": 1}, "sha256", "regex"),
        ("note", {"text": ""}, "text", "length"),
        ("note", {"text": "x" * 10_001}, "text", "length"),
        ("correct", {"entry": 0, "why": "x", "body": {}}, "entry", ">= 1"),
        ("correct", {"entry": 2, "why": "", "body": {}}, "why", "length"),
        ("withdraw", {"entry": 1.5}, "entry", "a whole number"),
        ("outcome", {}, "outcome", "fitted, comeback"),
        ("anchor", {"kind": "attic"}, "kind", "one of own_archive"),
    ],
)
def test_refused(kind, data, where, words):
    with pytest.raises(BadInput) as caught:
        body_from(kind, data, source="entry 7")
    (problem,) = caught.value.problems
    assert problem.where == where
    assert words in problem.expected
    assert str(caught.value).startswith("entry 7: ")


def test_all_faults_of_a_body_are_said_together():
    data = {"from": "3", "celsius": "warm", "ohm": True, "ledas": "nulled", "at": "vehicle-plug"}
    with pytest.raises(BadInput) as caught:
        body_from("reading", data)
    assert {problem.where for problem in caught.value.problems} == {"to", "celsius", "ohm", "ledas", "at"}
    assert "Did you mean leads?" in str(caught.value)
    assert "Did you mean vehicle_plug?" in str(caught.value)


GOOD = encode_line(n=1, at=AT, by=BY, body=Note(text="x"), prev=GENESIS)


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d.pop("prev"),
        lambda d: d.update(extra=1),
        lambda d: d.update(n="1"),
        lambda d: d.update(n=True),
        lambda d: d.update(n=1.0),
        lambda d: d.update(at=5),
        lambda d: d.update(by=None),
        lambda d: d.update(body=[]),
        lambda d: d.update(kind="weather"),
        lambda d: d.update(kind=7),
    ],
)
def test_a_line_of_another_shape_is_refused(change):
    data = json.loads(GOOD)
    change(data)
    with pytest.raises(BadInput, match=r"journal\.jsonl"):
        decode_line(json.dumps(data).encode(), source="journal.jsonl")


@pytest.mark.parametrize("line", [b"[]", b"null", b'"x"', b"", b"{", GOOD[:-1], GOOD + b"x"])
def test_a_torn_line_is_refused(line):
    with pytest.raises(BadInput):
        decode_line(line, source="journal.jsonl")


def test_the_hash_is_that_of_the_bytes():
    """FIPS 180-2, appendix B.1: the three letters abc."""
    assert sha256_of(b"abc") == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert GENESIS == "0" * 64


def test_a_pair_has_no_order():
    one = body_from("reading", READING)
    other = body_from("reading", {**READING, "from": "11", "to": "3"})
    assert isinstance(one, Reading)
    assert one.pair == other.pair == frozenset(("3", "11"))
    assert one.at is AccessPoint.CASE_CONNECTOR
    assert one.leads is LeadState.NEITHER


def test_fluid_of_an_old_journal_reads_as_before():
    """A line as it was written before there was a word for the cooler."""
    old = f'{{"n":2,"at":"{AT}","by":"{BY}","kind":"fluid","body":{{"colour":"brown"}},"prev":"{GENESIS}"}}'.encode()
    entry = decode_line(old, source="journal.jsonl")
    assert entry.body == FluidFound(colour="brown", cooler=None)
    assert encode_line(n=2, at=AT, by=BY, body=entry.body, prev=GENESIS) == old
