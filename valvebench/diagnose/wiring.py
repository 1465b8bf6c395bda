"""What is wired to what, from resistance readings alone."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from enum import Enum
from typing import Final, NamedTuple

from valvebench.diagnose.wiring_doubts import Contradiction, contradictions_of, shown
from valvebench.diagnose.wiring_left import most_pairs_left, unsettled
from valvebench.diagnose.wiring_nets import nets_of
from valvebench.diagnose.wiring_next import Known, Step, next_steps
from valvebench.diagnose.wiring_readings import MOST_OF_A_COIL_OHM, Pair, Table, WireReading
from valvebench.diagnose.wiring_tree import LINK_OHM, Part, Tree, tree_of, unproved, unread
from valvebench.model.words import CASE

DEFAULT_RESOLUTION_OHM: Final = 0.01
# Magnitudes from memory: the least a solenoid reads, the range of sensors.
_LEAST_OF_A_COIL_OHM: Final = 1.0
_SENSOR_OHM: Final = (150.0, 5e4)
_LIKE: Final = 0.06
"""Coils within it are taken for a matched set: common practice, no source."""

Wires = tuple[tuple[str, str], ...]


class WiredKind(Enum):
    """What a part may be by its resistance alone."""

    COIL_LIKE = "coil_like"
    SENSOR_LIKE = "sensor_like"
    LINK = "link"
    UNKNOWN = "unknown"


class Wired(NamedTuple):
    """A part found between two nodes [ohm], and the parts it may be matched with."""

    kind: WiredKind
    between: tuple[str, str]
    ohm: float
    matched_with: Wires


class Unclear(NamedTuple):
    """Circuits that the readings so far, or any readings, cannot tell apart."""

    between: tuple[str, ...]
    either: tuple[Wires, ...]
    why: str


class Wiring(NamedTuple):
    """All that the readings say, and the readings to take next; `next` is empty when the wiring is found.

    `unsettled` are nodes of which it is not known yet what hangs on them, `pairs_left` how many
    pairs that were not read yet may still be asked for at most.
    """

    nodes: tuple[str, ...]
    nets: tuple[tuple[str, ...], ...]
    devices: tuple[Wired, ...]
    cannot_tell: tuple[Unclear, ...]
    contradictions: tuple[Contradiction, ...]
    next: tuple[Step, ...]
    celsius: float | None
    unsettled: frozenset[str] = frozenset()
    pairs_left: int = 0

    @property
    def pins(self) -> tuple[str, ...]:
        """The nodes without the casting."""
        return tuple(node for node in self.nodes if node != CASE)

    @property
    def on_case(self) -> tuple[str, ...]:
        """Pins that hang on the casting."""
        return tuple(node for net in self.nets if CASE in net for node in net if node != CASE)

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to read."""
        return not self.next


def find_wiring(
    pins: Sequence[str],
    readings: Iterable[WireReading],
    *,
    resolution_ohm: float = DEFAULT_RESOLUTION_OHM,
    has_case: bool = True,
    later: Collection[Pair] = (),
    is_thorough: bool = False,
) -> Wiring:
    """Find nets, parts and contradictions, and say what to read next.

    Parameters
    ----------
    pins : names in the order of the connector
    readings : taken so far, oldest first [ohm, degC]
    resolution_ohm : display step of the meter on its lowest range [ohm]
    has_case : whether the casting is probed too
    later : pairs the person left for later; they come round when nothing else is left
    is_thorough : ask for every pair that tells side by side from one behind the other, and take none for granted

    Returns
    -------
    Wiring; parts in ohm at the temperature of the first reading that has one.

    Source
    ------
    Buneman (1971), from memory: tree distances and the tree determine each other; the walks
    and thresholds are common practice, no source.
    """
    table = Table(readings, resolution_ohm=resolution_ohm)
    nodes = (*(pin for pin in pins if pin != CASE), *([CASE] if has_case else []))
    nets = nets_of(nodes, table)
    trees = tuple(tree_of(net, table) for net in nets.members)
    doubts = contradictions_of(nets, trees, table)
    known = Known(nodes, table, nets, trees, doubts, frozenset(later), is_thorough)
    steps = next_steps(known)
    parts = [part for tree in trees if tree is not None for part in tree.parts]
    unclear = (
        *_of_doubts(doubts),
        *(one for tree in trees if tree is not None for one in _of_tree(tree)),
        *(one for net, tree in zip(nets.members, trees, strict=True) if tree is None for one in _of_walk(net, table)),
    )
    if is_thorough:
        unclear = (*unclear, *(one for tree in trees if tree is not None for one in _in_row(tree, table)))
    celsius = next((reading.celsius for reading in table.readings if reading.celsius is not None), None)
    return Wiring(
        nodes,
        nets.members,
        _wired(parts, nodes),
        unclear,
        doubts,
        steps,
        celsius,
        unsettled(known, steps),
        most_pairs_left(known) if steps else 0,
    )


class Walk:
    """Readings taken in one by one, and what they say after each."""

    def __init__(self, pins: Sequence[str], *, resolution_ohm: float = DEFAULT_RESOLUTION_OHM) -> None:
        self._pins, self._resolution_ohm = tuple(pins), resolution_ohm
        self._readings: list[WireReading] = []
        self._wiring: Wiring | None = None

    def take(self, reading: WireReading) -> None:
        """Count one reading in."""
        self._readings.append(reading)
        self._wiring = None

    @property
    def wiring(self) -> Wiring:
        """What all readings so far say."""
        if self._wiring is None:
            self._wiring = find_wiring(self._pins, self._readings, resolution_ohm=self._resolution_ohm)
        return self._wiring


def kind_of(ohm: float) -> WiredKind:
    """What a part may be by its resistance [ohm]."""
    if ohm <= LINK_OHM:
        return WiredKind.LINK
    if _LEAST_OF_A_COIL_OHM <= ohm <= MOST_OF_A_COIL_OHM:
        return WiredKind.COIL_LIKE
    low, high = _SENSOR_OHM
    return WiredKind.SENSOR_LIKE if low <= ohm <= high else WiredKind.UNKNOWN


def _wired(parts: Sequence[Part], nodes: Sequence[str]) -> tuple[Wired, ...]:
    order = {node: i for i, node in enumerate(nodes)}
    turned = [_in_order(part, order) for part in parts]
    turned.sort(key=lambda part: [order.get(node, len(order)) for node in (part.a, part.b)])
    return tuple(Wired(kind_of(part.ohm), (part.a, part.b), part.ohm, _matches(part, turned)) for part in turned)


def _in_order(part: Part, order: dict[str, int]) -> Part:
    a, b = sorted((part.a, part.b), key=lambda node: order.get(node, len(order)))
    return Part(a, b, part.ohm)


def _matches(part: Part, parts: Sequence[Part]) -> Wires:
    if kind_of(part.ohm) is not WiredKind.COIL_LIKE:
        return ()
    return tuple((other.a, other.b) for other in parts if other is not part and is_like(part.ohm, other.ohm))


def is_like(one: float, other: float) -> bool:
    """Whether two resistances [ohm] may be of equal coils."""
    return abs(one - other) <= _LIKE * max(one, other)


def _of_doubts(doubts: Sequence[Contradiction]) -> Iterator[Unclear]:
    """A pair to repeat: joined or not, or two values for one part."""
    for doubt in doubts:
        if not doubt.is_settled:
            yield Unclear(doubt.between, ((doubt.between,), ()), doubt.why)


def _of_tree(tree: Tree) -> Iterator[Unclear]:
    yield from _triangles(tree)
    yield from _linked(tree)
    for node, one, other in tree.unsure:
        why = f"The steps of the meter hide whether {node} hangs on {one} or on {other}."
        yield Unclear((node, one, other), (((one, node),), ((other, node),)), why)


def _of_walk(net: Sequence[str], table: Table) -> Iterator[Unclear]:
    """After one walk the clip may stand on the common node, or the common node reads lowest from it."""
    walked = next((node for node in net if not unread(node, net, table)), None)
    if walked is None:
        return
    nearest = min((node for node in net if node != walked), key=lambda node: table.told[frozenset((walked, node))].ohm)
    either = tuple(tuple((hub, node) for node in net if node != hub) for hub in (walked, nearest))
    yield Unclear(tuple(net), either, f"One walk does not tell whether {walked} or {nearest} is the common node.")


def _in_row(tree: Tree, table: Table) -> Iterator[Unclear]:
    """Side by side is likely, but one may hang behind the other."""
    for one in unproved(tree, table):
        why = f"{one.long} may hang on {one.hub}, or behind {one.short}."
        yield Unclear((one.hub, one.short, one.long), (((one.hub, one.long),), ((one.short, one.long),)), why)


def _triangles(tree: Tree) -> Iterator[Unclear]:
    for joint in tree.joints:
        ends = [part.b if part.a == joint else part.a for part in tree.parts if joint in (part.a, part.b)]
        if len(ends) == 3:
            a, b, c = ends
            star = ((a, joint), (b, joint), (c, joint))
            why = "Three parts to an internal joint read like three parts in a triangle: no reading tells them apart."
            yield Unclear((a, b, c), (star, ((a, b), (b, c), (c, a))), why)


def _linked(tree: Tree) -> Iterator[Unclear]:
    """What hangs on one end of a link may as well hang on the other."""
    for link in tree.parts:
        if link.ohm > LINK_OHM:
            continue
        for part in tree.parts:
            shared = link.pair & part.pair
            if part is not link and len(shared) == 1:
                (end,), (far,) = shared, part.pair - shared
                (other,) = link.pair - shared
                why = f"{end} and {other} are joined ({shown(link.ohm)}): either may be where it hangs."
                yield Unclear((end, other, far), (((end, far),), ((other, far),)), why)
