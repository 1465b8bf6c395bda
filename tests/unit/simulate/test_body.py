"""What a simulated body is, against hand arithmetic."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from valvebench.model.variant_rules import read_variant
from valvebench.model.words import SwitchState
from valvebench.simulate.body import TrueCoil, TrueSensor, TrueSwitch, healthy_body
from valvebench.simulate.contacts import BadContact
from valvebench.simulate.quillon import WITHOUT_LIMITS_OHM
from valvebench.simulate.seed import dice

FOLDER = Path(__file__).parents[3] / "resources" / "variants"
TERN = read_variant((FOLDER / "tern-body-2.json").read_bytes(), source="tern-body-2.json")


@pytest.fixture
def body():
    return healthy_body(TERN, dice("a test"), ohm_at_20=WITHOUT_LIMITS_OHM)


def test_a_coil_follows_copper():
    # by hand: 234.5 + 20 = 254.5, 234.5 + 88 = 322.5; 5.09 * 322.5 / 254.5 = 6.45
    assert TrueCoil(ohm_at_20=5.09).ohm_at(88.0) == pytest.approx(6.45, rel=1e-12)


def test_a_contact_adds_nothing_until_it_begins_and_grows_with_the_square():
    contact = BadContact(from_celsius=50.0, ohm_per_square_celsius=0.0005)
    assert contact.ohm_at(49.9) == 0.0
    assert contact.ohm_at(70.0) == pytest.approx(0.2)  # 20 * 20 * 0.0005
    assert contact.ohm_at(90.0) == pytest.approx(0.8)  # 40 * 40 * 0.0005


def test_contact_and_winding_stand_in_series():
    contact = BadContact(from_celsius=50.0, ohm_per_square_celsius=0.0005)
    assert TrueCoil(ohm_at_20=5.09, contact=contact).ohm_at(88.0) == pytest.approx(6.45 + 0.722)  # 38 * 38 * 0.0005


def test_a_sensor_is_what_it_is_at_20_degrees():
    assert TrueSensor(ohm_at_20=2670.0, b_kelvin=3600.0).ohm_at(20.0) == pytest.approx(2670.0, rel=1e-12)


def test_a_switch_turns_over_only_with_air_at_its_own_port():
    switch = TrueSwitch(at_rest=SwitchState.OPEN, moved_by="P3")
    assert switch.state(with_air=False) is SwitchState.OPEN
    assert switch.state(with_air=True) is SwitchState.CLOSED
    assert TrueSwitch(at_rest=SwitchState.CLOSED).state(with_air=True) is SwitchState.CLOSED
    assert switch.ohm_at(20.0) == math.inf


@pytest.mark.parametrize(("name", "low", "high"), [("Gull", 4.9, 5.5), ("Plover", 12.0, 15.0), ("Dunlin", 9.4, 11.4)])
def test_a_healthy_coil_lies_near_the_middle(body, name, low, high):
    distance = abs(body.devices[name].ohm_at_20 - (low + high) / 2)
    assert distance <= 0.15 * (high - low) / 2


def test_a_healthy_sensor_lies_inside_every_row_of_its_table(body):
    for celsius, low, high in (
        (20.0, 2540.0, 2800.0),
        (50.0, 790.0, 900.0),
        (80.0, 300.0, 350.0),
        (110.0, 132.0, 158.0),
    ):
        assert low < body.devices["Fluid"].ohm_at(celsius) < high


def test_two_coils_in_series_add_up(body):
    gull, dunlin = body.devices["Gull"], body.devices["Dunlin"]
    expected = gull.ohm_at(23.0) + dunlin.ohm_at(23.0)  # 1-2 and 2-11
    assert body.ohm_between("1", "11", celsius=23.0) == pytest.approx(expected, rel=1e-12)
    assert body.ohm_between("11", "1", celsius=23.0) == pytest.approx(expected, rel=1e-12)


def test_what_is_not_wired_has_the_isolation(body):
    assert body.ohm_between("1", "case", celsius=23.0) == body.isolation_ohm
    assert body.ohm_between("8", "6", celsius=23.0) == body.isolation_ohm
    assert body.ohm_between("9", "case", celsius=23.0) == body.isolation_ohm  # an open switch


def test_the_same_name_makes_the_same_body():
    one, two = (healthy_body(TERN, dice("shuttle 9"), ohm_at_20=WITHOUT_LIMITS_OHM) for _ in range(2))
    other = healthy_body(TERN, dice("shuttle 8"), ohm_at_20=WITHOUT_LIMITS_OHM)
    assert dict(one.devices) == dict(two.devices)
    assert dict(one.devices) != dict(other.devices)


def test_chance_hangs_on_the_crc_of_the_name_alone():
    # CRC-32 of "123456789" is 0xCBF43926: the check value every catalogue of CRCs prints.
    import random

    assert dice("123456789").random() == random.Random(0xCBF43926).random()


def test_a_device_without_limits_must_be_stated():
    with pytest.raises(ValueError, match="Knot"):
        healthy_body(TERN, dice("a test"), ohm_at_20={})


def test_a_changed_body_leaves_the_first_as_it_was(body):
    other = body.with_device("Heron", TrueCoil(ohm_at_20=9.0)).with_leak("P7")
    assert body.devices["Heron"] != other.devices["Heron"]
    assert (body.leaking, other.leaking) == (frozenset(), frozenset({"P7"}))


def test_a_variant_with_a_loop_is_refused():
    raw = (FOLDER / "tern-body-2.json").read_text("utf-8")
    looped = raw.replace('"between": ["5", "11"]', '"between": ["2", "11"]')
    with pytest.raises(ValueError, match="second path"):
        healthy_body(read_variant(looped.encode(), source="looped"), dice("a test"), ohm_at_20={"Knot": 12.6})


def test_body_1_with_a_beta_sensor_can_be_made_too():
    first = read_variant((FOLDER / "tern-body-1.json").read_bytes(), source="tern-body-1.json")
    made = healthy_body(first, dice("a test"), ohm_at_20={"Dunlin": 10.0})
    assert made.devices["Fluid"].ohm_at(25.0) == pytest.approx(2200.0, rel=0.08 * 0.15)


def tiny(*devices):
    pins = [{"name": name} for name in "1234"]
    data = {"format": 1, "key": "tiny", "title": "Tiny (invented)", "pins": pins, "devices": list(devices)}
    return read_variant(json.dumps(data).encode(), source="tiny")


def test_a_link_is_nearly_nothing_and_electronics_are_not_simulated():
    link = {"name": "bridge", "kind": "link", "between": ["1", "2"], "max_ohm": 1.0}
    board = {"name": "board", "kind": "electronics", "between": ["3", "4"]}
    made = healthy_body(tiny(link, board), dice("a test"), ohm_at_20={})
    assert made.ohm_between("1", "2", celsius=20.0) < 1.0
    assert made.ohm_between("3", "4", celsius=20.0) == made.isolation_ohm


# What lies before a body: contacts, and the person who probes it


def test_a_poor_contact_stands_before_its_pin_and_nowhere_else(body):
    poor = body.with_contact("3", 3.0)
    assert poor.ohm_between("3", "11", celsius=20.0) == pytest.approx(body.ohm_between("3", "11", celsius=20.0) + 3.0)
    assert poor.ohm_between("7", "11", celsius=20.0) == body.ohm_between("7", "11", celsius=20.0)


def test_a_contact_of_a_common_pin_is_not_in_a_path_through_it(body):
    """From 3 to 7 the current turns round behind pin 11, where the coils meet."""
    poor = body.with_contact("11", 3.0)
    assert poor.ohm_between("3", "7", celsius=20.0) == body.ohm_between("3", "7", celsius=20.0)
    assert poor.ohm_between("11", "7", celsius=20.0) == pytest.approx(body.ohm_between("11", "7", celsius=20.0) + 3.0)


def test_at_its_own_terminals_a_coil_is_itself(body):
    poor = body.with_contact("3", 3.0)
    assert poor.ohm_between("Heron.1", "Heron.2", celsius=20.0) == body.devices["Heron"].ohm_at_20


def test_a_person_who_takes_pins_for_others_reads_the_others(body):
    turned = body.with_probed({"1": "3", "2": "11"})
    assert turned.ohm_between("1", "2", celsius=20.0) == body.ohm_between("3", "11", celsius=20.0)
    assert turned.ohm_between("8", "case", celsius=20.0) == body.ohm_between("8", "case", celsius=20.0)
