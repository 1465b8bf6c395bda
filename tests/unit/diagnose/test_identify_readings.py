"""Readings as a fingerprint: what tells, what says nothing, and devices that may be faulty."""

from __future__ import annotations

import math

import pytest

from tests.unit.diagnose.identify_library import FAULTS, PRIORS, coil, feature, identifier, looks, variant
from valvebench.diagnose.explain_readings import said_one
from valvebench.model.entry import Reading
from valvebench.model.variant import Link, Switch, TemperatureSensor
from valvebench.model.words import AccessPoint, LeadState, SwitchState, TemperatureSource

BROAD = 1 / math.log(1e7 / 0.05)


def said(a, b, ohm, *, celsius=20.0, entry=0, **more):
    value = {"ohm": ohm} if math.isfinite(ohm) else {"open": True, "range_ohm": 4e7}
    common = {"meter": "0.5%+2x0.01", "leads": LeadState.NULLED, "temperature": TemperatureSource.TAPED}
    reading = Reading(from_node=a, to_node=b, celsius=celsius, **value, **{**common, **more})
    return said_one(entry, reading, FAULTS)


def odds(found, one, other):
    p = dict(found.posterior)
    return p[one] / p[other]


@pytest.fixture
def two():
    """Heron has 5 or 12 ohm; Plover is the same in both."""
    plover = coil("Plover", ("3", "4"), 20.0)
    return identifier(
        variant("five", devices=[coil("Heron", ("1", "2"), 5.0), plover]),
        variant("twelve", devices=[coil("Heron", ("1", "2"), 12.0), plover]),
    )


def test_a_value_tells_the_variants_apart(two):
    assert odds(two.identify((), [said("1", "2", 5.0)]), "five", "twelve") > 100
    assert odds(two.identify((), [said("2", "1", 12.0)]), "twelve", "five") > 100
    assert odds(two.identify((), [said("3", "4", 20.0)]), "five", "twelve") == pytest.approx(1.0, rel=1e-9)


def test_a_value_far_from_both_tells_little(two):
    """Anything beyond both values is a fault of either: only which one it is nearer to is left."""
    assert 0.1 < odds(two.identify((), [said("1", "2", 900.0)]), "five", "twelve") < 10


def test_one_odd_device_never_outweighs_the_others():
    """A faulty coil that reads as the other variant's costs what its chance costs, no more."""
    devices = [coil(f"S{i}", (str(i), "case"), 5.0) for i in range(1, 5)]
    others = [coil(f"S{i}", (str(i), "case"), 12.0) for i in range(1, 5)]
    known = identifier(variant("five", devices=devices), variant("twelve", devices=others))
    read = [said(str(i), "case", 5.0) for i in range(1, 4)] + [said("4", "case", 12.0)]
    assert known.identify((), read).leading == ("five",)


def test_no_single_device_can_make_it_sure(two):
    """At most 0.85 of the density of a sound one over 0.15 of the density of a faulty one: some hundreds to one."""
    sound, faulty = 0.85 / (0.02 * math.sqrt(2 * math.pi)), 0.15 * 0.5 * BROAD
    for ohm, fits, other in ((5.0, "five", "twelve"), (12.0, "twelve", "five")):
        assert 100 < odds(two.identify((), [said("1", "2", ohm)]), fits, other) < sound / faulty


def test_open_says_nothing_and_is_named(two):
    found = two.identify((), [said("1", "2", math.inf, entry=7)])
    assert odds(found, "five", "twelve") == 1.0
    assert found.p_none == pytest.approx(0.02)
    assert [(one.entry, one.what) for one in found.left_out] == [(7, "1\u20132")]


def test_a_value_where_a_variant_has_no_connection_speaks_against_it():
    known = identifier(variant("wired", devices=[coil("Heron", ("1", "2"), 5.0)]), variant("bare"))
    assert odds(known.identify((), [said("1", "2", 5.0)]), "wired", "bare") > 100


def test_a_device_without_limits_is_neither_here_nor_there():
    bare = coil("Heron", ("1", "2"), 5.0)
    from msgspec.structs import replace

    known = identifier(
        variant("stated", devices=[bare]), variant("unstated", devices=[replace(bare, low_ohm=None, high_ohm=None)])
    )
    found = known.identify((), [said("1", "2", 5.0)])
    assert dict(found.posterior)["unstated"] / found.p_none == pytest.approx(49 / 2)


def test_none_of_these_keeps_half_of_what_the_best_variant_says(two):
    """As often as not another body has the same device there: 0.5 of the best and 0.5 of anything at all."""
    found = two.identify((), [said("1", "2", 5.0)])
    assert found.p_none > 0.02 * 0.5 / 2
    assert found.p_none < 0.03


def test_warmth_moves_all_windings_together(two):
    """At 80 degrees five ohm of copper read 6.18: (234.5 + 80) / (234.5 + 20), IEC 60034-1."""
    warm = two.identify((), [said("1", "2", 5.0 * 314.5 / 254.5, celsius=80.0)])
    assert odds(warm, "five", "twelve") > 100
    assert warm.lost[0].misfits[0].needs_ohm == pytest.approx(12.0 * 314.5 / 254.5, rel=0.01)


def test_a_common_error_is_not_counted_once_for_each_reading():
    """Six coils that all read 6 % high are one doubt, the temperature's: less certain than six."""
    names = [(f"S{i}", (str(i), "case")) for i in range(1, 5)]
    known = identifier(
        variant("low", devices=[coil(name, at, 5.0) for name, at in names]),
        variant("high", devices=[coil(name, at, 5.6) for name, at in names]),
    )
    read = [said(str(i), "case", 5.3, temperature=TemperatureSource.UNKNOWN) for i in range(1, 5)]
    assert 0.05 < odds(known.identify((), read), "low", "high") < 20


def test_the_middle_of_several_readings_at_a_pair_counts(two):
    alone = two.identify((), [said("1", "2", 5.0)])
    several = [said("1", "2", ohm) for ohm in (4.9, 5.0, 900.0)]
    assert two.identify((), several).posterior == alone.posterior


def test_other_places_are_left_out(two):
    read = [said("1", "2", 12.0, at=AccessPoint.VEHICLE_PLUG), said("1", "9", 12.0)]
    found = two.identify((), read)
    assert odds(found, "five", "twelve") == 1.0
    assert [one.why for one in found.left_out] == [
        "only readings at the case connector tell variants apart",
        "no variant here has 9",
    ]


@pytest.mark.parametrize(
    ("device", "ohm"),
    [
        pytest.param(Link(name="Wire", between=("1", "2")), 0.2, id="a link"),
        pytest.param(Switch(name="Reel", between=("1", "2"), at_rest=SwitchState.CLOSED), 0.3, id="a closed contact"),
        pytest.param(
            TemperatureSensor(name="Fluid", between=("1", "2"), points=((0, 5000, 5600), (40, 1200, 1400))),
            2500.0,
            id="a sensor at 20 degrees",
        ),
    ],
)
def test_other_kinds_of_device_tell_too(device, ohm):
    known = identifier(variant("has", devices=[device]), variant("coil", devices=[coil("Heron", ("1", "2"), 5.0)]))
    assert odds(known.identify((), [said("1", "2", ohm)]), "has", "coil") > 3


def test_readings_and_looks_count_together(two):
    both = identifier(
        *(variant(key, feature("cap", cap), devices=[coil("Heron", ("1", "2"), ohm)]) for key, cap, ohm in CAPS)
    )
    seen = both.identify(looks("cap=yes"))
    more = both.identify(looks("cap=yes"), [said("1", "2", 12.0)])
    assert odds(more, "twelve", "five") > 100 * odds(seen, "twelve", "five")
    assert more.lost[0].against
    assert more.lost[0].misfits


CAPS = (("five", "no", 5.0), ("twelve", "yes", 12.0))


def test_what_is_apart_by_hand():
    """No connection expected: a fault, 0.15, anywhere in ln 1e7/0.05; none of these: half the coil's, half anything."""
    known = identifier(variant("wired", devices=[coil("Heron", ("1", "2"), 5.0)]), variant("bare"))
    found = known.identify((), [said("1", "2", 5.0)])
    p = dict(found.posterior)
    bare = p["bare"] / 0.49
    none = found.p_none / 0.02
    assert PRIORS.electrical.faulty.value == 0.15
    best = (none / bare * 0.15 * BROAD - 0.5 * BROAD) / 0.5
    assert best == pytest.approx(p["wired"] / 0.49 / bare * 0.15 * BROAD, rel=0.02)
