"""Which pins hang together: a value joins two nodes, one open reading parts two nets."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Sequence
from typing import NamedTuple

from valvebench.diagnose.wiring_readings import Pair, Table, Told

NetPair = frozenset[int]


class Nets(NamedTuple):
    """Nodes in nets, how many open readings part every two nets, and open readings inside a net."""

    members: tuple[tuple[str, ...], ...]
    opens: Counter[NetPair]
    inside: tuple[Told, ...]

    def pending(self) -> list[tuple[int, int]]:
        """Pairs of nets that no reading has parted yet."""
        count = len(self.members)
        pairs = ((i, j) for i in range(count) for j in range(i + 1, count))
        return [pair for pair in pairs if not self.opens[frozenset(pair)]]


def nets_of(nodes: Sequence[str], table: Table) -> Nets:
    """Nets from connectivity, in the order of their first nodes."""
    members = _components(nodes, table)
    place = {node: i for i, net in enumerate(members) for node in net}
    opens: Counter[NetPair] = Counter()
    inside = []
    for told in table.told.values():
        if not told.is_open:
            continue
        ends = frozenset((place[told.a], place[told.b]))
        if len(ends) == 1:
            inside.append(told)
        else:
            opens[ends] += told.agreeing
    return Nets(members, opens, tuple(inside))


def _components(nodes: Sequence[str], table: Table) -> tuple[tuple[str, ...], ...]:
    near = neighbours(nodes, table)
    left = dict.fromkeys(nodes)
    found = []
    while left:
        net = reached(next(iter(left)), near)
        found.append(tuple(node for node in nodes if node in net))
        left = {node: None for node in left if node not in net}
    return tuple(found)


def neighbours(nodes: Sequence[str], table: Table, *, without: Pair | None = None) -> dict[str, list[str]]:
    """What every node has read a value to."""
    near: dict[str, list[str]] = {node: [] for node in nodes}
    for pair, told in table.told.items():
        if not told.is_open and pair != without and told.a in near and told.b in near:
            near[told.a].append(told.b)
            near[told.b].append(told.a)
    return near


def reached(start: str, near: dict[str, list[str]]) -> set[str]:
    """All nodes that hang together with one."""
    seen, queue = {start}, deque([start])
    while queue:
        for node in near[queue.popleft()]:
            if node not in seen:
                seen.add(node)
                queue.append(node)
    return seen
