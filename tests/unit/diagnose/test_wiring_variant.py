"""A variant from found wiring: limits by hand, and the file is one that opens."""

from __future__ import annotations

import pytest

from valvebench.diagnose.wiring import Wired, WiredKind, Wiring
from valvebench.diagnose.wiring_variant import limits_ohm, variant_data
from valvebench.model.meter import Instrument, Meter
from valvebench.model.strict_json import dumps
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import LeadState

FOUR_WIRE = Instrument(meter=Meter(percent=1.0, counts=0.0, step=0.001), leads=LeadState.FOUR_WIRE)
PARTS = (
    Wired(WiredKind.COIL_LIKE, ("1", "3"), 5.0, (("2", "3"),)),
    Wired(WiredKind.COIL_LIKE, ("2", "3"), 5.1, (("1", "3"),)),
    Wired(WiredKind.SENSOR_LIKE, ("4", "5"), 2500.0, ()),
    Wired(WiredKind.LINK, ("6", "case"), 0.1, ()),
    Wired(WiredKind.UNKNOWN, ("7", "8"), 120.0, ()),
)


def found(celsius):
    nodes = (*"12345678", "case")
    return Wiring(nodes, (nodes,), PARTS, (), (), (), celsius)


def variant(celsius, **more):
    data = variant_data(found(celsius), key="found", title="Found", instrument=FOUR_WIRE, **more)
    return read_variant(dumps(data), source="found.json")


def test_width_is_the_uncertainty_and_five_percent():
    """1 % of 5 ohm as a rectangle, one step of 0.001 beside it: U = 1.653 x 0.05/sqrt(3) = 0.0477 (PHYSICS 2)."""
    low, high = limits_ohm(5.0, FOUR_WIRE)
    assert (low, high) == (pytest.approx(5 - 0.25 - 0.0477, abs=2e-4), pytest.approx(5 + 0.25 + 0.0477, abs=2e-4))


def test_a_part_that_was_not_read_straight_has_the_doubt_of_three_readings():
    """The half sum of three readings, all wrong the same way: 1.5 x 0.0477 beside the 5 %."""
    instruments = {frozenset(("2", "3")): FOUR_WIRE}
    body = variant(20.0, instruments=instruments)
    assert body.devices[0].high_ohm == pytest.approx(5 + 0.25 + 1.5 * 0.0477, abs=2e-3)
    assert body.devices[1].high_ohm == pytest.approx(5.1 * (1 + 0.05 + 0.0477 / 5), abs=2e-3)


def test_coils_stand_at_20_degrees():
    """Copper, k 234.5 degC (IEC 60028): from 60 to 20 degC by 254.5/294.5."""
    coil = variant(60.0).devices[0]
    assert coil.ref_celsius == 20.0
    assert coil.high_ohm == pytest.approx(5.2977 * 254.5 / 294.5, rel=1e-3)


def test_no_temperature_no_reference():
    assert variant(None).devices[0].ref_celsius is None


def test_source_says_one_good_body():
    assert {(one.source.kind.value, one.source.n) for one in variant(23.0).devices} == {("measured", 1)}


def test_kinds_sets_and_names():
    body = variant(23.0, names={frozenset("13"): "Heron"})
    kinds = [type(one).__name__ for one in body.devices]
    assert kinds == ["Solenoid", "Solenoid", "TemperatureSensor", "Link", "Solenoid"]
    assert [one.name for one in body.devices[:2]] == ["Heron", "Device 2"]
    assert body.devices[0].matched_set == body.devices[1].matched_set == "set 1"
    assert body.devices[2].points[0][0] == 23.0
    assert body.devices[4].note
