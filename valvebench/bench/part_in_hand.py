"""What the readings of a session say about the wiring of the part in hand: one finding for page, report and command."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.diagnose.matched import MatchedSet, matched_sets, sets_of_variant
from valvebench.diagnose.wiring import DEFAULT_RESOLUTION_OHM, Wired, Wiring, find_wiring
from valvebench.diagnose.wiring_readings import Pair, WireReading
from valvebench.diagnose.wiring_variant import variant_data
from valvebench.judge.judgement import Judgement
from valvebench.judge.row import Row
from valvebench.judge.rows import rows_of
from valvebench.model.entry import Connector, Reading
from valvebench.model.meter import DEFAULT_PRESET, PRESETS, Instrument
from valvebench.model.session import Session
from valvebench.model.strict_json import dumps
from valvebench.model.variant import Variant
from valvebench.model.variant_rules import read_variant
from valvebench.model.words import CASE, ItemState
from valvebench.physics.uncertainty import value_and_lines

_FINEST_OHM: Final = 0.001
_COARSEST_OHM: Final = 1.0


class Source(NamedTuple):
    """Readings with the pins they name and the instruments they were taken with, each pair its own."""

    readings: tuple[WireReading, ...]
    pins: tuple[str, ...]
    instrument: Instrument
    instruments: Mapping[Pair, Instrument] = MappingProxyType({})
    resolution_ohm: float = DEFAULT_RESOLUTION_OHM
    has_case: bool = True


class Found(NamedTuple):
    """The wiring, and what judging the readings against it says: rows by pair, sets with their odd ones."""

    source: Source
    wiring: Wiring
    rows: Mapping[Pair, Row]
    sets: tuple[MatchedSet, ...]

    def judgement(self, wired: Wired) -> Judgement | None:
        """The judged value of a part that was read straight; None where it was worked out from others."""
        row = self.rows.get(frozenset(wired.between))
        judgement = row.judgement if row is not None else None
        return judgement if judgement is not None and judgement.state is ItemState.VALUE else None

    def odd(self) -> frozenset[Pair]:
        """Parts that are the odd ones out of their sets."""
        names = {member.name for one in self.sets for member in one.members if member.is_odd}
        return frozenset(frozenset(one.between) for one in self.wiring.devices if part_name(one) in names)


def connector_of(session: Session) -> Connector | None:
    """The connector said last."""
    items = session.items_of("connector")
    body = items[-1].body if items else None
    return body if isinstance(body, Connector) else None


def source_of(session: Session, variant: Variant | None) -> Source:
    """The readings of a session that count, at the access point where most were taken."""
    taken = [item.body for item in session.items if isinstance(item.body, Reading)]
    places = Counter(reading.at for reading in taken)
    at = places.most_common(1)[0][0] if places else None
    chosen = [reading for reading in taken if reading.at is at]
    connector = connector_of(session)
    instruments = {reading.pair: reading.instrument() for reading in chosen}
    return Source(
        readings=tuple(_wire_reading(reading) for reading in chosen),
        pins=_pins(chosen, variant, connector),
        instrument=_coil_instrument(chosen),
        instruments=instruments,
        resolution_ohm=_resolution(instruments),
        has_case=connector is None or variant is not None or connector.case,
    )


def _pins(readings: Collection[Reading], variant: Variant | None, connector: Connector | None) -> tuple[str, ...]:
    """Those of the variant or of the connector, and any other that was read."""
    named = tuple(pin.name for pin in variant.pins) if variant is not None else ()
    named = named or (connector.names if connector is not None else ())
    read = {node for reading in readings for node in reading.pair if node != CASE}
    return (*named, *sorted(read - set(named), key=in_counting_order))


def in_counting_order(pin: str) -> list[tuple[int, str]]:
    """Sorts 2 before 10, and A2 before A10."""
    return [(int(part), "") if part.isdigit() else (-1, part) for part in re.findall(r"[0-9]+|[^0-9]+", pin)]


def _coil_instrument(readings: Collection[Reading]) -> Instrument:
    """The finest one stands for parts that were not read straight."""
    found = [reading.instrument() for reading in readings]
    return min(found, key=lambda one: one.meter.step, default=Instrument(meter=PRESETS[DEFAULT_PRESET]))


def _resolution(instruments: Mapping[Pair, Instrument]) -> float:
    """The finest display step that was stated [ohm]."""
    steps = [one.meter.step for one in instruments.values()]
    return min(max(min(steps), _FINEST_OHM), _COARSEST_OHM) if steps else DEFAULT_RESOLUTION_OHM


def _wire_reading(reading: Reading) -> WireReading:
    shown = reading.displayed_ohm
    if shown is None and not reading.open:
        shown = float(value_and_lines(reading.instrument(), 0.0)[0])
    ohm = math.inf if reading.open or shown is None else shown
    return WireReading(reading.from_node, reading.to_node, ohm, reading.range_ohm, reading.celsius)


def part_name(wired: Wired) -> str:
    """What a part is called before it has a name: its two nodes."""
    return "\u2013".join(wired.between)


def found_in(session: Session, variant: Variant | None, *, later: Collection[Pair] = ()) -> Found:
    """Find the wiring from all readings that count, and hold them against it.

    Parameters
    ----------
    session : what counts now
    variant : names the pins where there is one
    later : pairs the person left for later

    Returns
    -------
    Found; rows are judged at the reference temperature, sets by `diagnose.matched`.

    Source
    ------
    As `diagnose.wiring.find_wiring` and `diagnose.matched.matched_sets`.
    """
    source = source_of(session, variant)
    wiring = find_wiring(
        source.pins,
        source.readings,
        resolution_ohm=source.resolution_ohm,
        has_case=source.has_case,
        later=later,
        is_thorough=True,
    )
    if not wiring.devices:
        return Found(source, wiring, MappingProxyType({}), ())
    body = provisional(source, wiring)
    rows = rows_of(session, body)
    by_pair = {frozenset((row.from_node, row.to_node)): row for row in rows if row.from_node and row.to_node}
    return Found(source, wiring, MappingProxyType(by_pair), matched_sets(session, body, sets_of_variant(body)))


def provisional(source: Source, wiring: Wiring) -> Variant:
    """The wiring as a variant whose parts are called by their nodes."""
    names = {frozenset(one.between): part_name(one) for one in wiring.devices}
    data = variant_data(wiring, key="in-hand", title="Part in hand", instrument=source.instrument, names=names)
    return read_variant(dumps(data), source="the part in hand")
