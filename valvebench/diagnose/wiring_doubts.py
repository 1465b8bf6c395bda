"""Readings that contradict each other, and the one to repeat."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from valvebench.diagnose.wiring_nets import Nets, neighbours, reached
from valvebench.diagnose.wiring_readings import OPEN, Pair, Table, Told
from valvebench.diagnose.wiring_tree import LINK_OHM, Tree, tree_of
from valvebench.model.format import ohm_text

_TYPOS: Final = (10.0, 0.1)
# Magnitudes from memory: what parts behind a connector usually read.
_ODD_BANDS_OHM: Final = ((0.25, 1.5), (45.0, 150.0), (3e4, OPEN))
_ENOUGH: Final = 2


class Contradiction(NamedTuple):
    """Readings that cannot all be right: the pair to repeat, what it showed [ohm], why; settled by a repeat or not."""

    between: tuple[str, str]
    ohm: tuple[float, ...]
    why: str
    is_settled: bool = False


def contradictions_of(nets: Nets, trees: Sequence[Tree | None], table: Table) -> tuple[Contradiction, ...]:
    """Every contradiction, the pair to repeat once only."""
    found: dict[Pair, Contradiction] = {}
    for one in (*_repeated(table), *_open_inside(nets, table), *_unfitting(nets, trees, table)):
        found.setdefault(frozenset(one.between), one)
    return tuple(found.values())


def is_odd(ohm: float) -> bool:
    """Whether a value is of a size that no usual part has [ohm]."""
    return any(low < ohm < high for low, high in _ODD_BANDS_OHM)


def shown(ohm: float) -> str:
    """A value as it is said in a sentence."""
    return "open" if ohm == OPEN else ohm_text(ohm)


def _repeated(table: Table) -> Iterator[Contradiction]:
    for told in table.told.values():
        if told.others:
            values = (told.ohm, *told.others)
            words = ", ".join(shown(ohm) for ohm in values)
            why = f"Readings of one pair differ ({words})"
            ending = "; most agree on the first." if told.is_settled else ": read it again."
            yield Contradiction((told.a, told.b), values, why + ending, told.is_settled)


def _open_inside(nets: Nets, table: Table) -> Iterator[Contradiction]:
    """Open, though other values lead from one node to the other."""
    for told in nets.inside:
        blamed = told if told.agreeing < _ENOUGH else _bridge(nets, told, table)
        if blamed is None:
            why = "Open each time, though other values lead there: a diode or a contact may lie between."
            yield Contradiction((told.a, told.b), (told.ohm,), why, is_settled=True)
        elif not told.others:
            why = (
                f"{told.a}\u2013{told.b} is open, though other values lead from {told.a} to {told.b}: read this again."
            )
            yield Contradiction((blamed.a, blamed.b), (blamed.ohm,), why)


def _bridge(nets: Nets, told: Told, table: Table) -> Told | None:
    """A value read once without which the two nodes would not hang together."""
    net = next(net for net in nets.members if told.a in net)
    for pair, other in table.told.items():
        if other.is_open or other.agreeing >= _ENOUGH or not pair <= set(net):
            continue
        if told.b not in reached(told.a, neighbours(net, table, without=pair)):
            return other
    return None


def _unfitting(nets: Nets, trees: Sequence[Tree | None], table: Table) -> Iterator[Contradiction]:
    """Values that fit no tree, or a simpler one if one of them is ten times too large or too small."""
    for net, tree in zip(nets.members, trees, strict=True):
        if tree is None or len(net) <= 2:
            continue
        if _oddity(tree) > (0, 0, 0):
            yield from _suspects(net, tree, table)


def _oddity(tree: Tree) -> tuple[int, int, int]:
    """How strange a tree is: misfits, internal joints, parts of unusual size."""
    return len(tree.misfits), len(tree.joints), sum(is_odd(part.ohm) for part in tree.parts)


def _suspects(net: Sequence[str], tree: Tree, table: Table) -> Iterator[Contradiction]:
    before = _oddity(tree)
    trials = list(_trials(net, table))
    better = [(after, told, factor) for told, factor, after in trials if after[0] == 0 and after < before]
    if better:
        best = min(after for after, _, _ in better)
        for after, told, factor in better:
            if after == best:
                should = shown(told.ohm * factor)
                why = f"{shown(told.ohm)} fits no simple wiring; {should} would: read it again."
                yield Contradiction((told.a, told.b), (told.ohm,), why)
        return
    yield from _misfits(tree, table)


def _trials(net: Sequence[str], table: Table) -> Iterator[tuple[Told, float, tuple[int, int, int]]]:
    """What the tree would look like if one value, read once, were a slip by ten."""
    inside = set(net)
    for pair, told in table.told.items():
        if not pair <= inside or told.is_open or told.agreeing >= _ENOUGH:
            continue
        for factor in _TYPOS:
            trial = tree_of(net, table.with_value(pair, told.ohm * factor))
            # no tree: both clips would stand on one link, which is as simple as it gets
            yield told, factor, (0, 0, 0) if trial is None else _oddity(trial)


def _misfits(tree: Tree, table: Table) -> Iterator[Contradiction]:
    """Without a better guess: every value of a misfit that was read once."""
    if tree.bases is None:
        return
    for node in tree.misfits:
        for base in tree.bases:
            told = table.told[frozenset((node, base))]
            is_trusted = told.agreeing >= _ENOUGH
            why = "No tree of resistors fits" + (", though it was read twice." if is_trusted else ": read it again.")
            yield Contradiction((told.a, told.b), (told.ohm,), why, is_settled=is_trusted)


def odd_pairs(nets: Nets, trees: Sequence[Tree | None], table: Table) -> list[Told]:
    """Pairs whose value, read once, is of a size that no usual part has."""
    found = []
    for net, tree in zip(nets.members, trees, strict=True):
        if tree is None or len(net) < 2:
            continue
        odd = [part for part in tree.parts if is_odd(part.ohm) and part.ohm > LINK_OHM * 0.5]
        found += [told for part in odd if (told := table.told.get(part.pair)) is not None and told.agreeing < _ENOUGH]
    return found
