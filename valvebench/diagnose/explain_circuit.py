"""A variant as numbered nodes and resistors, with the three places at which each pin can be read.

A pin is a chain: its contact in the vehicle's plug, the harness, its contact in the case
connector, contact and inner conductor, and the end at which devices hang.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np

from valvebench.diagnose.explain_priors import PartPriors
from valvebench.judge.device_limits import limits_of
from valvebench.judge.targets import device_at
from valvebench.model.limits import ASSUMED_REF_HALF_WIDTH_CELSIUS, Limits
from valvebench.model.variant import (
    AnyDevice,
    Coil,
    Diode,
    Electronics,
    Link,
    SpeedSensor,
    Switch,
    TemperatureSensor,
    Variant,
)
from valvebench.model.words import CASE, AccessPoint, SwitchState
from valvebench.physics.conductor import resistance_at
from valvebench.physics.grid import Floats, Grid, Whole

# From memory: what such a device usually has, where neither a limit nor a reading says more. [ohm]
_USUAL_OHM: Final = ((Link, 0.05), (Switch, 0.3), (TemperatureSensor, 3000.0), (SpeedSensor, 800.0))
_USUAL_COIL_OHM: Final = 10.0
_PROBE_BLIND_OHM: Final = 1.0
_MOVES: Final = 1e-3
_KEPT_GRIDS: Final = 64


class Part(NamedTuple):
    """A device that conducts at rest, and its resistor."""

    device: AnyDevice
    resistor: int


class AtCelsius(NamedTuple):
    """All parts at one coil temperature, each (parts,).

    Ohm; standard deviations of the logarithm, own and shared by a lot; change per kelvin; half of the band as a
    share; whether limits say what it ought to be.
    """

    ohm: Floats
    own: Floats
    lot: Floats
    per_kelvin: Floats
    half: Floats
    is_known: tuple[bool, ...]


class Circuit:
    """Nodes and resistors of a variant.

    Parameters
    ----------
    variant : what is wired to what
    priors : what a sound part is like
    hints : direct readings of devices without limits [ohm], by device name
    has_plug : whether the vehicle's plug belongs to it
    """

    def __init__(
        self, variant: Variant, priors: PartPriors, *, hints: Mapping[str, float] | None = None, has_plug: bool = False
    ) -> None:
        self.variant, self.priors, self.has_plug = variant, priors, has_plug
        self._hints = dict(hints or {})
        self.pins = tuple(pin.name for pin in variant.pins)
        self.nodes: dict[str, int] = {}
        for name in (*self.pins, CASE):
            self._node(name)
        self.parts: list[Part] = []
        self.terminal: dict[str, int] = {}
        self.harness: dict[str, int] = {}
        self._ends: list[tuple[int, int]] = []
        self._fixed: list[float] = []
        self._build()
        self._at = lru_cache(maxsize=_KEPT_GRIDS)(self._solve)
        self._blind = self._blind_grids()

    def _node(self, name: str) -> int:
        return self.nodes.setdefault(name, len(self.nodes))

    def inner(self, name: str) -> int:
        """Where devices hang: behind the contact of a pin, or the joint or case itself."""
        return self._node(f"{name} inside" if name in self.pins else name)

    def _build(self) -> None:
        for pin in self.pins:
            self.terminal[pin] = self._wire(self.nodes[pin], self.inner(pin), self.priors.contact_ohm.value)
            if self.has_plug:
                plug = self._node(f"{pin} at the plug")
                self.harness[pin] = self._wire(plug, self.nodes[pin], self.priors.harness_ohm.value)
        for device in self.variant.devices:
            a, b = (self.inner(node) for node in device.between)
            if _conducts(device):
                self.parts.append(Part(device, self._wire(a, b, math.nan)))

    def _wire(self, a: int, b: int, ohm: float) -> int:
        self._ends.append((a, b))
        self._fixed.append(ohm)
        return len(self._ends) - 1

    @property
    def ends(self) -> Whole:
        """(resistors, 2) nodes."""
        return np.array(self._ends, dtype=np.intp).reshape(-1, 2)

    def place(self, name: str, at: AccessPoint, other: str) -> int | None:
        """The node that a tip touches; None where this circuit has no such place.

        At device terminals a pin's name means the end of the device between the two names.
        """
        device = device_at(self.variant, name, other)
        head, dot, end = name.rpartition(".")
        if name not in self.nodes and dot and (named := self.variant.device_named(head)) and end in ("1", "2"):
            return self.inner(named.between[int(end) - 1])
        if name in self.pins and at is AccessPoint.VEHICLE_PLUG:
            return self.nodes.get(f"{name} at the plug")
        if name in self.pins and (at is AccessPoint.DEVICE_TERMINALS) and (device or other == CASE):
            return self.inner(name)
        return self.nodes.get(name) if at is not AccessPoint.DEVICE_TERMINALS or name not in self.pins else None

    def at(self, celsius: float) -> tuple[AtCelsius, Grid]:
        """Values and solved circuit at a coil temperature [degC]."""
        return self._at(round(celsius, 3))

    def _solve(self, celsius: float) -> tuple[AtCelsius, Grid]:
        values = self._values(celsius)
        return values, self._grid(values)

    def _grid(self, values: AtCelsius) -> Grid:
        ohm = np.array(self._fixed)
        watched = np.array([part.resistor for part in self.parts], dtype=np.intp)
        ohm[watched] = values.ohm
        return Grid(len(self.nodes), self.ends, ohm, watched)

    def _values(self, celsius: float) -> AtCelsius:
        rows = [self._value(part.device, celsius) for part in self.parts]
        ohm, own, lot, per_kelvin, half = np.array([row[:5] for row in rows], dtype=np.float64).reshape(-1, 5).T
        return AtCelsius(ohm, own, lot, per_kelvin, half, tuple(row[5] for row in rows))

    def _value(self, device: AnyDevice, celsius: float) -> tuple[float, float, float, float, float, bool]:
        """Ohm, own and lot spread, change per kelvin, half band, whether it is known."""
        limits, beyond = _reached(device, celsius)
        per_kelvin = limits.slope_per_celsius if limits.k_celsius is None else 1.0 / (limits.k_celsius + celsius)
        if isinstance(device, Link) and limits.high_ohm:
            # A limit on a piece of wire is set well above what it has.
            return self.priors.link_part.value * limits.high_ohm, self.priors.link_ln.value, 0.0, 0.0, math.inf, False
        if isinstance(device, Link | Switch) or not limits.low_ohm or not limits.high_ohm:
            hint = self._hints.get(device.name, _usual_ohm(device))
            return hint, self.priors.unknown_ln.value, 0.0, per_kelvin, math.inf, False
        middle, half = 0.5 * (limits.low_ohm + limits.high_ohm), 0.5 * (limits.high_ohm - limits.low_ohm)
        ohm = middle * _moved(limits, celsius) * math.exp(per_kelvin * beyond)
        share = max(half / middle, 1e-3)
        total = share / self.priors.band_over_sd.value
        unsure = 0.0 if limits.is_ref_stated else per_kelvin * ASSUMED_REF_HALF_WIDTH_CELSIUS * 3.0**-0.5
        if isinstance(device, Coil) and device.matched_set is not None:
            lot = math.hypot(total * self.priors.lot_share.value, unsure)
            return ohm, total * self.priors.own_share.value, lot, per_kelvin, share, True
        return ohm, math.hypot(total, unsure), 0.0, per_kelvin, share, True

    def _blind_grids(self) -> tuple[Grid, Grid] | None:
        """The circuit with everything an ohmmeter cannot judge taken out, and taken as joined."""
        blind = [device for device in self.variant.devices if _is_blind(device)]
        if not blind:
            return None
        ends = [(self.inner(a), self.inner(b)) for a, b in (device.between for device in blind)]
        values, grid = self.at(20.0)
        more = np.array([*self._ends, *ends], dtype=np.intp)
        ohm = np.append(grid.ohm, np.full(len(ends), _PROBE_BLIND_OHM))
        self._at.cache_clear()
        return self._grid(values), Grid(len(self.nodes), more, ohm, grid.watched)

    def is_blind(self, a: Whole, b: Whole) -> np.ndarray:
        """(pairs,) whether a reading would depend on something an ohmmeter cannot judge."""
        if self._blind is None:
            return np.zeros(len(a), dtype=bool)
        out, joined = (grid.seen(a, b).ohm[0] for grid in self._blind)
        with np.errstate(invalid="ignore"):
            moves = np.abs(out - joined) > _MOVES * np.abs(joined)
        is_open = np.isinf(out), np.isinf(joined)
        return np.asarray((moves | (is_open[0] != is_open[1])) & ~(is_open[0] & is_open[1]))


def _conducts(device: AnyDevice) -> bool:
    if isinstance(device, Switch):
        return device.at_rest is SwitchState.CLOSED
    return not isinstance(device, Diode | Electronics) and not _is_blind(device)


def _is_blind(device: AnyDevice) -> bool:
    """A diode across a coil is none: the few millivolts there do not open it."""
    if isinstance(device, SpeedSensor):
        return device.low_ohm is None and device.high_ohm is None
    if isinstance(device, Switch):
        return device.at_rest is None
    return isinstance(device, Electronics) or (isinstance(device, Diode) and device.across is None)


def _usual_ohm(device: AnyDevice) -> float:
    return next((ohm for kind, ohm in _USUAL_OHM if isinstance(device, kind)), _USUAL_COIL_OHM)


def _reached(device: AnyDevice, celsius: float) -> tuple[Limits, float]:
    """Limits at a temperature, or at the nearest a sensor's table reaches, and how far beyond that it is [K]."""
    limits = limits_of(device, celsius)
    if limits.is_stated or not isinstance(device, TemperatureSensor) or not device.points:
        return limits, 0.0
    ends = [row[0] for row in device.points]
    nearest = min(max(celsius, min(ends)), max(ends))
    return limits_of(device, nearest), celsius - nearest


def _moved(limits: Limits, celsius: float) -> float:
    if limits.k_celsius is None:
        return 1.0
    factor: float = resistance_at(1.0, from_celsius=limits.ref_celsius, to_celsius=celsius, k_celsius=limits.k_celsius)
    return factor
