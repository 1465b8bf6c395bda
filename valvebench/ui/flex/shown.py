"""What the Flex page shows, as plain frozen facts.  No Qt, no decisions about limits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from valvebench.judge.row import Row
from valvebench.model.flex import FlexEvent
from valvebench.model.format import OHM, ohm_text
from valvebench.model.words import VERDICT_TEXT, Verdict

SAFE: Final = "Control unit de-energised and unplugged before an ohmmeter reaches its harness; static care."
HOW: Final = "Clip both leads on and keep your hands off them. Flex a little, stop, type what the meter shows."
NOTHING_YET: Final = "Each reading is kept at once and drawn here."
_MOST_LINES: Final = 7


@dataclass(frozen=True, kw_only=True)
class PairShown:
    """The pair that is watched, where it was on Pins."""

    lead: str
    big: str
    what: str


@dataclass(frozen=True, kw_only=True)
class SeriesShown:
    """The readings so far, in ohm (None: open), what was found in them and what it means.

    `samples` are the numbers of the readings: those of a long file are only some of all.
    """

    ohm: tuple[float | None, ...] = ()
    samples: tuple[int, ...] = ()
    events: tuple[FlexEvent, ...] = ()
    count: str = ""
    verdict: Verdict | None = None
    headline: str = NOTHING_YET
    lines: tuple[str, ...] = ()

    @property
    def spoken(self) -> str:
        """What the drawing shows, for a reader."""
        values = [one for one in self.ohm if one is not None]
        if not self.ohm:
            return "No readings yet"
        span = f", {ohm_text(min(values))} to {ohm_text(max(values))}" if values else ""
        opened = len(self.ohm) - len(values)
        return f"{len(self.ohm)} readings{span}, {opened} open, {len(self.events)} events"


def series_shown(ohm: Sequence[float | None], row: Row | None, samples: Sequence[int] = ()) -> SeriesShown:
    """A series with what is said of it so far; its row comes a moment after a reading."""
    numbers = tuple(samples) or tuple(range(1, len(ohm) + 1))
    if row is None or row.flex is None:
        return SeriesShown(ohm=tuple(ohm), samples=numbers, count=_count(len(ohm)))
    found = row.flex.found
    headline, *lines = row.reasons
    return SeriesShown(
        ohm=tuple(ohm),
        samples=numbers,
        events=found.events,
        count=_count(found.n),
        verdict=row.verdict,
        headline=headline,
        lines=tuple([*lines, *row.advice][:_MOST_LINES]),
    )


def _count(readings: int) -> str:
    if not readings:
        return ""
    return "1 reading" if readings == 1 else f"{readings} readings"


def done_words(row: Row) -> str:
    """What a finished test said, short enough for the line on Pins."""
    count = row.flex.found.n if row.flex is not None else 0
    return f"{row.what.partition(',')[0]} flexed, {_count(count)}: {VERDICT_TEXT[row.verdict]}. Findings says why."


def kept_words(ohm: float | None, count: int) -> str:
    """What was kept just now."""
    value = "open" if ohm is None else f"{ohm:.10g} {OHM}"
    return f"Reading {count} kept: {value}."
