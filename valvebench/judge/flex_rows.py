"""Flex tests of a session -> judged rows: each series is a row of its own, and none hides another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final, NamedTuple

from valvebench.judge.flex import judge_flex
from valvebench.judge.row import Row
from valvebench.judge.targets import device_at, known_nodes
from valvebench.model.flex import FlexFound, FlexTest
from valvebench.model.session import Item
from valvebench.model.variant import Variant

FLEX_KEY: Final = "flex "
"""Begins the key of every flex test: a reading at rest of the same pair is another item."""
FLEX_KIND: Final = "flex"
FLEX_WORDS: Final = ", flex test"
"""Ends what a row is about."""


class SeriesKey(NamedTuple):
    """The entry that began a series, and what all its readings share."""

    began: int
    from_node: str
    to_node: str
    at: str
    flexed: str
    meter: str | None


class FlexSeries(NamedTuple):
    """The typed readings of one series in their order: entries, ohm (None: open), times [s] or nothing."""

    key: SeriesKey
    entries: tuple[int, ...]
    ohm: tuple[float | None, ...]
    t_s: tuple[float, ...]
    celsius: float | None
    is_corrected: bool


class FlexFind(NamedTuple):
    """A series with what was found in it."""

    series: FlexSeries
    found: FlexFound


FlexFinds = Mapping[SeriesKey, FlexFind]
NO_FLEX: Final[FlexFinds] = MappingProxyType({})


def series_key(item: Item) -> SeriesKey | None:
    """Which series the readings of an entry belong to; None for every other entry, a logger's file too."""
    body = item.body
    if not isinstance(body, FlexTest) or body.is_logged:
        return None
    return SeriesKey(body.follows or item.n, body.from_node, body.to_node, body.at.value, body.flexed, body.meter)


def series_in(items: Iterable[Item]) -> dict[SeriesKey, tuple[Item, ...]]:
    """The entries of each typed series, in their order."""
    found: dict[SeriesKey, list[Item]] = {}
    for item in items:
        if (key := series_key(item)) is not None:
            found.setdefault(key, []).append(item)
    return {key: tuple(own) for key, own in found.items()}


def series_of(key: SeriesKey, items: Iterable[Item]) -> FlexSeries:
    """The readings of one series; its times count only where every entry has them."""
    own = [(item, item.body) for item in items]
    bodies = [body for _, body in own if isinstance(body, FlexTest)]
    t_s = tuple(at for body in bodies for at in body.t_s)
    ohm = tuple(one for body in bodies for one in body.ohm)
    return FlexSeries(
        key=key,
        entries=tuple(item.n for item, _ in own),
        ohm=ohm,
        t_s=t_s if len(t_s) == len(ohm) and list(t_s) == sorted(t_s) else (),
        celsius=bodies[-1].celsius if bodies else None,
        is_corrected=any(item.is_corrected for item, _ in own),
    )


def logged_flex_row(variant: Variant | None, item: Item) -> Row | None:
    """The row of a logger's file; None for every other entry."""
    body = item.body
    if not isinstance(body, FlexTest) or body.found is None:
        return None
    key = SeriesKey(item.n, body.from_node, body.to_node, body.at.value, body.flexed, body.meter)
    series = FlexSeries(key, (item.n,), (), (), body.celsius, item.is_corrected)
    return flex_row(variant, FlexFind(series, body.found))


def flex_row(variant: Variant | None, find: FlexFind) -> Row:
    """The judged row of one series."""
    series = find.series
    key = series.key
    what = _what(variant, key)
    judgement = judge_flex(find.found, key.flexed)
    reasons = (*judgement.reasons, *_stranger_words(variant, key))
    return Row(
        entries=series.entries,
        key=f"{FLEX_KEY}{what}",
        what=f"{what}{FLEX_WORDS}",
        kind=FLEX_KIND,
        verdict=judgement.verdict,
        from_node=key.from_node,
        to_node=key.to_node,
        at=key.at,
        celsius=series.celsius,
        flex=judgement,
        reasons=reasons,
        is_corrected=series.is_corrected,
    )


def _stranger_words(variant: Variant | None, key: SeriesKey) -> list[str]:
    nodes = (key.from_node, key.to_node) if variant is not None else ()
    strangers = [node for node in nodes if variant is not None and node not in known_nodes(variant)]
    return [f"{node} is no pin, joint or terminal of this variant: was the right one probed?" for node in strangers]


def _what(variant: Variant | None, key: SeriesKey) -> str:
    """The device between the two nodes, else the nodes."""
    device = device_at(variant, key.from_node, key.to_node) if variant is not None else None
    return device.name if device is not None else f"{key.from_node} and {key.to_node}"
