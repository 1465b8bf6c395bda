"""The tree of resistors inside one net, from walks with the clip on two of its nodes.

With d the reading and x, h the two clip places, node j leaves the way from x to h at
(d_xj + d_xh - d_hj) / 2 from x: nought means x is the hub of j, d_xh means h is, and
anything between is an internal joint.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from valvebench.diagnose.wiring_readings import MOST_OF_A_COIL_OHM, OPEN, Pair, Table

# All common practice, no source.
LINK_OHM: Final = 0.5
"""Below it is metal and tips, not a part."""
_SLACK_OHM: Final = 0.2
"""Half of what tips and leads may add to one of three readings."""
_FINE_OHM: Final = 1.0
"""Steps that blur the place of a part by more could hide a coil."""
_SLACK_SHARE: Final = 0.002
_HALF: Final = 0.5


class Part(NamedTuple):
    """One resistor of the tree [ohm]; a node that is no pin is an internal joint."""

    a: str
    b: str
    ohm: float

    @property
    def pair(self) -> Pair:
        """The two nodes, in no order."""
        return frozenset((self.a, self.b))


class Tree(NamedTuple):
    """Resistors, joints, nodes whose readings no tree fits, and (node, one hub, other hub) that cannot be told."""

    parts: tuple[Part, ...] = ()
    joints: tuple[str, ...] = ()
    misfits: tuple[str, ...] = ()
    unsure: tuple[tuple[str, str, str], ...] = ()
    bases: tuple[str, str] | None = None
    doubt_ohm: float = 0.0


class _Place(NamedTuple):
    """Where a node leaves the way from x to h [ohm from x], how far it lies beyond, and how sure that is [ohm]."""

    node: str
    at: float
    beyond: float
    doubt: float


def tree_of(net: Sequence[str], table: Table) -> Tree | None:
    """The tree of one net; None while its two walks are not complete."""
    if len(net) < 2:
        return Tree()
    bases = bases_of(net, table)
    if bases is None:
        return None
    tree = _Fit(net, table, bases).tree()
    return None if tree.doubt_ohm > _FINE_OHM and _is_too_coarse(bases, net, table) else tree


def bases_of(net: Sequence[str], table: Table) -> tuple[str, str] | None:
    """The two nearest nodes, further apart than a link, with complete walks."""
    walked = [node for node in net if not unread(node, net, table)]
    pairs = [(a, b) for i, a in enumerate(walked) for b in walked[i + 1 :]]
    if len(net) == 2:
        return (net[0], net[1]) if pairs else None
    usable = [pair for pair in pairs if LINK_OHM < _distance(table, *pair) < OPEN]
    if not usable:  # all walked ones are linked: any two will do once everything is read
        linked = [pair for pair in pairs if _distance(table, *pair) < OPEN]
        return linked[0] if linked and len(walked) == len(net) else None
    return min(usable, key=lambda pair: _distance(table, *pair))


def _is_too_coarse(bases: tuple[str, str], net: Sequence[str], table: Table) -> bool:
    """Whether a sensor lies between both clips though a coil is at hand: its steps hide the coils."""
    if _distance(table, *bases) <= MOST_OF_A_COIL_OHM:
        return False
    walked = [node for node in net if not unread(node, net, table)]
    return any(
        LINK_OHM < _distance(table, node, other) <= MOST_OF_A_COIL_OHM
        for node in walked
        for other in net
        if other not in walked
    )


def unread(node: str, net: Sequence[str], table: Table) -> list[str]:
    """Nodes of the net to which this one has not been read."""
    return [other for other in net if other != node and table.ohm(node, other) is None]


def _distance(table: Table, a: str, b: str) -> float:
    ohm = table.ohm(a, b)
    return OPEN if ohm is None else ohm


class _Fit:
    """One try at a tree between two clip places."""

    def __init__(self, net: Sequence[str], table: Table, bases: tuple[str, str]) -> None:
        self._net, self._table = net, table
        self._x, self._h = bases
        self._span = _distance(table, *bases)
        self._misfits: list[str] = []
        self._unsure: list[tuple[str, str, str]] = []
        self._joints: list[str] = []

    def tree(self) -> Tree:
        hubs: list[tuple[float, str]] = [(0.0, self._x), (self._span, self._h)]
        places = [self._place(node) for node in self._net if node not in (self._x, self._h)]
        between = [place for place in places if self._is_between(place)]
        groups = _clusters(between)
        hubs[1:1] = [self._middle(group) for group in groups]
        hung = self._hung([place for place in places if place not in between], hubs)
        for group, (_, hub) in zip(groups, hubs[1:-1], strict=True):
            hung += [(hub, place) for place in group if place.node != hub]
        parts = [Part(one[1], two[1], two[0] - one[0]) for one, two in pairwise(hubs)]
        parts += self._branches(hung)
        return Tree(
            parts=tuple(self._as_read(part) for part in parts),
            joints=tuple(self._joints),
            misfits=tuple(self._misfits),
            unsure=tuple(self._unsure),
            bases=(self._x, self._h),
            doubt_ohm=max((place.doubt for place in places), default=0.0),
        )

    def _place(self, node: str) -> _Place:
        near, far = _distance(self._table, self._x, node), _distance(self._table, self._h, node)
        if OPEN in (near, far):
            return _Place(node, OPEN, 0.0, _SLACK_OHM)
        at = _HALF * (near + self._span - far)
        return _Place(node, at, near - at, self._doubt(near, far))

    def _doubt(self, near: float, far: float) -> float:
        values = (near, far, self._span)
        steps = sum(self._table.step(ohm) for ohm in values)
        share = _SLACK_SHARE * max((ohm for ohm in values if ohm <= MOST_OF_A_COIL_OHM), default=0.0)
        return _SLACK_OHM + _HALF * steps + share

    def _is_between(self, place: _Place) -> bool:
        return place.doubt < place.at < self._span - place.doubt and place.beyond >= -place.doubt

    def _middle(self, group: Sequence[_Place]) -> tuple[float, str]:
        """A pin that sits on the way, or an internal joint."""
        at = min(group, key=lambda place: place.doubt).at
        pin = next((place.node for place in group if place.beyond <= LINK_OHM), None)
        return at, pin if pin is not None else self._new_joint()

    def _new_joint(self) -> str:
        number = len(self._joints) + 1
        self._joints.append(f"joint {self._net[0]}.{number}")
        return self._joints[-1]

    def _hung(self, places: Sequence[_Place], hubs: Sequence[tuple[float, str]]) -> list[tuple[str, _Place]]:
        """Every node with the end it hangs on."""
        hung: list[tuple[str, _Place]] = []
        unsure: list[tuple[_Place, str, str]] = []
        for place in places:
            if place.at == OPEN:
                self._misfits.append(place.node)
                continue
            away = [(abs(place.at - at), hub) for at, hub in (hubs[0], hubs[-1])]
            away.sort(key=lambda one: one[0])
            if away[0][0] > place.doubt or place.beyond < -place.doubt:
                self._misfits.append(place.node)
            elif away[1][0] <= place.doubt and self._span > LINK_OHM:
                unsure.append((place, away[0][1], away[1][1]))
                continue
            hung.append((away[0][1], place))
        return [*hung, *self._guessed(unsure, hung)]

    def _guessed(
        self, unsure: Sequence[tuple[_Place, str, str]], hung: Sequence[tuple[str, _Place]]
    ) -> list[tuple[str, _Place]]:
        """Nodes that may hang on either end: shown on the one that has more parts."""
        ends = [hub for hub, _ in hung]
        guessed = []
        for place, near, far in unsure:
            hub, other = (far, near) if ends.count(far) > ends.count(near) else (near, far)
            self._unsure.append((place.node, hub, other))
            guessed.append((hub, place))
        return guessed

    def _branches(self, hung: Sequence[tuple[str, _Place]]) -> list[Part]:
        """Each node by its own resistor, unless a reading between two of them says otherwise."""
        parts: list[Part] = []
        done: list[tuple[str, _Place]] = []
        for hub, place in sorted(hung, key=lambda one: one[1].beyond):
            parts.append(self._branch(hub, place, [other for at, other in done if at == hub]))
            done.append((hub, place))
        return parts

    def _branch(self, hub: str, place: _Place, shorter: Sequence[_Place]) -> Part:
        for other in reversed(shorter):  # the longest it can hang behind: in a row of three the one before it
            if other.beyond > LINK_OHM and self._is_behind(place, other):
                return Part(other.node, place.node, place.beyond - other.beyond)
        return Part(hub, place.node, max(place.beyond, 0.0))

    def _is_behind(self, place: _Place, other: _Place) -> bool:
        """Whether the two read as parts in a row, and surely not as side by side."""
        across = self._table.ohm(place.node, other.node)
        if across is None:
            return False
        slack = 2 * max(place.doubt, other.doubt)
        is_side_by_side = abs(across - place.beyond - other.beyond) <= slack
        return not is_side_by_side and abs(across - place.beyond + other.beyond) <= slack

    def _as_read(self, part: Part) -> Part:
        """The reading itself where the part was read straight."""
        ohm = self._table.ohm(part.a, part.b)
        return part if ohm is None or ohm == OPEN else part._replace(ohm=ohm)


def _clusters(places: Sequence[_Place]) -> list[list[_Place]]:
    """Nodes that leave the way at one point, by their doubt."""
    groups: list[list[_Place]] = []
    for place in sorted(places, key=lambda place: place.at):
        if groups and place.at - groups[-1][-1].at <= max(place.doubt, groups[-1][-1].doubt):
            groups[-1].append(place)
        else:
            groups.append([place])
    return groups


class Beside(NamedTuple):
    """Two parts taken to hang side by side on a hub, though the longer one could hang behind the shorter."""

    hub: str
    short: str
    long: str
    short_ohm: float
    long_ohm: float


def side_by_side(tree: Tree) -> list[Beside]:
    """Every two parts on one hub that differ by enough for one to hide behind the other."""
    hubs = sorted({node for part in tree.parts for node in (part.a, part.b)})
    found = []
    for hub in hubs:
        ends = sorted((part.ohm, part.b) for part in tree.parts if part.a == hub and part.ohm > LINK_OHM)
        for place, (short, a) in enumerate(ends):
            found += [Beside(hub, a, b, short, long) for long, b in ends[place + 1 :] if long - short > _FINE_OHM]
    return found


def in_row_pairs(tree: Tree, table: Table, *, is_thorough: bool = False) -> list[tuple[str, str]]:
    """Pairs on one hub that one reading would tell from two parts in a row: all if thorough, else few or none."""
    pairs = [(one.short, one.long) for one in side_by_side(tree)]
    asked = [pair for pair in pairs if table.ohm(*pair) is None and not set(pair) & set(tree.joints)]
    return asked if is_thorough or len(pairs) <= _FEW else []


def unproved(tree: Tree, table: Table) -> list[Beside]:
    """Parts taken to hang side by side that no reading tells, or that the steps of the meter hide."""
    joints = set(tree.joints)
    return [one for one in side_by_side(tree) if not {one.short, one.long} & joints and not _is_told(one, table)]


def _is_told(one: Beside, table: Table) -> bool:
    across = table.ohm(one.short, one.long)
    if across is None or across == OPEN:
        return False
    doubt = _SLACK_OHM + _HALF * (table.step(across) + table.step(one.long_ohm) + table.step(one.short_ohm))
    return abs(across - one.long_ohm + one.short_ohm) > doubt


_FEW: Final = 2
