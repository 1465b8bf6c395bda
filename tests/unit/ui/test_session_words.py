"""What the strip says of a session."""

from __future__ import annotations

import json

import pytest

from valvebench.model.variant_rules import read_variant
from valvebench.ui.session_words import variant_words


@pytest.mark.parametrize(
    ("coils", "words"), [(1, "2 pins, 1 solenoid, 0 ports"), (2, "2 pins, 2 solenoids, 0 ports")], ids=str
)
def test_one_is_no_plural(coils, words):
    pins = [{"name": "1"}, {"name": "2"}]
    devices = [{"name": f"Gull {n}", "kind": "solenoid", "between": ["1", "2"]} for n in range(coils)]
    raw = {"format": 1, "key": "t", "title": "Tern, invented", "pins": pins, "devices": devices}
    assert variant_words(read_variant(json.dumps(raw).encode(), source="test")) == ("Tern, invented", words)
