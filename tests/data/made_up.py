"""Invented examples for tests: one variant, and a journal written entry by entry.  Every number is made up."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterable

from valvebench.model.entry import GENESIS, KIND_OF_BODY, AnyBody, Entry, OpenJob, Reading, decode_line, encode_line
from valvebench.model.heat import HeatFound, HeatKind, HeatTest, Sized
from valvebench.model.session import Session, fold
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import JobKind

MEGOHM = 1e6
VARIANT = {
    "format": 1,
    "key": "tern-body-2",
    "title": "Quillon Tern, body 2",
    "note": "invented",
    "faces": [{"name": "A", "layout": "grid", "rows": 2, "columns": 6}],
    "pins": [{"name": str(n), "face": "A"} for n in range(1, 13)],
    "devices": [
        {
            "name": "Heron",
            "kind": "solenoid",
            "between": ["3", "11"],
            "low_ohm": 4.9,
            "high_ohm": 5.5,
            "source": {"kind": "manual", "text": "shop manual, page 12"},
        },
        {"name": "Gull", "kind": "solenoid", "between": ["4", "11"], "low_ohm": 4.9, "high_ohm": 5.5},
        {
            "name": "Plover",
            "kind": "solenoid",
            "between": ["8", "case"],
            "low_ohm": 12.0,
            "high_ohm": 15.0,
            "ref_celsius": None,
            "normally": "closed",
            "source": {"kind": "measured", "text": "one good body", "n": 1},
        },
        {
            "name": "Fluid",
            "kind": "temperature_sensor",
            "between": ["12", "6"],
            "points": [[20, 2540, 2800], [80, 300, 350]],
        },
        {"name": "Reel", "kind": "switch", "between": ["9", "case"], "at_rest": "open", "closes_with": "P3"},
    ],
    "isolation": {"min_ohm": 1_000_000.0, "source": {"kind": "memory"}},
    "ports": [
        {
            "name": "P3",
            "feeds": "Auk",
            "expect": [{"selector": "D", "solenoids": {"Heron": "on"}, "reaction": "holds"}],
        },
        {"name": "P4", "expect": [{"reaction": "bleeds"}]},
        {"name": "P5"},
    ],
    "clutches": ["Auk", "Brant"],
    "gears": ["1", "2"],
    "apply_chart": {"1": ["Auk"], "2": ["Auk", "Brant"]},
    "solenoid_chart": {"1": {"Heron": "off"}, "2": {"Heron": "on"}},
}


def variant_data(**changes: object) -> dict[str, object]:
    """The invented variant as its file holds it, with top-level keys changed."""
    return {**copy.deepcopy(VARIANT), **changes}


def variant_of(**changes: object) -> Variant:
    """The invented variant, read as a file is read."""
    return read_variant(json.dumps(variant_data(**changes)).encode(), source="made-up.json")


def job(**changes: object) -> OpenJob:
    """A nameless job."""
    return OpenJob(**{"session": "made-up", "job": "4711", "kind": JobKind.BENCH_CHECK, **changes})


def reading(a: str, b: str, ohm: float | None = None, **changes: object) -> Reading:
    """A reading with nulled leads of a hundredths meter at 20 degrees."""
    given = {"celsius": 20.0, "meter": "0.5%+2x0.01", "leads": "nulled", "temperature": "taped"}
    data = {"from": a, "to": b, **({} if ohm is None else {"ohm": ohm}), **given, **changes}
    return _converted(data)


def heat_test(device: str, ohm: float = 5.2, *, u_ohm: float = 0.0625, **changes: object) -> HeatTest:
    """A logger's run of copper to 110 degrees, `ohm` at 20; `changes` go into what was found."""
    at_20 = Sized(value=ohm, u=u_ohm)
    found = {
        "n": 200,
        "kind": HeatKind.COPPER,
        "slope_over_copper": Sized(value=1.0, u=0.01),
        "r20_ohm": at_20,
        "at_20_ohm": at_20,
        "coldest_celsius": 22.0,
        "hottest_celsius": 110.0,
        "residual_ohm": 0.01,
        "separable": True,
        "meter": "0.5%+2x0.01",
    }
    return HeatTest(
        device=device,
        sha256="ab" * 32,
        file_name=f"{device}.csv",
        size_bytes=4096,
        meter="0.5%+2x0.01",
        found=HeatFound(**{**found, **changes}),
    )


def _converted(data: dict[str, object]) -> Reading:
    from valvebench.model.entry import body_from

    body = body_from("reading", {key: value for key, value in data.items() if value is not None})
    assert isinstance(body, Reading)
    return body


def entries_of(bodies: Iterable[AnyBody]) -> list[Entry]:
    """Entries as a journal would hold them, each through its bytes."""
    entries: list[Entry] = []
    prev = GENESIS
    for n, body in enumerate(bodies, start=1):
        line = encode_line(n=n, at="2031-05-04T10:00:00Z", by="bench", body=body, prev=prev)
        entry = decode_line(line, source=f"line {n}")
        assert entry.kind == KIND_OF_BODY[type(body)]
        entries.append(entry)
        prev = entry.sha256
    return entries


def session_of(*bodies: AnyBody, **about: object) -> Session:
    """A session that holds these bodies after its job."""
    return fold(entries_of([job(**about), *bodies]))
