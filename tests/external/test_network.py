"""The network against published circuits, networkx, Foster's theorem and exact fractions."""

from __future__ import annotations

import math
import random
import zlib
from fractions import Fraction
from itertools import combinations

import networkx as nx
import pytest

from valvebench.physics.network import Edge, Network


def random_edges(name: str, *, decades: float) -> list[Edge]:
    """A connected network of 4 to 20 nodes with loops; resistances over so many decades."""
    dice = random.Random(zlib.crc32(name.encode()))
    count = dice.randint(4, 20)

    def ohm() -> float:
        return 10 ** dice.uniform(-2, -2 + decades)

    edges = [Edge(i, dice.randrange(i), ohm()) for i in range(1, count)]
    return edges + [Edge(*dice.sample(range(count), 2), ohm()) for _ in range(dice.randint(0, 8))]


def as_graph(edges: list[Edge]) -> nx.Graph:
    """The same for networkx; parallel resistors are summed as conductances first."""
    graph = nx.Graph()
    for edge in edges:
        before = graph.edges[edge.a, edge.b]["siemens"] if graph.has_edge(edge.a, edge.b) else 0.0
        graph.add_edge(edge.a, edge.b, siemens=before + 1 / edge.ohm)
    return graph


@pytest.mark.parametrize("number", range(200))
def test_resistance_distance_of_networkx(number: int) -> None:
    decades = 5.0 if number % 2 else 8.0
    edges = random_edges(f"network {number}", decades=decades)
    ours, graph = Network(edges), as_graph(edges)
    ratio = max(edge.ohm for edge in edges) / min(edge.ohm for edge in edges)
    tolerance = 1e-9 if ratio <= 1e5 else 2e-14 * ratio
    theirs = nx.resistance_distance(graph, weight="siemens", invert_weight=False)
    for a, b in list(combinations(graph.nodes, 2))[:40]:
        assert ours.resistance(a, b) == pytest.approx(theirs[a][b], rel=max(tolerance, 1e-9))


@pytest.mark.parametrize("number", range(200))
def test_fosters_theorem(number: int) -> None:
    """Foster 1949 (from memory): the sum of R_eff/R over all edges is nodes less components."""
    edges = random_edges(f"foster {number}", decades=5.0)
    network = Network(edges)
    total = sum(network.resistance(edge.a, edge.b) / edge.ohm for edge in edges if edge.a != edge.b)
    nodes = {node for edge in edges for node in (edge.a, edge.b)}
    assert total == pytest.approx(len(nodes) - len(network.components()), rel=1e-9)


@pytest.mark.parametrize("number", range(20))
def test_exact_fractions(number: int) -> None:
    """Ten decades apart, and still every digit: against the same network in exact fractions."""
    edges = random_edges(f"exact {number}", decades=10.0)
    exact = Network([edge._replace(ohm=Fraction(edge.ohm)) for edge in edges])
    ours = Network(edges)
    for a, b in combinations(range(4), 2):
        assert ours.resistance(a, b) == pytest.approx(float(exact.resistance(a, b)), rel=1e-13)


def test_complete_graph() -> None:
    """Closed form 2/n (from memory)."""
    for n, expected in zip((3, 4, 5, 6), (2 / 3, 0.5, 0.4, 1 / 3), strict=True):
        network = Network(Edge(a, b, 1.0) for a, b in combinations(range(n), 2))
        assert network.resistance(0, 1) == pytest.approx(expected, rel=1e-12)


def test_cycle_graph() -> None:
    """Closed form k (n - k) / n (from memory)."""
    network = Network(Edge(i, (i + 1) % 6, 1.0) for i in range(6))
    assert [network.resistance(0, k) for k in (1, 2, 3)] == pytest.approx([5 / 6, 8 / 6, 1.5], rel=1e-12)


def test_balanced_bridge() -> None:
    """A balanced bridge does not see its middle resistor: (100 + 150) || (200 + 300), by hand."""
    for middle in (0.0, 77.0, math.inf):
        edges = [
            Edge("a", "b", 100),
            Edge("a", "c", 200),
            Edge("b", "d", 150),
            Edge("c", "d", 300),
            Edge("b", "c", middle),
        ]
        assert Network(edges).resistance("a", "d") == pytest.approx(500 / 3, rel=1e-12)


def test_star_delta() -> None:
    """Kennelly's transformation (from memory): a star of 10, 20, 30 ohm seen from two of its ends."""
    star = Network([Edge(0, 1, 10), Edge(0, 2, 20), Edge(0, 3, 30)])
    assert star.resistance(1, 2) == pytest.approx(30.0)
    delta = Network([Edge(1, 2, 110 / 3), Edge(2, 3, 110.0), Edge(3, 1, 55.0)])
    for pair in combinations((1, 2, 3), 2):
        assert delta.resistance(*pair) == pytest.approx(star.resistance(*pair), rel=1e-12)


@pytest.mark.parametrize(
    ("edges", "a", "b", "ohm"),
    [
        pytest.param([], 1, 2, math.inf, id="unknown nodes are open"),
        pytest.param([Edge(1, 2, 5.0)], 1, 1, 0, id="a node to itself"),
        pytest.param([Edge(1, 2, 0.0)], 1, 2, 0, id="joined"),
        pytest.param([Edge(1, 2, math.inf)], 1, 2, math.inf, id="parted"),
        pytest.param([Edge(1, 2, 5.0), Edge(3, 4, 5.0)], 1, 3, math.inf, id="two components"),
        pytest.param([Edge(1, 2, 0.0), Edge(2, 3, 5.0), Edge(3, 4, 0.0)], 1, 4, 5.0, id="through joined nodes"),
        pytest.param([Edge(1, 2, 6.0), Edge(1, 2, 3.0)], 1, 2, 2.0, id="side by side"),
    ],
)
def test_states(edges: list[Edge], a: int, b: int, ohm: float) -> None:
    assert Network(edges).resistance(a, b) == ohm


def test_a_negative_resistance_is_refused() -> None:
    with pytest.raises(ValueError, match="nought or more"):
        Network([Edge(1, 2, -1.0)])


def test_only_resistors_with_current_are_on_the_way() -> None:
    """Two coils on a common: the third coil and the balanced arm carry nothing."""
    edges = [Edge("3", "11", 5.2, "Heron"), Edge("7", "11", 5.2, "Whimbrel"), Edge("2", "11", 12.0, "Dunlin")]
    assert [edge.name for edge in Network(edges).carries("3", "7")] == ["Heron", "Whimbrel"]
