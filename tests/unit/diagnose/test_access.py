"""Harness and inner conductor from the same pair at two access points, by hand."""

from __future__ import annotations

from math import inf, sqrt
from pathlib import Path

import pytest

from tests.unit.report.samples import session_of, variant
from valvebench.diagnose.access import between_access_points
from valvebench.diagnose.explain_priors import read_priors
from valvebench.diagnose.explain_readings import said_of
from valvebench.model.entry import Reading
from valvebench.model.words import AccessPoint, LeadState, TemperatureSource

ROOT = Path(__file__).parents[3]
PRIORS = read_priors((ROOT / "resources" / "priors.json").read_bytes(), source="priors.json")
PLUG, CASE_CONNECTOR, TERMINALS = AccessPoint


def read(a, b, ohm, at, *, celsius=20.0, meter="0%+2x0.01", leads=LeadState.NULLED):
    shown = {"open": True, "range_ohm": 4e7} if ohm == inf else {"ohm": ohm}
    temperature = TemperatureSource.TAPED
    return Reading(
        from_node=a, to_node=b, at=at, celsius=celsius, meter=meter, leads=leads, temperature=temperature, **shown
    )


def differences(*readings):
    return between_access_points(variant(), said_of(session_of(*readings), PRIORS)[0])


def test_plug_and_case_connector_tell_the_harness():
    """5.70 - 5.30; two counts of 0.01 as a rectangle and two tips of 0.01 each, once for each reading."""
    (one,) = differences(read("1", "7", 5.7, PLUG), read("1", "7", 5.3, CASE_CONNECTOR))
    assert (one.what, one.outer, one.inner) == ("harness", PLUG, CASE_CONNECTOR)
    assert one.ohm == pytest.approx(0.4)
    own = 0.02**2 / 3 + 2 * 0.01**2
    assert one.u == pytest.approx(sqrt(2 * own + 2 * 0.03**2))  # and a plug's two wires vary by 0.03 each
    assert one.is_seen


def test_case_connector_and_terminals_tell_the_inner_conductor():
    for names in (("1", "7"), ("Gull.1", "Gull.2"), ("7", "1")):
        (one,) = differences(read("1", "7", 5.35, CASE_CONNECTOR), read(*names, 5.3, TERMINALS))
        assert (one.what, one.from_node, one.to_node) == ("inner conductor", "1", "7")
        assert one.ohm == pytest.approx(0.05)
        assert one.is_seen is (2 * one.u < 0.05)


def test_three_places_give_two_differences():
    found = differences(read("1", "7", 5.3, TERMINALS), read("1", "7", 5.9, PLUG), read("1", "7", 5.4, CASE_CONNECTOR))
    assert [one.what for one in found] == ["harness", "inner conductor"]
    assert [one.ohm for one in found] == pytest.approx([0.5, 0.1])


def test_the_coil_is_carried_to_one_temperature():
    """4 K of copper on 5.3 ohm, (234.5 + 24) / (234.5 + 20): IEC 60034-1."""
    (one,) = differences(read("1", "7", 5.3, CASE_CONNECTOR), read("1", "7", 5.7, PLUG, celsius=24.0))
    assert one.ohm == pytest.approx(5.7 - 5.3 * 258.5 / 254.5)
    assert one.u > 5.3 / 258.5 * 2 / sqrt(3)


def test_a_gain_in_common_acts_on_the_difference_only():
    same = differences(
        read("1", "7", 5.7, PLUG, meter="3%+0x0.01"), read("1", "7", 5.3, CASE_CONNECTOR, meter="3%+0x0.01")
    )
    other = differences(
        read("1", "7", 5.7, PLUG, meter="3%+0x0.01"), read("1", "7", 5.3, CASE_CONNECTOR, meter="3%+0x0.1")
    )
    assert same[0].u < 0.06
    assert other[0].u > 5.3 * 0.03 / sqrt(3)


@pytest.mark.parametrize(
    "readings",
    [
        pytest.param([], id="nothing"),
        pytest.param([read("1", "7", 5.3, PLUG)], id="one place"),
        pytest.param([read("1", "7", inf, PLUG), read("1", "7", 5.3, CASE_CONNECTOR)], id="open"),
        pytest.param([read("1", "7", 5.3, PLUG, celsius=40), read("1", "7", 5.3, CASE_CONNECTOR)], id="too far apart"),
        pytest.param([read("1", "7", 5.3, PLUG), read("2", "7", 13, CASE_CONNECTOR)], id="two pairs"),
    ],
)
def test_nothing_is_concluded(readings):
    assert differences(*readings) == ()
