"""Bodies, faults and meters for the study of explanations, by code of its own.

A body is a list of resistors; a pair is read by the pseudo-inverse of the Laplacian of the
component it lies in.  Nothing here is shared with what is judged but the words of the variant
file and of the answer.  Magnitudes: common practice, no source.  Seeds: CRC-32 of names.
"""

from __future__ import annotations

import copy
import json
import math
import random
import zlib
from typing import Any, NamedTuple

import numpy as np

from valvebench.diagnose.explain_priors import Fault
from valvebench.model.entry import Reading
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import LeadState

CASE = "case"
COPPER_K = 234.5  # IEC 60028: 1/0.00393 - 20 = 234.45
SAID_CELSIUS = 23.0
OVER_RANGE_OHM = 4e7
CONTACT_OHM = 0.02
LOT, OWN, SENSOR, PICKUP = 0.02, 0.015, 0.03, 0.04
LINK_OHM, LINK_MORE_OHM = 0.02, 0.01
# A link is 0.02 ohm and up to twice 0.01 more: a fifth either way, near enough to tell faults apart by.
LINK = 0.2
LEAK_BETWEEN = 0.25
BAND = 2.75
SHAPES = (("common", 0.45), ("case return", 0.25), ("pairs", 0.15), ("joint", 0.15))
KINDS = tuple(fault for fault in Fault if fault is not Fault.ONE_BAD_READING)
SHARES = {
    Fault.HEALTHY: 0.40,
    Fault.DEVICE_OPEN: 0.12,
    Fault.TERMINAL_RESISTIVE: 0.08,
    Fault.LEAK: 0.08,
    Fault.VALUE_LOW: 0.06,
    Fault.VALUE_HIGH: 0.05,
    Fault.TERMINAL_OPEN: 0.05,
    Fault.DEVICE_SHORT: 0.04,
    Fault.LEADS: 0.04,
    Fault.TEMPERATURE: 0.03,
    Fault.SWAP: 0.02,
    Fault.MIRRORED: 0.02,
    Fault.OTHER_VARIANT: 0.01,
}


class World(NamedTuple):
    """How far the truth is from what the program assumes: factors on spread and temperature error, and sizes."""

    spread: float = 1.0
    celsius_sd: float = 1.0
    gain: float = 0.01
    damp: float = 0.1


AS_ASSUMED = World()


class Truth(NamedTuple):
    """What is wrong, where, and how large."""

    fault: Fault
    where: tuple[str, ...] = ()
    size: float = 0.0


def dice_for(name: str) -> random.Random:
    return random.Random(zlib.crc32(name.encode()))


class Body:
    """A variant file and the pairs one usually reads."""

    def __init__(self, name: str, low: int = 8, high: int = 24) -> None:
        dice = dice_for(name)
        self.name = name
        count = dice.randint(low, high)
        self.pins = [str(i + 1) for i in range(count)]
        self.columns = -(-count // 2)
        self.data = self._data(dice)
        self.siblings = [self._sibling(dice, i) for i in range(2)]
        self.variant = read_variant(json.dumps(self.data).encode(), source=name)
        self.others = [read_variant(json.dumps(one).encode(), source=name) for one in self.siblings]
        feeds = [d["between"][0] for d in self.data["devices"] if d["between"][1] == "star" and d["kind"] == "link"]
        # A joint cannot be probed: its coils are read against the first pin that feeds it.
        pairs = [tuple(feeds[0] if n == "star" else n for n in d["between"]) for d in self.data["devices"]]
        pairs = [pair for pair in pairs if pair[0] != pair[1]]
        pairs += [(pin, CASE) for pin in self.pins]
        self.pairs = list({frozenset(pair): pair for pair in pairs}.values())

    def _data(self, dice: random.Random) -> dict[str, Any]:
        left = dice.sample(self.pins, len(self.pins))
        devices: list[dict[str, Any]] = []
        sets = {"linear": dice.uniform(3.0, 8.0), "on_off": dice.uniform(10.0, 40.0)}

        def coil(a: str, b: str) -> None:
            lot = dice.choice(list(sets))
            half = BAND * math.hypot(LOT, OWN)
            devices.append(
                {"name": f"Coil {len(devices)}", "kind": "solenoid", "between": [a, b], "matched_set": lot}
                | {"low_ohm": sets[lot] * (1 - half), "high_ohm": sets[lot] * (1 + half), "ref_celsius": 20}
            )

        self._extras(dice, left, devices)
        shape = dice.choices([s for s, _ in SHAPES], [w for _, w in SHAPES])[0]
        if shape == "pairs":
            while len(left) >= 2 and len(devices) < 22:
                coil(left.pop(), left.pop())
        elif shape == "joint" and len(left) >= 6:
            feeds = (left.pop(), left.pop())
            devices += [{"name": f"Feed {p}", "kind": "link", "between": [p, "star"], "max_ohm": 0.1} for p in feeds]
            for pin in left[:20]:
                coil(pin, "star")
        else:
            hub = CASE if shape == "case return" else left.pop()
            for pin in left[:20]:
                coil(pin, hub)
        pins = [
            {"name": p, "x": float(i % self.columns), "y": float(i // self.columns)} for i, p in enumerate(self.pins)
        ]
        return {
            "format": 1,
            "key": "truth",
            "title": "Study body",
            "note": "invented",
            "pins": pins,
            "devices": devices,
        }

    @staticmethod
    def _extras(dice: random.Random, left: list[str], devices: list[dict[str, Any]]) -> None:
        if dice.random() < 0.7:
            beta = {"r_ohm": dice.uniform(1e3, 2e4), "b_kelvin": 3500.0, "tolerance_pct": 100 * BAND * SENSOR}
            devices.append(
                {"name": "Fluid", "kind": "temperature_sensor", "between": [left.pop(), left.pop()], "beta": beta}
            )
        if dice.random() < 0.3:
            ohm = dice.uniform(300, 1500)
            limits = {"low_ohm": ohm * (1 - BAND * PICKUP), "high_ohm": ohm * (1 + BAND * PICKUP)}
            devices.append({"name": "Pickup", "kind": "speed_sensor", "between": [left.pop(), left.pop()], **limits})
        reels = [left.pop() for _ in range(dice.randint(0, 2) if len(left) > 6 else 0)]
        devices += [{"name": f"Reel {p}", "kind": "switch", "between": [p, CASE], "at_rest": "open"} for p in reels]
        for _ in range(dice.randint(0, 2) if len(left) > 7 else 0):
            left.pop()
        if dice.random() < 0.15 and len(left) > 5:
            devices.append({"name": "Earth", "kind": "link", "between": [left.pop(), CASE], "max_ohm": 0.1})

    def _sibling(self, dice: random.Random, number: int) -> dict[str, Any]:
        """Other coils in one set, or a few circuits at other pins."""
        data = copy.deepcopy(self.data)
        data["key"] = f"sibling-{number}"
        lots = sorted({d["matched_set"] for d in data["devices"] if "matched_set" in d})
        if number == 0:
            lot, factor = dice.choice(lots), dice.choice([0.6, 1.5])
            for device in data["devices"]:
                if device.get("matched_set") == lot:
                    device["low_ohm"], device["high_ohm"] = device["low_ohm"] * factor, device["high_ohm"] * factor
            return data
        some = dice.sample(self.pins, 4)
        to = dict(zip(some, some[1:] + some[:1], strict=True))
        for device in data["devices"]:
            device["between"] = [to.get(node, node) for node in device["between"]]
        return data

    def mirror(self) -> dict[str, str] | None:
        """Left for right, where every pin then falls on a pin."""
        if len(self.pins) % 2:
            return None
        return {
            p: self.pins[i // self.columns * self.columns + self.columns - 1 - i % self.columns]
            for i, p in enumerate(self.pins)
        }


def draw_fault(body: Body, dice: random.Random, fault: Fault | None = None) -> Truth:
    """A fault with its place and size; without a kind, as often as it occurs."""
    while True:
        kind = fault or dice.choices(list(SHARES), list(SHARES.values()))[0]
        found = _place(body, dice, kind)
        if found is not None:
            return found
        if fault is not None:
            return Truth(Fault.HEALTHY)


def _place(body: Body, dice: random.Random, kind: Fault) -> Truth | None:  # noqa: C901, PLR0911  one line a kind
    devices = body.data["devices"]
    conducting = [d for d in devices if d["kind"] != "switch"]
    valued = [d for d in conducting if d["kind"] != "link"]
    used = sorted({n for d in devices for n in d["between"] if n in body.pins}, key=int)
    tied = {d["between"][0] for d in devices if d["kind"] == "link" and CASE in d["between"]}
    if kind is Fault.DEVICE_OPEN:
        return Truth(kind, (dice.choice(conducting)["name"],))
    if kind is Fault.DEVICE_SHORT:
        return Truth(kind, (dice.choice([d for d in devices if d["kind"] != "link"])["name"],), _log(dice, 0.05, 3.0))
    if kind is Fault.VALUE_LOW:
        return Truth(kind, (dice.choice(valued)["name"],), _log(dice, 0.2, 0.9))
    if kind is Fault.VALUE_HIGH:
        return Truth(kind, (dice.choice(valued)["name"],), _log(dice, 1.1, 2.0))
    if kind is Fault.TERMINAL_OPEN:
        return Truth(kind, (dice.choice(used),))
    if kind is Fault.TERMINAL_RESISTIVE:
        return Truth(kind, (dice.choice(used),), _log(dice, 0.2, 2000.0))
    if kind is Fault.LEAK:
        return Truth(kind, _leaking(body, dice, tied, set(used)), _log(dice, 1.0, 1e6))
    if kind is Fault.SWAP:
        return Truth(kind, _swapped(body, dice, set(used)))
    if kind is Fault.OTHER_VARIANT:
        return Truth(kind, (dice.choice(body.siblings)["key"],))
    if kind is Fault.LEADS:
        return Truth(kind, (), dice.uniform(0.1, 0.5))
    if kind is Fault.TEMPERATURE:
        return Truth(kind, (), dice.choice([-1, 1]) * dice.uniform(8.0, 50.0))
    return Truth(kind) if kind is not Fault.MIRRORED or body.mirror() else None


def _log(dice: random.Random, low: float, high: float) -> float:
    return math.exp(dice.uniform(math.log(low), math.log(high)))


def _leaking(body: Body, dice: random.Random, tied: set[str], used: set[str]) -> tuple[str, str]:
    """To the case, or one time in four to the pin beside it."""
    if dice.random() < LEAK_BETWEEN:
        at = {p: (i % body.columns, i // body.columns) for i, p in enumerate(body.pins)}
        near = [(a, b) for i, a in enumerate(body.pins) for b in body.pins[i + 1 :] if math.dist(at[a], at[b]) < 1.01]
        near = [pair for pair in near if used & set(pair) and not tied & set(pair)]
        if near:
            return dice.choice(near)
    return (dice.choice([p for p in body.pins if p not in tied]), CASE)


def _swapped(body: Body, dice: random.Random, used: set[str]) -> tuple[str, str]:
    at = {p: (i % body.columns, i // body.columns) for i, p in enumerate(body.pins)}
    pairs = [(a, b) for i, a in enumerate(body.pins) for b in body.pins[i + 1 :] if {a, b} & used]
    weights = [5.0 if math.dist(at[a], at[b]) < 1.01 else 1.0 for a, b in pairs]
    return dice.choices(pairs, weights)[0]


class Part:
    """One real part on the bench: every value drawn, the fault in it, a meter beside it."""

    def __init__(
        self,
        body: Body,
        truth: Truth,
        dice: random.Random,
        world: World = AS_ASSUMED,
        *,
        noisy: bool = True,
        factors=None,
    ) -> None:
        self.body, self.truth, self._dice, self._world = body, truth, dice, world
        self._factors = factors or {}
        self._noisy = noisy
        self._celsius = SAID_CELSIUS + self._gauss(world.celsius_sd)
        self._celsius += truth.size if truth.fault is Fault.TEMPERATURE else 0.0
        self._lot = {name: self._gauss(LOT * world.spread) for name in ("linear", "on_off")}
        self._gain = dice.uniform(-world.gain, world.gain) if noisy else 0.0
        self._lead = self._gauss(0.02) + (truth.size if truth.fault is Fault.LEADS else 0.0)
        self._is_damp = noisy and dice.random() < world.damp
        self._solve()

    def _gauss(self, sd: float) -> float:
        return self._dice.gauss(0.0, sd) if self._noisy else 0.0

    def _resistors(self) -> list[tuple[str, str, float]]:
        truth, data = self.truth, self.body.data
        if truth.fault is Fault.OTHER_VARIANT:
            data = next(one for one in self.body.siblings if one["key"] == truth.where[0])
        found = []
        for device in data["devices"]:
            ohm = self._ohm(device) * self._factors.get(device["name"], 1.0)
            if truth.where == (device["name"],):
                ohm = {
                    Fault.DEVICE_OPEN: math.inf,
                    Fault.DEVICE_SHORT: truth.size if device["kind"] == "switch" else 0.05,
                    Fault.VALUE_LOW: ohm * truth.size,
                    Fault.VALUE_HIGH: ohm * truth.size,
                }[truth.fault]
            a, b = (f"{n} wire" if n in self.body.pins else n for n in device["between"])
            found.append((a, b, ohm))
        for pin in self.body.pins:
            ohm = CONTACT_OHM
            if truth.where == (pin,):
                ohm = math.inf if truth.fault is Fault.TERMINAL_OPEN else ohm + truth.size
            found.append((self._behind(pin), f"{pin} wire", ohm))
        if truth.fault is Fault.LEAK:
            there = CASE if truth.where[1] == CASE else f"{truth.where[1]} wire"
            found.append((f"{truth.where[0]} wire", there, truth.size))
        return [one for one in found if one[2] < math.inf]

    def _behind(self, pin: str) -> str:
        """The contact that a wire really ends at."""
        if self.truth.fault is Fault.SWAP and pin in self.truth.where:
            return next(p for p in self.truth.where if p != pin)
        if self.truth.fault is Fault.MIRRORED:
            return self.body.mirror()[pin]
        return pin

    def _ohm(self, device: dict[str, Any]) -> float:
        spread = self._world.spread
        if device["kind"] == "switch":
            return math.inf
        if device["kind"] == "link":
            return LINK_OHM + abs(self._gauss(LINK_MORE_OHM))
        if device["kind"] == "temperature_sensor":
            kelvin, beta = self._celsius + 273.15, device["beta"]
            ohm = beta["r_ohm"] * math.exp(beta["b_kelvin"] * (1 / kelvin - 1 / 298.15))
            return ohm * math.exp(self._gauss(SENSOR * spread))
        middle = 0.5 * (device["low_ohm"] + device["high_ohm"]) * (COPPER_K + self._celsius) / (COPPER_K + 20.0)
        lot = self._lot.get(device.get("matched_set"), 0.0)
        own = OWN if "matched_set" in device else PICKUP
        return middle * math.exp(lot + self._gauss(own * spread))

    def _solve(self) -> None:
        """The pseudo-inverse of each component's Laplacian."""
        wires = self._resistors()
        near: dict[str, set[str]] = {}
        for a, b, _ in wires:
            near.setdefault(a, set()).add(b)
            near.setdefault(b, set()).add(a)
        self._part: dict[str, tuple[int, int]] = {}
        self._inverse: list[np.ndarray] = []
        for start in near:
            if start in self._part:
                continue
            queue, members = [start], [start]
            while queue:
                for node in sorted(near[queue.pop()]):
                    if node not in members:
                        members.append(node)
                        queue.append(node)
            for i, node in enumerate(members):
                self._part[node] = (len(self._inverse), i)
            inside = [wire for wire in wires if wire[0] in members]
            laplacian = np.zeros((len(members), len(members)))
            for a, b, ohm in inside:
                i, j = self._part[a][1], self._part[b][1]
                laplacian[[i, j], [i, j]] += 1 / ohm
                laplacian[[i, j], [j, i]] -= 1 / ohm
            self._inverse.append(np.linalg.pinv(laplacian, hermitian=True, rcond=1e-14))

    def ohm(self, a: str, b: str) -> float:
        """What lies between two nodes [ohm]."""
        if a not in self._part or b not in self._part or self._part[a][0] != self._part[b][0]:
            return math.inf
        (number, i), (_, j) = self._part[a], self._part[b]
        p = self._inverse[number]
        return float(p[i, i] + p[j, j] - 2 * p[i, j])

    def shown(self, a: str, b: str) -> float:
        """What the meter shows; infinity for over-range."""
        ohm = 0.0 if a == b else self.ohm(a, b)
        dice = self._dice
        if ohm == math.inf and (self._is_damp and dice.random() < 0.7):
            ohm = _log(dice, 1e6, 1e8)
        if ohm > OVER_RANGE_OHM:
            return math.inf
        if not self._noisy:
            return ohm + self._lead
        gain = self._gain if ohm < 1000 else dice.uniform(-self._world.gain, self._world.gain)
        shown = (ohm + self._lead + abs(dice.gauss(0, 0.01))) * (1 + gain) + dice.uniform(-0.02, 0.02)
        return math.inf if shown > OVER_RANGE_OHM else max(-0.5, round(shown, 2))


def reading(a: str, b: str, ohm: float, *, u_celsius: float = 1.0) -> Reading:
    """The reading as it is typed in."""
    common: dict[str, Any] = {"from_node": a, "to_node": b, "celsius": SAID_CELSIUS, "u_celsius": u_celsius}
    common |= {"meter": "1%+2x0.01", "leads": LeadState.NULLED}
    if ohm == math.inf:
        return Reading(**common, open=True, range_ohm=OVER_RANGE_OHM)
    return Reading(**common, ohm=ohm)


def with_typo(readings: list[tuple[str, str, float]], dice: random.Random) -> tuple[list[tuple[str, str, float]], bool]:
    """One value ten times, a tenth, open, or its neighbour's; and whether that changed anything worth the name.

    A pair that reads open stays open ten times over: such a slip is drawn like any other, and does no harm.
    """
    at = dice.randrange(len(readings))
    a, b, ohm = readings[at]
    kind = dice.choice(["ten", "tenth", "open", "neighbour"])
    wrong = {"ten": ohm * 10, "tenth": ohm / 10, "open": math.inf, "neighbour": readings[at - 1][2]}[kind]
    wrong = math.inf if wrong > OVER_RANGE_OHM else wrong
    changes = (ohm == math.inf) != (wrong == math.inf) or (ohm < math.inf and abs(wrong - ohm) > 0.1 * ohm + 0.1)
    return [*readings[:at], (a, b, wrong if wrong == math.inf else round(wrong, 2)), *readings[at + 1 :]], changes
