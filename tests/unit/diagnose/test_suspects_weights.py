"""The file of weights: complete, each with its reason, and refused in words when something is wrong with it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from valvebench.diagnose.suspects_weights import Cause, read_weights, schema_text
from valvebench.model.errors import BadInput

RESOURCES = Path(__file__).parents[3] / "resources"
RAW = json.loads((RESOURCES / "suspects.json").read_text("utf-8"))
ONE = {"base": 1.0, "why": "made up for a test"}


def read(data):
    return read_weights(json.dumps(data).encode(), source="suspects.json")


def changed(**causes):
    return {**RAW, "causes": {**RAW["causes"], **causes}}


def test_the_file_of_the_program():
    weights = read(RAW)
    assert set(weights.causes) == {cause.value for cause in Cause}
    assert "no source" in weights.note
    assert "probability" in weights.note


def test_every_number_says_that_it_has_no_source():
    reasons = [cause["why"] for cause in RAW["causes"].values()] + [
        RAW[name]["why"] for name in ("applies", "releases")
    ]
    assert all(why.startswith("Common practice, no source, from memory") for why in reasons)
    assert all(one["why"].startswith("Our choice") for one in (*RAW["found"].values(), RAW["warm_celsius"]))


def test_the_schema_is_that_of_the_type():
    assert (RESOURCES / "schema" / "suspects.schema.json").read_text("utf-8") == schema_text()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(changed(gremlins=ONE), "gremlins", id="unknown cause"),
        pytest.param({**RAW, "causes": {}}, "missing", id="causes missing"),
        pytest.param(changed(wiring={**ONE, "when": {"warm": 2.0}}), "causes.wiring.when.warm", id="unknown time"),
        pytest.param(changed(wiring={**ONE, "feel": {"odd": 2.0}}), "causes.wiring.feel.odd", id="unknown feel"),
        pytest.param(changed(wiring={"base": 1.0}), "why", id="no reason"),
        pytest.param(changed(wiring={**ONE, "base": 0.0}), "base", id="nought"),
        pytest.param({**RAW, "format": 2}, "format", id="another format"),
        pytest.param(
            {**RAW, "found": {**RAW["found"], "good": {"value": 2.0, "why": "made up for a test"}}}, "found", id="order"
        ),
    ],
)
def test_a_wrong_file_is_refused_in_words(data, words):
    with pytest.raises(BadInput) as caught:
        read(data)
    assert words in str(caught.value)
