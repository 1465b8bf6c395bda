"""Which pins hang together through devices: plain graph facts, no resistances."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Iterable
from functools import lru_cache

from valvebench.model.variant import AnyDevice, Diode, Electronics, Pin, Switch, Variant
from valvebench.model.words import CASE, SwitchState


def nets(variant: Variant) -> tuple[frozenset[str], ...]:
    """Sets of nodes that are wired together through any device, `case` included, in the order of the pins."""
    return _nets(variant.pins, variant.devices)


@lru_cache(maxsize=16)
def _nets(pins: tuple[Pin, ...], devices: tuple[AnyDevice, ...]) -> tuple[frozenset[str], ...]:
    """Worked out once for each variant: every reading asks for them."""
    graph = _graph(devices)
    seen: set[str] = set()
    result = []
    for start in [pin.name for pin in pins] + sorted(graph):
        if start in graph and start not in seen:
            net = _reached(graph, start)
            seen |= net
            result.append(frozenset(net))
    return tuple(result)


def net_of(variant: Variant, node: str) -> frozenset[str]:
    """The net of a node; only itself where nothing is wired to it."""
    return next((net for net in nets(variant) if node in net), frozenset((node,)))


def isolated_nets(variant: Variant) -> tuple[frozenset[str], ...]:
    """Nets that ought to be isolated from the case: those without a way to it."""
    return tuple(net for net in nets(variant) if CASE not in net)


def pins_in(variant: Variant, net: Iterable[str]) -> tuple[str, ...]:
    """The pins of a net in the order of the variant."""
    members = set(net)
    return tuple(pin.name for pin in variant.pins if pin.name in members)


def has_path_beside(variant: Variant, device: AnyDevice) -> bool:
    """Whether current can pass from one end of a device to the other without it."""
    others = [other for other in variant.devices if other.name != device.name and _conducts(other)]
    graph = _graph(others)
    start, end = device.between
    return start in graph and end in _reached(graph, start)


def _conducts(device: AnyDevice) -> bool:
    if isinstance(device, Diode | Electronics):
        return False
    return not isinstance(device, Switch) or device.at_rest is SwitchState.CLOSED


def _graph(devices: Iterable[AnyDevice]) -> dict[str, set[str]]:
    graph: dict[str, set[str]] = defaultdict(set)
    for device in devices:
        a, b = device.between
        graph[a].add(b)
        graph[b].add(a)
    return graph


def _reached(graph: dict[str, set[str]], start: str) -> set[str]:
    seen, queue = {start}, deque([start])
    while queue:
        for node in graph[queue.popleft()] - seen:
            seen.add(node)
            queue.append(node)
    return seen
