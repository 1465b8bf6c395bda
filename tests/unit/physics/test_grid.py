"""The solved circuit and its neighbours, against star-mesh elimination and by hand."""

from __future__ import annotations

import math
import random
import zlib
from itertools import combinations

import numpy as np
import pytest

from valvebench.physics.grid import Grid
from valvebench.physics.network import Edge, Network


def grid_of(edges, count, watched=None):
    ends = np.array([(edge.a, edge.b) for edge in edges], dtype=np.intp)
    ohm = np.array([edge.ohm for edge in edges])
    return Grid(count, ends, ohm, np.arange(len(edges)) if watched is None else np.array(watched))


def circuit(name):
    """A tree in two parts with a few loops, five decades."""
    dice = random.Random(zlib.crc32(name.encode()))
    count = dice.randint(6, 14)
    cut = count // 2
    edges = [
        Edge(i, dice.randrange(0 if i < cut else cut, i), 10 ** dice.uniform(-2, 3))
        for i in range(1, count)
        if i != cut
    ]
    loops = [Edge(*dice.sample(range(cut), 2), 10 ** dice.uniform(-1, 2)) for _ in range(dice.randint(0, 2))]
    return count, edges + loops


def all_pairs(count):
    pairs = np.array(list(combinations(range(count), 2)), dtype=np.intp)
    return pairs[:, 0], pairs[:, 1]


def expected(edges, count):
    network = Network(edges)
    return np.array([float(network.resistance(a, b)) for a, b in combinations(range(count), 2)])


@pytest.mark.parametrize("number", range(20))
def test_any_resistor_changed_or_opened(number):
    count, edges = circuit(f"changed {number}")
    grid = grid_of(edges, count)
    sizes = np.array([0.05, 40.0, math.inf])
    for i, edge in enumerate(edges):
        seen = grid.changed(*all_pairs(count), resistor=i, ohm=sizes)
        for row, ohm in zip(seen.ohm, sizes, strict=True):
            others = [*edges[:i], edge._replace(ohm=ohm), *edges[i + 1 :]]
            assert row == pytest.approx(expected(others, count), rel=1e-7)


@pytest.mark.parametrize("number", range(20))
def test_any_resistor_added(number):
    count, edges = circuit(f"added {number}")
    grid = grid_of(edges, count)
    for u, v in [(0, count - 1), (count - 1, 0), (1, 2), (0, count // 2)]:
        seen = grid.added(*all_pairs(count), ends=(u, v), ohm=np.array([1.0, 2e7]))
        for row, ohm in zip(seen.ohm, (1.0, 2e7), strict=True):
            assert row == pytest.approx(expected([*edges, Edge(u, v, ohm)], count), rel=1e-7)


@pytest.mark.parametrize("number", range(10))
def test_volts_are_the_slope_of_the_resistance(number):
    """dR_ab/dlnR_e = V_e^2/R_e, by taking each resistor half a per mille up and down."""
    count, edges = circuit(f"slope {number}")
    edges.append(Edge(0, count - 1, 3.0))
    grid = grid_of(edges, count)
    pairs = all_pairs(count)
    volts = grid.seen(*pairs).volts[0]
    for i, edge in enumerate(edges):
        up, down = (grid.changed(*pairs, resistor=i, ohm=np.array([edge.ohm * f])).ohm[0] for f in (1.0005, 0.9995))
        assert volts[:, i] ** 2 / edge.ohm == pytest.approx((up - down) / 0.001, rel=1e-4, abs=1e-6)


def test_volts_after_a_change_and_through_a_new_way():
    """Two coils on a common, 5 and 6 ohm; a leak of 100 ohm from the far end of one to the case: by hand."""
    grid = grid_of([Edge(0, 1, 5.0), Edge(1, 2, 6.0)], 4)
    leak = grid.added(np.array([0, 0, 3]), np.array([3, 1, 0]), ends=(2, 3), ohm=np.array([100.0]))
    assert leak.ohm[0].tolist() == pytest.approx([111.0, 5.0, 111.0])
    assert np.abs(leak.volts[0]).tolist() == [
        pytest.approx([5.0, 6.0]),
        pytest.approx([5.0, 0.0]),
        pytest.approx([5.0, 6.0]),
    ]
    assert leak.own[0].tolist() == [100.0, 0.0, -100.0]
    beside = grid.added(np.array([0]), np.array([2]), ends=(0, 2), ohm=np.array([11.0]))
    assert beside.ohm[0, 0] == pytest.approx(5.5)
    assert beside.volts[0, 0].tolist() == pytest.approx([2.5, 3.0])
    assert beside.own[0, 0] == pytest.approx(5.5)
