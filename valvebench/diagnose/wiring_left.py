"""How far the finding of wiring is: which pins are not settled yet, and how many pairs are left at most."""

from __future__ import annotations

from collections.abc import Sequence

from valvebench.diagnose.wiring_next import Known, Step
from valvebench.diagnose.wiring_tree import unread

_TWICE = 2


def unsettled(known: Known, steps: Sequence[Step]) -> frozenset[str]:
    """Nodes of which it is not known yet what hangs on them."""
    members = known.nets.members
    open_nets = {place for pair in known.nets.pending() for place in pair}
    open_nets |= {place for place, tree in enumerate(known.trees) if tree is None}
    asked = {node for step in steps for node in (step.black, step.red)}
    open_nets |= {place for place, net in enumerate(members) if asked & set(net)}
    return frozenset(node for place in open_nets for node in members[place])


def pairs_in_all(count: int) -> int:
    """Pairs of so many nodes."""
    return count * (count - 1) // 2


def most_pairs_left(known: Known) -> int:
    """Pairs not read yet that the finding may still ask for: never too few.

    Two nets need one open reading, at most two; a net of n nodes two walks, 2 n - 3 pairs, and any of its
    pairs where nothing is taken for granted.
    """
    fresh = pairs_in_all(len(known.nodes)) - len(known.table.told)
    pending = len(known.nets.pending())
    if known.is_thorough:
        return fresh if pending else min(fresh, _second_looks(known) + _inside(known))
    return min(fresh, pending + _second_looks(known) + _walks(known, may_grow=pending > 0) + _in_row(known))


def _second_looks(known: Known) -> int:
    members, opens = known.nets.members, known.nets.opens
    places = [(i, j) for i in range(len(members)) for j in range(i + 1, len(members))]
    return sum(opens[frozenset(pair)] < _TWICE and _has_fresh(known, *pair) for pair in places)


def _has_fresh(known: Known, one: int, other: int) -> bool:
    members, told = known.nets.members, known.table.told
    return any(frozenset((a, b)) not in told for a in members[one] for b in members[other])


def _walks(known: Known, *, may_grow: bool) -> int:
    """Pairs left of two walks in every net; nets that may still grow together count as one of all their nodes."""
    if may_grow:
        return 2 * len(known.nodes) - 3
    return sum(
        min(2 * len(net) - 3, sum(len(unread(node, net, known.table)) for node in net) // 2)
        for net, tree in zip(known.nets.members, known.trees, strict=True)
        if tree is None
    )


def _inside(known: Known) -> int:
    """Pairs inside nets that were not read."""
    return sum(len(unread(node, net, known.table)) for net in known.nets.members for node in net) // 2


def _in_row(known: Known) -> int:
    """At most two pairs of a net may be asked for to tell side by side from one behind the other."""
    return 2 * sum(len(net) > _TWICE for net in known.nets.members)
