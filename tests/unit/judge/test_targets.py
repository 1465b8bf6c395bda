"""What a reading between two nodes is about, and what a whole check needs."""

from __future__ import annotations

import math

import pytest

from tests.data.made_up import reading, variant_of
from valvebench.judge.device_limits import (
    SWITCH_CLOSED_MAX_OHM,
    SWITCH_OPEN_MIN_OHM,
    limits_of,
    sensor_band,
    source_text,
)
from valvebench.judge.targets import Targets, given_limits, target_of, wanted_air, wanted_electrical
from valvebench.model.limits import NO_LIMITS
from valvebench.model.variant import Beta, Link, Source, SpeedSensor, SteinhartHart, Switch, TemperatureSensor
from valvebench.model.words import SourceKind, SwitchState

VARIANT = variant_of()
BETWEEN = {"name": "X", "between": ("1", "2")}


def device(name, kind, a, b, **more):
    return {"name": name, "kind": kind, "between": [a, b], **more}


def wired(*devices, **changes):
    return variant_of(devices=list(devices), ports=[], solenoid_chart={}, apply_chart={}, **changes)


def about(a, b, variant=VARIANT, ohm=5.0, **given):
    return target_of(variant, reading(a, b, ohm, **given))


@pytest.mark.parametrize(
    ("a", "b", "key", "kind"),
    [
        ("3", "11", "device Heron", "solenoid"),
        ("11", "3", "device Heron", "solenoid"),
        ("Heron.1", "Heron.2", "device Heron", "solenoid"),
        ("8", "case", "device Plover", "solenoid"),
        ("12", "6", "device Fluid", "temperature_sensor"),
        ("9", "case", "device Reel", "switch"),
        ("3", "case", "isolation 3 4 11", "isolation"),
        ("case", "11", "isolation 3 4 11", "isolation"),
        ("11", "8", "isolation 3 4 11", "isolation"),
        ("1", "case", "isolation 1", "isolation"),
        ("joint", "case", "pair case joint", "pair"),
        ("3", "12", "pair 12 3", "isolation"),
        ("1", "2", "pair 1 2", "isolation"),
        ("3", "4", "pair 3 4", "pair"),
        ("8", "9", "pair 8 9", "pair"),
        ("3", "Heron.1", "pair 3 Heron.1", "pair"),
        ("Heron.2", "4", "pair 4 Heron.2", "pair"),
        ("Heron.1", "Gull.2", "pair Gull.2 Heron.1", "pair"),
    ],
)
def test_what_lies_between(a, b, key, kind):
    target = about(a, b)
    assert (target.key, target.kind) == (key, kind)


@pytest.mark.parametrize(
    ("a", "b", "covers"),
    [
        ("11", "case", ("3", "4", "11")),
        ("3", "case", ("3", "4", "11")),
        ("1", "case", ("1",)),
        ("3", "12", ("3", "4", "6", "11", "12")),
        ("3", "11", ()),
        ("joint", "case", ()),
    ],
)
def test_one_reading_covers_its_whole_net(a, b, covers):
    assert about(a, b).covers == covers


@pytest.mark.parametrize(
    ("a", "b", "low", "high"),
    [
        ("3", "11", 4.9, 5.5),
        ("3", "case", 1e6, None),
        ("3", "12", 1e6, None),
        ("3", "4", 9.8, 11.0),  # two coils in series, by hand
        ("3", "Heron.1", None, None),
        ("9", "case", SWITCH_OPEN_MIN_OHM, None),
    ],
)
def test_limits_of_a_pair(a, b, low, high):
    limits = about(a, b).limits
    assert (limits.low_ohm, limits.high_ohm) == (low, high)


def test_a_parallel_path_takes_the_limits_away_and_says_so():
    variant = wired(device("A", "solenoid", "1", "2", low_ohm=5, high_ohm=6), device("B", "link", "1", "2"))
    target = about("1", "2", variant)
    assert target.key == "device A"
    assert not target.limits.is_stated
    assert "Another path" in target.limits.note


def test_a_parallel_coil_gives_the_limits_of_both_together():
    """Two of 5 to 6 ohm side by side: 2.5 to 3 ohm."""
    coil = {"low_ohm": 5, "high_ohm": 6}
    target = about(
        "1", "2", wired(device("A", "solenoid", "1", "2", **coil), device("B", "solenoid", "2", "1", **coil))
    )
    assert target.limits.low_ohm == pytest.approx(2.5, rel=1e-12)
    assert target.limits.high_ohm == pytest.approx(3.0, rel=1e-12)
    assert "both together" in target.limits.note


def test_several_devices_not_all_with_limits():
    variant = wired(device("A", "solenoid", "1", "3", low_ohm=5, high_ohm=6), device("B", "solenoid", "3", "2"))
    target = about("1", "2", variant)
    assert (target.what, target.kind) == ("several devices", "pair")
    assert "not all with limits" in target.limits.note


def test_a_diode_across_a_solenoid_is_passed_over():
    diode, coil = device("D", "diode", "1", "2"), device("A", "solenoid", "1", "2", low_ohm=5, high_ohm=6)
    assert about("1", "2", wired(diode, coil)).limits.high_ohm == 6.0
    assert about("1", "2", wired(diode)).key == "device D"


@pytest.mark.parametrize("pair", [("3", "11"), ("12", "6"), ("3", "4"), ("8", "case"), ("9", "case"), ("1", "2")])
def test_worked_out_once_or_anew_it_is_the_same_at_any_temperature(pair):
    """Sensors and several devices move with temperature, coils do not; asking twice changes nothing."""
    targets = Targets(VARIANT)
    readings = [reading(*pair, 5.0, celsius=celsius) for celsius in (20.0, 60.0, 20.0, 110.0, 60.0)]
    assert [targets.of(one) for one in readings] == [target_of(VARIANT, one) for one in readings]


def test_a_path_beside_a_device_is_worked_out_for_each_temperature():
    beside = wired(
        device("Heron", "solenoid", "1", "2", low_ohm=4.0, high_ohm=6.0),
        device("Gull", "temperature_sensor", "1", "2", points=[[20, 4.0, 6.0], [80, 1.0, 2.0]]),
    )
    targets = Targets(beside)
    highs = [targets.between("1", "2", celsius).limits.high_ohm for celsius in (20.0, 80.0)]
    assert highs[1] < highs[0]


def test_without_a_variant_there_is_only_the_pair():
    target = target_of(None, reading("3", "11", 5.2))
    assert (target.key, target.what, target.limits) == ("pair 11 3", "no variant", NO_LIMITS)


def test_limits_given_with_the_reading_serve_where_the_variant_has_none():
    given = {"low_ohm": 5.0, "high_ohm": 6.0, "ref_not_stated": True, "k_celsius": 225.0}
    own = target_of(None, reading("3", "11", 5.2, **given)).limits
    assert (own.low_ohm, own.high_ohm, own.ref_celsius, own.is_ref_stated, own.k_celsius) == (
        5.0,
        6.0,
        20.0,
        False,
        225.0,
    )
    assert own.source == "given with the reading"
    assert about("3", "11", **given).limits.low_ohm == 4.9
    assert given_limits(reading("3", "11", 5.2, high_ohm=6.0, ref_celsius=25.0)).ref_celsius == 25.0
    assert given_limits(reading("3", "11", 5.2)) == NO_LIMITS


@pytest.mark.parametrize(
    ("source", "text"),
    [
        (None, "source not stated"),
        (Source(kind=SourceKind.MANUAL, text="page 12"), "manual: page 12"),
        (Source(kind=SourceKind.MANUAL), "manual"),
        (Source(kind=SourceKind.MEASURED, n=1), "measured on one good body"),
        (Source(kind=SourceKind.MEASURED, n=7, text="2030"), "measured on 7 good bodies: 2030"),
        (Source(kind=SourceKind.MEASURED), "measured on some good bodies"),
        (Source(kind=SourceKind.LEARNED, n=30), "learned from 30 good bodies"),
        (Source(kind=SourceKind.MEMORY), "from memory"),
    ],
)
def test_source_in_words(source, text):
    assert source_text(source) == text


def test_reference_not_stated_in_the_variant():
    limits = about("8", "case").limits
    assert (limits.ref_celsius, limits.is_ref_stated) == (20.0, False)
    assert limits.source == "measured on one good body: one good body"
    assert about("3", "11").limits.is_ref_stated


@pytest.mark.parametrize(
    ("device", "low", "high"),
    [
        (Switch(**BETWEEN, at_rest=SwitchState.OPEN), SWITCH_OPEN_MIN_OHM, None),
        (Switch(**BETWEEN, at_rest=SwitchState.CLOSED), None, SWITCH_CLOSED_MAX_OHM),
        (Switch(**BETWEEN, at_rest=SwitchState.CLOSED, closed_max_ohm=2.0), None, 2.0),
        (Switch(**BETWEEN), None, None),
        (Link(**BETWEEN, max_ohm=0.5), None, 0.5),
        (Link(**BETWEEN), None, None),
        (SpeedSensor(**BETWEEN, low_ohm=300.0, high_ohm=500.0), 300.0, 500.0),
        (TemperatureSensor(**BETWEEN), None, None),
    ],
)
def test_limits_of_a_device(device, low, high):
    limits = limits_of(device, 20.0)
    assert (limits.low_ohm, limits.high_ohm) == (low, high)
    assert limits.k_celsius == (234.5 if isinstance(device, SpeedSensor) else None)


@pytest.mark.parametrize("kind", ["diode", "electronics"])
def test_what_has_no_band(kind):
    variant = wired(device("X", kind, "1", "2"))
    assert not about("1", "2", variant).limits.is_stated


@pytest.mark.parametrize(
    ("celsius", "low", "note"),
    [(20.0, 2540.0, ""), (15.0, 3159.2, "5 degrees beyond the table"), (5.0, None, "does not reach 5 degrees")],
)
def test_sensor_by_its_table(celsius, low, note):
    """At 15 degrees by hand: 2540 exp(ln(2540/300) (1/288.15 - 1/293.15)/(1/293.15 - 1/353.15)) = 3159.2 ohm."""
    limits = about("12", "6", ohm=2600.0, celsius=celsius).limits
    assert note in limits.note
    assert limits.low_ohm == (pytest.approx(low, rel=1e-4) if low else None)


BETA = TemperatureSensor(**BETWEEN, beta=Beta(r_ohm=10_000.0, b_kelvin=3380.0, tolerance_pct=1.0))
HART = TemperatureSensor(
    **BETWEEN, steinhart_hart=SteinhartHart(a=0.001129241, b=0.0002341077, c=8.775468e-08, tolerance_pct=2.0)
)


@pytest.mark.parametrize(
    ("device", "celsius", "middle", "share"),
    [
        pytest.param(BETA, 50.0, 4160.14, 0.01, id="Beta 3380 at 50 degrees [worked out by hand]"),
        pytest.param(HART, -5.0, 42_316.7, 0.02, id="Steinhart-Hart at -5 degrees [printed table of a 10 kilohm type]"),
    ],
)
def test_sensor_by_its_equation(device, celsius, middle, share):
    band = sensor_band(device, celsius)
    assert band.low_ohm == pytest.approx(middle * (1 - share), rel=1e-4)
    assert band.high_ohm == pytest.approx(middle * (1 + share), rel=1e-4)
    assert band.slope_per_celsius < 0


def test_slope_of_the_beta_equation_by_hand():
    """d ln R/dT = -B/T^2."""
    assert sensor_band(BETA, 50.0).slope_per_celsius == pytest.approx(-3380.0 / 323.15**2, rel=1e-6)
    assert math.isfinite(sensor_band(HART, 120.0).slope_per_celsius)


def test_wanted_of_the_body():
    wanted = {one.key: one for one in wanted_electrical(VARIANT)}
    assert list(wanted) == [
        "device Heron",
        "device Gull",
        "device Plover",
        "device Fluid",
        "device Reel",
        "isolation 3 4 11",
        "isolation 6 12",
    ]
    assert (wanted["device Heron"].from_node, wanted["device Heron"].to_node) == ("3", "11")
    assert (wanted["isolation 3 4 11"].from_node, wanted["isolation 3 4 11"].to_node) == ("3", "case")


@pytest.mark.parametrize(
    ("device", "keys"),
    [
        (device("A", "diode", "1", "2"), []),
        (device("A", "electronics", "1", "2"), []),
        (device("A", "speed_sensor", "1", "2"), []),
        (device("A", "speed_sensor", "1", "2", low_ohm=300), ["device A"]),
        (device("A", "speed_sensor", "1", "2", high_ohm=500), ["device A"]),
        (device("A", "switch", "1", "2"), []),
        (device("A", "switch", "1", "2", at_rest="closed"), ["device A"]),
        (device("A", "link", "1", "2"), ["device A"]),
    ],
    ids=lambda value: (
        "" if isinstance(value, list) else str({k: v for k, v in value.items() if k not in {"name", "between"}})
    ),
)
def test_which_devices_are_read(device, keys):
    assert [one.key for one in wanted_electrical(wired(device, isolation=None))] == keys


def test_electronics_on_board_forbid_the_ohmmeter():
    assert wanted_electrical(variant_of(electronics_on_board=True)) == ()


def test_without_isolation_nothing_is_asked_to_the_case():
    variant = variant_of(isolation=None)
    assert not any(one.kind == "isolation" for one in wanted_electrical(variant))
    assert not about("3", "case", variant).limits.is_stated


def test_every_port_is_wanted_for_air():
    assert [one.port for one in wanted_air(VARIANT)] == ["P3", "P4", "P5"]


def test_a_pin_the_variant_does_not_know_is_no_fault():
    target = about("99", "3")
    assert (target.what, target.limits.is_stated) == ("unknown pin", False)
    assert "99 is no pin" in target.limits.note
