"""A small invented body for suspects: six clutches, four solenoids, charts small enough to answer by hand."""

from __future__ import annotations

import json
from typing import Any

from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant

DATA: dict[str, Any] = {
    "format": 1,
    "key": "tern-suspects",
    "title": "Quillon Tern, small body",
    "note": "invented",
    "pins": [{"name": str(name)} for name in range(1, 8)],
    "devices": [
        *(
            {"name": name, "kind": "solenoid", "between": [str(pin), "7"], "low_ohm": 5.0, "high_ohm": 6.0}
            for pin, name in enumerate(("Gull", "Heron", "Knot", "Dunlin"), start=1)
        ),
        {"name": "Fluid", "kind": "temperature_sensor", "between": ["5", "6"], "points": [[20, 2500, 2800]]},
    ],
    "ports": [
        {"name": "P1", "place": "case", "feeds": "Crake", "expect": [{"reaction": "thud"}]},
        {"name": "P2", "place": "body", "feeds": "Crake", "expect": [{"reaction": "holds"}]},
        {"name": "P3", "place": "body", "feeds": "Brant", "expect": [{"reaction": "holds"}]},
        {"name": "P4", "place": "body", "feeds": "line", "expect": [{"reaction": "holds"}]},
    ],
    "clutches": ["Auk", "Brant", "Crake", "Dipper", "Fulmar"],
    "gears": ["P", "R", "N", "1", "2", "3", "lock-up"],
    "apply_chart": {
        "P": [],
        "R": ["Crake", "Dipper"],
        "N": [],
        "1": ["Auk", "Dipper"],
        "2": ["Auk", "Crake"],
        "3": ["Brant", "Crake"],
        "lock-up": ["Fulmar"],
    },
    "solenoid_chart": {
        "P": {"Gull": "off", "Heron": "off", "Knot": "off"},
        "R": {"Gull": "off", "Heron": "on", "Knot": "off"},
        "N": {"Gull": "off", "Heron": "off", "Knot": "off"},
        "1": {"Gull": "on", "Heron": "off", "Knot": "off"},
        "2": {"Gull": "on", "Heron": "on", "Knot": "off"},
        "3": {"Gull": "off", "Heron": "on", "Knot": "on"},
        "lock-up": {"Dunlin": "on"},
    },
}


def body(**changed: Any) -> Variant:
    """The body with other charts."""
    return read_variant(json.dumps({**DATA, **changed}).encode(), source="made up")


BODY = body()
