"""In which order to take pairs so that the clip is moved as seldom as possible.

One lead stays clipped while the other walks.  A pair is read with the clip on either of its
ends, so the fewest places for the clip are the fewest nodes that touch every pair.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from valvebench.model.words import CASE


class Probe(NamedTuple):
    """One pair to take: the clip stays on `clip`, the tip goes to `tip`; `place` is its place in the list given."""

    tip: str
    clip: str
    place: int


def clip_order(pairs: Sequence[tuple[str, str]]) -> tuple[Probe, ...]:
    """Pairs in the order of fewest clip moves.

    Parameters
    ----------
    pairs : two nodes each, in the order of the variant

    Returns
    -------
    tuple of Probe, each pair once; the clip that serves most pairs first, pairs in their own order.

    Source
    ------
    A smallest vertex cover of the graph of pairs, found exactly; a bench has few pairs.
    """
    covers = _smallest_cover([frozenset(pair) for pair in pairs], ())
    counts = Counter(node for pair in pairs for node in pair if node in covers)
    # A clip on the casting is made once and holds; it comes last, isolation after the devices.
    clips = sorted(covers, key=lambda node: (node == CASE, -counts[node], _first(pairs, node)))
    taken: set[int] = set()
    order: list[Probe] = []
    for clip in clips:
        for place, (a, b) in enumerate(pairs):
            if place not in taken and clip in (a, b):
                taken.add(place)
                order.append(Probe(a if clip == b else b, clip, place))
    return tuple(order)


def clip_moves(order: Sequence[Probe]) -> int:
    """How often the clip is put on a node."""
    return sum(i == 0 or order[i - 1].clip != probe.clip for i, probe in enumerate(order))


def _first(pairs: Sequence[tuple[str, str]], node: str) -> int:
    return next(place for place, pair in enumerate(pairs) if node in pair)


def _smallest_cover(edges: list[frozenset[str]], chosen: tuple[str, ...]) -> frozenset[str]:
    """Branch on the busiest node: it is in the cover, or all its neighbours are."""
    left = [edge for edge in edges if not edge & set(chosen)]
    if not left:
        return frozenset(chosen)
    counts = Counter(node for edge in left for node in edge)
    busiest, most = max(counts.items(), key=lambda item: (item[1], item[0] == CASE, item[0]))
    with_it = _smallest_cover(left, (*chosen, busiest))
    # A node that touches one pair only is never better than its neighbour, and ends a branch.
    if most <= 1:
        return with_it
    around = {node for edge in left if busiest in edge for node in edge if node != busiest}
    if len(chosen) + len(around) >= len(with_it):
        return with_it
    without = _smallest_cover(left, (*chosen, *sorted(around)))
    return min(with_it, without, key=len)
