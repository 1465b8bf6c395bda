"""The file of what is taken as given: complete, with its reasons, refused in words when something is wrong with it."""

from __future__ import annotations

import json

import pytest

from tests.unit.diagnose.identify_library import RESOURCES
from valvebench.diagnose.identify_priors import read_identify_priors, schema_text
from valvebench.model.errors import BadInput
from valvebench.model.words import Seen

RAW = json.loads((RESOURCES / "identify.json").read_text("utf-8"))


def read(data):
    return read_identify_priors(json.dumps(data).encode(), source="identify.json")


def with_value(value, *path):
    data = json.loads(json.dumps(RAW))
    place = data
    for name in path:
        place = place[name]
    place["value"] = value
    return data


def test_the_file_of_the_program():
    assert [read(RAW).misread.of(seen) for seen in (Seen.US, Seen.PHOTO, Seen.PHONE)] == [0.05, 0.08, 0.2]


def test_the_schema_is_that_of_the_type():
    assert (RESOURCES / "schema" / "identify.schema.json").read_text("utf-8") == schema_text()


@pytest.mark.parametrize(
    ("data", "words"),
    [
        pytest.param(with_value(1.0, "none_of_these"), "none_of_these: found 1", id="no share"),
        pytest.param(with_value(0.6, "misread", "phone"), "misread.phone: found 0.6", id="wrong more often than right"),
        pytest.param(with_value(1e8, "electrical", "lowest_ohm"), "less than highest_ohm", id="ends changed over"),
        pytest.param(with_value(0.0, "misread", "us"), "misread.us", id="never wrong"),
        pytest.param({**RAW, "none_of_these": {"value": 0.02}}, "why", id="no reason"),
        pytest.param({**RAW, "more": 1}, "more", id="an unknown key"),
    ],
)
def test_a_wrong_file_is_refused_in_words(data, words):
    with pytest.raises(BadInput) as caught:
        read(data)
    assert words in str(caught.value)


def test_every_number_carries_its_reason():
    said = ("Common practice, no source", "From memory", "Our choice")

    def reasons(node):
        if isinstance(node, dict):
            yield from ([node["why"]] if "why" in node else [])
            for part in node.values():
                yield from reasons(part)

    found = list(reasons(RAW))
    assert len(found) == 14
    assert [why for why in found if not why.startswith(said)] == []
