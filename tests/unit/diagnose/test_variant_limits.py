"""Every limit with where it comes from; counted by hand on the invented variant."""

from __future__ import annotations

import pytest

from tests.data.made_up import variant_data, variant_of
from valvebench.diagnose.variant_limits import limit_lines, provenance_words, span_words, without_limits
from valvebench.model.words import SourceKind


def test_every_limit_is_told_with_its_source():
    told = {line.what: line for line in limit_lines(variant_of())}
    assert list(told) == ["Heron", "Gull", "Plover", "Fluid", "Isolation"]
    assert told["Heron"] == (
        "Heron",
        "4.9\u20135.5 \u03a9 at 20 \u00b0C",
        SourceKind.MANUAL,
        "manual: shop manual, page 12",
    )
    assert told["Gull"].kind is None
    assert told["Gull"].source == "source not said"
    assert told["Plover"].limits == "12\u201315 \u03a9, temperature not stated"
    assert told["Plover"].source == "measured on one good body: one good body"


def test_limits_are_counted_by_where_they_come_from():
    assert provenance_words(variant_of()) == "1 from the manual, 1 measured, 1 from memory, 2 source not said"
    bare = variant_of(devices=[], isolation=None, ports=[], solenoid_chart={})
    assert provenance_words(bare) == "no limits"


def test_the_leak_of_a_port_and_the_pressure_of_a_tap_are_limits_too():
    ports = [{"name": "P3", "max_ml_min": 400.0}]
    window = {
        "state": "D",
        "low_kpa": 400.0,
        "high_kpa": 500.0,
        "low_celsius": 60.0,
        "source": {"kind": "learned", "n": 8},
    }
    devices = [device for device in variant_data()["devices"] if device["name"] == "Heron"]
    variant = variant_of(ports=ports, taps=[{"name": "T1", "windows": [window]}], devices=devices, isolation=None)
    lines = [(line.what, line.limits, line.source) for line in limit_lines(variant)][1:]
    assert lines == [
        ("Port P3", "< 400 ml/min", "source not said"),
        ("Tap T1, D", "400\u2013500 kPa, fluid 60 \u00b0C", "learned from 8 good bodies"),
    ]


def test_solenoids_and_sensors_without_limits_are_named():
    devices = [*variant_data()["devices"], {"name": "Knot", "kind": "solenoid", "between": ["5", "11"]}]
    assert without_limits(variant_of(devices=devices)) == ("Knot",)


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        pytest.param(4.9, 5.5, "4.9\u20135.5 \u03a9", id="both"),
        pytest.param(990.0, 1100.0, "990 \u03a9 \u2013 1.1 k\u03a9", id="two-prefixes"),
        pytest.param(1e6, None, "> 1 M\u03a9", id="low-only"),
        pytest.param(None, 0.5, "< 0.5 \u03a9", id="high-only"),
        pytest.param(None, None, "", id="none"),
        pytest.param(5.1234567, 5.1234568, "5.1234567\u20135.1234568 \u03a9", id="to-the-last-digit"),
    ],
)
def test_limits_keep_every_digit(low, high, words):
    assert span_words(low, high) == words


def test_the_seat_of_a_solenoid_has_a_limit_with_the_source_of_the_solenoid():
    heron = {**variant_data()["devices"][0], "max_seat_ml_min": 30.0}
    lines = limit_lines(variant_of(devices=[heron], isolation=None, ports=[], solenoid_chart={}))
    assert [(line.what, line.limits) for line in lines][1] == ("Heron, seat", "< 30 ml/min")
    assert lines[1].kind is SourceKind.MANUAL
