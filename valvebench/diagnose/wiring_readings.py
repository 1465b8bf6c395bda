"""Readings for finding the wiring: how fine they are, and what repeated ones of a pair say together."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Final, NamedTuple

from valvebench.model.limits import COPPER_K_CELSIUS
from valvebench.physics.conductor import resistance_at

Pair = frozenset[str]
OPEN: Final = math.inf

# All common practice, no source; magnitudes from memory.
LEAST_RANGE_OHM: Final = 1e5
"""Open on a lower range leaves room for a sensor."""
ISOLATION_OHM: Final = 3e5
"""A value above it is damp or fingers, not a part."""
MOST_OF_A_COIL_OHM: Final = 100.0
_REPEAT_OHM: Final = 0.2
_REPEAT_SHARE: Final = 0.05
_LIKE_CELSIUS: Final = 3.0
_COUNTS_SHOWN: Final = 60_000
_FINEST: Final = -4
_COIL_STEP_POWER: Final = -1
"""No handheld shows coils in steps above 0.1 ohm; whole numbers are chance or a short hand."""


class WireReading(NamedTuple):
    """One reading between two nodes [ohm], infinite where open on `range_ohm`; coil temperature [degC]."""

    a: str
    b: str
    ohm: float
    range_ohm: float | None = None
    celsius: float | None = None

    @property
    def pair(self) -> Pair:
        """The two nodes, in no order."""
        return frozenset((self.a, self.b))

    @property
    def is_proof(self) -> bool:
        """Whether it tells a wired pair from an open one."""
        return self.ohm < OPEN or self.range_ohm is None or self.range_ohm >= LEAST_RANGE_OHM


class Told(NamedTuple):
    """What all readings of one pair say: value [ohm], how many agree on it, what the others showed [ohm]."""

    a: str
    b: str
    ohm: float
    agreeing: int
    others: tuple[float, ...] = ()

    @property
    def is_settled(self) -> bool:
        """Whether more readings agree than disagree."""
        return self.agreeing > len(self.others)

    @property
    def is_open(self) -> bool:
        """Open, or so high that no part is there."""
        return self.ohm >= ISOLATION_OHM


class Table:
    """All pairs read so far, with the display step at every size of value."""

    def __init__(self, readings: Iterable[WireReading], *, resolution_ohm: float) -> None:
        self.readings: tuple[WireReading, ...] = tuple(readings)
        self._resolution_ohm = resolution_ohm
        self._steps = _steps([reading.ohm for reading in self.readings], resolution_ohm)
        groups: dict[Pair, list[WireReading]] = defaultdict(list)
        for reading in _at_one_temperature(self.readings):
            if reading.is_proof:
                groups[reading.pair].append(reading)
        self.told: dict[Pair, Told] = {pair: _told(group) for pair, group in groups.items()}

    def step(self, ohm: float) -> float:
        """Display step for a value of that size [ohm]."""
        return self._steps.get(_decade(ohm), self._resolution_ohm)

    def ohm(self, a: str, b: str) -> float | None:
        """Value of a pair [ohm], infinite where open; None where not read."""
        told = self.told.get(frozenset((a, b)))
        return None if told is None else told.ohm

    def with_value(self, pair: Pair, ohm: float) -> Table:
        """The same table as if that pair had read otherwise [ohm]."""
        other = Table((), resolution_ohm=self._resolution_ohm)
        other.readings, other._steps = self.readings, self._steps
        other.told = {**self.told, pair: self.told[pair]._replace(ohm=ohm)}
        return other


def _decade(ohm: float) -> int:
    return math.floor(math.log10(ohm)) if 0 < ohm < OPEN else _FINEST


def _steps(shown: Sequence[float], resolution_ohm: float) -> dict[int, float]:
    """Display step [ohm] in each decade: the coarsest that divides all values of it."""
    granules: dict[int, float] = {}
    for ohm in shown:
        if 0 < ohm < OPEN:
            decade = _decade(ohm)
            granules[decade] = min(granules.get(decade, OPEN), _granule(ohm))
    finest = {decade: max(resolution_ohm, 10.0**decade * 10 / _COUNTS_SHOWN) for decade in granules}
    return {decade: max(finest[decade], granule) for decade, granule in granules.items()}


def _granule(ohm: float) -> float:
    """The largest power of ten that divides a shown value: a tenth of its decade at most, for coils 0.1 [ohm]."""
    largest = _COIL_STEP_POWER if ohm < MOST_OF_A_COIL_OHM else _decade(ohm) - 1
    for power in range(largest, _FINEST, -1):
        parts = ohm / 10.0**power
        if abs(parts - round(parts)) < 1e-6:
            return 10.0**power
    return 10.0**_FINEST


def _at_one_temperature(readings: Sequence[WireReading]) -> list[WireReading]:
    """Coils brought to the temperature of the first reading; other parts only from near it."""
    first = next((reading.celsius for reading in readings if reading.celsius is not None), None)
    if first is None:
        return list(readings)
    nearest: dict[Pair, float] = {}
    for reading in readings:
        away = _away(reading, first)
        nearest[reading.pair] = min(nearest.get(reading.pair, OPEN), away)
    return [
        _moved(reading, first)
        for reading in readings
        if _is_coil(reading) or _away(reading, first) <= nearest[reading.pair] + _LIKE_CELSIUS
    ]


def _away(reading: WireReading, celsius: float) -> float:
    return 0.0 if reading.celsius is None else abs(reading.celsius - celsius)


def _is_coil(reading: WireReading) -> bool:
    return reading.ohm <= MOST_OF_A_COIL_OHM or reading.ohm == OPEN


def _moved(reading: WireReading, to_celsius: float) -> WireReading:
    if reading.celsius is None or reading.ohm > MOST_OF_A_COIL_OHM:
        return reading
    ohm = resistance_at(reading.ohm, from_celsius=reading.celsius, to_celsius=to_celsius, k_celsius=COPPER_K_CELSIUS)
    return reading._replace(ohm=float(ohm))


def _told(group: Sequence[WireReading]) -> Told:
    """The value most readings agree on; the newest where none has a majority."""
    shown = [OPEN if reading.ohm >= ISOLATION_OHM else max(reading.ohm, 0.0) for reading in group]
    camps = [[other for other in shown if _agree(ohm, other)] for ohm in shown]
    best = max(reversed(camps), key=len)
    others = list(shown)
    for ohm in best:
        others.remove(ohm)
    value = OPEN if OPEN in best else math.fsum(best) / len(best)
    return Told(group[0].a, group[0].b, value, len(best), tuple(others))


def _agree(one: float, other: float) -> bool:
    if OPEN in (one, other):
        return one == other
    return abs(one - other) <= _REPEAT_OHM + _REPEAT_SHARE * max(one, other)
