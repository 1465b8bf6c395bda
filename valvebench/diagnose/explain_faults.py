"""Every single fault a body can have, as hypotheses with their places and shares."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Final, NamedTuple

import msgspec
import numpy as np

from valvebench.diagnose.explain_circuit import Circuit
from valvebench.diagnose.explain_priors import Decades, Fault, Priors, Steps
from valvebench.diagnose.explained import HARNESS, Value
from valvebench.model.variant import Link, Pin, Switch, Variant
from valvebench.model.words import CASE, SwitchState
from valvebench.physics.grid import Floats

SHORT_OHM: Final = 0.05
"""What a shorted device keeps: from memory."""
_NEAR: Final = 1.01
_TINY: Final = 1e-6
_SHOWS_BESIDE: Final = 300.0
_FINE_BELOW_OHM: Final = 100.0
_ONE_NET_OHM: Final = 0.5


class Hypothesis(NamedTuple):
    """One fault at one place, with its share.

    `number` is a part or resistor of the circuit, `ends` the nodes of a new one, `pins` what changes places,
    `circuit` the one that was meant instead.  `when` says that it shows only as the part warms: `excess` at the
    hottest [ohm] (None: open), beginning and all there at the temperatures `warms` [degC].
    """

    fault: Fault
    where: tuple[str, ...] = ()
    weight: float = 1.0
    number: int = -1
    ends: tuple[int, int] = (-1, -1)
    pins: tuple[tuple[str, str], ...] = ()
    circuit: Circuit | None = None
    when: str | None = None
    excess: Value | None = None
    warms: tuple[float, float] = (math.inf, math.inf)

    @property
    def is_added(self) -> bool:
        """Whether it is one more resistor."""
        return self.ends[0] >= 0


class Grown(NamedTuple):
    """The sizes a fault is tried with (g,): centre, standard deviation, share."""

    size: Floats
    sd: Floats
    share: Floats


def hypotheses(
    circuit: Circuit, priors: Priors, others: Sequence[Circuit] = (), hot: Sequence[Hypothesis] = ()
) -> tuple[Hypothesis, ...]:
    """All faults with their shares, which sum to one; kinds without a place give theirs to the rest.

    Those that show only when hot come last, with their part of the share of their kind beside it.
    """
    found = [Hypothesis(Fault.HEALTHY), Hypothesis(Fault.LEADS), Hypothesis(Fault.TEMPERATURE)]
    to_case = list(_leaks(circuit))
    found += [*_of_devices(circuit), *_of_terminals(circuit), *to_case, *_leaks_between(circuit, priors, len(to_case))]
    found += [*_swaps(circuit, priors.neighbour_weight.value), *_mirrored(circuit)]
    found += [Hypothesis(Fault.OTHER_VARIANT, (other.variant.key,), circuit=other) for other in others]
    whole = {fault: math.fsum(h.weight for h in found if h.fault is fault) for fault in Fault}
    total = math.fsum(priors.of(fault) for fault in Fault if whole[fault] > 0)
    cold = tuple(h._replace(weight=h.weight * priors.of(h.fault) / whole[h.fault] / total) for h in found)
    return (*cold, *(h._replace(weight=h.weight * priors.of(h.fault) / total) for h in hot))


def grown(hypothesis: Hypothesis, circuit: Circuit, priors: Priors) -> Grown:
    """How large this fault may be; one size of nought for faults that have none."""
    sizes = priors.sizes
    fault = hypothesis.fault
    if hypothesis.when is not None:
        return Grown(np.zeros(1), np.zeros(1), np.ones(1))
    decades = {Fault.LEAK: sizes.leak_ohm, Fault.TERMINAL_RESISTIVE: sizes.terminal_ohm}
    if hypothesis.is_added:
        decades[Fault.DEVICE_SHORT] = sizes.closed_ohm
    if fault is Fault.LEAK and CASE not in hypothesis.where:
        return _between_sizes(sizes.leak_ohm, circuit, hypothesis.ends)
    steps = {Fault.LEADS: sizes.leads_ohm, Fault.TEMPERATURE: sizes.temperature_kelvin}
    if fault in decades:
        return _decades(decades[fault])
    if fault in steps:
        return _distances(steps[fault], 1.0)
    if fault in (Fault.VALUE_LOW, Fault.VALUE_HIGH):
        half = circuit.at(20.0)[0].half[hypothesis.number]
        return _distances(sizes.value_ln, -1.0 if fault is Fault.VALUE_LOW else 1.0, beyond=half)
    return Grown(np.zeros(1), np.zeros(1), np.ones(1))


def _decades(sizes: Decades) -> Grown:
    count = max(2, round(math.log(sizes.high / sizes.low) / sizes.step_ln) + 1)
    size = np.linspace(math.log(sizes.low), math.log(sizes.high), count)
    # Neighbours a little wider than half their distance: together they are even.
    return Grown(size, np.full(count, 0.6 * sizes.step_ln), np.full(count, 1.0 / count))


def _between_sizes(sizes: Decades, circuit: Circuit, ends: tuple[int, int]) -> Grown:
    """Sizes of a leak between two pins: up to what still shows beside the way through the devices.

    Large ones are added to whatever leads there and need no finer steps.
    """
    beside_ohm = _seen_ohm(circuit, ends)
    if math.isfinite(beside_ohm):
        return _decades(msgspec.structs.replace(sizes, high=min(sizes.high, _SHOWS_BESIDE * beside_ohm)))
    fine = _decades(msgspec.structs.replace(sizes, high=_FINE_BELOW_OHM))
    coarse = _decades(msgspec.structs.replace(sizes, low=_FINE_BELOW_OHM * math.e, step_ln=2.0 * sizes.step_ln))
    share = np.concatenate([np.ones(len(fine.size)), np.full(len(coarse.size), 2.0)])
    size, sd = (np.concatenate(both) for both in ((fine.size, coarse.size), (fine.sd, coarse.sd)))
    return Grown(size, sd, share / share.sum())


def _seen_ohm(circuit: Circuit, ends: tuple[int, int]) -> float:
    """What lies between two nodes of a sound body [ohm], infinite where nothing does."""
    a, b = (np.array([end], dtype=np.intp) for end in ends)
    return float(circuit.at(20.0)[1].seen(a, b).ohm[0, 0])


def _distances(sizes: Steps, sign: float, *, beyond: float = 0.0) -> Grown:
    """Sizes outside the band only: inside it a part is sound."""
    kept = [step for step in sizes.steps if abs(step) >= beyond] or [2.0 * beyond]
    size = sign * np.array(kept)
    return Grown(size, sizes.width * np.abs(size), np.full(len(size), 1.0 / len(size)))


def _of_devices(circuit: Circuit) -> Iterable[Hypothesis]:
    known = circuit.at(20.0)[0].is_known
    for number, part in enumerate(circuit.parts):
        where = (part.device.name,)
        yield Hypothesis(Fault.DEVICE_OPEN, where, number=number)
        if not isinstance(part.device, Link | Switch):
            yield Hypothesis(Fault.DEVICE_SHORT, where, number=number)
        if known[number]:
            yield Hypothesis(Fault.VALUE_LOW, where, number=number)
            yield Hypothesis(Fault.VALUE_HIGH, where, number=number)
    for device in circuit.variant.devices:
        if isinstance(device, Switch) and device.at_rest is SwitchState.OPEN:
            ends = (circuit.inner(device.between[0]), circuit.inner(device.between[1]))
            yield Hypothesis(Fault.DEVICE_SHORT, (device.name,), ends=ends)


def used_pins(variant: Variant) -> tuple[str, ...]:
    """Pins behind which something is wired."""
    used = {node for device in variant.devices for node in device.between}
    return tuple(pin.name for pin in variant.pins if pin.name in used)


def _of_terminals(circuit: Circuit) -> Iterable[Hypothesis]:
    for pin in used_pins(circuit.variant):
        for fault in (Fault.TERMINAL_OPEN, Fault.TERMINAL_RESISTIVE):
            yield Hypothesis(fault, (pin,), number=circuit.terminal[pin])
            if circuit.has_plug:
                yield Hypothesis(fault, (pin, HARNESS), number=circuit.harness[pin])


def _leaks(circuit: Circuit) -> Iterable[Hypothesis]:
    for pin in _off_case(circuit):
        yield Hypothesis(Fault.LEAK, (pin.name, CASE), ends=(circuit.inner(pin.name), circuit.nodes[CASE]))


def _off_case(circuit: Circuit) -> list[Pin]:
    """Pins that are not tied to the case."""
    return [pin for pin in circuit.variant.pins if not _is_linked(circuit.variant, pin.name)]


def _leaks_between(circuit: Circuit, priors: Priors, to_case: int) -> Iterable[Hypothesis]:
    """Between neighbours, and between nets, where the two pins nearest one another stand for all."""
    used = set(used_pins(circuit.variant))
    part = circuit.at(20.0)[1].part
    near: list[tuple[Pin, Pin, float]] = []
    far: dict[frozenset[int], tuple[float, Pin, Pin]] = {}
    for (i, a), (j, b) in combinations(enumerate(_off_case(circuit)), 2):
        ends = circuit.inner(a.name), circuit.inner(b.name)
        nets = frozenset(int(part[end]) for end in ends)
        if _are_neighbours(a, b, j - i) and used & {a.name, b.name}:
            if _seen_ohm(circuit, ends) > _ONE_NET_OHM:
                near.append((a, b, priors.neighbour_weight.value))
        elif len(nets) > 1 and {a.name, b.name} <= used:
            far[nets] = min(far.get(nets, (math.inf, a, b)), (_apart(a, b, j - i), a, b), key=_how_far)
    between = [*near, *((a, b, 1.0) for _, a, b in far.values())]
    share = priors.leak_between_share.value
    whole = math.fsum(weight for _, _, weight in between)
    for a, b, weight in between:
        ends = circuit.inner(a.name), circuit.inner(b.name)
        # Leaks to the case weigh one each.
        part_of_all = weight / whole * max(to_case, 1) * share / (1.0 - share)
        yield Hypothesis(Fault.LEAK, (a.name, b.name), part_of_all, ends=ends)


def _how_far(one: tuple[float, Pin, Pin]) -> float:
    return one[0]


def _apart(a: Pin, b: Pin, places: int) -> float:
    """How far two pins lie apart: on one face by their places, else by the order they are named in."""
    if a.x is None or a.y is None or b.x is None or b.y is None or a.face != b.face:
        return float(places)
    return math.hypot(a.x - b.x, a.y - b.y)


def _is_linked(variant: Variant, node: str) -> bool:
    return any(isinstance(device, Link) and set(device.between) == {node, CASE} for device in variant.devices)


def _swaps(circuit: Circuit, neighbour_weight: float) -> Iterable[Hypothesis]:
    used = set(used_pins(circuit.variant))
    pins = circuit.variant.pins
    for (i, a), (j, b) in combinations(enumerate(pins), 2):
        if used & {a.name, b.name}:
            weight = neighbour_weight if _are_neighbours(a, b, j - i) else 1.0
            yield Hypothesis(Fault.SWAP, (a.name, b.name), weight, pins=((a.name, b.name), (b.name, a.name)))


def _are_neighbours(a: Pin, b: Pin, apart: int) -> bool:
    if a.x is None or a.y is None or b.x is None or b.y is None:
        return apart == 1
    return a.face == b.face and math.hypot(a.x - b.x, a.y - b.y) < _NEAR


def _mirrored(circuit: Circuit) -> Iterable[Hypothesis]:
    """The whole face turned over, left for right; only where each pin then falls on a pin."""
    places = {}
    for pin in circuit.variant.pins:
        if pin.x is None or pin.y is None:
            return
        places[pin.face, round(pin.x, 6), round(pin.y, 6)] = pin.name
    turned: dict[str, str] = {}
    for (face, x, y), name in places.items():
        across = [p[1] for p in places if p[0] == face]
        twin = places.get((face, round(min(across) + max(across) - x, 6), y)) or _close(places, face, across, (x, y))
        if twin is None:
            return
        turned[name] = twin
    moved = tuple((name, twin) for name, twin in turned.items() if name != twin)
    if moved:
        yield Hypothesis(Fault.MIRRORED, (), pins=moved)


def _close(
    places: dict[tuple[str | None, float, float], str], face: str | None, across: list[float], at: tuple[float, float]
) -> str | None:
    """The pin at the mirrored place but for rounding."""
    x = min(across) + max(across) - at[0]
    near = (n for (f, px, py), n in places.items() if f == face and abs(px - x) < _TINY and abs(py - at[1]) < _TINY)
    return next(near, None)
