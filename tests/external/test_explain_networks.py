"""What the catalogue of faults predicts, against exact fractions and against a circuit simulator.

The faults are put into the list of resistors here, one by one; the program reaches the same
values by changing one solved circuit.
"""

from __future__ import annotations

import math
import re
import subprocess
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from tests.external.explain_truth import CASE, Body, dice_for
from tests.external_tools import need
from valvebench.diagnose.explain_catalogue import Catalogue, Pairs, SetUp
from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_faults import SHORT_OHM
from valvebench.diagnose.explain_priors import Fault, read_priors
from valvebench.physics.network import Edge, Network

PRIORS = read_priors((Path(__file__).parents[2] / "resources" / "priors.json").read_bytes(), source="priors.json")
CELSIUS = 23.0
WHOLE = (Fault.HEALTHY, Fault.LEADS, Fault.TEMPERATURE, Fault.MIRRORED, Fault.OTHER_VARIANT, Fault.SWAP)
PAIRS = 12


class Case:
    """A body, one of its faults, some pairs, and what the program predicts for them [ohm]."""

    def __init__(self, number: int) -> None:
        body = Body(f"network {number}")
        dice = dice_for(f"network {number} fault")
        self.circuit = Circuit(body.variant, PRIORS.part)
        catalogue = Catalogue(self.circuit, PRIORS, SetUp((CELSIUS,), (1.0,), 1, 1))
        kinds = sorted({h.fault for h in catalogue.hypotheses} - set(WHOLE), key=lambda fault: fault.value)
        kind = kinds[number % len(kinds)]
        index = dice.choice([i for i, h in enumerate(catalogue.hypotheses) if h.fault is kind])
        self.fault = catalogue.hypotheses[index]
        component = dice.randrange(int(catalogue.first[index]), int(catalogue.first[index + 1]))
        self.size = math.exp(catalogue.size[component])
        names = [*body.pins, CASE]
        touched = [n for n in self.fault.where if n in body.pins]
        touched += [
            n for d in body.data["devices"] if d["name"] in self.fault.where for n in d["between"] if n in names
        ]
        self.names = [(touched[0], n) for n in names if n != touched[0]][: PAIRS // 2] if touched else []
        self.names += [tuple(dice.sample(names, 2)) for _ in range(PAIRS - len(self.names))]
        self.sites = [(self.circuit.nodes[a], self.circuit.nodes[b]) for a, b in self.names]
        self.predicted = catalogue.predict(self._pairs(), np.array([component])).ohm[0]

    def _pairs(self) -> Pairs:
        n = len(self.sites)
        none, little = np.full(n, -1), np.full(n, 0.01)
        return Pairs(
            tuple(self.sites),
            tuple(self.names),
            np.zeros(n, int),
            none,
            none,
            little,
            little,
            little,
            np.full(n, math.nan),
        )

    def resistors(self) -> list[tuple[int, int, float]]:
        """The circuit with the fault in it."""
        values, grid = self.circuit.at(CELSIUS)
        ohm = list(grid.ohm)
        extra = []
        fault, h = self.fault.fault, self.fault
        part = self.circuit.parts[h.number].resistor if 0 <= h.number < len(self.circuit.parts) else -1
        if fault is Fault.DEVICE_OPEN:
            ohm[part] = math.inf
        elif fault is Fault.TERMINAL_OPEN:
            ohm[h.number] = math.inf
        elif fault is Fault.TERMINAL_RESISTIVE:
            ohm[h.number] += self.size
        elif fault in (Fault.VALUE_LOW, Fault.VALUE_HIGH):
            ohm[part] = values.ohm[h.number] * self.size
        elif fault is Fault.DEVICE_SHORT and h.number >= 0:
            ohm[part] = SHORT_OHM
        else:
            extra = [(*h.ends, self.size)]
        return [(int(a), int(b), float(r)) for (a, b), r in zip(grid.ends, ohm, strict=True) if r < math.inf] + extra

    @property
    def tolerance(self) -> float:
        """1e-9 while the resistances lie within five decades, else with their ratio (facts of floats)."""
        values = [r for _, _, r in self.resistors()]
        return max(1e-9, 2e-14 * max(values) / min(values))


@pytest.mark.parametrize("number", range(20))
def test_exact_fractions(number):
    case = Case(number)
    exact = Network(Edge(a, b, Fraction(r)) for a, b, r in case.resistors())
    for (a, b), ohm in zip(case.sites, case.predicted, strict=True):
        truth = exact.resistance(a, b)
        assert ohm == (math.inf if truth == math.inf else pytest.approx(float(truth), rel=case.tolerance))


def component_of(wires, start: int) -> set[int]:
    seen, queue = {start}, [start]
    while queue:
        node = queue.pop()
        for a, b, _ in wires:
            for here, there in ((a, b), (b, a)):
                if here == node and there not in seen:
                    seen.add(there)
                    queue.append(there)
    return seen


def netlist(wires, pairs) -> str:
    """One operating point a pair: an ampere in at one node and out at the other; the first node is ground."""
    nodes = sorted({n for a, b, _ in wires for n in (a, b)})
    name = {node: "0" if i == 0 else f"n{node}" for i, node in enumerate(nodes)}
    lines = ["a circuit with a fault"]
    lines += [f"R{i} {name[a]} {name[b]} {r:.17g}" for i, (a, b, r) in enumerate(wires)]
    lines += [f"I{node} 0 n{node} dc 0" for node in nodes[1:]]
    lines += [".control", "set numdgt=12"]
    for a, b in pairs:
        volts = [f"v({name[n]})" if name[n] != "0" else "0" for n in (a, b)]
        for node, ampere in ((a, 1), (b, -1)):
            lines += [f"alter I{node} dc = {ampere}"] if name[node] != "0" else []
        lines += ["op", f"let answer = {volts[0]} - {volts[1]}", "print answer"]
        for node in (a, b):
            lines += [f"alter I{node} dc = 0"] if name[node] != "0" else []
    return "\n".join([*lines, "quit", ".endc", ".end", ""])


def simulated(tool: str, wires, pairs, folder: Path) -> list[float]:
    """Ohm of pairs in one component, from the simulator."""
    file = folder / "circuit.cir"
    file.write_text(netlist(wires, pairs), "ascii")
    done = subprocess.run([tool, "-b", str(file)], capture_output=True, text=True, check=False, timeout=60)
    found = [float(text) for text in re.findall(r"^answer = (\S+)", done.stdout, re.MULTILINE)]
    assert len(found) == len(pairs), done.stdout + done.stderr
    return found


@pytest.mark.parametrize("number", range(50))
def test_a_circuit_simulator(number, tmp_path):
    """Values to 1e-6; what is open is compared as a state, for a simulator refuses floating nodes."""
    tool = need("ngspice")
    case = Case(100 + number)
    wires = case.resistors()
    left = {i: component_of(wires, a) for i, (a, _) in enumerate(case.sites)}
    for i, (_, b) in enumerate(case.sites):
        assert math.isinf(case.predicted[i]) == (b not in left[i])
    asked = [i for i, (_, b) in enumerate(case.sites) if b in left[i]]
    for members in {frozenset(left[i]) for i in asked}:
        mine = [i for i in asked if left[i] == members]
        inside = [wire for wire in wires if wire[0] in members]
        found = simulated(tool, inside, [case.sites[i] for i in mine], tmp_path)
        assert case.predicted[mine] == pytest.approx(found, rel=1e-6)
