"""Resistance between two nodes of a network of resistors, by star-mesh elimination.

Every step only adds and divides positive numbers, so no digit is lost to cancellation however
far apart the resistances lie (20 milliohm beside 20 megohm).  The same code runs on exact
fractions.
"""

from __future__ import annotations

import math
from collections import defaultdict, deque
from collections.abc import Hashable, Iterable, Iterator, Sequence
from typing import Any, NamedTuple

Node = Hashable
Number = Any
"""A float, or an exact fraction: both are taken as they are."""


class Edge(NamedTuple):
    """A resistor [ohm] between two nodes; nought joins them, infinity parts them."""

    a: Node
    b: Node
    ohm: Number
    name: str = ""


class Network:
    """Nodes joined by resistors; nodes without a way between them are open to each other."""

    def __init__(self, edges: Iterable[Edge]) -> None:
        self.edges: tuple[Edge, ...] = tuple(edges)
        for edge in self.edges:
            if not edge.ohm >= 0:
                raise ValueError(f"{edge.name or edge}: a resistance must be nought or more")
        self._joined = _joined_nodes(self.edges)
        self._mesh = self._conductances()

    def _conductances(self) -> dict[Node, dict[Node, Number]]:
        """Conductance [S] between neighbours, joined nodes taken as one and parallel resistors summed."""
        mesh: dict[Node, dict[Node, Number]] = defaultdict(dict)
        for edge in self.edges:
            a, b = self._place(edge.a), self._place(edge.b)
            if a == b or edge.ohm == math.inf:
                continue
            conductance = 1 / edge.ohm
            mesh[a][b] = mesh[b][a] = mesh[a].get(b, 0) + conductance
        return mesh

    def _place(self, node: Node) -> Node:
        return self._joined.get(node, node)

    def resistance(self, a: Node, b: Node) -> Number:
        """Resistance [ohm] between two nodes; infinity where they are open to each other.

        Parameters
        ----------
        a, b : nodes; one the network does not know is open to all others

        Returns
        -------
        float (or fraction), nought for joined nodes

        Source
        ------
        Star-mesh transformation: g_ij gains g_ik g_jk / sum_l g_kl when node k is taken out;
        equal to (e_a - e_b)' L+ (e_a - e_b) of the graph Laplacian L.
        """
        start, end = self._place(a), self._place(b)
        if start == end:
            return 0
        reached = self._reached(start)
        if end not in reached:
            return math.inf
        mesh = {node: dict(self._mesh[node]) for node in reached}
        for node in _cheapest_first(mesh, keep={start, end}):
            _take_out(mesh, node)
        return 1 / mesh[start][end]

    def _reached(self, start: Node) -> set[Node]:
        seen, queue = {start}, deque([start])
        while queue:
            for node in self._mesh.get(queue.popleft(), {}):
                if node not in seen:
                    seen.add(node)
                    queue.append(node)
        return seen

    def components(self) -> tuple[frozenset[Node], ...]:
        """Sets of nodes that hang together, joined ones included."""
        members: dict[Node, set[Node]] = defaultdict(set)
        for node in {node for edge in self.edges for node in (edge.a, edge.b)}:
            members[self._place(node)].add(node)
        seen: set[Node] = set()
        result = []
        for place in members:
            if place not in seen:
                reached = self._reached(place)
                seen |= reached
                result.append(frozenset(node for one in reached for node in members[one]))
        return tuple(result)

    def carries(self, a: Node, b: Node) -> tuple[Edge, ...]:
        """The resistors that carry current when a source is put between two nodes, in the order met from `a`.

        Source
        ------
        The voltage across an edge u-v is proportional to R_av + R_bu - R_au - R_bv.
        """
        if self.resistance(a, b) in (0, math.inf):
            return ()
        near = _Distances(self, a), _Distances(self, b)
        live = [edge for edge in self.edges if edge.ohm != math.inf and _is_live(edge, *near)]
        return tuple(sorted(live, key=lambda edge: min(near[0].to(edge.a), near[0].to(edge.b))))


class _Distances:
    """Resistances from one node, each worked out once."""

    def __init__(self, network: Network, start: Node) -> None:
        self._network, self._start = network, start
        self._known: dict[Node, Number] = {}

    def to(self, node: Node) -> Number:
        if node not in self._known:
            self._known[node] = self._network.resistance(self._start, node)
        return self._known[node]


_NEARLY_NOTHING = 1e-9


def _is_live(edge: Edge, from_a: _Distances, from_b: _Distances) -> bool:
    parts = (from_a.to(edge.b), from_b.to(edge.a), from_a.to(edge.a), from_b.to(edge.b))
    if math.inf in parts:
        return False
    return bool(abs(parts[0] + parts[1] - parts[2] - parts[3]) > _NEARLY_NOTHING * max(parts))


def _joined_nodes(edges: Sequence[Edge]) -> dict[Node, Node]:
    """Nodes joined by nothing, each with the one that stands for all."""
    place: dict[Node, Node] = {}

    def find(node: Node) -> Node:
        while place.get(node, node) != node:
            node = place[node]
        return node

    for edge in edges:
        if edge.ohm == 0:
            place[find(edge.a)] = find(edge.b)
    return {node: find(node) for node in list(place)}


def _cheapest_first(mesh: dict[Node, dict[Node, Number]], keep: set[Node]) -> Iterator[Node]:
    """Nodes to take out, fewest neighbours first: a tree costs one step a node."""
    left = set(mesh) - keep
    while left:
        node = min(left, key=lambda n: len(mesh[n]))
        left.remove(node)
        yield node


def _take_out(mesh: dict[Node, dict[Node, Number]], node: Node) -> None:
    around = mesh.pop(node)
    for neighbour in around:
        del mesh[neighbour][node]
    total = sum(around.values())
    names = list(around)
    for i, one in enumerate(names):
        for other in names[i + 1 :]:
            gained = around[one] * around[other] / total
            mesh[one][other] = mesh[other][one] = mesh[one].get(other, 0) + gained
