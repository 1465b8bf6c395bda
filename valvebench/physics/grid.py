"""Resistances of a circuit and its neighbours: one resistor changed, opened or added, for many pairs at once.

A circuit behind a connector is nearly a tree, so a changed resistor is often the only way
between two halves, where the rank-one formula is nought over nought; there the way itself is
summed.  Each component is solved on its own: nothing tiny is added to make it regular.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Whole = NDArray[np.intp]


class Seen(NamedTuple):
    """What pairs of nodes see for g sizes of one changed resistor.

    Shapes: `ohm` (g, pairs), infinite where open [ohm]; `volts` (g, pairs, watched), the volts
    across each watched resistor for one ampere through the pair; `own` (g, pairs), the same
    across the changed one.
    """

    ohm: Floats
    volts: Floats
    own: Floats


class Grid:
    """Resistors [ohm] between numbered nodes, solved once.

    Parameters
    ----------
    count : number of nodes
    ends : (resistors, 2) nodes
    ohm : (resistors,) above nought [ohm]
    watched : resistors whose volts are wanted

    Source
    ------
    The resistance of a pair is (e_a - e_b)' L+ (e_a - e_b), L the Laplacian of conductances;
    dR_ab/dR_e = (V_e/R_e)^2 for one ampere (Cohn 1950, from memory); a changed resistor is a
    rank-one change of L (Sherman and Morrison).
    """

    def __init__(self, count: int, ends: Whole, ohm: Floats, watched: Whole) -> None:
        self.ends, self.ohm, self.watched = ends, ohm, watched
        self.part = _parts(count, ends)
        self._inverse = _grounded(count, ends, ohm, self.part)
        self._across = self._inverse[ends[:, 0]] - self._inverse[ends[:, 1]]
        effective = np.array([self._volts_of(i, *ends[i]) for i in range(len(ends))])
        self.is_bridge = _bridges(count, ends)
        self._effective = np.where(self.is_bridge, ohm, effective)

    def _volts_of(self, resistor: int, a: Whole | int, b: Whole | int) -> Floats:
        found: Floats = self._across[resistor, a] - self._across[resistor, b]
        return found

    def seen(self, a: Whole, b: Whole) -> Seen:
        """The circuit as it is, g = 1; no resistor is changed, `own` is nought."""
        g = self._inverse
        ohm = np.where(self.part[a] == self.part[b], g[a, a] + g[b, b] - 2.0 * g[a, b], np.inf)
        volts = (self._across[self.watched][:, a] - self._across[self.watched][:, b]).T
        volts = np.where(np.isfinite(ohm)[:, None], volts, 0.0)
        return Seen(ohm[None], volts[None], np.zeros((1, len(a))))

    def changed(self, a: Whole, b: Whole, *, resistor: int, ohm: Floats) -> Seen:
        """One resistor takes the values `ohm` (g,); infinity opens it."""
        base = self.seen(a, b)
        through = np.where(np.isfinite(base.ohm[0]), self._volts_of(resistor, a, b), 0.0)
        if self.is_bridge[resistor]:
            return self._on_the_only_way((a, b), base, through, resistor, ohm)
        with np.errstate(divide="ignore"):
            more = 1.0 / ohm - 1.0 / self.ohm[resistor]
        ends = self.ends[resistor]
        return self._rank_one(base, through, (int(ends[0]), int(ends[1])), more, self._effective[resistor])

    def added(self, a: Whole, b: Whole, *, ends: tuple[int, int], ohm: Floats) -> Seen:
        """One more resistor of the values `ohm` (g,) between two nodes."""
        base = self.seen(a, b)
        u, v = ends
        g = self._inverse
        if self.part[u] == self.part[v]:
            difference = g[u] - g[v]
            through = np.where(np.isfinite(base.ohm[0]), difference[a] - difference[b], 0.0)
            return self._rank_one(base, through, ends, 1.0 / ohm, g[u, u] + g[v, v] - 2.0 * g[u, v])
        return self._joined(base, (a, b), ends, ohm)

    def _on_the_only_way(
        self, pairs: tuple[Whole, Whole], base: Seen, through: Floats, resistor: int, ohm: Floats
    ) -> Seen:
        """A bridge carries all or nothing of a pair's ampere."""
        a, b = pairs
        old = self.ohm[resistor]
        sign = np.where(np.abs(through) > 0.5 * old, np.sign(through), 0.0)
        own = np.where(np.isfinite(ohm), ohm, 0.0)[:, None] * sign[None]
        u, v = self.ends[resistor]
        near, far = np.where(sign > 0, u, v), np.where(sign > 0, v, u)
        # The way there, through it, and on: taking the old value off would lose digits of a small new one.
        way = self._within(a, near) + self._within(far, b)
        result = np.where(sign[None] != 0.0, way[None] + ohm[:, None], base.ohm)
        return Seen(result, np.repeat(base.volts, len(ohm), axis=0), own)

    def _rank_one(self, base: Seen, through: Floats, ends: tuple[int, int], more: Floats, effective: Floats) -> Seen:
        """Sherman and Morrison for `more` (g,) conductance [S] between two nodes of one component."""
        grown = 1.0 + more * effective
        factor = more / grown
        watched = self._across[self.watched][:, ends[0]] - self._across[self.watched][:, ends[1]]
        ohm = base.ohm - factor[:, None] * through[None] ** 2
        volts = base.volts - factor[:, None, None] * through[None, :, None] * watched[None, None]
        return Seen(ohm, volts, through[None] / grown[:, None])

    def _joined(self, base: Seen, pairs: tuple[Whole, Whole], ends: tuple[int, int], ohm: Floats) -> Seen:
        """A resistor between two components: the way there, through it, and on."""
        (a, b), (u, v) = pairs, ends
        forth = (self.part[a] == self.part[u]) & (self.part[b] == self.part[v])
        back = (self.part[a] == self.part[v]) & (self.part[b] == self.part[u])
        near, far = np.where(back, v, u), np.where(back, u, v)
        crosses = forth | back
        way = self._within(a, near) + self._within(far, b)
        result = np.where(crosses[None], way[None] + ohm[:, None], base.ohm)
        w = self._across[self.watched]
        volts = (w[:, a] - w[:, near] + w[:, far] - w[:, b]).T
        volts = np.where(crosses[:, None], volts, base.volts[0])
        sign = np.where(forth, 1.0, np.where(back, -1.0, 0.0))
        return Seen(result, np.repeat(volts[None], len(ohm), axis=0), ohm[:, None] * sign[None])

    def _within(self, a: Whole, b: Whole) -> Floats:
        g = self._inverse
        found: Floats = g[a, a] + g[b, b] - 2.0 * g[a, b]
        return found


def _parts(count: int, ends: Whole) -> Whole:
    """The component of each node, as the number of one of its nodes."""
    place = list(range(count))

    def find(node: int) -> int:
        while place[node] != node:
            place[node] = place[place[node]]
            node = place[node]
        return node

    for a, b in ends.tolist():
        place[find(a)] = find(b)
    return np.array([find(node) for node in range(count)], dtype=np.intp)


def _grounded(count: int, ends: Whole, ohm: Floats, part: Whole) -> Floats:
    """Inverse of the Laplacian with one node of each component held at nought volts.

    Source: in a tree it is the resistance of the way that two nodes share from the held one: sums only.
    """
    result = np.zeros((count, count))
    for name in np.unique(part).tolist():
        members = np.flatnonzero(part == name)
        mine = np.flatnonzero(part[ends[:, 0]] == name) if len(ends) else np.zeros(0, dtype=np.intp)
        if len(mine) == len(members) - 1:
            _add_tree(result, name, ends[mine].tolist(), ohm[mine].tolist())
        else:
            free = members[members != name]
            block = np.ix_(free, free)
            result[block] = np.linalg.inv(_laplacian(count, ends[mine], ohm[mine])[block])
    return result


def _add_tree(result: Floats, root: int, ends: list[list[int]], ohm: list[float]) -> None:
    near: dict[int, list[tuple[int, float]]] = {}
    for (a, b), r in zip(ends, ohm, strict=True):
        near.setdefault(a, []).append((b, r))
        near.setdefault(b, []).append((a, r))
    met = [root]
    for node in met:
        for other, r in near.get(node, ()):
            if other not in met:
                result[other, met] = result[met, other] = result[node, met]
                result[other, other] = result[node, node] + r
                met.append(other)


def _laplacian(count: int, ends: Whole, ohm: Floats) -> Floats:
    laplacian = np.zeros((count, count))
    for (a, b), siemens in zip(ends.tolist(), (1.0 / ohm).tolist(), strict=True):
        laplacian[a, a] += siemens
        laplacian[b, b] += siemens
        laplacian[a, b] -= siemens
        laplacian[b, a] -= siemens
    return laplacian


def _bridges(count: int, ends: Whole) -> NDArray[np.bool_]:
    """Which resistors are the only way between their two ends."""
    whole = _parts(count, ends)
    found = []
    for i, (a, b) in enumerate(ends.tolist()):
        others = np.delete(ends, i, axis=0)
        inside = others[whole[others[:, 0]] == whole[a]]
        place = _parts(count, inside)
        found.append(place[a] != place[b])
    return np.array(found, dtype=bool)
