"""Public corpora of bad JSON and naughty text through every reader of the model; absent corpora are a skip."""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest

from tests.data.made_up import variant_data
from valvebench.model.entry import GENESIS, KIND_OF_BODY, Note, Outcome, body_from, decode_line, encode_line
from valvebench.model.errors import BadInput
from valvebench.model.strict_json import loads
from valvebench.model.variant_rules import read_variant

FOLDER = Path(os.environ.get("VALVEBENCH_CORPORA") or Path(__file__).parents[4] / "shared" / "corpora")
ON_PURPOSE = {"y_object_duplicated_key.json", "y_object_duplicated_key_and_value.json"}
MARK = "@@@"


def files(folder, prefix=""):
    found = sorted((FOLDER / folder).glob(f"{prefix}*.json")) if FOLDER.is_dir() else []
    if not found:
        pytest.skip(f"no corpus {folder} in the folder that VALVEBENCH_CORPORA names")
    return found


def answer(reader, raw):
    """`accepted` or `refused`; any other exception than BadInput is a failed test."""
    try:
        reader(raw, source="corpus")
    except BadInput as error:
        return "refused" if error.problems and str(error).startswith("corpus: ") else "refused without a word"
    return "accepted"


def counted(reader, paths, wrap=lambda raw: raw):
    return {path.name: answer(reader, wrap(path.read_bytes())) for path in paths}


@pytest.mark.parametrize(
    ("prefix", "files_in_all", "accepted", "refused"),
    [
        pytest.param("n_", 188, 0, 188, id="n_ [JSONTestSuite: must be refused]"),
        pytest.param("y_", 95, 93, 2, id="y_ [JSONTestSuite: accepted, but for two files with a key twice]"),
    ],
)
def test_parsing_corpus(prefix, files_in_all, accepted, refused):
    found = counted(loads, files("json_parsing", prefix))
    said = list(found.values())
    assert (len(said), said.count("accepted"), said.count("refused")) == (files_in_all, accepted, refused)
    assert {name for name, what in found.items() if what == "refused"} >= (ON_PURPOSE if prefix == "y_" else set())


@pytest.mark.parametrize(
    "folder_and_prefix", [("json_parsing", "i_"), ("json_transform", "")], ids=lambda pair: pair[0]
)
def test_what_the_grammar_leaves_open_is_answered_one_way_or_the_other(folder_and_prefix):
    assert set(counted(loads, files(*folder_and_prefix)).values()) <= {"accepted", "refused"}


def in_a_variant(raw):
    """The corpus text as the whole `note` of an otherwise good variant."""
    before, after = json.dumps(variant_data(note=MARK)).encode().split(f'"{MARK}"'.encode())
    return before + raw + after


def in_a_journal(raw):
    line = encode_line(n=1, at="2031-05-04T10:00:00Z", by="bench", body=Note(text=MARK), prev=GENESIS)
    before, after = line.split(f'"{MARK}"'.encode())
    return before + raw + after


PLACES = {
    "variant": (read_variant, in_a_variant),
    "journal line": (decode_line, in_a_journal),
}


@pytest.mark.parametrize("place", PLACES)
def test_bad_json_inside_a_good_file_is_refused(place):
    reader, wrap = PLACES[place]
    found = counted(reader, files("json_parsing", "n_"), wrap)
    assert len(found) == 188
    assert {name for name, what in found.items() if what == "accepted"} == set()


@pytest.mark.parametrize("place", PLACES)
def test_good_json_of_the_wrong_kind_is_refused_and_text_is_taken(place):
    reader, wrap = PLACES[place]
    for path in files("json_parsing", "y_"):
        raw = path.read_bytes()
        is_text = isinstance(json.loads(raw), str)
        is_enough = json.loads(raw) != "" or place == "variant"  # an empty note of a job says nothing
        assert (answer(reader, wrap(raw)) == "accepted") == (is_text and is_enough), path.name


@pytest.mark.parametrize("place", PLACES)
def test_good_json_instead_of_the_file_is_refused(place):
    reader, _ = PLACES[place]
    assert set(counted(reader, [*files("json_parsing"), *files("json_transform")]).values()) == {"refused"}


def naughty():
    path = FOLDER / "naughty_strings.json"
    if not path.is_file():
        pytest.skip("no naughty strings in the folder that VALVEBENCH_CORPORA names")
    return json.loads(path.read_text(encoding="utf-8"))


def test_naughty_text_comes_back_from_a_note():
    strings = naughty()
    assert len(strings) == 515
    for text in strings:
        if not text:
            continue
        line = encode_line(n=7, at="2031-05-04T10:00:00Z", by=text, body=Note(text=text), prev=GENESIS)
        assert b"\n" not in line
        entry = decode_line(line, source="journal")
        assert (entry.body, entry.by) == (Note(text=text), text)


def test_naughty_text_in_a_variant_is_kept_as_typed():
    """All strings at once, in every list of the file; names get a number so that they differ."""
    strings = [text for text in naughty() if len(text) < 180]
    names = [f"{text}|{n}" for n, text in enumerate(strings)]
    solenoid = {"kind": "solenoid", "between": ["3", "11"]}
    data = {
        "format": 1,
        "key": "naughty",
        "title": "naughty",
        "pins": [{"name": name} for name in names],
        "devices": [
            {**solenoid, "name": name, "note": text, "source": {"kind": "manual", "text": text}}
            for name, text in zip(names, strings, strict=True)
        ],
        "ports": [{"name": name, "feeds": text} for name, text in zip(names, strings, strict=True)],
        "features": [{"name": name, "values": [name], "this": name, "ask": name} for name in names],
        "clutches": names,
        "gears": names,
        "apply_chart": {name: [name] for name in names},
        "checklist": strings,
    }
    variant = read_variant(json.dumps(data, ensure_ascii=False).encode(), source="naughty.json")
    assert [pin.name for pin in variant.pins] == names
    assert [device.note for device in variant.devices] == strings
    assert [device.source.text for device in variant.devices] == strings
    assert [port.feeds for port in variant.ports] == strings
    assert [feature.this for feature in variant.features] == names
    assert variant.apply_chart == {name: (name,) for name in names}
    assert list(variant.checklist) == strings


@pytest.mark.parametrize("field", ["title", "note"])
def test_naughty_text_of_the_whole_variant(field):
    for text in naughty():
        if not 0 < len(text) < 200:
            continue
        data = {"format": 1, "key": "naughty", "title": "naughty", "pins": [], field: text}
        variant = read_variant(json.dumps(data, ensure_ascii=False).encode(), source="naughty.json")
        assert getattr(variant, field) == text


# Invented, the least a heat run holds.
HEAT_RUN = {
    "sha256": "0" * 64,
    "size_bytes": 1,
    "found": {
        "n": 12,
        "kind": "copper",
        **{name: {"value": 1.0, "u": 0.1} for name in ("slope_over_copper", "r20_ohm", "at_20_ohm")},
        "coldest_celsius": 22.0,
        "hottest_celsius": 98.0,
        "residual_ohm": 0.01,
        "separable": True,
        "meter": "0.5%+5x0.01",
    },
}

_SIZED = {"value": 1.0, "u": 0.5}
LEAK = {
    "vacuum_kpa": [31.0],
    "method": "vacuum",
    "found": {
        "method": "vacuum",
        "n": 1,
        "leak_ml_min": _SIZED,
        "at_kpa_gauge": -31.0,
        "from_kpa_gauge": -31.0,
        "to_kpa_gauge": -31.0,
        "ref_celsius": 20.0,
        "ref_kpa_abs": 100.0,
        "gauge": "1%+1x1 (kPa)",
    },
}
SWEEP = {
    "sha256": "0" * 64,
    "size_bytes": 9,
    "found": {
        "n": 9,
        "hysteresis_pct_span": {"max": _SIZED, "mean_10_90": _SIZED, "resolved": False},
        **dict.fromkeys(("hysteresis_pct_current", "linearity_pct", "dead_band_ampere")),
        "span_kpa": 600.0,
        "rated_ampere": 1.0,
        "noise_kpa": 1.0,
    },
}

# Every kind whose bodies hold free text, one example each with the text put in.
BODIES = {
    "open-job": lambda t: {"session": f"{t}|", "job": f"{t}|", "kind": "enquiry", "customer": t, "mark": t},
    "reading": lambda t: {"from": f"{t}|", "to": "case", "celsius": 20, "ohm": 5, "note": t, "meter_id": t},
    "air": lambda t: {"port": f"{t}|", "place": "body", "result": "pass", "note": t, "selector": t, "gauge_id": t},
    "switch": lambda t: {"device": f"{t}|", "state": "open", "note": t},
    "solenoid": lambda t: {"device": f"{t}|", "click": True, "note": t},
    "heat-run": lambda t: {**HEAT_RUN, "device": f"{t}|", "file_name": f"{t}|", "column": t, "note": t},
    "flex": lambda t: {"from": f"{t}|", "to": "case", "ohm": [5.2, None], "flexed": f"{t}|", "note": t, "meter_id": t},
    "leak": lambda t: {**LEAK, "port": f"{t}|", "gauge_id": t, "hose_id": t, "note": t},
    "pressure": lambda t: {"tap": f"{t}|", "kpa_gauge": 450, "fluid_celsius": 80, "state": f"{t}|", "note": t},
    "sweep": lambda t: {**SWEEP, "device": f"{t}|", "file_name": f"{t}|", "gauge_id": t, "note": t},
    "feature": lambda t: {"name": f"{t}|", "value": t},
    "complaint": lambda t: {"shift": f"{t}|", "when": t, "feel": t},
    "fluid": lambda t: {"colour": f"{t}|", "smell": t, "debris": t},
    "photo": lambda t: {"sha256": "0" * 64, "file_name": f"{t}|", "of": t, "size_bytes": 1},
    "correct": lambda t: {"entry": 2, "why": f"{t}|", "body": {"text": t}},
    "withdraw": lambda t: {"entry": 2, "why": t},
    "close": lambda t: {"verdict": f"{t}|", "scope": t, "missing": [t]},
    "anchor": lambda t: {"kind": "sent_to_customer", "to": t},
}


@pytest.mark.parametrize("kind", BODIES)
def test_naughty_text_comes_back_from_every_kind(kind):
    for text in naughty():
        if len(text) > 190:
            continue
        body = body_from(kind, BODIES[kind](text))
        line = encode_line(n=3, at="2031-05-04T10:00:00Z", by="bench", body=body, prev=GENESIS)
        assert decode_line(line, source="journal").body == body


def test_every_kind_with_free_text_is_tried():
    without_text = {"note", "outcome", "restore", "meter-check", "connector"}
    assert BODIES.keys() | without_text == set(KIND_OF_BODY.values())
    assert Outcome(fitted=True).fitted
