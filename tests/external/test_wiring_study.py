"""Wiring from readings, on random connectors with their own truth and their own meter.

The truth is a graph of resistors; networkx adds up the way between two nodes.  Magnitudes and
the meter's ranges: common practice, no source.  Seeds are the CRC-32 of the connector's name.
"""

from __future__ import annotations

import math
import random
import statistics
import zlib
from collections import Counter
from typing import NamedTuple

import networkx as nx
import pytest

from valvebench.diagnose.wiring import Walk
from valvebench.diagnose.wiring_readings import WireReading

CASE = "case"
SHAPES = ("star", "pairs", "case return", "mixed")
SLIPS = ("ten times", "a tenth", "open")
MOST_READINGS = 2000


class Truth(NamedTuple):
    """A connector: its pins, its resistors, and which pins lead nowhere."""

    name: str
    shape: str
    pins: tuple[str, ...]
    graph: nx.Graph
    joints: int

    @property
    def needed(self) -> int:
        """N(N-1)/2 + n - N: n nodes with the casting, N separate nets (issue text)."""
        nets = nx.number_connected_components(self.graph)
        return nets * (nets - 1) // 2 + self.graph.number_of_nodes() - nets


def truth(name: str, shape: str) -> Truth:
    dice = random.Random(zlib.crc32(name.encode()))
    pins = [str(i + 1) for i in range(dice.randint(4, 24))]
    graph = nx.Graph()
    graph.add_nodes_from([*pins, CASE])
    left = dice.sample(pins, len(pins))
    coils = Coils(dice)
    {"star": star, "pairs": pairs, "case return": case_return, "mixed": mixed}[shape](graph, left, coils, dice)
    joints = sum(str(node).startswith("joint") for node in graph)
    return Truth(name, shape, tuple(pins), graph, joints)


class Coils:
    """Linear solenoids of one lot, on/off ones of another, some sensors."""

    def __init__(self, dice: random.Random) -> None:
        self._dice = dice
        self._linear, self._on_off = dice.uniform(3.0, 8.0), dice.uniform(10.0, 40.0)
        self._share = dice.choice([0.0, 0.3, 0.6, 1.0])

    def coil(self) -> float:
        middle = self._linear if self._dice.random() < self._share else self._on_off
        return middle * self._dice.gauss(1.0, 0.015)

    def sensor(self) -> float:
        return self._dice.choice([self._dice.uniform(200, 2000), self._dice.uniform(1000, 20000)])


def star(graph, left, coils, dice):
    for _ in range(dice.choice([0, 0, 1, 2]) if len(left) > 5 else 0):
        left.pop()
    hub = left.pop()
    has_sensor = dice.random() < 0.4
    for i, pin in enumerate(left):
        graph.add_edge(hub, pin, ohm=coils.sensor() if has_sensor and i == 0 else coils.coil())


def pairs(graph, left, coils, dice):
    for _ in range(dice.randint(0, len(left) // 4)):
        left.pop()
    while len(left) >= 2:
        graph.add_edge(left.pop(), left.pop(), ohm=coils.sensor() if dice.random() < 0.15 else coils.coil())


def case_return(graph, left, coils, dice):
    for _ in range(dice.choice([0, 0, 1, 2]) if len(left) > 5 else 0):
        left.pop()
    for pin in left:
        graph.add_edge(CASE, pin, ohm=coils.coil())


def mixed(graph, left, coils, dice):
    for _ in range(dice.randint(0, len(left) // 5)):
        left.pop()
    while len(left) >= 2:
        kind = dice.choice(["star", "pair", "pair", "sensor", "case", "linked", "joint"])
        if kind in ("star", "linked") and len(left) >= 4:
            hub = left.pop()
            ends = [left.pop() for _ in range(dice.randint(2, min(len(left) - 1, 8)))]
            graph.add_edges_from((hub, end, {"ohm": coils.coil()}) for end in ends)
            if kind == "linked":
                graph.add_edge(hub, left.pop(), ohm=0.02)
        elif kind == "joint" and len(left) >= 4:
            ends = [left.pop() for _ in range(dice.randint(4, min(len(left), 6)))]
            joint = f"joint {hubs(graph)}"
            graph.add_edges_from((joint, end, {"ohm": coils.coil()}) for end in ends)
        elif kind == "case":
            graph.add_edge(CASE, left.pop(), ohm=coils.coil())
        elif kind == "sensor":
            graph.add_edge(left.pop(), left.pop(), ohm=coils.sensor())
        else:
            graph.add_edge(left.pop(), left.pop(), ohm=coils.coil())


def hubs(graph):
    return sum(str(node).startswith("joint") for node in graph)


class Handheld:
    """A meter with one gain, tips that were not nulled, steps that grow with the range."""

    def __init__(self, body: Truth, dice: random.Random, *, step: float, is_fine: bool) -> None:
        self._ways = dict(nx.all_pairs_dijkstra_path_length(body.graph, weight="ohm"))
        self._dice, self._step, self._is_fine = dice, step, is_fine
        self._gain = 1.0 if is_fine else 1.0 + dice.uniform(-0.009, 0.009)
        self._leads = 0.0 if is_fine else dice.uniform(0.0, 0.2)

    def read(self, a: str, b: str) -> float:
        way = self._ways[a].get(b, math.inf)
        if way == math.inf:
            return math.inf
        tips = 0.0 if self._is_fine else abs(self._dice.gauss(0.0, 0.01))
        shown = way * self._gain + self._leads + tips
        decades = 0 if self._is_fine else max(0, math.ceil(math.log10(max(shown, 1e-9) / 60.0)))
        step = self._step * 10**decades
        return round(round(shown / step) * step, 6)


class Outcome(NamedTuple):
    readings: int
    is_right: bool
    is_said: bool
    wiring: object


def find(body: Truth, *, step: float, is_fine: bool = False, slip: str | None = None) -> Outcome:
    """Let the program ask until it is done; with a slip, one value of the right run is written wrongly."""
    number = None
    if slip is not None:
        clean = _run(body, step=step, is_fine=is_fine)
        dice = random.Random(zlib.crc32(f"{body.name} {slip}".encode()))
        values = [i for i, ohm in enumerate(clean[1]) if ohm < math.inf]
        number = dice.choice(values)
    walk, shown = _run(body, step=step, is_fine=is_fine, slip=slip, at=number)
    wiring = walk.wiring
    said = bool(wiring.contradictions) or any(one for one in wiring.cannot_tell if "joined" not in one.why)
    return Outcome(len(shown), is_same(wiring, body), said, wiring)


def _run(body, *, step, is_fine, slip=None, at=None):
    dice = random.Random(zlib.crc32(f"{body.name} meter".encode()))
    meter = Handheld(body, dice, step=step, is_fine=is_fine)
    walk = Walk(body.pins, resolution_ohm=step)
    shown = []
    while not walk.wiring.is_done and len(shown) < MOST_READINGS:
        step_to = walk.wiring.next[0]
        ohm = meter.read(step_to.black, step_to.red)
        if len(shown) == at:
            ohm = {"ten times": round(ohm * 10, 6), "a tenth": round(ohm / 10, 6), "open": math.inf}[slip]
        shown.append(ohm)
        walk.take(WireReading(step_to.black, step_to.red, ohm))
    return walk, shown


def is_same(wiring, body: Truth) -> bool:
    """Same nets and same parts; the ends of a link count as one node, joints have no name."""
    found = nx.Graph()
    found.add_nodes_from(wiring.nodes)
    for part in wiring.devices:
        found.add_edge(*part.between, ohm=part.ohm)
    return _sketch(found) == _sketch(body.graph)


def _sketch(graph: nx.Graph) -> tuple[set[frozenset[str]], Counter]:
    nets = {frozenset(n for n in net if not n.startswith("joint")) for net in nx.connected_components(graph)}
    linked = nx.Graph([(a, b) for a, b, ohm in graph.edges(data="ohm") if ohm <= 0.5])
    alias = {node: min(group) for group in nx.connected_components(linked) for node in group}

    def label(node):
        if not node.startswith("joint"):
            return alias.get(node, node)
        return "joint of " + " ".join(sorted(alias.get(end, end) for end in graph[node]))

    wires = Counter(frozenset((label(a), label(b))) for a, b, ohm in graph.edges(data="ohm") if ohm > 0.5)
    return nets, wires


class Tally:
    """What many connectors of one shape came to."""

    def __init__(self, shape: str, count: int, *, step: float, is_fine: bool = False, slip: str | None = None) -> None:
        bodies = [truth(f"{shape} {i}", shape) for i in range(count)]
        self.found = [(body, find(body, step=step, is_fine=is_fine, slip=slip)) for body in bodies]
        self.count = count

    def share(self, claim) -> float:
        return sum(bool(claim(outcome)) for _, outcome in self.found) / self.count

    @property
    def right(self) -> float:
        return self.share(lambda outcome: outcome.is_right)

    @property
    def wrong_unsaid(self) -> float:
        return self.share(lambda outcome: not outcome.is_right and not outcome.is_said)

    @property
    def wrong_unnamed(self) -> float:
        """Wrong without a contradiction that names a pair."""
        return self.share(lambda outcome: not outcome.is_right and not outcome.wiring.contradictions)

    def ratios(self) -> list[float]:
        """Readings over the number that is allowed (star, case return) or counts as needed (others)."""
        return [outcome.readings / allowed(body) for body, outcome in self.found]


def allowed(body: Truth) -> float:
    if body.shape in MOST and body.shape != "pairs":
        return 1.2 * len(body.pins) + body.graph.number_of_edges()
    return float(body.needed)


MOST = {"star": 1.0, "case return": 1.0, "pairs": 1.3}


def error_of(share: float, count: int) -> float:
    """Standard error of a share (binomial)."""
    return math.sqrt(max(share * (1 - share), 1 / count) / count)


def error_of_mean(values: list[float]) -> float:
    return statistics.stdev(values) / math.sqrt(len(values))


@pytest.mark.parametrize("shape", SHAPES)
def test_connectors_are_wired_right_in_few_readings(shape):
    tally = Tally(shape, 20, step=0.01)
    assert tally.right >= 0.95
    assert tally.wrong_unsaid == 0
    ratios = tally.ratios()
    assert statistics.mean(ratios) <= MOST.get(shape, math.inf) + 2 * error_of_mean(ratios)


@pytest.mark.parametrize("shape", SHAPES)
def test_tenths_are_never_wrong_without_saying_so(shape):
    assert Tally(shape, 20, step=0.1).wrong_unsaid == 0


@pytest.mark.parametrize("slip", SLIPS)
@pytest.mark.parametrize("shape", ["star", "pairs", "case return"])
def test_a_slip_is_named(shape, slip):
    assert Tally(shape, 6, step=0.01, slip=slip).wrong_unnamed == 0


@pytest.mark.study
@pytest.mark.parametrize("meter", ["exact, 0.01", "handheld, 0.01", "handheld, 0.1"])
def test_study_of_200_connectors(meter, capsys):
    step = 0.1 if meter.endswith("0.1") else 0.01
    tallies = {shape: Tally(shape, 50, step=step, is_fine=meter.startswith("exact")) for shape in SHAPES}
    with capsys.disabled():
        print(f"\n{meter}: 50 connectors a shape, 4 to 24 pins")
        for shape, tally in tallies.items():
            ratios = tally.ratios()
            limit = f"(at most {MOST[shape]:.1f})" if shape in MOST else ""
            print(
                f"  {shape:<12} right {tally.right:.3f} +- {error_of(tally.right, 50):.3f}"
                f"  wrong unsaid {tally.wrong_unsaid:.3f}"
                f"  readings / allowed {statistics.mean(ratios):.3f} +- {error_of_mean(ratios):.3f} {limit}"
            )
    assert all(tally.wrong_unsaid == 0 for tally in tallies.values())
    assert all(statistics.mean(tallies[shape].ratios()) <= most for shape, most in MOST.items())
    if step < 0.1:
        assert statistics.mean(tally.right for tally in tallies.values()) >= 0.99


@pytest.mark.study
def test_study_of_slips(capsys):
    count = 50
    shares = {
        (shape, slip): Tally(shape, count, step=0.01, slip=slip).wrong_unnamed for shape in SHAPES for slip in SLIPS
    }
    total = statistics.mean(shares.values())
    with capsys.disabled():
        print(f"\none slip, {count} connectors each: wrong without a named contradiction")
        for (shape, slip), share in shares.items():
            print(f"  {shape:<12} {slip:<10} {share:.3f} +- {error_of(share, count):.3f}")
        print(f"  all          {total:.4f} +- {error_of(total, count * len(shares)):.4f} (at most 0.02)")
    assert total <= 0.02
