"""How an entry was measured, in words; devices, taps and values are invented."""

from __future__ import annotations

import pytest

from valvebench.model.entry import body_from
from valvebench.report.method_words import of_body

PAIR = {"from": "2", "to": "3", "ohm": 5.4, "celsius": 20.0}


@pytest.mark.parametrize(
    ("kind", "fields", "words"),
    [
        ("reading", PAIR, "resistance by ohmmeter between 2 and 3 at the case connector"),
        (
            "pressure",
            {"tap": "Line", "state": "idle", "kpa_gauge": 452, "fluid_celsius": 80},
            "gauge at tap Line, idle",
        ),
        (
            "switch",
            {"device": "Snipe", "has_air": True, "kpa_gauge": 300, "state": "open"},
            "switch Snipe under air at 300 kPa gauge",
        ),
        ("switch", {"device": "Snipe", "state": "open"}, "switch Snipe at rest"),
        ("solenoid", {"device": "Gull", "click": True}, "Gull clicked and blown through"),
        (
            "air",
            {"port": "A", "result": "pass", "place": "case", "kpa_gauge": 300},
            "air by ear, clutch circuit in the case A at 300 kPa gauge",
        ),
        ("note", {"text": "fluid dark"}, "note"),
    ],
)
def test_each_kind_has_its_sentence(kind, fields, words):
    assert of_body(body_from(kind, fields, source="test")) == words
