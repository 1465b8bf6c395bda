"""A heat run that failed or cannot be told, in plain sentences.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from valvebench.judge.heat_rows import HEAT_KEY
from valvebench.judge.row import Row
from valvebench.model.format import celsius_text, duration_text, ohm_text, value_text
from valvebench.model.heat import HeatEvent, HeatFound, HeatKind, Sized
from valvebench.model.words import Verdict

HEAT_PAGE: Final = "Heat"
WHATEVER: Final = "Fail whatever the limits."
_K: Final = 2.0
_MOST_EVENTS: Final = 3


def device_of(key: str) -> str:
    """The device a heat run is about."""
    return key.removeprefix(HEAT_KEY)


def is_heat(key: str) -> bool:
    """Whether an item is the heat run of a device."""
    return key.startswith(HEAT_KEY)


def heat_where(row: Row, found: HeatFound, count: int) -> str:
    """Where the run was read, how far it went, and its entries."""
    place = f"between {row.from_node} and {row.to_node}, round by round" if row.from_node else "from a log"
    span = f"{celsius_text(found.coldest_celsius)} to {celsius_text(found.hottest_celsius)}"
    first, last = row.entries[0], row.entries[-1]
    entries = f"entry {first}" if first == last else f"entries {first} to {last}"
    others = f", {count} heat runs of this device" if count > 1 else ""
    return f"{place}, {span}, {entries}{others}"


def heat_reasons(row: Row, found: HeatFound, items: Mapping[str, Verdict]) -> tuple[str, ...]:
    """Kind with its sizes, what happened on the way, the verdict, and what single readings say beside it."""
    is_fault = row.heat is not None and row.heat.is_fault and row.verdict is Verdict.FAIL
    head = WHATEVER if is_fault else row.reasons[0]
    return (kind_sentence(found), *_events(found), head, *_beside(row, items))


def kind_sentence(found: HeatFound) -> str:
    """What the run is in words, with its size."""
    return _KIND[found.kind](found)


def _copper(found: HeatFound) -> str:
    return f"Copper only: {_ohm(found.r20_ohm)} at {celsius_text(20.0)}, and nothing in series that shows."


def _fixed(found: HeatFound) -> str:
    size = f": {_ohm(found.series_ohm)} in series, cold and hot alike" if found.series_ohm is not None else ""
    return f"A contact that stays put{size}."


def _grows(found: HeatFound) -> str:
    size, start = found.excess_ohm_at_hottest, found.grows_from_celsius
    hottest = celsius_text(found.hottest_celsius)
    more = f": {_ohm(size)} too much at the hottest, {hottest}" if size is not None else ""
    begins = f"It begins at {_warmth(start)}." if start is not None else "Where it begins cannot be told."
    beside = f" Beside it {_ohm(found.series_ohm)} in series stays put." if found.series_ohm is not None else ""
    return f"Something grows with heat{more}. {begins}{beside}"


def _hidden(found: HeatFound) -> str:
    """The slope comes first among the reasons, then why it does not tell: a lag, or one reading alone."""
    return " ".join(("Cannot be separated.", *found.reasons[1:2]))


_KIND: Final = MappingProxyType(
    {
        HeatKind.COPPER: _copper,
        HeatKind.FIXED_SERIES: _fixed,
        HeatKind.GROWS_WITH_HEAT: _grows,
        HeatKind.NOT_SEPARABLE: _hidden,
    }
)


def _ohm(size: Sized) -> str:
    return value_text(size.value, _K * size.u)


def _warmth(start: Sized) -> str:
    """A temperature to the place of its expanded uncertainty, tenths at most."""
    places = 0 if _K * start.u >= 1.0 else 1
    return f"{start.value:.{places}f} \u00b1 {_K * start.u:.{places}f} \u00b0C"


def _events(found: HeatFound) -> tuple[str, ...]:
    """The first of what happened; openings before jumps."""
    ordered = sorted(found.events, key=lambda event: event.kind != "open")
    words = tuple(event_sentence(event) for event in ordered[:_MOST_EVENTS])
    left = len(ordered) - len(words)
    return (*words, f"{left} more such events are on the {HEAT_PAGE} page.") if left > 0 else words


def event_sentence(event: HeatEvent) -> str:
    """An opening or a jump with its time and temperature."""
    what = "It opened" if event.size_ohm is None else f"It jumped by {ohm_text(event.size_ohm)}"
    after = f" {duration_text(event.t_s)} after the start" if event.t_s is not None else ""
    way = "" if event.heating is None else (", while it warmed" if event.heating else ", while it cooled")
    return f"{what}{after}, at {celsius_text(event.coil_celsius)} of the coil{way}."


def _beside(row: Row, items: Mapping[str, Verdict]) -> tuple[str, ...]:
    """A pass of single readings beside a run that fails would mislead if nobody spoke of it."""
    device = device_of(row.key)
    if row.verdict is not Verdict.FAIL or items.get(f"device {device}") is not Verdict.PASS:
        return ()
    return (f"Single readings of {device} pass: they do not show what heat does.",)
