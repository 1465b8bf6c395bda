"""The file of priors: complete, with its reasons, and refused in words when something is wrong with it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from valvebench.diagnose.explain_priors import Fault, read_priors, schema_text
from valvebench.model.errors import BadInput

RESOURCES = Path(__file__).parents[3] / "resources"
RAW = json.loads((RESOURCES / "priors.json").read_text("utf-8"))


def read(data):
    return read_priors(json.dumps(data).encode(), source="priors.json")


def changed(**faults):
    return {**RAW, "faults": {**RAW["faults"], **faults}}


def test_the_file_of_the_program():
    priors = read(RAW)
    assert priors.of(Fault.HEALTHY) == 0.4
    assert sum(priors.of(fault) for fault in Fault if fault is not Fault.ONE_BAD_READING) == pytest.approx(1.0)


def test_the_schema_is_that_of_the_type():
    assert (RESOURCES / "schema" / "priors.schema.json").read_text("utf-8") == schema_text()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(changed(healthy={"p": 0.5, "why": "more of them"}), "a sum of 1.1", id="shares do not sum to one"),
        pytest.param(
            {**RAW, "heat": {**RAW["heat"], "copper": {**RAW["heat"]["copper"], "copper": 0.5}}},
            "heat.copper",
            id="what a heat run finds does not sum to one",
        ),
        pytest.param(changed(healthy={"p": 0.4}), "faults", id="no reason"),
        pytest.param(changed(gremlins={"p": 0.0, "why": "unknown word"}), "gremlins", id="unknown fault"),
        pytest.param({**RAW, "faults": {}}, "missing", id="faults missing"),
        pytest.param({**RAW, "format": 2}, "format", id="another format"),
        pytest.param({**RAW, "more": 1}, "more", id="an unknown key"),
    ],
)
def test_a_wrong_file_is_refused_in_words(data, words):
    with pytest.raises(BadInput) as caught:
        read(data)
    assert words in str(caught.value)


def test_the_priors_carry_their_reasons():
    said = ("Common practice, no source", "From memory", "Our choice", "Measured in our heat study")

    def reasons(node):
        if isinstance(node, dict):
            yield from ([node["why"]] if "why" in node else [])
            for part in node.values():
                yield from reasons(part)

    found = list(reasons(RAW))
    assert len(found) > 30
    assert [why for why in found if not why.startswith(said)] == []
