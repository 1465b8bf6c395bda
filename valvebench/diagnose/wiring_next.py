"""Which pair to read next while the wiring is being found, with the black clip moved seldom."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from valvebench.diagnose.wiring_doubts import Contradiction, odd_pairs
from valvebench.diagnose.wiring_nets import Nets
from valvebench.diagnose.wiring_readings import MOST_OF_A_COIL_OHM, OPEN, Pair, Table
from valvebench.diagnose.wiring_tree import LINK_OHM, Tree, in_row_pairs, unread
from valvebench.model.words import CASE

_TWICE: Final = 2
_OF_A_NET: Final = 1.0
_OF_A_LARGE: Final = 2.0
_BLANKS: Final = 2
_OF_A_BLANK: Final = 0.3
_OF_THE_CASE: Final = 0.3
_SAME_CLIP: Final = 1.02
_LARGE: Final = 3


class Step(NamedTuple):
    """One reading to take: black clip, red tip, why."""

    black: str
    red: str
    why: str


class Known(NamedTuple):
    """All that decides the next reading; `later` are pairs the person left for later."""

    nodes: tuple[str, ...]
    table: Table
    nets: Nets
    trees: tuple[Tree | None, ...]
    doubts: tuple[Contradiction, ...]
    later: frozenset[Pair] = frozenset()
    is_thorough: bool = False


def next_steps(known: Known) -> tuple[Step, ...]:
    """Readings that are needed whatever each of them shows; the first group that is not empty."""
    groups = [_repeats, _parting, _walking, _in_row]
    if not _is_all_read(known):  # who has read every pair is not sent round again
        groups += [_confirming, _odd]
    steps = next((found for group in groups if (found := _at_hand(group(known), known))), [])
    if not steps and known.later:  # only what was left for later remains: it comes round again
        return next_steps(known._replace(later=frozenset()))
    black = _last_black(known.table)
    return tuple(sorted(steps, key=lambda step: step.black != black)) if black else tuple(steps)


def _at_hand(steps: Iterator[Step], known: Known) -> list[Step]:
    return [step for step in steps if frozenset((step.black, step.red)) not in known.later]


def _is_all_read(known: Known) -> bool:
    count = len(known.nodes)
    return len(known.table.told) == count * (count - 1) // 2


def _last_black(table: Table) -> str | None:
    return table.readings[-1].a if table.readings else None


def _repeats(known: Known) -> Iterator[Step]:
    for doubt in known.doubts:
        if not doubt.is_settled:
            yield Step(*doubt.between, "read again")


def _parting(known: Known) -> Iterator[Step]:
    """The pair of nets most likely to hang together: a value found early saves readings."""
    pending = [pair for pair in known.nets.pending() if not _is_left(known, pair)]
    if not pending:
        return
    chances = _Chances(known, pending)
    best = max(pending, key=chances.of)
    a, b = (_speaker(known, known.nets.members[i]) for i in best)
    black = _last_black(known.table)
    if b == black or (a != black and chances.left[best[1]] < chances.left[best[0]]):
        a, b = b, a
    yield Step(a, b, "joined or open?")


def _is_left(known: Known, nets: tuple[int, int]) -> bool:
    """Whether the pair that speaks for two nets was left for later."""
    return frozenset(_speaker(known, known.nets.members[i]) for i in nets) in known.later


class _Chances:
    """How likely two nets hang together, relative to others."""

    def __init__(self, known: Known, pending: Sequence[tuple[int, int]]) -> None:
        self._members = known.nets.members
        self._black = _last_black(known.table)
        self._order = {node: i for i, node in enumerate(known.nodes)}
        self.left = [0] * len(self._members)
        for pair in pending:
            for i in pair:
                self.left[i] += 1
        self._parted = [len(self._members) - 1 - left for left in self.left]
        self._is_grown = any(len(net) >= _LARGE for net in self._members)
        self._is_blank = all(len(net) == 1 for net in self._members)

    def of(self, pair: tuple[int, int]) -> tuple[float, int]:
        nets = [self._members[i] for i in pair]
        grown = [i for i in pair if len(self._members[i]) > 1]
        chance = sum(1 / self.left[i] for i in pair) if not grown else _OF_A_LARGE if self._is_grown else _OF_A_NET
        if self._is_blank and any(self._parted[i] >= _BLANKS for i in pair):
            chance *= _OF_A_BLANK  # it may lead nowhere: a walk from it would tell nothing of the others
        for i in grown:
            size = len(self._members[i])
            chance *= (size - 1) / (size + self._parted[i])
        if (CASE,) in nets:
            chance *= _OF_THE_CASE
        if any(self._black in net for net in nets):
            chance *= _SAME_CLIP
        return chance, -abs(self._order[nets[0][0]] - self._order[nets[1][0]])


def _speaker(known: Known, net: Sequence[str]) -> str:
    """The node of a net that has been walked furthest; a sensor's pin only where there is no other."""

    def rank(node: str) -> tuple[bool, int]:
        values = [ohm for other in net if (ohm := known.table.ohm(node, other)) is not None and ohm < OPEN]
        is_sensor_pin = len(values) > 1 and min(values) > MOST_OF_A_COIL_OHM
        return not is_sensor_pin, len(values)

    return max(net, key=rank)


def _walking(known: Known) -> Iterator[Step]:
    """Two complete walks in every net: from the node walked furthest, then from the one nearest to it."""
    for net, tree in zip(known.nets.members, known.trees, strict=True):
        if tree is None and len(net) > 1:
            clip = next_clip(known, net)
            yield from (Step(clip, node, "walk this net") for node in unread(clip, net, known.table))


def next_clip(known: Known, net: Sequence[str]) -> str:
    """Where the black clip belongs for the next walk of a net."""
    table = known.table
    walked = [node for node in net if not unread(node, net, table)]
    if not walked:
        return _speaker(known, net)
    left = [node for node in net if node not in walked]
    apart = [node for node in left if _nearest(node, walked, table) > LINK_OHM]
    return min(apart or left, key=lambda node: _nearest(node, walked, table))


def _nearest(node: str, others: Sequence[str], table: Table) -> float:
    return min((ohm for other in others if (ohm := table.ohm(node, other)) is not None), default=OPEN)


def _confirming(known: Known) -> Iterator[Step]:
    """One open reading mistaken hides a part: what may well be joined is asked twice."""
    members = known.nets.members
    sizes = {len(net) for net in members}
    is_mixed = _TWICE in sizes and max(sizes) >= _LARGE
    for i, one in enumerate(members):
        for j in range(i + 1, len(members)):
            wants = is_mixed or _wants_confirming(one, members[j])
            if wants and known.nets.opens[frozenset((i, j))] < _TWICE:
                yield _second_look(known, one, members[j])


def _wants_confirming(one: Sequence[str], other: Sequence[str]) -> bool:
    """Nets with several parts, two lone pins, a lone pin beside a casting that carries parts."""
    if len(one) >= _LARGE or len(other) >= _LARGE:
        return True
    lone = [net for net in (one, other) if len(net) == 1 and CASE not in net]
    return len(lone) == _TWICE or (len(lone) == 1 and CASE in (*one, *other) and len(one) + len(other) > _TWICE)


def _second_look(known: Known, one: Sequence[str], other: Sequence[str]) -> Step:
    """Another pair of the same two nets where there is one, else the same again."""
    pairs = [(a, b) for a in one for b in other]
    fresh = [pair for pair in pairs if known.table.ohm(*pair) is None]
    black = _last_black(known.table)
    a, b = min(fresh or pairs, key=lambda pair: black not in pair)
    return Step(b, a, "surely open?") if b == black else Step(a, b, "surely open?")


def _in_row(known: Known) -> Iterator[Step]:
    for tree in known.trees:
        if tree is not None:
            yield from (
                Step(a, b, "side by side, or one behind the other?")
                for a, b in in_row_pairs(tree, known.table, is_thorough=known.is_thorough)
            )


def _odd(known: Known) -> Iterator[Step]:
    for told in odd_pairs(known.nets, known.trees, known.table):
        yield Step(told.a, told.b, "unusual value, read again")
