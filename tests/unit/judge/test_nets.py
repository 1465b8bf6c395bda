"""Which pins hang together: the invented body, drawn on paper."""

from __future__ import annotations

import pytest

from tests.data.made_up import variant_of
from valvebench.judge.nets import has_path_beside, isolated_nets, net_of, nets, pins_in

VARIANT = variant_of()


def device(name, kind, a, b, **more):
    return {"name": name, "kind": kind, "between": [a, b], **more}


def wired(*devices):
    return variant_of(devices=list(devices), ports=[], solenoid_chart={}, apply_chart={})


def test_nets_of_the_body():
    """Heron and Gull share pin 11; Plover and Reel go to the case; the sensor has two pins of its own."""
    assert set(nets(VARIANT)) == {frozenset({"3", "4", "11"}), frozenset({"8", "9", "case"}), frozenset({"6", "12"})}
    assert set(isolated_nets(VARIANT)) == {frozenset({"3", "4", "11"}), frozenset({"6", "12"})}


@pytest.mark.parametrize(
    ("node", "net"), [("3", {"3", "4", "11"}), ("case", {"8", "9", "case"}), ("1", {"1"}), ("Heron.1", {"Heron.1"})]
)
def test_net_of_a_node(node, net):
    assert net_of(VARIANT, node) == net


def test_pins_in_the_order_of_the_variant():
    assert pins_in(VARIANT, {"11", "case", "3", "joint"}) == ("3", "11")


@pytest.mark.parametrize(
    ("others", "beside"),
    [
        pytest.param([], False, id="alone"),
        pytest.param([device("B", "solenoid", "1", "2")], True, id="another across the same pins"),
        pytest.param([device("B", "solenoid", "2", "1")], True, id="turned round"),
        pytest.param([device("B", "solenoid", "1", "3"), device("C", "link", "3", "2")], True, id="over a joint"),
        pytest.param([device("B", "solenoid", "1", "3")], False, id="a branch that ends"),
        pytest.param([device("B", "diode", "1", "2")], False, id="a diode blocks or damps"),
        pytest.param([device("B", "electronics", "1", "2")], False, id="electronics are not read"),
        pytest.param([device("B", "switch", "1", "2", at_rest="open")], False, id="a switch open at rest"),
        pytest.param([device("B", "switch", "1", "2")], False, id="a switch of unknown state"),
        pytest.param([device("B", "switch", "1", "2", at_rest="closed")], True, id="a switch closed at rest"),
        pytest.param(
            [device("B", "solenoid", "1", "case"), device("C", "solenoid", "2", "case")], True, id="over the case"
        ),
    ],
)
def test_path_beside_a_device(others, beside):
    variant = wired(device("A", "solenoid", "1", "2"), *others)
    assert has_path_beside(variant, variant.device_named("A")) is beside
