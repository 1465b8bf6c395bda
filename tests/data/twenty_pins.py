"""A body with twenty pins and two common ones, and what a meter reads on it: all invented.

Readings come from the pseudo-inverse of the Laplacian of the circuit, by code of its own: what is judged
shares no line with it.  Each pin has a contact of 20 milliohm between its tip and what hangs on it.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

import numpy as np

CASE = "case"
CELSIUS = 23.4
CONTACT_OHM = 0.02
OVER_RANGE_OHM = 4e7
COPPER_K = 234.5  # IEC 60028: 1/0.00393 - 20 = 234.45
FIRST = ("Gull", "Heron", "Curlew", "Whimbrel", "Dunlin", "Knot", "Ruff", "Stint")
"""On pins 1 to 8, fed by pin 10."""
SECOND = ("Avocet", "Turnstone", "Godwit", "Sanderling", "Lapwing", "Snipe")
"""On pins 11 to 16, fed by pin 20."""
OWN_OHM = {"first": (5.90, 5.93, 5.86, 5.95, 5.88, 5.91, 5.97, 5.84), "second": (11.2, 11.3, 11.1, 11.25, 11.15, 11.05)}
ALONE = ("Plover", "9", 15.8)
"""From its pin to the case."""
SENSOR = ("Fluid", ("17", "18"), 2290.0)
SWITCH = ("Reel", "19")
"""Open at rest, to the case."""


def variant() -> dict[str, Any]:
    """The variant file."""
    coils = [(name, str(place), "10", 5.6, 6.2, "first") for place, name in enumerate(FIRST, start=1)]
    coils += [(name, str(place), "20", 10.6, 11.7, "second") for place, name in enumerate(SECOND, start=11)]
    coils += [(ALONE[0], ALONE[1], CASE, 14.5, 17.0, "")]
    devices: list[dict[str, Any]] = [
        {"name": name, "kind": "solenoid", "between": [pin, to], "low_ohm": low, "high_ohm": high}
        | {"ref_celsius": 20, "k": COPPER_K}
        | ({"matched_set": lot} if lot else {})
        for name, pin, to, low, high, lot in coils
    ]
    devices += [
        {"name": SENSOR[0], "kind": "temperature_sensor", "between": [*SENSOR[1]]}
        | {"points": [[20, 2440, 2700], [50, 790, 900], [80, 300, 350], [110, 132, 158]]},
        {"name": SWITCH[0], "kind": "switch", "between": [SWITCH[1], CASE], "at_rest": "open", "closed_max_ohm": 5.0},
    ]
    pins = [{"name": str(i + 1), "face": "A", "x": float(i % 10), "y": float(i // 10)} for i in range(20)]
    return {
        "format": 1,
        "key": "tern-twenty",
        "title": "Quillon Tern, twenty pins (invented)",
        "note": "Made for tests.",
        "faces": [{"name": "A", "layout": "grid", "rows": 2, "columns": 10, "seen_from": "mating"}],
        "pins": pins,
        "devices": devices,
        "isolation": {"min_ohm": 1e6},
    }


def variant_raw() -> bytes:
    """The same as the file holds it."""
    return json.dumps(variant()).encode()


Edges = dict[tuple[str, str], float]


def sound() -> Edges:
    """Resistors [ohm] between nodes at `CELSIUS`; what hangs on pin 1 hangs on the node `1i`."""
    warm = (COPPER_K + CELSIUS) / (COPPER_K + 20.0)
    edges: Edges = {(str(pin), f"{pin}i"): CONTACT_OHM for pin in range(1, 21)}
    edges |= {(f"{pin}i", "10i"): ohm * warm for pin, ohm in enumerate(OWN_OHM["first"], start=1)}
    edges |= {(f"{pin}i", "20i"): ohm * warm for pin, ohm in enumerate(OWN_OHM["second"], start=11)}
    edges[f"{ALONE[1]}i", CASE] = ALONE[2] * warm
    edges[f"{SENSOR[1][0]}i", f"{SENSOR[1][1]}i"] = SENSOR[2]
    return edges


def read_ohm(edges: Mapping[tuple[str, str], float], a: str, b: str) -> float | None:
    """What lies between two nodes [ohm]; None where a meter shows open."""
    near = {a}
    while more := {y for edge in edges for x, y in (edge, edge[::-1]) if x in near} - near:
        near |= more
    if b not in near:
        return None
    nodes = sorted(near)
    laplacian = np.zeros((len(nodes), len(nodes)))
    for (x, y), ohm in edges.items():
        if x in near:
            i, j = nodes.index(x), nodes.index(y)
            laplacian[[i, j], [i, j]] += 1.0 / ohm
            laplacian[[i, j], [j, i]] -= 1.0 / ohm
    tips = np.zeros(len(nodes))
    tips[nodes.index(a)], tips[nodes.index(b)] = 1.0, -1.0
    found = float(tips @ np.linalg.pinv(laplacian) @ tips)
    return found if found < OVER_RANGE_OHM else None
