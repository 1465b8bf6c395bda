"""Rounds of a heat run as the entries tell them: which round, how warm, which pairs are in it.  No Qt."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.diagnose.order import clip_order
from valvebench.judge.targets import wanted_electrical
from valvebench.model.entry import Reading
from valvebench.model.session import Item, Session
from valvebench.model.variant import Coil, Variant
from valvebench.model.words import AccessPoint, TemperatureSource
from valvebench.ui.pins.plan import Pair, the_right_way

STEADY_KELVIN: Final = 1.0
"""Two rounds this close are neither heating nor cooling: common practice, no source."""
SAME_KELVIN: Final = 0.05
"""Temperatures that read alike to a tenth."""
HOWS: Final = (
    TemperatureSource.TAPED,
    TemperatureSource.IR_TAPE,
    TemperatureSource.IR_BARE,
    TemperatureSource.ROOM_2H,
    TemperatureSource.ROOM_SHORT,
)
"""How a settled temperature can be known; what never settled, or was not measured, is no round."""


class Stop(NamedTuple):
    """One winding of a round: its item, its name, and the pair that is probed."""

    key: str
    name: str
    pair: Pair


class Kept(NamedTuple):
    """A reading of a round with the number of its entry."""

    n: int
    body: Reading


@dataclass(frozen=True, kw_only=True)
class Round:
    """One time round the pairs: degrees Celsius of its newest reading, and what was read of each item."""

    number: int
    celsius: float
    temperature: TemperatureSource | None
    readings: tuple[Kept, ...]
    by_key: Mapping[str, tuple[Kept, ...]]

    def others(self, celsius: float, temperature: TemperatureSource | None) -> tuple[Kept, ...]:
        """Its readings that are kept with another temperature [degC] or another way to know it."""
        return tuple(
            kept
            for kept in self.readings
            if abs(kept.body.celsius - celsius) >= SAME_KELVIN or kept.body.temperature not in (temperature, None)
        )


def stops_of(variant: Variant | None) -> tuple[Stop, ...]:
    """The windings of a variant in the order of fewest clip moves; nothing with electronics on board."""
    if variant is None:
        return ()
    keys = {f"device {device.name}": device.name for device in variant.devices if isinstance(device, Coil)}
    wanted = [one for one in wanted_electrical(variant) if one.key in keys]
    order = clip_order([(one.from_node, one.to_node) for one in wanted])
    pairs = {p.place: the_right_way(variant, Pair(p.tip, p.clip)) for p in order}
    return tuple(Stop(wanted[place].key, keys[wanted[place].key], pair) for place, pair in pairs.items())


def rounds_of(items: Iterable[Item], stops: Sequence[Stop]) -> tuple[Round, ...]:
    """Every round that has a reading at the connector, in the order of their numbers."""
    key_of = {frozenset(stop.pair): stop.key for stop in stops}
    found: dict[int, list[Kept]] = {}
    for item in items:
        body = item.body
        if isinstance(body, Reading) and body.round is not None and body.at is AccessPoint.CASE_CONNECTOR:
            found.setdefault(body.round, []).append(Kept(item.n, body))
    return tuple(_round(number, tuple(found[number]), key_of) for number in sorted(found))


def _round(number: int, readings: tuple[Kept, ...], key_of: Mapping[frozenset[str], str]) -> Round:
    by_key: dict[str, list[Kept]] = {}
    for kept in readings:
        if (key := key_of.get(kept.body.pair)) is not None:
            by_key.setdefault(key, []).append(kept)
    newest = readings[-1].body
    return Round(
        number=number,
        celsius=newest.celsius,
        temperature=newest.temperature,
        readings=readings,
        by_key=MappingProxyType({key: tuple(own) for key, own in by_key.items()}),
    )


def round_at(rounds: Iterable[Round], number: int) -> Round | None:
    """The round of a number, where it has a reading."""
    return next((one for one in rounds if one.number == number), None)


def before(rounds: Iterable[Round], number: int) -> Round | None:
    """The nearest earlier round that has a reading."""
    return next((one for one in reversed(tuple(rounds)) if one.number < number), None)


def lacking(one: Round | None, stops: Sequence[Stop]) -> tuple[str, ...]:
    """Names of the windings that a round has no reading of."""
    return tuple(stop.name for stop in stops if one is None or stop.key not in one.by_key)


def is_in_rounds(items: Sequence[Item]) -> bool:
    """Whether the newest reading of a session belongs to a round: then the run goes on where it was left."""
    newest = next((item.body for item in reversed(items) if isinstance(item.body, Reading)), None)
    return newest is not None and newest.round is not None


class KnownRounds:
    """The rounds of an open session, asked anew only after an entry."""

    def __init__(self, session_now: Callable[[], Session], stops: Sequence[Stop]) -> None:
        self._session_now, self.stops = session_now, stops
        self._session: Session | None = None
        self._all: tuple[Round, ...] = ()

    @property
    def all(self) -> tuple[Round, ...]:
        """Every round that has a reading."""
        session = self._session_now()
        if session is not self._session:
            self._session, self._all = session, rounds_of(session.items, self.stops)
        return self._all

    @property
    def last(self) -> Round | None:
        """The newest one."""
        return self.all[-1] if self.all else None

    def at(self, number: int) -> Round | None:
        """The round of a number, where it has a reading."""
        return round_at(self.all, number)

    def before(self, number: int) -> Round | None:
        """The nearest earlier round that has a reading."""
        return before(self.all, number)

    def count(self, number: int) -> int:
        """How many readings a round has."""
        one = self.at(number)
        return len(one.readings) if one is not None else 0

    def lacks(self, number: int, key: str) -> bool:
        """Whether a round has no reading of an item."""
        one = self.at(number)
        return one is None or key not in one.by_key

    def lacking(self, one: Round | None) -> tuple[str, ...]:
        """Names of the windings that a round has no reading of."""
        return lacking(one, self.stops)
