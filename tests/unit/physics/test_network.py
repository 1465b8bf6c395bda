"""A network of resistors: joined, parted, refused (published circuits and oracles: tests/external/test_network.py)."""

from __future__ import annotations

import math

import pytest

from valvebench.physics.network import Edge, Network

SERIES = [Edge("a", "b", 2.0, "one"), Edge("b", "c", 3.0, "two")]
PARALLEL = [Edge("a", "b", 2.0, "one"), Edge("b", "a", 2.0, "two")]
TRIANGLE = [Edge("a", "b", 1.0, "ab"), Edge("b", "c", 1.0, "bc"), Edge("a", "c", 2.0, "ac")]
BRIDGE = [
    Edge("a", "l", 1.0, "al"),
    Edge("a", "r", 1.0, "ar"),
    Edge("l", "b", 1.0, "lb"),
    Edge("r", "b", 1.0, "rb"),
    Edge("l", "r", 5.0, "bridge"),
]


@pytest.mark.parametrize(
    ("edges", "a", "b", "ohm"),
    [
        pytest.param(SERIES, "a", "c", 5.0, id="series: 2 + 3"),
        pytest.param(PARALLEL, "a", "b", 1.0, id="parallel: two of 2 make 1"),
        pytest.param(TRIANGLE, "a", "c", 1.0, id="2 beside 1 + 1"),
        pytest.param(BRIDGE, "a", "b", 1.0, id="a balanced bridge carries nothing"),
        pytest.param(SERIES, "a", "a", 0, id="a node to itself"),
        pytest.param(SERIES, "a", "nowhere", math.inf, id="a node the network does not know"),
        pytest.param([Edge("a", "b", 0.0), Edge("b", "c", 3.0)], "a", "c", 3.0, id="nought joins"),
        pytest.param([Edge("a", "b", 0.0)], "b", "a", 0, id="joined nodes"),
        pytest.param([Edge("a", "b", math.inf)], "a", "b", math.inf, id="infinity parts"),
        pytest.param([Edge("a", "b", 2.0), Edge("a", "b", math.inf)], "a", "b", 2.0, id="parted beside 2"),
        pytest.param([Edge("a", "b", 2.0), Edge("a", "b", 0.0)], "a", "b", 0, id="shorted"),
        pytest.param([Edge("a", "b", 2.0), Edge("c", "d", 2.0)], "a", "d", math.inf, id="two parts"),
    ],
)
def test_resistance_by_hand(edges, a, b, ohm):
    assert Network(edges).resistance(a, b) == pytest.approx(ohm)
    assert Network(edges).resistance(b, a) == pytest.approx(ohm)


@pytest.mark.parametrize(
    ("edges", "a", "b", "names"),
    [
        (SERIES, "a", "c", ["one", "two"]),
        (SERIES, "c", "a", ["two", "one"]),
        (SERIES, "a", "b", ["one"]),
        (SERIES, "a", "nowhere", []),
        (BRIDGE, "a", "b", ["al", "ar", "lb", "rb"]),
        ([Edge("a", "b", 0.0, "x")], "a", "b", []),
        ([*SERIES, Edge("c", "d", 1.0, "branch")], "a", "c", ["one", "two"]),
        ([*SERIES, Edge("x", "y", 1.0, "elsewhere"), Edge("a", "c", math.inf, "parted")], "a", "c", ["one", "two"]),
    ],
)
def test_which_resistors_carry_the_current(edges, a, b, names):
    assert [edge.name for edge in Network(edges).carries(a, b)] == names


def test_parts_that_hang_together():
    network = Network([*SERIES, Edge("d", "e", 0.0), Edge("e", "f", 1.0), Edge("g", "h", math.inf)])
    assert set(network.components()) == {frozenset("abc"), frozenset("def"), frozenset("g"), frozenset("h")}


@pytest.mark.parametrize("ohm", [-1.0, math.nan])
def test_a_resistance_below_nought_is_refused(ohm):
    with pytest.raises(ValueError, match="Heron"):
        Network([Edge("a", "b", ohm, "Heron")])
